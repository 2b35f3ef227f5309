/* What the moves of a change are called. */
#include "base/bug.h"
#include "motion/change.h"

static const struct {
    const char *name;
    const char *by_hand; /* what the operator does where it is done by hand */
} words[] = {
    [MOVE_REFERENCE] = {"measure what is in", "has the cutter measured that is in"},
    [MOVE_LIFT] = {"lift", ""},
    [MOVE_SPINDLE_STOP] = {"spindle stops", "switches the spindle off"},
    [MOVE_STANDSTILL] = {"standstill", "looks and listens until the spindle stands"},
    [MOVE_PROP] = {"Z propped", "puts a block under the spindle"},
    [MOVE_SHOE_OFF] = {"shoe off", "takes the dust shoe off"},
    [MOVE_TO_SETTER] = {"sideways to setter", ""},
    [MOVE_JOG] = {"jog to plate", "jogs the tip over the plate"},
    [MOVE_CLIP_ON] = {"clip on", "puts the clip on"},
    [MOVE_PLATE_ON] = {"plate laid", "lays the plate"},
    [MOVE_SETTER_UP] = {"setter raised", ""},
    [MOVE_APPROACH] = {"approach", ""},
    [MOVE_PROBE] = {"probe", ""},
    [MOVE_RETRACT] = {"retract", ""},
    [MOVE_SECOND_TOUCH] = {"second touch", ""},
    [MOVE_SIDE_OUT] = {"out beside plate", ""},
    [MOVE_SIDE_DOWN] = {"down beside plate", ""},
    [MOVE_SIDE_PROBE] = {"probe sideways", ""},
    [MOVE_SIDE_BACK] = {"off the side", ""},
    [MOVE_SIDE_UP] = {"up over plate", ""},
    [MOVE_SIDE_OVER] = {"over plate again", ""},
    [MOVE_PLATE_OFF] = {"plate away", "takes the plate away"},
    [MOVE_CLIP_OFF] = {"clip off", "takes the clip off"},
    [MOVE_SETTER_DOWN] = {"setter lowered", ""},
    [MOVE_TO_FACE] = {"jog to face", "jogs the tip over the face"},
    [MOVE_BLOCK_UNDER] = {"block under", "puts the block under the tip"},
    [MOVE_TOUCH_OFF] = {"touch off", "jogs down until the block drags"},
    [MOVE_BLOCK_AWAY] = {"block away", "takes the block away"},
    [MOVE_TO_PARK] = {"sideways to park", ""},
    [MOVE_PARK_HEIGHT] = {"to park height", ""},
    [MOVE_HOLD_OFF] = {"spindle held off", "makes sure that the spindle cannot start"},
    [MOVE_SETTER_CLEAN] = {"setter cleaned", "wipes the setter"},
    [MOVE_CUTTER] = {"cutter changed", "changes the cutter"},
    [MOVE_BACK] = {"sideways back", ""},
    [MOVE_SUPPLY_ON] = {"supply back", "gives the spindle its supply back"},
    [MOVE_SPEED_SET] = {"speed set", "sets the speed for the new cutter"},
    [MOVE_SPINDLE_START] = {"spindle starts", "switches the spindle on"},
    [MOVE_OFFSET] = {"offset applied", ""},
    [MOVE_DOWN] = {"down to start", ""},
};

_Static_assert(sizeof words / sizeof words[0] == MOVE_KIND_COUNT,
               "every kind of move has a name");

const char *move_name(enum move_kind kind)
{
    BUG_UNLESS(kind < MOVE_KIND_COUNT);
    return words[kind].name;
}

const char *move_operator(const struct move *move)
{
    return move->by_hand ? words[move->kind].by_hand : "";
}

void move_axes(const struct move *move, char out[4])
{
    for (int axis = 0; axis < 3; axis++)
        if (move->moves[axis])
            *out++ = "xyz"[axis];
    *out = '\0';
}

const char *spindle_act_name(enum spindle_act act)
{
    switch (act) {
    case SPINDLE_RUNS:
        return "runs";
    case SPINDLE_STOPS:
        return "stops";
    case SPINDLE_STANDS:
        return "stands";
    case SPINDLE_HELD_OFF:
        return "held off";
    case SPINDLE_STARTS:
        return "starts";
    }
    BUG("no act %d", (int)act);
}

static struct view given_name(const struct machine *machine, enum field_id id, uint32_t record)
{
    const struct field_value *name = machine_field(machine, id, record);
    return name->state == VALUE_GIVEN ? name->text : view_of(NULL);
}

struct view thing_name(const struct machine *machine, enum clearance_to what, uint32_t obstacle)
{
    switch (what) {
    case TO_NOTHING:
        break;
    case TO_SETTER:
        return view_of("setter");
    case TO_WORK:
        return view_of("work");
    case TO_TABLE:
        return view_of("table");
    case TO_OBSTACLE:
        return given_name(machine, FIELD_OBSTACLE_NAME, obstacle);
    }
    return view_of(NULL);
}

struct view body_name(const struct machine *machine, enum clearance_body body,
                      uint32_t attachment)
{
    struct view name = body == BODY_ATTACHMENT
                           ? given_name(machine, FIELD_ATTACHMENT_NAME, attachment)
                           : view_of(NULL);
    return name.size ? name : view_of(clearance_body_name(body));
}

struct view move_nearest(const struct machine *machine, const struct move *move)
{
    return thing_name(machine, move->to_what, move->obstacle);
}

struct view move_body(const struct machine *machine, const struct move *move)
{
    return body_name(machine, move->clearance.body, move->attachment);
}
