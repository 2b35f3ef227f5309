#include "rules/derived.h"

#include <math.h>

#include "base/bug.h"

static const struct {
    const char *name;
    enum value_type type;
    bool at_setter;
    const char *meaning;
} rows[] = {
    [DERIVED_SWEPT_CLEARANCE - DERIVED_FIRST] =
        {"swept_clearance", TYPE_QUANTITY, false,
         "the least clearance in room, tolerances at their worst, that the sideways moves of the "
         "change leave between what hangs on the spindle and the obstacle; negative is how far it "
         "runs into it"},
    [DERIVED_SWEPT_BODY -
        DERIVED_FIRST] = {"swept_body", TYPE_TEXT, false,
                          "what comes that near: the cutter, the collet nut or the dust shoe"},
    [DERIVED_SWEPT_WAY -
        DERIVED_FIRST] = {"swept_way", TYPE_TEXT, false, "on which of the moves it does"},
    [DERIVED_SETTER_CLEARANCE - DERIVED_FIRST] =
        {"clearance_at_setter", TYPE_QUANTITY, true,
         "the least clearance between the obstacle and what hangs on the spindle while the tip "
         "goes down to the setter, tolerances at their worst"},
    [DERIVED_SETTER_BODY - DERIVED_FIRST] =
        {"setter_body", TYPE_TEXT, true,
         "what comes that near there: the cutter, the collet nut or the dust shoe"},
};

_Static_assert(sizeof rows / sizeof rows[0] == DERIVED_COUNT, "each derived leaf has its row");

/* Every field that motion may look at for it. */
static const uint16_t both_need[] = {
    FIELD_OBSTACLE_X,
    FIELD_OBSTACLE_Y,
    FIELD_OBSTACLE_TOP,
    FIELD_TABLE_NOSE_CONTACT,
    FIELD_CUTTER_STICKOUT,
    FIELD_CUTTER_DIAMETER,
    FIELD_CHANGE_STICKOUT_RANGE,
    FIELD_ALLOWANCES_RESEAT,
    FIELD_SPINDLE_NUT_DIAMETER,
    FIELD_SPINDLE_SHOE_DIAMETER,
    FIELD_SPINDLE_SHOE_REMOVED,
    FIELD_SPINDLE_SHOE_BELOW_NOSE,
    FIELD_SETTER_AT_X,
    FIELD_SETTER_AT_Y,
    FIELD_CHANGE_MEASURES_WITH,
};
static const uint16_t sweep_needs[] = {
    FIELD_CHANGE_TRAVERSE_Z,
    FIELD_CHANGE_PARK_X,
    FIELD_CHANGE_PARK_Y,
    FIELD_WORK_X,
    FIELD_WORK_Y,
    FIELD_CHANGE_TOUCHES_OLD,
    FIELD_HOMING_ORDER,
    FIELD_HOMING_REPEATABILITY,
    FIELD_CHANGE_RETURNS_TO_START,
};

const char *derived_name(uint16_t leaf)
{
    BUG_UNLESS(leaf >= DERIVED_FIRST && leaf < LEAF_COUNT);
    return rows[leaf - DERIVED_FIRST].name;
}

const char *derived_meaning(uint16_t leaf)
{
    BUG_UNLESS(leaf >= DERIVED_FIRST && leaf < LEAF_COUNT);
    return rows[leaf - DERIVED_FIRST].meaning;
}

bool derived_find(struct view name, struct env_place *to)
{
    for (uint16_t i = 0; i < DERIVED_COUNT; i++) {
        if (!view_is(name, rows[i].name))
            continue;
        *to = (struct env_place){
            .type = rows[i].type,
            .dimension = rows[i].type == TYPE_QUANTITY ? DIMENSION_LENGTH : DIMENSION_NONE,
            .leaf = (uint16_t)(DERIVED_FIRST + i),
            .kind = GROUP_OBSTACLE,
        };
        return true;
    }
    return false;
}

void derived_reset(struct derived *derived, const struct machine *machine)
{
    derived->machine = machine;
    derived->looked = false;
    derived->swept.record = derived->at_setter.record = RECORD_NONE;
}

const struct obstacle_room *derived_room(struct derived *derived, uint16_t leaf,
                                         uint32_t record)
{
    bool at_setter = rows[leaf - DERIVED_FIRST].at_setter;
    struct derived_room *kept = at_setter ? &derived->at_setter : &derived->swept;
    if (!derived->looked)
        obstacles_look(&derived->view, derived->machine);
    derived->looked = true;
    if (kept->record == record)
        return &kept->room;
    if (at_setter)
        obstacles_at_setter(&derived->view, record, &kept->room);
    else
        obstacles_sideways(&derived->view, record, &kept->room);
    kept->record = record;
    return &kept->room;
}

static const char *way_of(enum move_kind kind)
{
    return kind == MOVE_TO_SETTER ? "on its way to the setter"
           : kind == MOVE_TO_PARK ? "on its way to the park position"
                                  : "on its way back";
}

/* Coordinates bring more rounding with them than the small number that is left of them: to a
 * picometre, so that what should be exactly the allowance asked for is. */
static double settled(double value)
{
    return round(value * 1e12) / 1e12;
}

static void give_clearance(const struct derived *derived, uint32_t record,
                           const struct spread *room, struct env_value *out)
{
    const struct field_value *top = machine_field(derived->machine, FIELD_OBSTACLE_TOP, record);
    out->number = settled(room->nominal);
    out->tolerance = settled(room->nominal) - settled(room->low);
    out->unit = top->state == VALUE_GIVEN ? top->unit : unit_default(DIMENSION_LENGTH);
}

void derived_read(struct derived *derived, uint16_t leaf, uint32_t record,
                  struct env_value *out)
{
    *out = (struct env_value){.state = ENV_ABSENT, .unit = UNIT_BARE};
    const struct obstacle_room *room = derived_room(derived, leaf, record);
    for (uint32_t i = 0; i < room->missing.count; i++)
        if (room->missing.items[i].wrong)
            out->state = ENV_WRONG;
    if (!isfinite(room->value.low) || (room->missing.count && room->value.low >= 0))
        return;
    out->state = ENV_KNOWN;
    switch (leaf) {
    case DERIVED_SWEPT_CLEARANCE:
    case DERIVED_SETTER_CLEARANCE:
        give_clearance(derived, record, &room->value, out);
        return;
    case DERIVED_SWEPT_WAY:
        out->text = view_of(way_of(room->move));
        return;
    default:
        out->text = view_of(clearance_body_name(room->body));
    }
}

static bool is_among(const uint16_t *fields, size_t count, enum field_id field)
{
    for (size_t i = 0; i < count; i++)
        if (fields[i] == field)
            return true;
    return false;
}

bool derived_depends(uint16_t leaf, enum field_id field)
{
    if (is_among(both_need, sizeof both_need / sizeof both_need[0], field))
        return true;
    if (rows[leaf - DERIVED_FIRST].at_setter)
        return field == FIELD_SETTER_NOSE_CONTACT;
    return is_among(sweep_needs, sizeof sweep_needs / sizeof sweep_needs[0], field);
}
