/* The least clearance of one move: to the obstacles, the setter, the work and the table. */
#include "motion/internal_bodies.h"
#include "motion/internal_plan.h"

static void look_for_room(struct planner *planner, struct move *move, enum situation situation,
                          const struct pose *pose, const struct plane_hull *path)
{
    const struct cutter_range one = {planner->cutter, 1};
    struct spindle spindle;
    spindle_hang(&planner->look, &one, pose, &spindle);
    struct room_search search = {.look = &planner->look,
                                 .situation = situation,
                                 .pose = pose,
                                 .spindle = &spindle,
                                 .path = path};
    room_begin(&search);
    room_try_obstacles(&search);
    room_try_fixed(&search, planner->route.plate);
    if (situation == SITUATION_SIDEWAYS && !planner->no_gantry)
        room_try_gantry(&search, planner->route.plate);
    move->whole = search.whole;
    move->clearance = search.clearance;
    move->to_what = search.to;
    move->obstacle = search.record;
    move->has_clearance = search.to != TO_NOTHING;
    if (move->has_clearance && move->clearance.body == BODY_ATTACHMENT)
        move->attachment = spindle.bodies.parts[move->clearance.part].width_of;
}

void plan_room_sideways(struct planner *planner, struct move *move,
                        const struct plane_hull *path)
{
    struct pose pose = {.kind = POSE_NOSE};
    if (move->from.known[AXIS_Z] &&
        look_height(&planner->look, move->from.at[AXIS_Z], &pose.height))
        look_for_room(planner, move, SITUATION_SIDEWAYS, &pose, path);
}

/* The park height, on the way to it and from it: both cutters are at it. */
static void at_park(struct planner *planner, struct move *move, const struct plane_hull *path)
{
    bool rises = move->kind == MOVE_LIFT;
    const struct move_place *place = rises ? &move->from : &move->to;
    struct pose pose = {.kind = POSE_NOSE};
    if (place->known[AXIS_Z] && look_height(&planner->look, place->at[AXIS_Z], &pose.height))
        look_for_room(planner, move, SITUATION_PARK, &pose, path);
}

static void at_setter(struct planner *planner, struct move *move, const struct plane_hull *path)
{
    struct pose pose = {.kind = POSE_APPROACH};
    if (move->kind == MOVE_APPROACH) {
        look_for_room(planner, move, SITUATION_DESCENT, &pose, path);
        return;
    }
    pose.kind = POSE_TIP;
    if (look_spread(&planner->look, FIELD_SETTER_NOSE_CONTACT, 0, &pose.height))
        look_for_room(planner, move, SITUATION_DESCENT, &pose, path);
}

void plan_room_at(struct planner *planner, struct move *move)
{
    struct plane_rectangle at;
    struct plane_hull path;
    bool parks = planner->where == END_PARK;
    if (!planner->route.homes || (!parks && planner->where != END_SETTER) ||
        (!parks && move->kind == MOVE_LIFT) || move->kind == MOVE_RETRACT ||
        move->kind == MOVE_DOWN || !route_area(&planner->look, planner->where, &at))
        return;
    plane_sweep(&path, &at, &at);
    if (parks)
        at_park(planner, move, &path);
    else
        at_setter(planner, move, &path);
}

/* The last move sideways before one; MOVE_KIND_COUNT where there was none. */
static enum move_kind came_by(const struct change *change, const struct move *move)
{
    while (move > change->moves && !move[-1].moves[AXIS_X])
        move--;
    return move > change->moves ? move[-1].kind : MOVE_KIND_COUNT;
}

bool move_wants_room(const struct change *change, const struct move *move)
{
    switch (move->kind) {
    case MOVE_TO_SETTER:
    case MOVE_TO_PARK:
    case MOVE_BACK:
    case MOVE_PARK_HEIGHT:
        return true;
    case MOVE_APPROACH:
    case MOVE_PROBE:
    case MOVE_SECOND_TOUCH:
        return came_by(change, move) == MOVE_TO_SETTER;
    case MOVE_LIFT: /* with the new cutter */
        return came_by(change, move) == MOVE_TO_PARK;
    default:
        return false;
    }
}
