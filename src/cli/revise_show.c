/* What a revision changes, and what that moves. */
#include "cli/revise.h"

#include <string.h>

#include "cli/surroundings.h"
#include "report/wrap.h"
#include "rules/moved.h"
#include "text/diff.h"
#include "text/escape.h"

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
                       const struct file_report *after)
{
    struct run *run = revision->run;
    struct file_report before;
    struct moved moved;
    const struct report report = {REPORT_COMPARISON, revision->path, {.comparison = &moved}};
    struct wrap wrap = {wrap_width(layout->width), 0, 2};
    struct buffer out;
    buffer_init(&out, run->arena);
    revise_check(revision, revision->before, &before);
    reports_compare(run->arena, &before, after, &moved);
    buffer_byte(&out, '\n');
    show_carried(revision, &out, &wrap);
    buffer_add(&out, buffer_view(&revision->remarks));
    report_file(run_output(run), layout, &report, &out);
    wrap_format(&out, &wrap, "%s then: %s; before: %s.", revision->path,
                text_levels(run->arena, after->findings_by_level),
                text_levels(run->arena, before.findings_by_level));
    wrap_add(
        &out, &wrap,
        view_of("Numbers on paper: the first run after a change is still made in air, with "
                "a hand on the stop."));
    output_write(run->out, buffer_view(&out));
}

void revise_show(const struct revision *revision, const struct file_report *after)
{
    struct report_options layout = surroundings_layout(revision->run);
    show_difference(revision, &layout);
    show_moves(revision, &layout, after);
}
