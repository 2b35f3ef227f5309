/* The blank form. */
#include "ask/sheet.h"

#include <string.h>

#include "ask/walk.h"
#include "report/report.h"
#include "report/wrap.h"
#include "text/escape.h"
#include "text/fingerprint.h"

enum { NAME_CELLS = 56, BOXES_A_LINE = 5 };

#define BOX   "[__________]"
#define WIDE  "[________________________________________________________]"
#define BLANK "________________________"

/* --- names --- */

const char *sheet_machine(struct arena *arena, const struct machine_file *file)
{
    const struct field_value *name = machine_field(&file->machine, FIELD_MACHINE_NAME, 0);
    return name->state == VALUE_GIVEN ? escape_short(arena, view_trim(name->text), NAME_CELLS)
                                      : "(without a name)";
}

const char *sheet_fingerprint(struct arena *arena, const struct machine_file *file)
{
    return fingerprint(arena, "form", arena_copy(arena, file->bytes.data, file->bytes.size),
                       NULL, 0);
}

const char *sheet_unit(const struct machine_file *file, const struct field_place *place)
{
    const struct field_value *value =
        machine_field(&file->machine, place->field, place->record);
    const struct answer_context with = {.inches = machine_in_inches(&file->machine)};
    if (!field_takes_readings(place->field))
        return "";
    return value->state == VALUE_GIVEN ? unit_text(value->unit)
                                       : understand_unit(&with, place->field);
}

/* --- one row --- */

/* A paragraph for people: each of its lines behind a mark. */
static void add_prose(struct buffer *out, const char *text)
{
    const struct wrap wrap = {SHEET_COLUMNS - 4, 0, 0};
    struct buffer wrapped, plain;
    buffer_init(&wrapped, out->arena);
    buffer_init(&plain, out->arena);
    wrap_add(&wrapped, &wrap, view_of(text));
    text_plain(&plain, buffer_view(&wrapped));
    struct view rest = buffer_view(&plain);
    while (rest.size) {
        struct view line = view_take(&rest, '\n');
        if (line.size)
            buffer_format(out, "  | %.*s\n", VIEW(line));
    }
}

static void add_boxes(struct buffer *out, size_t count)
{
    for (size_t i = 0; i < count; i++)
        buffer_format(out, "%s" BOX, i % BOXES_A_LINE ? " " : i ? "\n  " : "  ");
    buffer_byte(out, '\n');
}

static void add_row(struct buffer *out, const struct machine_file *file,
                    const struct walk_row *row, bool tells_how)
{
    const struct field *field = &field_table[row->place.field];
    const char *unit = sheet_unit(file, &row->place);
    const char *in_file = walk_in_file(out->arena, file, &row->place);
    buffer_format(out, "\n= %s%s%s\n", row->path, *unit ? ", unit " : "", unit);
    add_prose(out, field->meaning);
    if (field->care & CARE_COLLET)
        buffer_text(out, "  | ( ) " WALK_ISOLATED "\n");
    if (tells_how)
        add_prose(out, field->measure);
    else if (*field->measure)
        add_prose(out, WALK_AS_ABOVE);
    if (in_file)
        add_prose(out, in_file);
    if (!field_takes_readings(row->place.field)) {
        if (field->choices)
            add_prose(out, arena_format(out->arena, "One of: %s.", field->choices));
        buffer_text(out, "  " WIDE "\n");
        return;
    }
    add_boxes(out, walk_boxes(row));
    buffer_text(out, "  " WALK_WITH ": " BLANK "\n  " WALK_OFF_BY ": " BLANK "\n");
}

/* --- all of it --- */

static void add_head(struct buffer *out, const struct machine_file *file)
{
    struct arena *arena = out->arena;
    const char *slash = strrchr(file->path, '/');
    buffer_format(out, "form: 1\nmachine: %s\nfile: %s %s\nby: " BLANK "\ndate: " BLANK "\n\n",
                  sheet_machine(arena, file),
                  escape_short(arena, view_of(slash ? slash + 1 : file->path), 40),
                  sheet_fingerprint(arena, file));
    add_prose(out, "One reading goes into a box, [-92.01], in the unit of its row. " WALK_KEPT
                   " Lines that begin with | or # are not read.");
}

static void add_stop(struct buffer *out, const struct walk_stop *stop)
{
    const char *caution;
    buffer_format(out, "\n# %s\n", stop->heading);
    for (size_t i = 0; (caution = walk_caution(out->arena, stop->care, i)) != NULL; i++)
        add_prose(out, caution);
}

void sheet_write(struct buffer *out, const struct machine_file *file,
                 const struct round_plan *plan)
{
    struct arena *arena = out->arena;
    struct walk *walk = ARENA_NEW(arena, struct walk);
    bool told[FIELD_COUNT] = {0};
    size_t rows = 0;
    walk_round(arena, file, plan, walk);
    add_head(out, file);
    for (size_t i = 0; i < WALK_STOPS; i++) {
        const struct walk_stop *stop = &walk->stops[i];
        if (stop->rows.count)
            add_stop(out, stop);
        for (size_t k = 0; k < stop->rows.count; k++) {
            const struct walk_row *row = &stop->rows.items[k];
            if (!row->path)
                continue;
            add_row(out, file, row, !told[row->place.field]);
            told[row->place.field] = true;
            rows++;
        }
    }
    buffer_byte(out, '\n');
    if (rows < walk->count)
        add_prose(out,
                  arena_format(arena,
                               "%zu more of the round cannot be named on paper, since what "
                               "they are called is too long or is no plain text.",
                               walk->count - rows));
    buffer_format(out, "end: %zu\n", rows);
}
