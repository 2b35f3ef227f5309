/* The blank form. */
#include "ask/sheet.h"

#include <string.h>

#include "report/report.h"
#include "report/wrap.h"
#include "text/escape.h"
#include "text/fingerprint.h"

enum {
    NAME_CELLS = 56,
    PATH_MAX_CELLS = 60,
    BOXES_A_LINE = 5,
    BOXES_USUAL = 5,
    BOXES_SCATTER = 10,
    BOXES_MAX = 20
};

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

const char *sheet_path(struct arena *arena, const struct machine_file *file,
                       const struct field_place *place)
{
    const char *path =
        machine_lasting_path(arena, &file->machine, machine_file_path(arena, file, place));
    size_t size = strlen(path);
    for (size_t i = 0; i < size; i++)
        if (path[i] < ' ' || path[i] > '~')
            return NULL;
    return size <= PATH_MAX_CELLS ? path : NULL;
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

/* --- walking order --- */

struct stop {
    const char *heading;
    const char *sections[10]; /* NULL: all that is left */
};

static const struct stop stops[] = {
    {"At the screen, and along the axes",
     {"machine", "axes", "homing", "inputs", "controller", "probing", NULL}},
    {"At the table and the setter",
     {"table", "work", "obstacles", "plate", "setter", "setters", NULL}},
    {"At the spindle", {"spindle", "attachments", NULL}},
    {"At each cutter", {"cutters", NULL}},
    {"For the change", {NULL}},
};

enum { STOPS = sizeof stops / sizeof *stops };

static size_t stop_of(enum field_id id)
{
    for (size_t i = 0; i + 1 < STOPS; i++)
        for (size_t k = 0; stops[i].sections[k]; k++)
            if (field_is_in(id, stops[i].sections[k]))
                return i;
    return STOPS - 1;
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

static size_t box_count(const struct round_item *item)
{
    if (field_table[item->place.field].nature == NATURE_SCATTER)
        return BOXES_SCATTER;
    if (item->reason != ROUND_BETTER)
        return BOXES_USUAL;
    return item->worth.count < BOXES_MAX ? item->worth.count : BOXES_MAX;
}

static void add_row(struct buffer *out, const struct machine_file *file,
                    const struct round_item *item, const char *path, bool tells_how)
{
    const struct field *field = &field_table[item->place.field];
    const struct field_value *value =
        machine_field(&file->machine, item->place.field, item->place.record);
    const char *unit = sheet_unit(file, &item->place);
    buffer_format(out, "\n= %s%s%s\n", path, *unit ? ", unit " : "", unit);
    add_prose(out, field->meaning);
    if (field->care & CARE_COLLET)
        buffer_text(out, "  | ( ) spindle isolated or unplugged before hands go in\n");
    if (tells_how)
        add_prose(out, field->measure);
    else if (*field->measure)
        add_prose(out, "As above.");
    if (value->state == VALUE_GIVEN)
        add_prose(out, arena_format(out->arena, "In the file: %s.",
                                    field_value_text(out->arena, item->place.field, value)));
    if (!field_takes_readings(item->place.field)) {
        if (field->choices)
            add_prose(out, arena_format(out->arena, "One of: %s.", field->choices));
        buffer_text(out, "  " WIDE "\n");
        return;
    }
    add_boxes(out, box_count(item));
    buffer_text(out, "  with: " BLANK "\n  off by at most: " BLANK "\n");
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
    add_prose(out,
              "One reading goes into a box, [-92.01], in the unit of its row. What is not "
              "measured stays empty. Readings take the place of what the file has. The date "
              "as 2027-03-31. Lines that begin with | or # are not read.");
}

/* What to mind at one stop of the walk, before its rows. */
static void add_cautions(struct buffer *out, unsigned care)
{
    const char *caution;
    for (size_t i = 0; (caution = field_caution(care, i)) != NULL; i++)
        add_prose(out, arena_format(out->arena, "CAUTION: %s", caution));
}

static unsigned care_at(const struct round_plan *plan, size_t stop)
{
    unsigned care = 0;
    for (size_t i = 0; i < plan->items.count; i++)
        if (stop_of(plan->items.items[i].place.field) == stop)
            care |= field_table[plan->items.items[i].place.field].care;
    return care;
}

/* By stop, then section by section as a file has them, cutter by cutter. */
static bool is_before(const struct field_place *one, const struct field_place *other)
{
    bool same = field_table[one->field].group == field_table[other->field].group;
    if (same && one->record != other->record)
        return one->record < other->record;
    return one->field < other->field;
}

/* The items of one stop in their order. */
static size_t sort_stop(const struct round_plan *plan, size_t stop,
                        const struct round_item **items)
{
    size_t count = 0;
    for (size_t i = 0; i < plan->items.count; i++) {
        const struct round_item *item = &plan->items.items[i];
        size_t at = count;
        if (stop_of(item->place.field) != stop)
            continue;
        for (; at > 0 && is_before(&item->place, &items[at - 1]->place); at--)
            items[at] = items[at - 1];
        items[at] = item;
        count++;
    }
    return count;
}

void sheet_write(struct buffer *out, const struct machine_file *file,
                 const struct round_plan *plan)
{
    struct arena *arena = out->arena;
    const struct round_item **items =
        ARENA_ARRAY(arena, const struct round_item *, plan->items.count + 1);
    bool told[FIELD_COUNT] = {0};
    size_t rows = 0, unnamed = 0;
    add_head(out, file);
    for (size_t stop = 0; stop < STOPS; stop++) {
        size_t count = sort_stop(plan, stop, items);
        if (count) {
            buffer_format(out, "\n# %s\n", stops[stop].heading);
            add_cautions(out, care_at(plan, stop));
        }
        for (size_t i = 0; i < count; i++) {
            enum field_id id = items[i]->place.field;
            const char *path = sheet_path(arena, file, &items[i]->place);
            if (path)
                add_row(out, file, items[i], path, !told[id]);
            told[id] |= path != NULL;
            rows += path != NULL;
            unnamed += !path;
        }
    }
    buffer_byte(out, '\n');
    if (unnamed)
        add_prose(out,
                  arena_format(arena,
                               "%zu more of the round cannot be named on paper, since what "
                               "they are called is too long or is no plain text.",
                               unnamed));
    buffer_format(out, "end: %zu\n", rows);
}
