/* The end: everything once more, what the rules say of it, and the word that writes it. */
#include "ask/internal.h"

#include "text/diff.h"
#include "text/escape.h"
#include "tree/change.h"

enum { SHOWN = 60 };

static void list_answers(struct ask *ask)
{
    for (size_t i = 0; i < ask->sequence.items.count; i++) {
        const struct ask_entry *entry = &ask->sequence.items.items[i];
        const struct answer *answer = entry_answer(ask, entry);
        if (entry->row->what >= FIELD_COUNT || answer->source == SOURCE_NONE ||
            answer->source == SOURCE_FILE)
            continue;
        const char *path =
            answer_path(&ask->scratch, &ask->answers, entry->row->what, entry->record);
        bool open = answer->source == SOURCE_OPEN;
        if (open && !entry_is_needed(entry))
            continue;
        say(ask, 2, "%s: %s (%s%s)", path,
            open ? "nothing" : escape_short(&ask->scratch, answer->text, SHOWN),
            answer_source_name((enum answer_source)answer->source),
            walk_is_silent(ask, i) ? ", not asked" : "");
    }
}

static void show_report(struct ask *ask, struct view bytes)
{
    struct file_report report;
    judge_report(&ask->judge, &ask->scratch, bytes, &report);
    report_file(report_output(REPORT_FINDINGS, 0), &ask->setup->layout,
                &(struct report){REPORT_FINDINGS, report.path, {.findings = &report}},
                &ask->out);
}

static bool is_unchanged(const struct ask *ask, struct view bytes)
{
    return ask->setup->exists && view_equal(bytes, ask->setup->base);
}

void review_show(struct ask *ask)
{
    struct view bytes;
    const char *why = ask_bytes(ask, true, &bytes);
    say_line(ask, "");
    say(ask, 0, "== Review ==");
    if (why) {
        say(ask, 0, "%s.", why);
        return;
    }
    list_answers(ask);
    if (is_unchanged(ask, bytes)) {
        say(ask, 0, "Nothing is changed. Enter ends; back goes back to the questions.");
        return;
    }
    if (ask->setup->exists) {
        struct buffer diff;
        buffer_init(&diff, &ask->scratch);
        diff_unified(&diff, view_of(ask->setup->path), ask->setup->base, bytes);
        struct view rest = buffer_view(&diff);
        while (rest.size) {
            const char *end = memchr(rest.data, '\n', rest.size);
            struct view line = {rest.data, end ? (size_t)(end - rest.data) : rest.size};
            escape_terminal(&ask->out, line);
            buffer_byte(&ask->out, '\n');
            rest = view_skip(rest, line.size + 1);
        }
    }
    show_report(ask, bytes);
    say(ask, 0,
        "Type yes to write %s. back goes back to the questions, back with the name of a field "
        "to that one; later keeps the draft and writes nothing.",
        ask->setup->path ? ask->setup->path : "it to a file");
}

void review_help(struct ask *ask)
{
    if (ask->phase == PHASE_NAME)
        say(ask, 0,
            "The name of a new file, as shed.yaml; one that is there already is not written over. "
            "back goes back to the questions, later keeps the draft and writes nothing.");
    else
        say(ask, 0,
            "Nothing is written yet. yes writes the file; back goes back to the questions, back "
            "with the name of a field to that one; later keeps the draft and writes nothing.");
}

static enum ask_state save(struct ask *ask, const char *path)
{
    struct view bytes;
    const struct ask_host *host = &ask->setup->host;
    const char *why = ask_bytes(ask, true, &bytes);
    if (!why)
        why = host->save(host->user, &ask->scratch, path, bytes);
    if (why) {
        ask->refused = true;
        say_answer(ask, "%s. Nothing is written; the draft is kept.", why);
        return ASK_GOES_ON;
    }
    host->drop(host->user);
    say(ask, 0, "%s is written. What the check says of it:", path);
    show_report(ask, bytes);
    present_next(ask);
    return ASK_SAVED;
}

static enum ask_state name_line(struct ask *ask, struct view line)
{
    const char *path =
        line.size ? arena_copy(&ask->scratch, line.data, line.size) : "machine.yaml";
    return save(ask, path);
}

enum ask_state review_line(struct ask *ask, struct view line)
{
    struct view bytes;
    if (ask->phase == PHASE_NAME)
        return name_line(ask, line);
    if (!ask_bytes(ask, true, &bytes) && is_unchanged(ask, bytes) && !line.size) {
        ask->setup->host.drop(ask->setup->host.user);
        return ASK_UNCHANGED;
    }
    if (!view_is(line, "yes")) {
        ask->refused = true;
        say_answer(ask,
                   "Only yes writes it; back changes answers, later stops and keeps them.");
        return ASK_GOES_ON;
    }
    if (ask->setup->path)
        return save(ask, ask->setup->path);
    ask->phase = PHASE_NAME;
    say(ask, 0, "What is the file to be called? Enter takes machine.yaml.");
    return ASK_GOES_ON;
}
