/* A round on paper: the blank form, and what a filled one says. */
#include "cli/measure.h"

#include "ask/sheet.h"
#include "cli/input.h"
#include "text/escape.h"

enum { FORM_SIZE_MAX = 4 * 1024 * 1024, REMARK = 2 };

/* --- blank --- */

void measure_print_form(struct measuring *measuring)
{
    struct revision *revision = measuring->revision;
    struct buffer out;
    buffer_init(&out, revision->run->arena);
    sheet_write(&out, revision->now, &measuring->plan);
    for (size_t i = 0; i < measuring->elsewhere.rows.count; i++)
        buffer_format(&out, "# %s\n",
                      walk_not_here(revision->run->arena, revision->now,
                                    &measuring->elsewhere.rows.items[i]));
    output_write(revision->run->out, buffer_view(&out));
}

/* --- filled --- */

static void say_troubles(struct measuring *measuring, const char *path,
                         const struct sheet *form)
{
    struct arena *arena = measuring->revision->run->arena;
    size_t count = form->trouble_count < SHEET_TROUBLES ? form->trouble_count : SHEET_TROUBLES;
    for (size_t i = 0; i < count; i++)
        trouble_say(arena, "%s:%u:%u: %s", path, (unsigned)form->troubles[i].line,
                    (unsigned)form->troubles[i].column, form->troubles[i].why);
    if (count < form->trouble_count)
        trouble_say(arena, "%s: %zu more places cannot be read", path,
                    form->trouble_count - count);
    run_refuse(measuring->revision->run, "nothing is taken from %s", path);
}

/* A reading far off is kept here, and told. */
static void say_row(struct measuring *measuring, const struct sheet_row *row)
{
    struct revision *revision = measuring->revision;
    const struct tally *tally = &row->tally;
    const char *path = revise_path(revision, &row->place);
    if (row->text.size)
        lines_say(revision->lines, REMARK, "%s: %.*s", path, VIEW(row->text));
    else
        lines_say(revision->lines, REMARK, "%s: %s", path, tally_says(tally));
    size_t off = tally_off(tally);
    if (!row->text.size && off < tally->readings.count)
        lines_say(revision->lines, REMARK,
                  "Reading %zu of it, %.*s, lies far off the rest and is kept; take it out of "
                  "the form where it was a slip of the pen.",
                  off + 1, VIEW(tally->readings.items[off].text));
}

static void take_rows(struct measuring *measuring, const struct sheet *form)
{
    struct arena *arena = measuring->revision->run->arena;
    measuring->values = ARENA_ARRAY(arena, struct measured, form->rows.count + 1);
    for (size_t i = 0; i < form->rows.count; i++) {
        const struct sheet_row *row = &form->rows.items[i];
        const struct round_item item = {.place = row->place, .reason = ROUND_NAMED};
        VECTOR_ADD(arena, &measuring->plan.items, item);
        measuring->values[i] =
            (struct measured){.tally = row->tally, .text = row->text, .is_done = true};
        say_row(measuring, row);
    }
}

bool measure_take_form(struct measuring *measuring, const char *path)
{
    struct revision *revision = measuring->revision;
    struct run *run = revision->run;
    struct sheet *form = ARENA_NEW(run->arena, struct sheet);
    struct view bytes;
    const char *why;
    if (!input_read_file(path, FORM_SIZE_MAX, run->arena, &bytes, &why)) {
        run_refuse(run, "%s cannot be read: %s", path, why);
        return false;
    }
    if (!sheet_read(run->arena, revision->now, bytes, form)) {
        say_troubles(measuring, path, form);
        return false;
    }
    measuring->day = form->date;
    lines_say(revision->lines, 0, "%s: %zu row%s filled in, %zu left as the file has it.", path,
              form->rows.count, form->rows.count == 1 ? "" : "s", form->empty);
    if (!form->date.size && form->rows.count)
        lines_say(revision->lines, 0,
                  "No date stands on the form, so when it was measured is not noted.");
    if (form->is_older)
        lines_say(revision->lines, 0,
                  "%s has changed since the form was printed; look whether the readings are "
                  "still of the machine as it is.",
                  revision->path);
    take_rows(measuring, form);
    return true;
}
