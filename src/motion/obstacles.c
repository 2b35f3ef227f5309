#include "motion/obstacles.h"

#include "motion/internal.h"

static double size_of(struct spread value)
{
    return fmax(fabs(value.low), fabs(value.high));
}

static enum move_kind leg_kind(enum route_end to)
{
    return to == END_SETTER ? MOVE_TO_SETTER : to == END_PARK ? MOVE_TO_PARK : MOVE_BACK;
}

/* Has the same way been gone before, in either direction? */
static bool gone_before(const struct route *route, uint32_t leg)
{
    for (uint32_t i = 1; i < leg; i++) {
        enum route_end a = route->ends[i - 1], b = route->ends[i];
        if ((a == route->ends[leg - 1] && b == route->ends[leg]) ||
            (b == route->ends[leg - 1] && a == route->ends[leg]))
            return true;
    }
    return false;
}

/* The legs of the route, each way once: the worst cutter of the list goes along all of them. */
static void find_legs(struct look *look, const struct route *route, struct obstacles *out)
{
    for (uint32_t i = 1; i < route->count; i++) {
        if (route->ends[i - 1] == END_SPOT || route->ends[i] == END_SPOT) {
            out->by_hand++;
            continue;
        }
        if (gone_before(route, i))
            continue;
        struct obstacle_leg *leg = &out->legs[out->leg_count];
        struct plane_rectangle from, to;
        look->read = &leg->read;
        bool known = route_area(look, route->ends[i - 1], &from);
        known = route_area(look, route->ends[i], &to) && known;
        if (known) {
            leg->move = leg_kind(route->ends[i]);
            plane_sweep(&leg->path, &from, &to);
            out->leg_count++;
        }
    }
}

static void keep(struct obstacle_pose *pose, const struct spindle *spindle)
{
    pose->bodies = spindle->bodies;
    for (int body = 0; body < BODY_COUNT; body++) {
        pose->body_read[body] = spindle->read[body];
        if (spindle->bodies.bodies[body].there)
            pose->scale = fmax(pose->scale, size_of(spindle->bodies.bodies[body].underside));
    }
}

static void look_passing(struct obstacles *out)
{
    struct obstacle_pose *pose = &out->passing;
    struct look look = {out->machine, &pose->order, &pose->missing};
    struct route route;
    struct spindle spindle;
    struct spread nose;
    double z;
    if (!route_find(&look, &route) || !route.homes)
        return;
    find_legs(&look, &route, out);
    look.read = &pose->read;
    if (!look_nominal(&look, FIELD_CHANGE_TRAVERSE_Z, 0, &z) || !look_height(&look, z, &nose))
        return;
    pose->known = true;
    pose->scale = size_of(nose);
    spindle_passing(&look, &out->cutters, nose, &spindle);
    keep(pose, &spindle);
}

static void look_touching(struct obstacles *out)
{
    struct obstacle_pose *pose = &out->touching;
    struct look look = {out->machine, &pose->order, &pose->missing};
    struct plane_rectangle at;
    struct spread tip;
    struct spindle spindle;
    bool plate;
    if (!look_word(&look, FIELD_CHANGE_MEASURES_WITH, "plate", &plate) || plate)
        return;
    look.read = &pose->read;
    bool known = route_area(&look, END_SETTER, &at);
    known = look_spread(&look, FIELD_SETTER_NOSE_CONTACT, 0, &tip) && known;
    if (!known)
        return;
    pose->known = true;
    pose->scale = size_of(tip);
    plane_sweep(&out->setter, &at, &at);
    spindle_touching(&look, &out->cutters, tip, &spindle);
    keep(pose, &spindle);
}

void obstacles_look(struct obstacles *out, const struct machine *machine)
{
    *out = (struct obstacles){.machine = machine};
    cutters_extremes(&out->cutters, machine);
    look_passing(out);
    look_touching(out);
}

/* The greatest size among what enters the clearance along `path`. */
static double scale_of(const struct obstacle_pose *pose, const struct plane_hull *path,
                       const struct clearance_box *box)
{
    double scale = fmax(pose->scale, fmax(fabs(box->top.low), fabs(box->top.high)));
    scale = fmax(scale, fmax(fmax(fabs(box->widest.x_low), fabs(box->widest.x_high)),
                             fmax(fabs(box->widest.y_low), fabs(box->widest.y_high))));
    for (uint32_t i = 0; i < path->count; i++)
        scale = fmax(scale, fmax(fabs(path->corners[i].x), fabs(path->corners[i].y)));
    return scale;
}

/* Starts an answer: nothing near, everything that is not known of the obstacle and the pose
 * missing. */
static bool begin(const struct obstacles *view, const struct obstacle_pose *pose,
                  uint32_t obstacle, struct clearance_box *box, struct obstacle_room *out)
{
    out->value = spread_exact(INFINITY);
    out->scale = 0;
    out->move = MOVE_TO_SETTER;
    out->body = BODY_CUTTER;
    out->length_of = out->width_of = RECORD_NONE;
    out->read.count = 0;
    out->missing = pose->missing;
    struct look look = {view->machine, &out->read, &out->missing};
    bool known = look_obstacle(&look, obstacle, box);
    return known && pose->known;
}

/* Takes over a clearance where it is less than what there is. */
static void take(struct obstacle_room *out, const struct clearance *clearance,
                 enum move_kind move, double scale)
{
    if (clearance->value.low < out->value.low) {
        out->value = clearance->value;
        out->body = clearance->body;
        out->move = move;
        out->scale = scale;
    }
}

/* What the answer rests on first, then what was looked at and found better. */
static void finish(struct obstacle_room *out, const struct obstacle_pose *pose,
                   const struct field_uses *leg)
{
    for (uint32_t i = 0; i < out->read.count; i++)
        out->read.items[i].decides = true; /* the obstacle's own */
    field_uses_join(&out->read, &pose->body_read[out->body], true);
    field_uses_join(&out->read, &pose->read, true);
    if (leg)
        field_uses_join(&out->read, leg, true);
    for (int body = 0; body < BODY_COUNT; body++)
        field_uses_join(&out->read, &pose->body_read[body], false);
    field_uses_join(&out->read, &pose->order, false);
}

void obstacles_sideways(const struct obstacles *view, uint32_t obstacle,
                        struct obstacle_room *out)
{
    const struct obstacle_pose *pose = &view->passing;
    const struct obstacle_leg *least = NULL;
    struct clearance_box box;
    if (!begin(view, pose, obstacle, &box, out))
        return;
    for (uint32_t i = 0; i < view->leg_count; i++) {
        const struct obstacle_leg *leg = &view->legs[i];
        struct clearance clearance;
        clearance_least(&pose->bodies, &leg->path, &box, &clearance);
        if (clearance.value.low < out->value.low)
            least = leg;
        take(out, &clearance, leg->move, scale_of(pose, &leg->path, &box));
    }
    if (!least)
        return;
    if (out->body == BODY_CUTTER) {
        out->length_of = view->cutters.longest;
        out->width_of = view->cutters.widest;
    }
    finish(out, pose, &least->read);
    for (uint32_t i = 0; i < view->leg_count; i++)
        field_uses_join(&out->read, &view->legs[i].read, false);
}

void obstacles_at_setter(const struct obstacles *view, uint32_t obstacle,
                         struct obstacle_room *out)
{
    const struct obstacle_pose *pose = &view->touching;
    struct clearance_box box;
    struct clearance clearance;
    if (!begin(view, pose, obstacle, &box, out))
        return;
    clearance_least(&pose->bodies, &view->setter, &box, &clearance);
    take(out, &clearance, MOVE_PROBE, scale_of(pose, &view->setter, &box));
    if (isinf(out->value.low))
        return;
    if (out->body == BODY_CUTTER)
        out->width_of = view->cutters.widest;
    else
        out->length_of = view->cutters.shortest;
    finish(out, pose, NULL);
}
