/* `proveout revise`: changes values in place, and shows what that moves before it is written.
 */
#include "cli/revise.h"

#include <string.h>
#include <unistd.h>

#include "cli/input.h"
#include "cli/save.h"
#include "cli/surroundings.h"
#include "cli/trouble.h"
#include "report/moves.h"
#include "report/wrap.h"
#include "rules/check.h"
#include "text/diff.h"
#include "text/escape.h"

void revise_check(const struct revision *revision, const struct machine_file *file,
                  struct file_report *out)
{
    struct beside beside = {revision->path};
    const struct agreement_reader agreements = {&beside, beside_read};
    const struct check_options options = {
        .books = revision->books.list,
        .book_count = revision->books.count,
        .show = SHOW_ALL,
        .words = true,
        .today = surroundings_today(revision->run),
        .agreements = &agreements,
    };
    check_bytes(revision->run->arena, &options, view_of(revision->path), file->bytes, out);
}

/* Arguments. */

/* The `=` between a field and its value: the first outside brackets. */
static const char *find_equals(const char *argument)
{
    int depth = 0;
    for (; *argument; argument++) {
        if (*argument == '=' && depth <= 0)
            return argument;
        depth += (*argument == '[') - (*argument == ']');
    }
    return NULL;
}

/* False: said what is wrong. */
static bool set_argument(struct revision *revision, const char *argument)
{
    struct run *run = revision->run;
    const char *equals = find_equals(argument);
    const char *path = arena_copy(run->arena, argument, (size_t)(equals - argument));
    struct field_place place;
    const char *wrong = revise_find(revision, path, &place);
    if (wrong) {
        run_refuse(run, "%s", wrong);
        return false;
    }
    for (size_t i = 0; i < revision->set.count; i++) {
        const struct field_place *other = &revision->set.items[i];
        if (other->field != place.field || other->record != place.record ||
            (other->part && place.part && other->part != place.part))
            continue;
        run_refuse(run, "%s is given twice", path);
        return false;
    }
    wrong = revise_set(revision, &place, view_of(equals + 1));
    if (wrong)
        run_refuse(run, "%s cannot be set so: %s", path, wrong);
    return !wrong;
}

/* Sets what the arguments say, and asks for what they leave open. */
static enum revise_end gather(struct revision *revision)
{
    const struct options *options = &revision->run->options;
    bool puts_right = options->values[OPTION_PUT_RIGHT].given;
    enum revise_end end = REVISE_ASKED;
    for (size_t i = 1; i < options->arguments.count; i++)
        if (find_equals(options->arguments.items[i]) &&
            !set_argument(revision, options->arguments.items[i]))
            return REVISE_REFUSED;
    for (size_t i = 1; i < options->arguments.count && end == REVISE_ASKED; i++) {
        if (find_equals(options->arguments.items[i]))
            continue;
        revision->asked = true;
        end = revise_ask(revision, options->arguments.items[i]);
    }
    if (options->arguments.count == 1 && !puts_right) {
        revision->asked = true;
        end = revise_ask(revision, NULL);
    }
    if (end == REVISE_ASKED && puts_right)
        revise_put_right(revision);
    return end;
}

/* Showing. */

/* The file's name as patch takes it: nothing absolute, nothing upwards. */
static struct view diff_name(const struct revision *revision)
{
    struct arena *arena = revision->run->arena;
    const char *path = revision->path, *last = strrchr(path, '/');
    if (strstr(path, "../") && last)
        path = last + 1;
    while (*path == '/' || strncmp(path, "./", 2) == 0)
        path += *path == '/' ? 1 : 2;
    char *name = arena_copy(arena, path, strlen(path));
    for (char *c = name; *c; c++)
        if ((unsigned char)*c < 0x20 || *c == 0x7f)
            *c = '?';
    /* A blank in a name has to be told from what may follow it. */
    return view_of(strchr(name, ' ') ? arena_format(arena, "%s\t", name) : name);
}

/* A line of the difference for a terminal. */
static void add_shown(struct buffer *out, const struct report_options *layout, struct view line)
{
    const char *color = !layout->color        ? NULL
                        : line.data[0] == '+' ? "\x1b[32m"
                        : line.data[0] == '-' ? "\x1b[31m"
                                              : NULL;
    if (line.data[line.size - 1] == '\r')
        line.size--;
    if (color)
        buffer_text(out, color);
    escape_terminal(out, line);
    buffer_text(out, color ? "\x1b[0m\n" : "\n");
}

/* To a terminal escaped, to a file or pipe as it is, so that patch takes it. */
static void show_difference(const struct revision *revision,
                            const struct report_options *layout)
{
    struct run *run = revision->run;
    struct buffer diff, shown;
    buffer_init(&diff, run->arena);
    buffer_init(&shown, run->arena);
    diff_unified(&diff, diff_name(revision), revision->before->bytes, revision->now->bytes);
    struct view rest = buffer_view(&diff);
    for (; run->out->is_terminal && rest.size;) {
        const char *end = memchr(rest.data, '\n', rest.size);
        size_t size = end ? (size_t)(end - rest.data) : rest.size;
        if (size)
            add_shown(&shown, layout, (struct view){rest.data, size});
        rest = view_skip(rest, size + 1);
    }
    struct view text = buffer_view(run->out->is_terminal ? &shown : &diff);
    struct buffer plain;
    buffer_init(&plain, run->arena);
    if (!layout->unicode) {
        text_plain(&plain, text);
        text = buffer_view(&plain);
    }
    output_write(run->out, text);
}

/* Values that changed without having been named: an alias carries a value to another place. */
static void show_carried(const struct revision *revision, struct buffer *out,
                         const struct wrap *wrap)
{
    struct arena *arena = out->arena;
    const struct machine *now = &revision->now->machine;
    for (unsigned id = 0; id < FIELD_COUNT; id++)
        for (uint32_t i = 0; i < now->groups[field_table[id].group].count; i++) {
            struct field_place place = {id, i, 0};
            bool named = false;
            for (size_t k = 0; k < revision->set.count; k++)
                named |=
                    revision->set.items[k].field == id && revision->set.items[k].record == i;
            const struct field_value *new = machine_field(now, id, i);
            const struct field_value *old = machine_field(&revision->before->machine, id, i);
            if (named || new->state != VALUE_GIVEN || old->state != VALUE_GIVEN)
                continue;
            const char *text = field_value_text(arena, id, new);
            if (strcmp(text, field_value_text(arena, id, old)) != 0)
                wrap_format(out, wrap, "%s becomes %s with it, through an alias.",
                            revise_path(revision, &place), text);
        }
}

static void show_moves(const struct revision *revision, const struct report_options *layout,
                       struct file_report *after)
{
    struct run *run = revision->run;
    struct file_report before;
    struct moved moved;
    struct wrap wrap = {wrap_width(layout->width), 0, 2};
    struct buffer out;
    buffer_init(&out, run->arena);
    revise_check(revision, revision->before, &before);
    reports_compare(run->arena, &before, after, &moved);
    buffer_byte(&out, '\n');
    show_carried(revision, &out, &wrap);
    buffer_add(&out, buffer_view(&revision->remarks));
    moves_text(&out, layout, revision->path, &moved);
    wrap_format(&out, &wrap, "%s then: %s; before: %s.", revision->path,
                text_levels(run->arena, after->findings_by_level),
                text_levels(run->arena, before.findings_by_level));
    wrap_add(
        &out, &wrap,
        view_of("Numbers on paper: the first run after a change is still made in air, with "
                "a hand on the stop."));
    output_write(run->out, buffer_view(&out));
}

/* Writing. */

static enum exit_status status_of(const struct run *run, const struct file_report *report)
{
    static const enum finding_level levels[] = {LEVEL_ERROR, LEVEL_WARNING, LEVEL_NOTE};
    if (report->status != FILE_CHECKED)
        return EXIT_TROUBLE;
    for (int level = (int)levels[run->options.values[OPTION_STOP_AT].choice];
         level < LEVEL_COUNT; level++)
        if (report->findings_by_level[level])
            return EXIT_FINDINGS;
    return EXIT_CLEAN;
}

/* Is it wished for, by the option or by a word at the terminal? */
static bool may_write(struct revision *revision)
{
    struct run *run = revision->run;
    struct view text;
    if (run->options.values[OPTION_WRITE].given)
        return true;
    if (!run->out->is_terminal || !revision->lines->from_terminal) {
        lines_say(revision->lines, 0, "Nothing is written; --write does that.");
        return false;
    }
    const char *question = arena_format(run->arena, "Write %s? (yes or no) ", revision->path);
    bool yes = lines_ask(revision->lines, question, &text) &&
               (view_is(text, "yes") || view_is(text, "y"));
    if (!yes)
        lines_say(revision->lines, 0, "Nothing is written.");
    return yes;
}

static enum exit_status finish(struct revision *revision)
{
    struct run *run = revision->run;
    struct file_report after;
    struct report_options layout = surroundings_layout(run);
    revise_check(revision, revision->now, &after);
    enum exit_status status = status_of(run, &after);
    if (view_equal(revision->before->bytes, revision->now->bytes)) {
        output_write(run->out, buffer_view(&revision->remarks));
        lines_say(revision->lines, 0, "%s: nothing changes%s.", revision->path,
                  revision->set.count ? "; it says all of this already" : "");
        return status;
    }
    if (revision->asked)
        lines_gap(revision->lines);
    show_difference(revision, &layout);
    show_moves(revision, &layout, &after);
    if (!may_write(revision))
        return status;
    const char *wrong =
        save_over(run->arena, revision->path, revision->before->bytes, revision->now->bytes);
    if (!wrong) {
        lines_say(revision->lines, 0, "%s is written.", revision->path);
        return status;
    }
    output_flush(run->out);
    trouble_say(run->arena, "%s", wrong);
    return EXIT_TROUBLE;
}

enum exit_status command_revise(struct run *run)
{
    const struct options *options = &run->options;
    struct machine_file *file = ARENA_NEW(run->arena, struct machine_file);
    struct revision *revision = ARENA_NEW(run->arena, struct revision);
    if (!options->arguments.count)
        return run_refuse(run, "revise wants a machine file, and FIELD=VALUE after it");
    revision->path = options->arguments.items[0];
    if (strcmp(revision->path, "-") == 0)
        return run_refuse(run, "revise changes a file; standard input is none");
    if (!books_load(run, &revision->books) || !machine_file_open(run, revision->path, file))
        return EXIT_TROUBLE;
    revision->run = run;
    revision->before = revision->now = file;
    revision->lines = ARENA_NEW(run->arena, struct lines);
    lines_init(revision->lines, run);
    buffer_init(&revision->remarks, run->arena);
    switch (gather(revision)) {
    case REVISE_REFUSED:
        return EXIT_TROUBLE;
    case REVISE_STOPPED:
        lines_say(revision->lines, 0, "Stopped: nothing is written.");
        return EXIT_TROUBLE;
    case REVISE_ASKED:
        break;
    }
    return finish(revision);
}
