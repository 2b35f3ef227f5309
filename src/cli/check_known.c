/* Findings set aside, and the file that holds them. */
#include "cli/check_known.h"

#include "cli/books.h"
#include "cli/input.h"

enum { ENTRIES_TOLD = 20 }; /* mended ones of a file; the rest is counted */

static bool read_known(struct run *run, const char *path, struct known *out)
{
    struct rulebook_mistakes mistakes = {.arena = run->arena};
    struct view bytes;
    const char *why;
    if (!input_read_file(path, SOURCE_SIZE_MAX, run->arena, &bytes, &why)) {
        run_refuse(run, "%s cannot be read: %s", path, why);
        return false;
    }
    if (known_read(&mistakes, path, bytes, out))
        return true;
    books_complain(run, &mistakes);
    return false;
}

bool check_known_begin(struct run *run, struct check_known *out)
{
    const struct option_value *known = &run->options.values[OPTION_KNOWN];
    const struct option_value *writes = &run->options.values[OPTION_WRITE_KNOWN];
    *out = (struct check_known){.sets_aside = known->given};
    if (known->given && writes->given) {
        run_refuse(run, "--write-known writes all that is found: it does not go with --known");
        return false;
    }
    if (known->given && !read_known(run, known->text, &out->known))
        return false;
    if (!writes->given)
        return true;
    struct buffer head;
    buffer_init(&head, run->arena);
    known_write_head(&head);
    out->out = ARENA_NEW(run->arena, struct output);
    const char *wrong = output_open(out->out, run->arena, writes->text);
    if (wrong) {
        run_refuse(run, "%s", wrong);
        return false;
    }
    output_write(out->out, buffer_view(&head));
    return true;
}

static void tell_mended(const struct check_known *known, const struct known_file *part,
                        const struct file_report *report, const bool *found,
                        struct buffer *trouble)
{
    size_t count = 0;
    for (size_t i = 0; i < part->count; i++) {
        const struct known_entry *entry = &part->entries[i];
        if (found[i] || !known_is_mended(entry, report) || count++ >= ENTRIES_TOLD)
            continue;
        trouble_add(trouble, "%s:%u: %s: %.*s%s%.*s is not found any more; its entry can go",
                    known->known.name, entry->line, report->path, VIEW(entry->rule),
                    entry->subject.size ? " of " : "", VIEW(entry->subject));
    }
    if (count > ENTRIES_TOLD)
        trouble_add(trouble, "%s: %s: %zu more entries can go", known->known.name, report->path,
                    count - ENTRIES_TOLD);
}

void check_known_file(const struct check_known *known, struct arena *arena, struct view bytes,
                      struct file_report *report, struct piece *piece)
{
    struct view path = view_of(report->path);
    struct buffer text;
    buffer_init(&text, arena);
    if (known->sets_aside) {
        const struct known_file *part = known_part(arena, &known->known, path, bytes);
        bool *found = part ? ARENA_ARRAY(arena, bool, part->count + 1) : NULL;
        if (!part)
            return;
        known_apply(arena, part, report, found);
        tell_mended(known, part, report, found, &text);
        piece->trouble = buffer_view(&text);
    } else if (known->out) {
        piece->refused = known_write(&text, report, path, bytes);
        piece->known = buffer_view(&text);
    }
}

void check_known_deliver(struct check_known *known, const struct piece *piece)
{
    if (!known->out)
        return;
    output_write(known->out, piece->known);
    known->refused += piece->refused;
}

enum exit_status check_known_end(struct run *run, struct check_known *known,
                                 enum exit_status status)
{
    if (!known->out)
        return status;
    const char *wrong = output_finish(known->out, run->arena);
    output_flush(run->out);
    if (wrong) {
        trouble_say(run->arena, "%s", wrong);
        return EXIT_TROUBLE;
    }
    if (known->refused)
        trouble_say(run->arena,
                    "%zu finding%s that can hurt a person %s not set aside by %s: that takes a "
                    "waiver in the machine file",
                    known->refused, known->refused == 1 ? "" : "s",
                    known->refused == 1 ? "is" : "are",
                    run->options.values[OPTION_WRITE_KNOWN].text);
    return status == EXIT_TROUBLE ? status : EXIT_CLEAN;
}
