/* What a revision asks for; how it is asked and understood is the prompt's affair. */
#include "ask/spoken.h"
#include "cli/revise_internal.h"

const char *revise_set(struct revision *revision, const struct field_place *place,
                       struct view text)
{
    struct arena *arena = revision->run->arena;
    const char *wrong = machine_file_set(
        arena, &revision->now, place, text,
        revision->run->options.values[OPTION_HERE].given ? SET_HERE : SET_AT_HOME);
    if (!wrong)
        VECTOR_ADD(arena, &revision->set, *place);
    return wrong;
}

const char *revise_amend(struct revision *revision, const struct finding *finding,
                         const struct finding_fix *fix)
{
    struct arena *arena = revision->run->arena;
    struct field_place place;
    const bool here = revision->run->options.values[OPTION_HERE].given;
    if (here && !view_equal(fix->source->name, revision->now->source.name))
        return arena_format(arena, "it stands in %.*s, where --here writes nothing",
                            VIEW(fix->source->name));
    machine_file_amend(arena, &revision->now, fix->source, fix->span, view_of(fix->text));
    const char *field = fix->field ? fix->field : finding->at.field;
    if (field &&
        machine_resolve(arena, &revision->now->machine, view_of(field), &place, 1) == 1)
        VECTOR_ADD(arena, &revision->set, place);
    return NULL;
}

/* Files that the machine takes in, with what was set in them. */
static bool read_shared(void *user, struct arena *arena, struct view path, struct view *bytes,
                        const char **why)
{
    const struct revision *revision = user;
    const struct file_reader *reader = &revision->now->shared->reader;
    return reader->read(reader->user, arena, path, bytes, why);
}

void dialogue_init(struct dialogue *dialogue, struct revision *revision)
{
    *dialogue = (struct dialogue){.revision = revision, .beside = {revision->path}};
    dialogue->agreements = (struct file_reader){&dialogue->beside, beside_read};
    dialogue->rules = (struct check_options){.books = revision->books.list,
                                             .book_count = revision->books.count,
                                             .today = run_today(revision->run),
                                             .policy = revision->books.policy,
                                             .agreements = &dialogue->agreements};
    if (revision->now->shared) {
        dialogue->shared = *revision->now->shared;
        dialogue->shared.reader = (struct file_reader){revision, read_shared};
        dialogue->rules.shared = &dialogue->shared;
    }
    dialogue->setup = (struct ask_setup){.rules = &dialogue->rules,
                                         .layout = revision->lines->layout,
                                         .path = revision->path,
                                         .exists = true,
                                         .base = revision->now->bytes,
                                         .today = run_day(revision->run)};
}

bool dialogue_run(struct dialogue *dialogue)
{
    struct lines *lines = dialogue->revision->lines;
    enum ask_state state = ASK_GOES_ON;
    enum line_result result = LINE_READ;
    struct view says;
    bool stands = true;
    if (!lines_open(lines, NULL))
        return false;
    dialogue->ask = lines->ask =
        ask_begin(dialogue->revision->run->arena, &dialogue->setup, &says);
    lines_show(lines, says);
    while (stands && state == ASK_GOES_ON && (result == LINE_READ || result == LINE_TOO_LONG)) {
        result = lines_answer(lines, &state);
        stands = !dialogue->strict || !lines->from || !ask_refused(lines->ask);
    }
    lines->ask = NULL;
    if (!stands) {
        output_flush(dialogue->revision->run->out);
        trouble_say(dialogue->revision->run->arena,
                    "%s:%zu: this answer was refused, and the rest is not read", lines->from,
                    lines->number);
    }
    if (state == ASK_GOES_ON && !lines->from)
        lines_gap(lines);
    return state == ASK_ASKED;
}

void say_cautions(struct revision *revision)
{
    lines_say(
        revision->lines, 0,
        "Before hands go near: stop the spindle and isolate it, so that nothing can start "
        "it. Keep a hand on the stop whenever an axis moves, and go the last millimetres "
        "in small steps.");
    lines_say(
        revision->lines, 0,
        "At every question: Enter keeps a value as it is, ? explains it and how to measure, "
        "back goes back, skip leaves it as the file has it, stop ends without changing "
        "anything.");
}

/* Half of a pair that is not there is asked for with the other half. */
static enum revise_end ask_field(struct revision *revision, struct field_place place)
{
    if (!*machine_file_text(revision->run->arena, revision->now, &place))
        place.part = 0;
    struct asked_places asked = {.revision = revision, .places = &place, .count = 1};
    return ask_places(&asked) ? REVISE_ASKED : REVISE_STOPPED;
}

/* Asks for fields until Enter alone. */
static enum revise_end ask_fields(struct revision *revision)
{
    struct arena *arena = revision->run->arena;
    enum revise_end end = REVISE_ASKED;
    struct view text, rest;
    say_cautions(revision);
    if (!lines_open(revision->lines, NULL))
        return REVISE_STOPPED;
    while (end == REVISE_ASKED) {
        struct field_place place;
        if (!lines_ask(revision->lines, "Which field? (Enter alone: no more)", &text))
            return REVISE_STOPPED;
        enum said said = spoken_word(arena, text, &rest);
        if (said == SAID_STOP)
            return REVISE_STOPPED;
        if (!text.size || said == SAID_NONE)
            return REVISE_ASKED;
        if (said == SAID_HELP || said == SAID_SKIP) {
            lines_say(revision->lines, 4,
                      "A path such as change.standoff or cutters[number=3].stickout; `proveout "
                      "explain SECTION` lists the fields of a section. Enter alone ends.");
            continue;
        }
        const char *wrong = machine_file_find(revision->run->arena, revision->now,
                                              arena_copy(arena, text.data, text.size), &place);
        if (wrong)
            lines_say(revision->lines, 4, "%s%s", wrong,
                      wrong[strlen(wrong) - 1] == '?' ? "" : ".");
        else
            end = ask_field(revision, place);
    }
    return end;
}

/* The value that a path stands for. */
static enum revise_end ask_path(struct revision *revision, const char *path)
{
    struct field_place place;
    const char *wrong = machine_file_find(revision->run->arena, revision->now, path, &place);
    if (!wrong)
        return ask_field(revision, place);
    run_refuse(revision->run, "%s", wrong);
    return REVISE_REFUSED;
}

enum revise_end revise_ask(struct revision *revision, const char *const *words, size_t count,
                           size_t *used)
{
    enum revise_end end;
    *used = count > 0;
    if (!count)
        return ask_fields(revision);
    if (revise_ask_moved(revision, words, count, used, &end) ||
        revise_ask_cutter(revision, words, count, used, &end))
        return end;
    return ask_path(revision, words[0]);
}
