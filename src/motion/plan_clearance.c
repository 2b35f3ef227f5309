/* The least clearance of one sideways move: to the obstacles, the setter and the work. */
#include "motion/internal_plan.h"

struct nearest {
    const struct clearance_spindle *bodies;
    const struct plane_hull *path;
    struct move *move;
};

static void try_box(struct nearest *nearest, const struct clearance_box *box,
                    enum clearance_to what, uint32_t obstacle)
{
    struct clearance clearance;
    clearance_least(nearest->bodies, nearest->path, box, &clearance);
    if (clearance.value.low >= nearest->move->clearance.value.low)
        return;
    nearest->move->clearance = clearance;
    nearest->move->to_what = what;
    nearest->move->obstacle = obstacle;
}

static bool try_obstacles(struct look *look, struct nearest *nearest)
{
    const struct machine_group *obstacles = &look->machine->groups[GROUP_OBSTACLE];
    bool whole = !obstacles->wrong;
    for (uint32_t i = 0; i < obstacles->count; i++) {
        struct clearance_box box;
        if (look_obstacle(look, i, &box))
            try_box(nearest, &box, TO_OBSTACLE, i);
        else
            whole = false;
    }
    return whole;
}

/* A round thing about the place where it is, as high as its trip.  How wide it is matters only
 * to a move that does not pass over its middle. */
static bool try_setter(struct look *look, struct nearest *nearest)
{
    struct clearance_box box = {.round = 0};
    struct spread body = {0, 0, 0};
    bool known = route_area(look, END_SETTER, &box.footprint);
    known = look_spread(look, FIELD_SETTER_NOSE_CONTACT, 0, &box.top) && known;
    if (!known)
        return false;
    box.widest = box.footprint;
    if (plane_hull_to_rectangle(nearest->path, &box.footprint) > 0 &&
        !look_spread(look, FIELD_SETTER_BODY, 0, &body))
        return false;
    box.round = body.high / 2;
    try_box(nearest, &box, TO_SETTER, 0);
    return true;
}

static bool try_work(struct look *look, struct nearest *nearest)
{
    struct clearance_box box = {.round = 0};
    bool known = route_area(look, END_START, &box.footprint);
    known = look_above_table(look, FIELD_WORK_HEIGHT, 0, &box.top) && known;
    if (!known)
        return false;
    box.widest = box.footprint;
    try_box(nearest, &box, TO_WORK, 0);
    return true;
}

void plan_clearance(struct planner *planner, struct move *move, const struct plane_hull *path)
{
    struct look *look = &planner->look;
    struct cutter_extremes who;
    struct spindle spindle;
    struct spread nose;
    if (!move->from.known[AXIS_Z] || !look_height(look, move->from.at[AXIS_Z], &nose))
        return;
    cutters_only(&who, planner->cutter);
    spindle_passing(look, &who, nose, &spindle);
    struct nearest nearest = {&spindle.bodies, path, move};
    move->whole = spindle.whole;
    move->whole = try_obstacles(look, &nearest) && move->whole;
    if (!planner->route.plate)
        move->whole = try_setter(look, &nearest) && move->whole;
    move->whole = try_work(look, &nearest) && move->whole;
    move->has_clearance = move->to_what != TO_NOTHING;
}
