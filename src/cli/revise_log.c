/* The lines that a revision adds to a log: one for each value that is another now, whether it
 * was named or came along through an alias. */
#include "cli/revise.h"

#include <string.h>

#include "cli/change_log.h"

static struct view value_text(const struct revision *revision, const struct machine_file *file,
                              enum field_id id, uint32_t record)
{
    if (record >= file->machine.groups[field_table[id].group].count)
        return (struct view){0};
    const struct field_value *value = machine_field(&file->machine, id, record);
    if (value->state != VALUE_GIVEN)
        return (struct view){0};
    return view_of(field_value_text(revision->run->arena, id, value));
}

static void add_line(const struct revision *revision, const struct field_place *place,
                     struct view old, struct view new, struct buffer *out)
{
    const struct run *run = revision->run;
    const char *why = run->options.values[OPTION_WHY].text;
    const char *path = revise_path(revision, place);
    const struct view parts[] = {run_day(run), view_of(revision->path), view_of(path), old,
                                 new,          view_of(why ? why : "")};
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        if (i)
            buffer_byte(out, '\t');
        change_log_part(out, parts[i]);
    }
    buffer_byte(out, '\n');
}

void revise_log_lines(const struct revision *revision, struct buffer *out)
{
    const struct machine *now = &revision->now->machine;
    for (unsigned id = 0; id < FIELD_COUNT; id++)
        for (uint32_t i = 0; i < now->groups[field_table[id].group].count; i++) {
            if (!machine_is_written(now, id, i))
                continue;
            struct view new = value_text(revision, revision->now, id, i);
            struct view old = value_text(revision, revision->before, id, i);
            const struct field_place place = {id, i, 0};
            if (!view_equal(old, new))
                add_line(revision, &place, old, new, out);
        }
}
