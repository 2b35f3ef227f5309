/* Single moves of a change: where to, at what speed, how long. */
#include "base/bug.h"
#include "motion/internal_plan.h"

struct move *plan_step(struct planner *planner, enum move_kind kind)
{
    struct change *change = planner->out;
    BUG_UNLESS(change->count < CHANGE_MOVES);
    struct move *move = &change->moves[change->count++];
    *move = (struct move){
        .kind = kind,
        .from = planner->at,
        .to = planner->at,
        .cutter = planner->cutter,
        .spindle = planner->spindle,
        .powerless = planner->machine_cut && planner->state.held,
        .clearance.value = spread_exact(INFINITY),
    };
    return move;
}

struct move *plan_by_hand(struct planner *planner, enum move_kind kind)
{
    struct move *move = plan_step(planner, kind);
    move->by_hand = true;
    move->powerless = false;
    planner->out->by_hand++;
    return move;
}

void plan_time(struct planner *planner, struct move *move, enum move_time timed, double seconds)
{
    if (timed == TIME_UNKNOWN || !isfinite(seconds)) {
        planner->out->untimed++;
        return;
    }
    move->timed = timed;
    move->seconds = seconds;
    planner->out->seconds += seconds;
    planner->out->at_most = planner->out->at_most || timed == TIME_AT_MOST;
}

static bool axis_limits(struct planner *planner, uint32_t axis, struct profile_limits *out)
{
    double rapid, acceleration;
    bool known = look_nominal(&planner->look, FIELD_AXIS_RAPID, axis, &rapid);
    known = look_nominal(&planner->look, FIELD_AXIS_ACCELERATION, axis, &acceleration) && known;
    if (known)
        *out = (struct profile_limits){rapid, acceleration, acceleration};
    return known;
}

void plan_z_time(struct planner *planner, struct move *move, enum move_time timed,
                 double distance, double feed)
{
    struct profile_limits limits;
    struct profile profile;
    if (!axis_limits(planner, AXIS_Z, &limits) || isnan(feed)) {
        move->speed = isfinite(feed) ? feed : 0;
        plan_time(planner, move, TIME_UNKNOWN, 0);
        return;
    }
    limits.speed = fmin(limits.speed, feed); /* no axis is faster than its rapid */
    profile_move(&profile, fabs(distance), &limits);
    move->speed = limits.speed;
    plan_time(planner, move, timed, profile.seconds);
}

/* The longest way that a move along Z can have where only one of its ends is known: the other
 * lies within the travel, below it or above. */
static bool longest_way(struct planner *planner, const struct move *move, double *out)
{
    bool to_known = move->to.known[AXIS_Z];
    bool rises = move->kind == MOVE_LIFT, falls = !rises && move->kind != MOVE_PARK_HEIGHT;
    double z = to_known ? move->to.at[AXIS_Z] : move->from.at[AXIS_Z];
    struct spread travel[2];
    if (!(to_known || move->from.known[AXIS_Z]) ||
        !look_pair(&planner->look, FIELD_AXIS_TRAVEL, AXIS_Z, travel))
        return false;
    double below = fmax(0, z - travel[0].nominal), above = fmax(0, travel[1].nominal - z);
    if (rises || falls)
        *out = rises == to_known ? below : above;
    else
        *out = fmax(below, above);
    return true;
}

struct move *plan_vertical(struct planner *planner, enum move_kind kind, bool known, double z,
                           double feed)
{
    struct move *move = plan_step(planner, kind);
    move->moves[AXIS_Z] = true;
    move->to.known[AXIS_Z] = known;
    move->to.at[AXIS_Z] = known ? z : 0;
    double distance = z - move->from.at[AXIS_Z];
    enum move_time timed = TIME_KNOWN;
    if (!known || !move->from.known[AXIS_Z])
        timed = longest_way(planner, move, &distance) ? TIME_AT_MOST : TIME_UNKNOWN;
    plan_z_time(planner, move, timed, distance, feed);
    plan_room_at(planner, move);
    planner->at = move->to;
    return move;
}

struct move *plan_up_by(struct planner *planner, enum move_kind kind, enum field_id length)
{
    double distance = 0;
    struct move *move = plan_step(planner, kind);
    bool known = look_nominal(&planner->look, length, 0, &distance);
    move->moves[AXIS_Z] = true;
    move->to.known[AXIS_Z] = move->from.known[AXIS_Z] && known;
    if (move->to.known[AXIS_Z])
        move->to.at[AXIS_Z] = move->from.at[AXIS_Z] + distance;
    plan_z_time(planner, move, known ? TIME_KNOWN : TIME_UNKNOWN, distance, INFINITY);
    planner->at = move->to;
    return move;
}

/* The area in which an end lies, start known or not. */
static bool plan_area(struct planner *planner, enum route_end end, struct plane_rectangle *out)
{
    const struct change_request *request = &planner->out->request;
    if (end != END_START || !request->start_known)
        return route_area(&planner->look, end, out);
    *out = plane_place(request->start[AXIS_X], request->start[AXIS_Y]);
    return true;
}

static bool is_place(const struct plane_rectangle *area)
{
    return area->x_low == area->x_high && area->y_low == area->y_high;
}

/* The time of the slowest way from one area to the other.  A straight move takes the longer the
 * farther any one axis has to go, so that is the way on which both go as far as they can. */
static void sideways_time(struct planner *planner, struct move *move,
                          const struct plane_rectangle *from, const struct plane_rectangle *to)
{
    struct profile_limits limits[AXES] = {{0}};
    bool known = axis_limits(planner, AXIS_X, &limits[AXIS_X]);
    known = axis_limits(planner, AXIS_Y, &limits[AXIS_Y]) && known;
    if (!known) {
        plan_time(planner, move, TIME_UNKNOWN, 0);
        return;
    }
    double farthest_away[AXES] = {
        fmax(fabs(to->x_high - from->x_low), fabs(to->x_low - from->x_high)),
        fmax(fabs(to->y_high - from->y_low), fabs(to->y_low - from->y_high)),
    };
    struct profile profile;
    profile_line(&profile, farthest_away, limits, INFINITY);
    move->speed = isfinite(profile.speed) ? profile.speed : 0;
    plan_time(planner, move, is_place(from) && is_place(to) ? TIME_KNOWN : TIME_AT_MOST,
              profile.seconds);
}

static void go_to(struct move_place *at, const struct plane_rectangle *area)
{
    bool known = area && is_place(area);
    at->known[AXIS_X] = at->known[AXIS_Y] = known;
    at->at[AXIS_X] = known ? area->x_low : 0;
    at->at[AXIS_Y] = known ? area->y_low : 0;
}

void plan_sideways(struct planner *planner, enum move_kind kind, enum route_end end)
{
    struct plane_rectangle from, to;
    struct plane_hull path;
    struct move *move = plan_step(planner, kind);
    move->moves[AXIS_X] = move->moves[AXIS_Y] = true;
    bool starts = plan_area(planner, planner->where, &from);
    bool ends = plan_area(planner, end, &to);
    go_to(&move->to, ends ? &to : NULL);
    if (starts && ends) {
        sideways_time(planner, move, &from, &to);
        plane_sweep(&path, &from, &to);
        plan_room_sideways(planner, move, &path);
    } else {
        plan_time(planner, move, TIME_UNKNOWN, 0);
    }
    planner->at = move->to;
    planner->where = end;
}
