/* What is asked where along the machine. */
#include "ask/walk.h"

#include "ask/questions.h"
#include "ask/sheet.h"

enum { BOXES_USUAL = 5, BOXES_SCATTER = 10, BOXES_MAX = 20, PATH_MAX_CELLS = 60 };

/* --- walking order --- */

static const struct {
    const char *heading;
    const char *sections[10]; /* NULL: all that is left */
} stops[WALK_STOPS] = {
    {"At the screen, and along the axes",
     {"machine", "axes", "homing", "inputs", "controller", "probing", NULL}},
    {"At the table and the setter",
     {"table", "work", "obstacles", "plate", "setter", "setters", NULL}},
    {"At the spindle", {"spindle", "attachments", NULL}},
    {"At each cutter", {"cutters", NULL}},
    {"For the change", {NULL}},
};

static size_t stop_of(enum field_id id)
{
    for (size_t i = 0; i + 1 < WALK_STOPS; i++)
        for (size_t k = 0; stops[i].sections[k]; k++)
            if (field_is_in(id, stops[i].sections[k]))
                return i;
    return WALK_STOPS - 1;
}

static bool is_before(const struct field_place *one, const struct field_place *other)
{
    bool same = field_table[one->field].group == field_table[other->field].group;
    if (same && one->record != other->record)
        return one->record < other->record;
    return one->field < other->field;
}

static void begin(struct walk *walk)
{
    *walk = (struct walk){0};
    for (size_t i = 0; i < WALK_STOPS; i++)
        walk->stops[i].heading = stops[i].heading;
}

static void add(struct arena *arena, struct walk *walk, const struct walk_row *row)
{
    struct walk_stop *stop = &walk->stops[stop_of(row->place.field)];
    size_t at = stop->rows.count;
    VECTOR_ADD(arena, &stop->rows, *row);
    for (; at > 0 && is_before(&row->place, &stop->rows.items[at - 1].place); at--)
        stop->rows.items[at] = stop->rows.items[at - 1];
    stop->rows.items[at] = *row;
    stop->care |= field_table[row->place.field].care;
    walk->count++;
}

/* --- of one machine --- */

/* The path of a value on paper; NULL where it is too long or cannot be typed. */
static const char *path_on_paper(struct arena *arena, const struct machine_file *file,
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

void walk_round(struct arena *arena, const struct machine_file *file,
                const struct round_plan *plan, struct walk *out)
{
    begin(out);
    for (size_t i = 0; i < plan->items.count; i++) {
        const struct round_item *item = &plan->items.items[i];
        const struct walk_row row = {.place = item->place,
                                     .item = item,
                                     .path = path_on_paper(arena, file, &item->place)};
        add(arena, out, &row);
    }
}

void walk_set_apart(struct arena *arena, const struct machine_file *file,
                    struct round_plan *plan, struct walk_elsewhere *out)
{
    size_t kept = 0;
    for (size_t i = 0; i < plan->items.count; i++) {
        struct round_item item = plan->items.items[i];
        const char *other = machine_file_elsewhere(arena, file, &item.place);
        if (other)
            VECTOR_ADD(arena, &out->rows, (struct stands_elsewhere){item, other});
        else
            plan->items.items[kept++] = item;
    }
    plan->items.count = kept;
}

/* --- of a machine that nobody has described yet --- */

/* Of what a machine may have several: how many there is room for, and where there are any. */
static const struct {
    uint32_t records;
    const char *only;
} rooms[GROUP_COUNT] = {
    [GROUP_ROOT] = {1, NULL},
    [GROUP_AXIS] = {3, NULL},
    [GROUP_HOMING] = {3, NULL},
    [GROUP_OBSTACLE] = {1, "where anything stays on the table, as a fence or toe clamps"},
    [GROUP_ATTACHMENT] = {1, "where anything hangs on the spindle, as a laser head"},
    [GROUP_CUTTER] = {3, NULL},
};

/* Inputs that a description wires something to, by the names that are usual for them. */
static void add_inputs(struct arena *arena, struct walk *walk, const struct question_list *list,
                       enum field_id id)
{
    uint32_t record = 0;
    for (size_t i = 0; i < list->rows.count; i++) {
        const struct question *row = list->rows.items[i];
        if (row->what >= FIELD_COUNT || field_table[row->what].kind != KIND_INPUT ||
            (row->flags & ASK_OFFERED) || !row->text)
            continue;
        struct walk_row input = {.place = {id, record++, 0},
                                 .when = field_table[row->what].when};
        input.only = when_table[input.when].text;
        input.path = field_record_path(arena, &input.place, view_of(row->text));
        add(arena, walk, &input);
    }
}

static void add_records(struct arena *arena, struct walk *walk, enum field_id id)
{
    enum field_group group = field_table[id].group;
    for (uint32_t record = 0; record < rooms[group].records; record++) {
        struct walk_row one = {.place = {id, record, 0}, .when = field_table[id].when};
        bool listed = group_table[group].shape == SHAPE_LIST;
        const struct field_place path = {id, record + listed, 0};
        one.only = rooms[group].only ? rooms[group].only : when_table[one.when].text;
        one.path = field_record_path(arena, &path, (struct view){0});
        add(arena, walk, &one);
    }
}

/* Is it asked before more is offered, or does the format need it of some machines?  What others
 * of a list are called by is asked with the rest of them; the name of the machine stands at the
 * head of a form. */
static bool is_first(const struct question *row)
{
    const struct field *field = &field_table[row->what];
    return field->kind != KIND_VERSION && row->what != FIELD_MACHINE_NAME &&
           (!(row->flags & ASK_OFFERED) || field->needed ||
            field_calling(field->group) == (enum field_id)row->what);
}

void walk_first(struct arena *arena, struct walk *out)
{
    struct question_list list;
    bool seen[FIELD_COUNT] = {0};
    begin(out);
    question_rows(arena, &list);
    for (size_t i = 0; i < list.rows.count; i++) {
        const struct question *row = list.rows.items[i];
        if (row->what >= FIELD_COUNT || seen[row->what] || !is_first(row))
            continue;
        seen[row->what] = true;
        if (field_table[row->what].group == GROUP_INPUT)
            add_inputs(arena, out, &list, (enum field_id)row->what);
        else
            add_records(arena, out, (enum field_id)row->what);
    }
}

/* --- words --- */

const char *walk_caution(struct arena *arena, unsigned care, size_t index)
{
    const char *caution = field_caution(care, index);
    return caution ? arena_format(arena, "CAUTION: %s", caution) : NULL;
}

const char *walk_in_file(struct arena *arena, const struct machine_file *file,
                         const struct field_place *place)
{
    const struct field_value *value =
        machine_field(&file->machine, place->field, place->record);
    return value->state == VALUE_GIVEN
               ? arena_format(arena, "In the file: %s.",
                              field_value_text(arena, place->field, value))
               : NULL;
}

const char *walk_not_here(struct arena *arena, const struct machine_file *file,
                          const struct stands_elsewhere *row)
{
    return arena_format(arena, "Not on this form, since it stands in %s: %s", row->file,
                        machine_lasting_path(arena, &file->machine,
                                             machine_file_path(arena, file, &row->item.place)));
}

size_t walk_boxes(const struct walk_row *row)
{
    if (field_table[row->place.field].nature == NATURE_SCATTER)
        return BOXES_SCATTER;
    if (!row->item || row->item->reason != ROUND_BETTER)
        return BOXES_USUAL;
    return row->item->worth.count < BOXES_MAX ? row->item->worth.count : BOXES_MAX;
}
