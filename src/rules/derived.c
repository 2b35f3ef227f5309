#include "rules/bind.h"

#include <math.h>
#include <stdio.h>

#include "base/bug.h"

#define ROW(id) [DERIVED_##id - DERIVED_FIRST]

static const struct row {
    enum field_group group;
    const char *key;
    enum value_type type;
    enum derived_source source;
    enum field_id field; /* whose place stands for it */
    const char *meaning;
} rows[] = {
    ROW(SWEPT_CLEARANCE) =
        {GROUP_OBSTACLE, "swept_clearance", TYPE_QUANTITY, FROM_SWEEP, FIELD_OBSTACLE_TOP,
         "the least clearance in room, tolerances at their worst, that the sideways moves of the "
         "change leave between what hangs on the spindle and the obstacle; negative is how far it "
         "runs into it"},
    ROW(SWEPT_BODY) =
        {GROUP_OBSTACLE, "swept_body", TYPE_TEXT, FROM_SWEEP, FIELD_OBSTACLE_TOP,
         "what comes that near: tip or shank of a cutter, the collet nut, the dust shoe, "
         "or an attachment by its name"},
    ROW(SWEPT_WAY) = {GROUP_OBSTACLE, "swept_way", TYPE_TEXT, FROM_SWEEP, FIELD_OBSTACLE_TOP,
                      "on which of the moves it does"},
    ROW(SETTER_CLEARANCE) =
        {GROUP_OBSTACLE, "clearance_at_setter", TYPE_QUANTITY, FROM_SETTER, FIELD_OBSTACLE_TOP,
         "the least clearance between the obstacle and what hangs on the spindle while the tip "
         "goes down to the setter, tolerances at their worst"},
    ROW(SETTER_BODY) = {GROUP_OBSTACLE, "setter_body", TYPE_TEXT, FROM_SETTER,
                        FIELD_OBSTACLE_TOP, "what comes that near there"},

#define ROOM(id, key, word, source, meaning)                                                   \
    ROW(id##_CLEARANCE) = {GROUP_CUTTER,          key,    TYPE_QUANTITY, source,               \
                           FIELD_CUTTER_STICKOUT, meaning},                                    \
    ROW(id##_BODY) = {GROUP_CUTTER, word "_body",          TYPE_TEXT,                          \
                      source,       FIELD_CUTTER_STICKOUT, "what comes that near there"},      \
    ROW(id##_THING) = {GROUP_CUTTER, word "_thing",         TYPE_TEXT,                         \
                       source,       FIELD_CUTTER_STICKOUT, "to what"}
    ROOM(WAY, "clearance_sideways", "sideways", FROM_WAY,
         "the least clearance, tolerances at their worst, that the sideways moves leave to the "
         "setter, the work and the table below what hangs on the spindle besides the cutter"),
    ROOM(
        DOWN, "clearance_going_down", "going_down", FROM_DOWN,
        "the least clearance to the setter, the work and the table while this cutter goes down "
        "onto the setter, but that between the cutter itself and the setter or the table"),
    ROOM(PARK, "clearance_at_park", "park", FROM_PARK,
         "the least clearance, tolerances at their worst, between anything on the spindle and "
         "what stands below, with this cutter at the park position"),
#undef ROOM

#define STEP(id, key, type, meaning)                                                           \
    ROW(id) = {GROUP_ROOT, "procedure." key, type, FROM_PROCEDURE, FIELD_CHANGE_ASKS, meaning}
    STEP(HANDS, "hands", TYPE_FLAG,
         "does any question of change.asks lead a hand to the spindle or under the tip?"),
    STEP(HANDS_HELD, "hands_held_off", TYPE_FLAG,
         "is the spindle held off at each question that leads a hand to it: stopped, then "
         "isolated, unplugged or interlocked, and its supply not yet back?"),
    STEP(EARLY_HAND, "early_hand", TYPE_TEXT,
         "the first question that leads a hand to the spindle while it is not held off"),
    STEP(HOLD_ASKED, "hold_asked", TYPE_FLAG,
         "is anybody asked to isolate or to unplug the spindle?"),
    STEP(PROP_STANDS, "prop_stands", TYPE_FLAG,
         "is the spindle known to stand wherever z_propped is asked?"),
    STEP(STANDSTILL_SEEN, "standstill_seen", TYPE_FLAG,
         "is standstill asked, after the stop and before the first hand?"),
    STEP(STANDSTILL_FIRST, "standstill_first", TYPE_FLAG,
         "is standstill asked, after the stop and before the power is cut?"),
    STEP(PROPPED_FOR_POWER, "propped_for_power", TYPE_FLAG,
         "is z_propped asked before the power is cut?"),
    STEP(PROPPED_FOR_HANDS, "propped_for_hands", TYPE_FLAG,
         "is z_propped asked before the first hand?"),
    STEP(SUPPLY_LAST, "supply_last", TYPE_FLAG,
         "is supply_on asked after the last hand and before spindle_on?"),
    STEP(PLATE_REMOVED, "plate_removed", TYPE_FLAG,
         "is each plate_on followed by a plate_off before spindle_on or the end?"),
    STEP(CLIP_REMOVED, "clip_removed", TYPE_FLAG,
         "is each clip_on followed by a clip_off before spindle_on or the end?"),
    STEP(PLATE_FOR_OLD, "plate_for_old", TYPE_FLAG, "is plate_on asked before cutter_in?"),
    STEP(PLATE_FOR_NEW, "plate_for_new", TYPE_FLAG,
         "does the plate lie there after cutter_in?"),
    STEP(BLOCK_FOR_NEW, "block_for_new", TYPE_FLAG,
         "does the block lie there after cutter_in?"),
    STEP(BLOCK_REMOVED, "block_removed", TYPE_FLAG,
         "is each block_under followed by a block_away before spindle_on or the end?"),
    STEP(SHOE_OFF_FIRST, "shoe_off_first", TYPE_FLAG,
         "is shoe_off asked, and before cutter_in?"),
#undef STEP
};

_Static_assert(sizeof rows / sizeof rows[0] == DERIVED_COUNT, "each derived leaf has its row");

static const struct row *row_of(uint16_t leaf)
{
    BUG_UNLESS(leaf >= DERIVED_FIRST && leaf < LEAF_COUNT);
    return &rows[leaf - DERIVED_FIRST];
}

const char *derived_key(uint16_t leaf)
{
    return row_of(leaf)->key;
}

enum field_group derived_group(uint16_t leaf)
{
    return row_of(leaf)->group;
}

enum field_id derived_field(uint16_t leaf)
{
    return row_of(leaf)->field;
}

const char *derived_meaning(uint16_t leaf)
{
    return row_of(leaf)->meaning;
}

void derived_place(uint16_t leaf, struct env_place *to)
{
    const struct row *row = row_of(leaf);
    *to = (struct env_place){
        .type = row->type,
        .dimension = row->type == TYPE_QUANTITY ? DIMENSION_LENGTH : DIMENSION_NONE,
        .leaf = leaf,
        .kind = (uint8_t)row->group,
    };
}

void derived_reset(struct derived *derived, const struct machine *machine)
{
    derived->machine = machine;
    derived->looked = derived->walked = false;
    for (int source = 0; source < DERIVED_ROOMS; source++)
        derived->rooms[source].record = RECORD_NONE;
}

/* What comes near, as people call it: "tip of cutter 3", as the list numbers it. */
static struct view body_of(const struct machine *machine, struct derived_room *kept)
{
    const struct obstacle_room *room = &kept->room;
    bool shank = room->body == BODY_SHANK;
    uint32_t cutter = room->length_of != RECORD_NONE ? room->length_of : room->width_of;
    if ((!shank && room->body != BODY_CUTTER) || cutter == RECORD_NONE)
        return body_name(machine, room->body, room->attachment);
    const struct field_value *number = machine_field(machine, FIELD_CUTTER_NUMBER, cutter);
    const char *part = shank ? "shank" : "tip";
    if (number->state == VALUE_GIVEN)
        snprintf(kept->body, sizeof kept->body, "%s of cutter %.0f", part, number->si);
    else
        snprintf(kept->body, sizeof kept->body, "%s of the cutter", part);
    return view_of(kept->body);
}

static struct derived_room *room_of(struct derived *derived, uint16_t leaf, uint32_t record)
{
    enum derived_source source = row_of(leaf)->source;
    struct derived_room *kept = &derived->rooms[source];
    if (!derived->looked)
        obstacles_look(&derived->view, derived->machine);
    derived->looked = true;
    if (source == FROM_WAY)
        record = 0; /* no cutter comes into it */
    if (kept->record == record)
        return kept;
    if (source == FROM_SETTER)
        obstacles_at_setter(&derived->view, record, &kept->room);
    else if (source == FROM_SWEEP)
        obstacles_sideways(&derived->view, record, &kept->room);
    else if (source == FROM_WAY)
        obstacles_beside_way(&derived->view, &kept->room);
    else if (source == FROM_DOWN)
        obstacles_going_down(&derived->view, record, &kept->room);
    else
        obstacles_at_park(&derived->view, record, &kept->room);
    kept->record = record;
    return kept;
}

static const struct procedure *procedure_of(struct derived *derived)
{
    if (!derived->walked)
        procedure_walk(&derived->procedure, derived->machine);
    derived->walked = true;
    return &derived->procedure;
}

const struct field_uses *derived_uses(struct derived *derived, uint16_t leaf, uint32_t record,
                                      bool missing)
{
    if (row_of(leaf)->source == FROM_PROCEDURE) {
        const struct procedure *procedure = procedure_of(derived);
        return missing ? &procedure->missing : &procedure->read;
    }
    struct obstacle_room *room = &room_of(derived, leaf, record)->room;
    return missing ? &room->missing : obstacles_read(&derived->view, room);
}

static const char *way_of(enum move_kind kind)
{
    return kind == MOVE_TO_SETTER ? "on its way to the setter"
           : kind == MOVE_TO_PARK ? "on its way to the park position"
                                  : "on its way back";
}

static void give_clearance(const struct derived *derived, uint16_t leaf, uint32_t record,
                           const struct spread *room, struct env_value *out)
{
    const struct field_value *like =
        machine_field(derived->machine, derived_field(leaf), record);
    if (like->state != VALUE_GIVEN)
        like = machine_field(derived->machine, FIELD_TABLE_NOSE_CONTACT, 0);
    out->number = spread_settled(room->nominal);
    out->tolerance = spread_settled(room->nominal) - spread_settled(room->low);
    out->unit = like->state == VALUE_GIVEN ? like->unit : unit_default(DIMENSION_LENGTH);
}

static struct view thing_of(const struct derived *derived, const struct obstacle_room *room)
{
    struct view name = thing_name(derived->machine, room->to, room->obstacle);
    return name.size ? name : view_of("obstacle");
}

static bool is_wrong(const struct field_uses *missing)
{
    for (uint32_t i = 0; i < missing->count; i++)
        if (missing->items[i].wrong)
            return true;
    return false;
}

static bool procedure_flag(const struct procedure *procedure, uint16_t leaf)
{
    switch (leaf) {
    case DERIVED_HANDS:
        return procedure->has_hands;
    case DERIVED_HANDS_HELD:
        return procedure->hands_held;
    case DERIVED_HOLD_ASKED:
        return procedure->hold_asked;
    case DERIVED_PROP_STANDS:
        return procedure->prop_stands;
    case DERIVED_STANDSTILL_SEEN:
        return procedure->standstill_seen;
    case DERIVED_STANDSTILL_FIRST:
        return procedure->standstill_first;
    case DERIVED_PROPPED_FOR_POWER:
        return procedure->propped_for_power;
    case DERIVED_PROPPED_FOR_HANDS:
        return procedure->propped_for_hands;
    case DERIVED_SUPPLY_LAST:
        return procedure->supply_last;
    case DERIVED_PLATE_REMOVED:
        return procedure->plate_removed;
    case DERIVED_CLIP_REMOVED:
        return procedure->clip_removed;
    case DERIVED_PLATE_FOR_OLD:
        return procedure->plate_for_old;
    case DERIVED_PLATE_FOR_NEW:
        return procedure->plate_for_new;
    case DERIVED_BLOCK_FOR_NEW:
        return procedure->block_for_new;
    case DERIVED_BLOCK_REMOVED:
        return procedure->block_removed;
    case DERIVED_SHOE_OFF_FIRST:
        return procedure->shoe_off;
    default:
        BUG("leaf %u is no flag of the procedure", leaf);
    }
}

static void read_procedure(struct derived *derived, uint16_t leaf, struct env_value *out)
{
    const struct procedure *procedure = procedure_of(derived);
    if (is_wrong(&procedure->missing))
        out->state = ENV_WRONG;
    if (!procedure->known)
        return;
    if (leaf == DERIVED_EARLY_HAND) {
        if (procedure->early == procedure->count)
            return; /* there is none */
        out->text = ask_word(procedure->steps[procedure->early].ask);
    } else {
        out->number = procedure_flag(procedure, leaf);
    }
    out->state = ENV_KNOWN;
}

static void read_room(struct derived *derived, uint16_t leaf, uint32_t record,
                      struct env_value *out)
{
    struct derived_room *kept = room_of(derived, leaf, record);
    const struct obstacle_room *room = &kept->room;
    if (is_wrong(&room->missing))
        out->state = ENV_WRONG;
    if (!isfinite(room->value.low) || (room->missing.count && room->value.low >= 0))
        return;
    out->state = ENV_KNOWN;
    switch (leaf) {
    case DERIVED_SWEPT_CLEARANCE:
    case DERIVED_SETTER_CLEARANCE:
    case DERIVED_WAY_CLEARANCE:
    case DERIVED_DOWN_CLEARANCE:
    case DERIVED_PARK_CLEARANCE:
        give_clearance(derived, leaf, record, &room->value, out);
        return;
    case DERIVED_SWEPT_WAY:
        out->text = view_of(way_of(room->move));
        return;
    case DERIVED_WAY_THING:
    case DERIVED_DOWN_THING:
    case DERIVED_PARK_THING:
        out->text = thing_of(derived, room);
        return;
    default:
        out->text = body_of(derived->machine, kept);
    }
}

void derived_read(struct derived *derived, uint16_t leaf, uint32_t record,
                  struct env_value *out)
{
    *out = (struct env_value){.state = ENV_ABSENT, .unit = UNIT_BARE};
    if (row_of(leaf)->source == FROM_PROCEDURE)
        read_procedure(derived, leaf, out);
    else
        read_room(derived, leaf, record, out);
}

static bool is_same_meeting(const struct obstacle_room *a, const struct obstacle_room *b)
{
    return a->move == b->move && a->body == b->body && a->length_of == b->length_of &&
           a->width_of == b->width_of && a->attachment == b->attachment && a->to == b->to &&
           a->obstacle == b->obstacle;
}

void derived_between(const struct derived *low, const struct derived *high, uint16_t leaf,
                     const struct env_value *other, struct env_value *out)
{
    enum derived_source source = row_of(leaf)->source;
    bool same = out->state == other->state;
    if (source == FROM_PROCEDURE)
        same = same && out->number == other->number && view_equal(out->text, other->text);
    else
        same = same && row_of(leaf)->type == TYPE_QUANTITY;
    if (!same)
        out->state = ENV_OPEN;
    if (out->state != ENV_KNOWN || source == FROM_PROCEDURE)
        return;
    double one = out->number - out->tolerance, two = other->number - other->tolerance;
    out->number = fmin(one, two);
    out->tolerance = 0;
    out->most = is_same_meeting(&low->rooms[source].room, &high->rooms[source].room)
                    ? fmax(one, two)
                    : INFINITY;
}

void derived_dependents(const struct machine *machine, enum field_id field,
                        bool leaves[LEAF_COUNT])
{
    struct field_set asked[DERIVED_SOURCES] = {0};
    bool looked[DERIVED_SOURCES] = {false};
    struct machine watched = *machine;
    struct derived derived;
    for (uint16_t leaf = DERIVED_FIRST; leaf < LEAF_COUNT; leaf++) {
        enum derived_source source = row_of(leaf)->source;
        uint32_t count = looked[source] ? 0 : machine->groups[row_of(leaf)->group].count;
        looked[source] = true;
        watched.asked = &asked[source];
        derived_reset(&derived, &watched);
        for (uint32_t i = 0; i < count && !field_set_has(&asked[source], field); i++) {
            (void)derived_uses(&derived, leaf, i, false);
            if (source < DERIVED_ROOMS)
                (void)body_of(&watched, room_of(&derived, leaf, i));
        }
        leaves[leaf] = field_set_has(&asked[source], field);
    }
}
