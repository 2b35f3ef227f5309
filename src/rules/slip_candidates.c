/* Which slips of the pen there are: signs, exchanged numbers, heights of another frame.
 *
 * Knows fields by their kind; nothing of rules.  What is implausible is no candidate. */
#include "rules/slip_candidates.h"

#include "quantity/quantity.h"

enum { OBSTACLES_MAX = 20 };

/* Values of X and of Y that people write down together. */
static const enum field_id across[][2] = {
    {FIELD_SETTER_AT_X, FIELD_SETTER_AT_Y}, {FIELD_CHANGE_PARK_X, FIELD_CHANGE_PARK_Y},
    {FIELD_TABLE_X, FIELD_TABLE_Y},         {FIELD_WORK_X, FIELD_WORK_Y},
    {FIELD_OBSTACLE_X, FIELD_OBSTACLE_Y},
};

/* Of three heights that belong together any one follows from the other two:
 * `is` = `from` + `sign` * `by`. */
static const struct {
    enum field_id is, from, by;
    int sign;
} heights[] = {
    {FIELD_TABLE_NOSE_CONTACT, FIELD_SETTER_NOSE_CONTACT, FIELD_SETTER_HEIGHT, -1},
    {FIELD_SETTER_NOSE_CONTACT, FIELD_TABLE_NOSE_CONTACT, FIELD_SETTER_HEIGHT, 1},
    {FIELD_SETTER_HEIGHT, FIELD_SETTER_NOSE_CONTACT, FIELD_TABLE_NOSE_CONTACT, -1},
    {FIELD_TABLE_NOSE_CONTACT, FIELD_PLATE_NOSE_CONTACT, FIELD_PLATE_THICKNESS, -1},
    {FIELD_PLATE_NOSE_CONTACT, FIELD_TABLE_NOSE_CONTACT, FIELD_PLATE_THICKNESS, 1},
    {FIELD_PLATE_THICKNESS, FIELD_PLATE_NOSE_CONTACT, FIELD_TABLE_NOSE_CONTACT, -1},
};

static const struct field_value *given(const struct machine *machine, enum field_id field,
                                       uint32_t record)
{
    if (record >= machine->groups[field_table[field].group].count)
        return NULL;
    const struct field_value *value = machine_field(machine, field, record);
    return value->state == VALUE_GIVEN ? value : NULL;
}

static bool is_plausible(enum field_id field, double si)
{
    const struct field *about = &field_table[field];
    return !(si < about->plausible_low) && !(si > about->plausible_high);
}

static bool may_be(enum field_id field, const struct field_value *value)
{
    if (field_table[field].kind == KIND_PAIR)
        return is_plausible(field, value->pair[0].si) && is_plausible(field, value->pair[1].si);
    return is_plausible(field, value->si);
}

static void set_part(struct slip *slip, enum field_id field, uint32_t record,
                     struct field_value value)
{
    slip->site = field;
    for (size_t i = 0; i < sizeof across / sizeof *across; i++)
        if (across[i][0] == field || across[i][1] == field) {
            slip->site = across[i][0];
            slip->in_plan = true;
        }
    slip->parts[slip->count].field = field;
    slip->parts[slip->count].record = record;
    slip->parts[slip->count++].value = value;
}

/* "axes.z.travel [-140 mm, 0 mm] in place of [0 mm, 140 mm] would do" */
static const char *replaced(struct arena *arena, const struct machine *machine,
                            const struct slip *slip, const char *by)
{
    enum field_id field = slip->parts[0].field;
    uint32_t record = slip->parts[0].record;
    return arena_format(arena, "%s %s in place of %s would do",
                        machine_path(arena, machine, field, record, 0), by,
                        field_value_text(arena, field, machine_field(machine, field, record)));
}

static double opposite(double si)
{
    return si == 0 ? 0 : -si;
}

/* With the other sign; of a pair, with the other sign at either end. */
static void add_negated(struct arena *arena, const struct machine *machine, enum field_id field,
                        uint32_t record, struct slip_list *out)
{
    const struct field_value *value = given(machine, field, record);
    if (!value)
        return;
    struct field_value other = *value;
    if (field_table[field].kind == KIND_PAIR) {
        other.pair = ARENA_ARRAY(arena, struct field_value, 2);
        for (int end = 0; end < 2; end++) {
            other.pair[end] = value->pair[1 - end];
            other.pair[end].si = opposite(value->pair[1 - end].si);
        }
    } else {
        other.si = opposite(value->si);
    }
    if (!may_be(field, &other))
        return;
    struct slip slip = {0};
    set_part(&slip, field, record, other);
    slip.words = replaced(arena, machine, &slip, field_value_text(arena, field, &other));
    VECTOR_ADD(arena, &out->items, slip);
}

static void add_signs(struct arena *arena, const struct machine *machine, struct slip_list *out)
{
    for (unsigned id = 0; id < FIELD_COUNT; id++) {
        const struct field *field = &field_table[id];
        bool is_signed = field->kind == KIND_POSITION ||
                         (field->kind == KIND_PAIR && field->plausible_low < 0);
        uint32_t count = machine->groups[field->group].count;
        bool tried = is_signed && (field->group != GROUP_OBSTACLE || count <= OBSTACLES_MAX);
        for (uint32_t record = 0; tried && record < count; record++)
            add_negated(arena, machine, (enum field_id)id, record, out);
    }
}

/* `first` and `second` with each other's values. */
static void add_exchanged(struct arena *arena, const struct machine *machine,
                          const enum field_id fields[2], const uint32_t records[2],
                          struct slip_list *out)
{
    const struct field_value *first = given(machine, fields[0], records[0]);
    const struct field_value *second = given(machine, fields[1], records[1]);
    if (!first || !second || !may_be(fields[0], second) || !may_be(fields[1], first))
        return;
    struct slip slip = {0};
    set_part(&slip, fields[0], records[0], *second);
    set_part(&slip, fields[1], records[1], *first);
    slip.site = fields[0];
    slip.words = arena_format(arena, "%s %s, %s %s exchanged would do",
                              machine_path(arena, machine, fields[0], records[0], 0),
                              field_value_text(arena, fields[0], second),
                              machine_path(arena, machine, fields[1], records[1], 0),
                              field_value_text(arena, fields[1], first));
    VECTOR_ADD(arena, &out->items, slip);
}

static void add_exchanges(struct arena *arena, const struct machine *machine,
                          struct slip_list *out)
{
    for (size_t i = 0; i < sizeof across / sizeof *across; i++) {
        uint32_t count = machine->groups[field_table[across[i][0]].group].count;
        for (uint32_t record = 0; record < count && count <= OBSTACLES_MAX; record++)
            add_exchanged(arena, machine, across[i], (uint32_t[]){record, record}, out);
    }
    static const enum field_id travels[] = {FIELD_AXIS_TRAVEL, FIELD_AXIS_TRAVEL};
    add_exchanged(arena, machine, travels, (uint32_t[]){0, 1}, out);
}

static void add_heights(struct arena *arena, const struct machine *machine,
                        struct slip_list *out)
{
    for (size_t i = 0; i < sizeof heights / sizeof *heights; i++) {
        const struct field_value *is = given(machine, heights[i].is, 0);
        const struct field_value *from = given(machine, heights[i].from, 0);
        const struct field_value *by = given(machine, heights[i].by, 0);
        if (!is || !from || !by)
            continue;
        struct field_value other = *is;
        other.si = from->si + heights[i].sign * by->si;
        if (!may_be(heights[i].is, &other))
            continue;
        struct slip slip = {.by_others = true};
        set_part(&slip, heights[i].is, 0, other);
        slip.words = replaced(
            arena, machine, &slip,
            quantity_text(arena, other.si, field_table[heights[i].is].dimension, is->unit));
        VECTOR_ADD(arena, &out->items, slip);
    }
}

void slips_list(struct arena *arena, const struct machine *machine, struct slip_list *out)
{
    *out = (struct slip_list){0};
    add_signs(arena, machine, out);
    add_exchanges(arena, machine, out);
    add_heights(arena, machine, out);
}
