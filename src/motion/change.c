/* The planner: where the nose is while the moves of a change are written down one after
 * another.
 */
#include "base/bug.h"
#include "motion/change.h"
#include "motion/internal_bodies.h"
#include "motion/profile.h"

struct planner {
    struct change *out;
    struct look look; /* keeps what is missing in `out` */
    struct route route;
    enum route_end where; /* the end of the route that the nose is over */
    struct move_place at;
    uint32_t cutter;
    enum spindle_act spindle;
    struct procedure procedure;
    struct procedure_state state; /* of the spindle, by the questions answered so far */
    uint32_t next;                /* the first question that is not yet answered */
    bool changed, plate_lies, clip_on, block_lies, held_shown, started;
    bool machine_cut; /* isolating or unplugging takes the power of the axes too */
    bool motors_released, z_sinks, propped;
    bool chuck_turns;  /* as far as anybody says */
    bool no_gantry;    /* it comes as near with every cutter */
    bool no_room;      /* only its times are wanted */
    bool setter_up;    /* on its lift */
    bool setter_known; /* where a setter that the gantry carries was met last: */
    struct plane_rectangle setter;
};

/* The area in which an end lies, start known or not. */
static bool plan_area(struct planner *planner, enum route_end end, struct plane_rectangle *out)
{
    const struct change_request *request = &planner->out->request;
    if (end == END_SETTER && planner->route.carried) {
        *out = planner->setter;
        return planner->setter_known;
    }
    if (end != END_START || !request->start_known)
        return route_area(&planner->look, end, out);
    *out = plane_place(request->start[AXIS_X], request->start[AXIS_Y]);
    return true;
}

/* The least clearance of one move: to the obstacles, the setter, the work and the table. */

static void look_for_room(struct planner *planner, struct move *move, enum situation situation,
                          const struct pose *pose, const struct plane_hull *path)
{
    const struct cutter_range one = {planner->cutter, 1};
    struct clearance_spindle spindle;
    spindle_hang(&planner->look, &one, pose, &spindle);
    struct room_search search = {.look = &planner->look,
                                 .situation = situation,
                                 .pose = pose,
                                 .spindle = &spindle,
                                 .path = path};
    room_begin(&search);
    room_try_obstacles(&search);
    room_try_fixed(&search, planner->route.setter);
    if (situation == SITUATION_SIDEWAYS && !planner->no_gantry)
        room_try_gantry(&search, planner->route.setter);
    move->whole = search.whole;
    move->clearance = search.clearance;
    move->to_what = search.to;
    move->obstacle = search.record;
    move->has_clearance = search.to != TO_NOTHING;
    if (move->has_clearance && move->clearance.body < BODY_GANTRY)
        move->part = spindle.parts[move->clearance.part];
    if (move->has_clearance && move->clearance.body == BODY_ATTACHMENT)
        move->attachment = move->part.width_of;
}

/* The least clearance of a sideways move along `path`. */
static void plan_room_sideways(struct planner *planner, struct move *move,
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

/* That of a move down to a height at an end of the route, or onto the setter. */
static void plan_room_at(struct planner *planner, struct move *move)
{
    struct plane_rectangle at;
    struct plane_hull path;
    bool parks = planner->where == END_PARK;
    if (planner->no_room || !planner->route.homes || (!parks && planner->where != END_SETTER) ||
        (!parks && move->kind == MOVE_LIFT) || move->kind == MOVE_RETRACT ||
        move->kind == MOVE_DOWN || !plan_area(planner, planner->where, &at))
        return;
    plane_sweep(&path, &at, &at);
    if (parks)
        at_park(planner, move, &path);
    else
        at_setter(planner, move, &path);
}

/* Single moves of a change: where to, at what speed, how long. */

/* A new step from where the nose is, to be filled in; it stays until the next one is added. */
static struct move *plan_step(struct planner *planner, enum move_kind kind)
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

/* A step of the operator's. */
static struct move *plan_by_hand(struct planner *planner, enum move_kind kind)
{
    struct move *move = plan_step(planner, kind);
    move->by_hand = true;
    move->powerless = false;
    planner->out->by_hand++;
    return move;
}

/* Notes the time of a step and sums it up; infinite or NAN: not known. */
static void plan_time(struct planner *planner, struct move *move, enum move_time timed,
                      double seconds)
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

/* Time of `distance` along the one axis that moves. */
static void plan_axis_time(struct planner *planner, struct move *move, enum move_time timed,
                           double distance, double feed)
{
    struct profile_limits limits;
    struct profile profile;
    uint32_t axis = move->moves[AXIS_X] ? AXIS_X : move->moves[AXIS_Y] ? AXIS_Y : AXIS_Z;
    if (!axis_limits(planner, axis, &limits) || isnan(feed)) {
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

/* A straight move along Z to a height, `known` or not, at a feed (INFINITY: rapid, NAN: not
 * known). */
static struct move *plan_vertical(struct planner *planner, enum move_kind kind, bool known,
                                  double z, double feed)
{
    struct move *move = plan_step(planner, kind);
    move->moves[AXIS_Z] = true;
    move->to.known[AXIS_Z] = known;
    move->to.at[AXIS_Z] = known ? z : 0;
    double distance = z - move->from.at[AXIS_Z];
    enum move_time timed = TIME_KNOWN;
    if (!known || !move->from.known[AXIS_Z])
        timed = longest_way(planner, move, &distance) ? TIME_AT_MOST : TIME_UNKNOWN;
    plan_axis_time(planner, move, timed, distance, feed);
    plan_room_at(planner, move);
    planner->at = move->to;
    return move;
}

/* Up by a field's length, from wherever it is. */
static struct move *plan_up_by(struct planner *planner, enum move_kind kind,
                               enum field_id length)
{
    double distance = 0;
    struct move *move = plan_step(planner, kind);
    bool known = look_nominal(&planner->look, length, 0, &distance);
    move->moves[AXIS_Z] = true;
    move->to.known[AXIS_Z] = move->from.known[AXIS_Z] && known;
    if (move->to.known[AXIS_Z])
        move->to.at[AXIS_Z] = move->from.at[AXIS_Z] + distance;
    plan_axis_time(planner, move, known ? TIME_KNOWN : TIME_UNKNOWN, distance, INFINITY);
    planner->at = move->to;
    return move;
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
    bool is_certain = is_place(from) && is_place(to);
    if (!move->moves[AXIS_Y]) {
        farthest_away[AXIS_Y] = 0;
        is_certain = from->x_low == from->x_high;
    }
    struct profile profile;
    profile_line(&profile, farthest_away, limits, INFINITY);
    move->speed = isfinite(profile.speed) ? profile.speed : 0;
    plan_time(planner, move, is_certain ? TIME_KNOWN : TIME_AT_MOST, profile.seconds);
}

static void go_to(struct move_place *at, const struct plane_rectangle *area)
{
    at->known[AXIS_X] = area && area->x_low == area->x_high;
    at->known[AXIS_Y] = area && area->y_low == area->y_high;
    at->at[AXIS_X] = at->known[AXIS_X] ? area->x_low : 0;
    at->at[AXIS_Y] = at->known[AXIS_Y] ? area->y_low : 0;
}

/* Sideways to an end of the route at the height where it is, with its clearance. */
static void plan_sideways(struct planner *planner, enum move_kind kind, enum route_end end)
{
    struct plane_rectangle from, to;
    struct plane_hull path;
    double x = 0;
    struct move *move = plan_step(planner, kind);
    move->moves[AXIS_X] = true;
    move->moves[AXIS_Y] = end != END_SETTER || !planner->route.carried;
    bool starts = plan_area(planner, planner->where, &from);
    if (!move->moves[AXIS_Y]) {
        planner->setter_known =
            starts && look_nominal(&planner->look, FIELD_SETTER_AT_X, 0, &x);
        if (planner->setter_known)
            planner->setter = (struct plane_rectangle){x, x, from.y_low, from.y_high};
    }
    bool ends = plan_area(planner, end, &to);
    go_to(&move->to, ends ? &to : NULL);
    move->has_way = starts && ends;
    if (move->has_way) {
        move->way[0] = from;
        move->way[1] = to;
        sideways_time(planner, move, &from, &to);
        if (!planner->no_room) {
            plane_sweep(&path, &from, &to);
            plan_room_sideways(planner, move, &path);
        }
    } else {
        plan_time(planner, move, TIME_UNKNOWN, 0);
    }
    planner->at = move->to;
    planner->where = end;
}

/* The operator's part of a change: the questions as steps, and what nobody asks for. */

/* Is what is in the spindle one of the things that must never turn? */
static bool holds_still_thing(const struct planner *planner)
{
    const struct field_value *turns =
        machine_field(planner->look.machine, FIELD_CUTTER_TURNS, planner->cutter);
    return turns->state == VALUE_GIVEN && !turns->flag;
}

/* Does the change leave the spindle off, for what is in it now? */
static bool leaves_off(struct planner *planner)
{
    bool looks = false;
    return holds_still_thing(planner) &&
           look_given(&planner->look, FIELD_CHANGE_STARTS_SPINDLE, 0) &&
           look_word(&planner->look, FIELD_CHANGE_STARTS_SPINDLE, "if_it_turns", &looks) &&
           looks;
}

/* Switched by hand, the wait after the stop begins with the answer. */
static void plan_switch(struct planner *planner, enum move_kind kind)
{
    bool starts = kind == MOVE_SPINDLE_START, by_hand = planner->procedure.by_hand;
    enum field_id wait =
        starts ? FIELD_SPINDLE_DWELL_AFTER_START : FIELD_SPINDLE_DWELL_AFTER_STOP;
    double seconds = 0;
    planner->spindle = starts ? SPINDLE_STARTS : SPINDLE_STOPS;
    struct move *move = by_hand ? plan_by_hand(planner, kind) : plan_step(planner, kind);
    bool waits = !by_hand || look_given(&planner->look, wait, 0);
    if (waits) {
        bool known = look_nominal(&planner->look, wait, 0, &seconds);
        plan_time(planner, move, known ? TIME_KNOWN : TIME_UNKNOWN, seconds);
    }
    planner->started = planner->started || starts;
    move->starts_still = starts && holds_still_thing(planner);
    planner->out->starts_still += move->starts_still;
    if (starts)
        planner->state = (struct procedure_state){false, false, false};
    planner->spindle = starts                  ? SPINDLE_RUNS
                       : planner->state.stands ? SPINDLE_STANDS
                                               : SPINDLE_STOPS;
}

static enum move_kind kind_of(enum question_word word)
{
    switch (word) {
    case ASK_SPINDLE_OFF:
        return MOVE_SPINDLE_STOP;
    case ASK_STANDSTILL:
        return MOVE_STANDSTILL;
    case ASK_Z_PROPPED:
        return MOVE_PROP;
    case ASK_ISOLATED:
    case ASK_UNPLUGGED:
        return MOVE_HOLD_OFF;
    case ASK_SHOE_OFF:
        return MOVE_SHOE_OFF;
    case ASK_SETTER_CLEAN:
        return MOVE_SETTER_CLEAN;
    case ASK_CUTTER_IN:
        return MOVE_CUTTER;
    case ASK_CLIP_ON:
        return MOVE_CLIP_ON;
    case ASK_PLATE_ON:
        return MOVE_PLATE_ON;
    case ASK_PLATE_OFF:
        return MOVE_PLATE_OFF;
    case ASK_CLIP_OFF:
        return MOVE_CLIP_OFF;
    case ASK_BLOCK_UNDER:
        return MOVE_BLOCK_UNDER;
    case ASK_BLOCK_AWAY:
        return MOVE_BLOCK_AWAY;
    case ASK_SUPPLY_ON:
        return MOVE_SUPPLY_ON;
    case ASK_SPEED_SET:
        return MOVE_SPEED_SET;
    case ASK_SPINDLE_ON:
        return MOVE_SPINDLE_START;
    case ASK_COUNT:
        break;
    }
    BUG("no question %d", (int)word);
}

static enum spindle_act act_of(const struct procedure_state *state, bool guarded)
{
    if (!state->off)
        return SPINDLE_RUNS;
    if (!state->stands)
        return SPINDLE_STOPS;
    return state->held || guarded ? SPINDLE_HELD_OFF : SPINDLE_STANDS;
}

/* The guard is opened with the first hand that goes in. */
static void open_guard(struct planner *planner, bool hand)
{
    if (!planner->procedure.interlocked || planner->held_shown || !hand || !planner->state.off)
        return;
    planner->held_shown = true;
    planner->spindle = SPINDLE_HELD_OFF;
    plan_by_hand(planner, MOVE_HOLD_OFF);
}

static void note(struct planner *planner, enum move_kind kind)
{
    if (kind == MOVE_PLATE_ON || kind == MOVE_PLATE_OFF)
        planner->plate_lies = kind == MOVE_PLATE_ON;
    if (kind == MOVE_CLIP_ON || kind == MOVE_CLIP_OFF)
        planner->clip_on = kind == MOVE_CLIP_ON;
    if (kind == MOVE_BLOCK_UNDER || kind == MOVE_BLOCK_AWAY)
        planner->block_lies = kind == MOVE_BLOCK_UNDER;
    if (kind == MOVE_CUTTER)
        planner->changed = true;
    if (kind == MOVE_PROP)
        planner->propped = true;
}

/* Is Z without power, on a machine where it then comes down, and does no block carry it? */
static bool sinks(const struct planner *planner)
{
    bool unpowered = planner->motors_released || (planner->machine_cut && planner->state.held);
    return planner->z_sinks && unpowered && !planner->propped;
}

/* Notes a step at which a hand comes to harm: at the spindle, or under a Z that sinks. */
static void alarm(struct planner *planner, struct move *move, bool hand, bool endangers)
{
    move->sinks = hand && sinks(planner);
    move->endangers = endangers || move->sinks;
    move->beside_chuck = hand && planner->chuck_turns;
    planner->out->endangers += move->endangers;
    planner->out->beside_chuck += move->beside_chuck;
}

/* Whoever changes the cutter has the new one in hand. */
static void take_cutter(struct planner *planner, enum move_kind kind)
{
    if (kind == MOVE_CUTTER)
        planner->cutter = planner->out->request.to;
}

static void answer(struct planner *planner, const struct procedure_step *step)
{
    enum move_kind kind = kind_of(step->ask);
    struct move *move;
    if (kind == MOVE_SPINDLE_START && leaves_off(planner)) {
        planner->started = true; /* nothing to start: it is not asked for either */
        return;
    }
    open_guard(planner, step->hand);
    take_cutter(planner, kind);
    planner->state = step->after;
    planner->spindle = act_of(&step->after, step->held_off);
    if (kind == MOVE_SPINDLE_START ||
        (kind == MOVE_SPINDLE_STOP && planner->procedure.by_hand)) {
        plan_switch(planner, kind);
        move = &planner->out->moves[planner->out->count - 1];
    } else {
        move = plan_by_hand(planner, kind);
    }
    move->asked = true;
    move->ask = step->ask;
    alarm(planner, move, step->hand, step->endangers);
    note(planner, kind);
    planner->spindle = act_of(&step->after, false);
}

/* The questions from the next one up to `end`, each a step of the operator's. */
static void plan_answers(struct planner *planner, uint32_t end)
{
    while (planner->next < end)
        answer(planner, &planner->procedure.steps[planner->next++]);
}

/* A step of the operator's hands that has to be done though nobody is asked for it. */
static void plan_unasked(struct planner *planner, enum move_kind kind)
{
    open_guard(planner, true);
    take_cutter(planner, kind);
    bool guarded = planner->procedure.interlocked && planner->state.off;
    planner->spindle = act_of(&planner->state, guarded);
    struct move *move = plan_by_hand(planner, kind);
    alarm(planner, move, true, planner->spindle != SPINDLE_HELD_OFF);
    note(planner, kind);
    planner->spindle = act_of(&planner->state, false);
}

/* The change itself, from the lift to the start. */

static void lift(struct planner *planner)
{
    double z = 0;
    if (!planner->route.homes) {
        plan_up_by(planner, MOVE_LIFT, FIELD_CHANGE_LIFT);
        return;
    }
    bool known = look_nominal(&planner->look, FIELD_CHANGE_TRAVERSE_Z, 0, &z);
    plan_vertical(planner, MOVE_LIFT, known, z, INFINITY);
}

/* A length or a speed; NAN where it is missing. */
static double told(struct planner *planner, enum field_id id)
{
    double feed = NAN;
    return look_nominal(&planner->look, id, 0, &feed) ? feed : NAN;
}

static void approach(struct planner *planner)
{
    double z = 0;
    double feed = told(planner, FIELD_CHANGE_APPROACH_FEED);
    bool known = look_approach_nose(&planner->look, planner->cutter, &z);
    plan_vertical(planner, MOVE_APPROACH, known, z, feed);
}

/* The nose heights at which the cutter in the spindle may meet the setter: what the controller
 * reads, so the homing's own error counts too.
 *
 *      earliest   the longest it may be, setter high, homed low
 *      expected   as typed
 *      latest     the shortest it may be
 */
static bool contact_height(struct planner *planner, struct spread *out)
{
    struct look *look = &planner->look;
    struct spread setter, stickout, error;
    bool known = look_spread(look, FIELD_SETTER_NOSE_CONTACT, 0, &setter);
    known = look_true_stickout(look, planner->cutter, &stickout) && known;
    known = look_height_error(look, &error) && known;
    if (known)
        *out = spread_add(spread_add(setter, stickout), error);
    return known;
}

/* Down onto the setter at most `stroke`: as far as the contact where that lies within it. */
static void probe_setter(struct planner *planner, enum move_kind kind, double feed,
                         enum field_id stroke_field)
{
    struct spread contact = {0, 0, 0};
    double stroke = 0, start = planner->at.at[AXIS_Z];
    bool starts = planner->at.known[AXIS_Z];
    bool ends = look_nominal(&planner->look, stroke_field, 0, &stroke) && starts;
    bool met = contact_height(planner, &contact);
    double to = contact.nominal;
    if (ends)
        to = fmax(to, start - stroke);
    if (starts)
        to = fmin(to, start);
    struct move *move = plan_vertical(planner, kind, met, to, feed);
    move->has_contact = met;
    move->earliest = contact.high;
    move->expected = contact.nominal;
    move->latest = contact.low;
    move->has_end = ends;
    move->end = ends ? start - stroke : 0;
}

/* Down onto the plate, which lies nobody knows where: at most the stroke. */
static void probe_plate(struct planner *planner, enum move_kind kind, double feed,
                        enum field_id stroke_field)
{
    double stroke = 0;
    bool known = look_nominal(&planner->look, stroke_field, 0, &stroke);
    struct move *move = plan_step(planner, kind);
    move->moves[AXIS_Z] = true;
    move->to.known[AXIS_Z] = false;
    move->to.at[AXIS_Z] = 0;
    plan_axis_time(planner, move, known ? TIME_AT_MOST : TIME_UNKNOWN, stroke, feed);
    planner->at = move->to;
}

static void probe(struct planner *planner, enum move_kind kind, enum field_id feed_field,
                  enum field_id stroke_field)
{
    double feed = told(planner, feed_field);
    if (planner->route.plate)
        probe_plate(planner, kind, feed, stroke_field);
    else
        probe_setter(planner, kind, feed, stroke_field);
    plan_up_by(planner, MOVE_RETRACT, FIELD_CHANGE_RETRACT);
}

/* Probes the cutter in the spindle, twice where there is anything about a second touch. */
static void touch(struct planner *planner)
{
    const struct look *look = &planner->look;
    probe(planner, MOVE_PROBE, FIELD_CHANGE_PROBE_FEED, FIELD_CHANGE_PROBE_STROKE);
    if (look_given(look, FIELD_CHANGE_SECOND_TOUCH_FEED, 0) ||
        look_given(look, FIELD_CHANGE_SECOND_STROKE, 0))
        probe(planner, MOVE_SECOND_TOUCH, FIELD_CHANGE_SECOND_TOUCH_FEED,
              FIELD_CHANGE_SECOND_STROKE);
}

/* Along one axis by `by`, from and to places that nobody knows; NAN where it is not known. */
static void side_step(struct planner *planner, enum move_kind kind, uint32_t axis, double by,
                      double feed)
{
    bool at_most = kind == MOVE_SIDE_PROBE || kind == MOVE_SIDE_OVER, known = !isnan(by);
    struct move *move = plan_step(planner, kind);
    move->moves[axis] = true;
    move->to.known[axis] = false;
    move->to.at[axis] = 0;
    move->by = known ? by : 0;
    plan_axis_time(planner, move,
                   !known    ? TIME_UNKNOWN
                   : at_most ? TIME_AT_MOST
                             : TIME_KNOWN,
                   move->by, feed);
    planner->at = move->to;
}

/* X and Y by the side faces of a corner plate, from over the place where its top was touched:
 * each out over the edge, on the side where the face is, down beside it, back to it, off and
 * up. */
static void touch_sides(struct planner *planner)
{
    static const enum field_id faces[] = {FIELD_PLATE_CORNER_X, FIELD_PLATE_CORNER_Y};
    double out = told(planner, FIELD_CHANGE_SIDE_OUT);
    double stroke = told(planner, FIELD_CHANGE_SIDE_STROKE);
    double feed = told(planner, FIELD_CHANGE_SIDE_FEED);
    double retract = told(planner, FIELD_CHANGE_RETRACT);
    double down = told(planner, FIELD_CHANGE_SIDE_DOWN) + retract;
    for (uint32_t axis = AXIS_X; axis <= AXIS_Y; axis++) {
        double face = told(planner, faces[axis]);
        double side = isnan(face) ? NAN : copysign(1, face);
        side_step(planner, MOVE_SIDE_OUT, axis, side * out, INFINITY);
        side_step(planner, MOVE_SIDE_DOWN, AXIS_Z, -down, INFINITY);
        side_step(planner, MOVE_SIDE_PROBE, axis, -side * stroke, feed);
        side_step(planner, MOVE_SIDE_BACK, axis, side * retract, INFINITY);
        side_step(planner, MOVE_SIDE_UP, AXIS_Z, down, INFINITY);
        side_step(planner, MOVE_SIDE_OVER, axis, -side * out, INFINITY);
    }
}

static void jog(struct planner *planner, enum move_kind kind)
{
    struct move *move = plan_by_hand(planner, kind);
    move->moves[AXIS_X] = move->moves[AXIS_Y] = move->moves[AXIS_Z] = true;
    move->to = (struct move_place){{0, 0, 0}, {false, false, false}};
    planner->at = move->to;
    planner->where = END_SPOT;
}

static bool is_laid_word(enum question_word word)
{
    return word == ASK_PLATE_ON || word == ASK_CLIP_ON || word == ASK_BLOCK_UNDER;
}

static bool is_away_word(enum question_word word)
{
    return word == ASK_PLATE_OFF || word == ASK_CLIP_OFF || word == ASK_BLOCK_AWAY;
}

/* Does it ready the spindle to start? */
static bool is_ready_word(enum question_word word)
{
    return word == ASK_SUPPLY_ON || word == ASK_SPEED_SET || word == ASK_SPINDLE_ON;
}

/* The first question from `from` up to `end` that comes after the touch: it takes plate, clip
 * or block away, or readies the spindle; `end` where none does. */
static uint32_t first_after(const struct procedure *list, uint32_t from, uint32_t end)
{
    while (from < end && !is_away_word(list->steps[from].ask) &&
           !is_ready_word(list->steps[from].ask))
        from++;
    return from;
}

/* Questions before and after the probing of one visit. */
struct around {
    uint32_t before, after;
};

/* Around the outgoing cutter: what comes before the cutter is changed, up to the first time
 * that plate and clip are taken away; where they stay there, up to when they were put there. */
static struct around around_old(const struct planner *planner)
{
    const struct procedure *list = &planner->procedure;
    uint32_t limit = procedure_find(list, ASK_CUTTER_IN, planner->next);
    struct around around = {first_after(list, planner->next, limit), 0};
    if (around.before == limit)
        while (around.before > planner->next &&
               !is_laid_word(list->steps[around.before - 1].ask))
            around.before--;
    around.after = around.before;
    while (around.after < limit && is_away_word(list->steps[around.after].ask))
        around.after++;
    return around;
}

/* Where the questions begin that stand last: supply, speed and start, and nothing after. */
static uint32_t last_ones(const struct planner *planner)
{
    const struct procedure *list = &planner->procedure;
    uint32_t at = list->count;
    while (at > planner->next && is_ready_word(list->steps[at - 1].ask))
        at--;
    return at;
}

static void visit_plate(struct planner *planner, const struct around *around)
{
    bool bearings = false;
    plan_answers(planner, around->before);
    bool known = look_given(&planner->look, FIELD_PLATE_RETURN_PATH, 0) &&
                 look_word(&planner->look, FIELD_PLATE_RETURN_PATH, "bearings", &bearings);
    bool clips = !planner->clip_on && known && !bearings, lays = !planner->plate_lies;
    if (clips)
        plan_unasked(planner, MOVE_CLIP_ON);
    if (lays)
        plan_unasked(planner, MOVE_PLATE_ON);
    jog(planner, MOVE_JOG);
    touch(planner);
    /* Where the work lies is found with the new cutter; of the old one only its length counts.
     */
    if (planner->changed && (look_given(&planner->look, FIELD_PLATE_CORNER_X, 0) ||
                             look_given(&planner->look, FIELD_PLATE_CORNER_Y, 0)))
        touch_sides(planner);
    plan_answers(planner, around->after);
    if (lays && planner->plate_lies)
        plan_unasked(planner, MOVE_PLATE_OFF);
    if (clips && planner->clip_on)
        plan_unasked(planner, MOVE_CLIP_OFF);
    lift(planner);
}

/* The last step takes a motor of the axes, though a person presses the key. */
static void moves_by_hand(struct planner *planner)
{
    struct move *move = &planner->out->moves[planner->out->count - 1];
    move->moves[AXIS_Z] = true;
    move->powerless = planner->machine_cut && planner->state.held;
}

/* By hand over the face, the block under the tip, down until it drags: with the axes' own
 * motors, and with the fingers where the cutter is. */
static void visit_face(struct planner *planner, const struct around *around)
{
    uint32_t block = procedure_find(&planner->procedure, ASK_BLOCK_UNDER, planner->next);
    plan_answers(planner, block < around->before ? block : around->before);
    jog(planner, MOVE_TO_FACE);
    moves_by_hand(planner);
    plan_answers(planner, around->before);
    bool lays = !planner->block_lies;
    if (lays)
        plan_unasked(planner, MOVE_BLOCK_UNDER);
    plan_unasked(planner, MOVE_TOUCH_OFF);
    moves_by_hand(planner);
    plan_answers(planner, around->after);
    if (lays && planner->block_lies)
        plan_unasked(planner, MOVE_BLOCK_AWAY);
    lift(planner);
}

/* On a lift it comes up before the first cutter goes down to it and sinks after the last; how
 * long it takes nobody says, and wherever it is in between it stands in the way as if it were
 * up. */
static void visit_setter(struct planner *planner, bool last)
{
    bool lifts = look_lifts(&planner->look);
    plan_sideways(planner, MOVE_TO_SETTER, END_SETTER);
    if (lifts && !planner->setter_up)
        plan_time(planner, plan_step(planner, MOVE_SETTER_UP), TIME_UNKNOWN, 0);
    planner->setter_up = true;
    approach(planner);
    touch(planner);
    lift(planner);
    if (lifts && last)
        plan_time(planner, plan_step(planner, MOVE_SETTER_DOWN), TIME_UNKNOWN, 0);
}

/* Measures the outgoing cutter. */
static void visit_old(struct planner *planner)
{
    if (planner->route.setter) {
        visit_setter(planner, false);
        return;
    }
    const struct around around = around_old(planner);
    visit_plate(planner, &around);
}

static void visit_new(struct planner *planner)
{
    uint32_t last = last_ones(planner);
    const struct around around = {first_after(&planner->procedure, planner->next, last), last};
    if (planner->route.plate) {
        visit_plate(planner, &around);
    } else if (planner->route.hand) {
        visit_face(planner, &around);
    } else {
        plan_answers(planner, last);
        if (planner->route.setter)
            visit_setter(planner, true);
    }
}

static void park(struct planner *planner)
{
    struct look *look = &planner->look;
    double z = 0;
    plan_sideways(planner, MOVE_TO_PARK, END_PARK);
    /* A machine without a setter may change at traverse height. */
    if (planner->route.setter || look_given(look, FIELD_CHANGE_PARK_Z, 0)) {
        bool known = look_nominal(look, FIELD_CHANGE_PARK_Z, 0, &z);
        plan_vertical(planner, MOVE_PARK_HEIGHT, known, z, INFINITY);
    }
}

/* The questions up to cutter_in; where it is not asked, up to those of what comes after. */
static uint32_t up_to_cutter(const struct planner *planner)
{
    const struct procedure *list = &planner->procedure;
    uint32_t cutter = procedure_find(list, ASK_CUTTER_IN, planner->next);
    if (cutter < list->count)
        return cutter + 1;
    uint32_t end = last_ones(planner), at = planner->next;
    while (at < end && !is_laid_word(list->steps[at].ask))
        at++;
    return at;
}

/* Parks where there is a place for it, and the operator changes the cutter. */
static void swap(struct planner *planner)
{
    bool parks = route_has(&planner->route, END_PARK);
    if (parks)
        park(planner);
    planner->changed = false;
    plan_answers(planner, up_to_cutter(planner));
    if (!planner->changed)
        plan_unasked(planner, MOVE_CUTTER);
    /* A machine that was cut off with its spindle moves again only with its supply. */
    const struct procedure *list = &planner->procedure;
    if (planner->machine_cut && planner->next < list->count &&
        list->steps[planner->next].ask == ASK_SUPPLY_ON)
        plan_answers(planner, planner->next + 1);
    if (parks)
        lift(planner);
}

/* Stops the spindle; of the questions, those that come before the first sideways move. */
static void stop(struct planner *planner)
{
    const struct procedure *list = &planner->procedure;
    const enum question_word until[] = {ASK_SHOE_OFF, ASK_STANDSTILL, ASK_SPINDLE_OFF};
    uint32_t cutter = procedure_find(list, ASK_CUTTER_IN, 0), end = 0;
    for (size_t i = 0; !end && i < sizeof until / sizeof *until; i++) {
        uint32_t at = procedure_find(list, until[i], 0);
        end = at < list->count && at < cutter ? at + 1 : 0;
    }
    if (!list->by_hand || procedure_find(list, ASK_SPINDLE_OFF, 0) == list->count)
        plan_switch(planner, MOVE_SPINDLE_STOP);
    if (!list->by_hand && list->count && list->steps[0].ask == ASK_SPINDLE_OFF) {
        struct move *move = &planner->out->moves[planner->out->count - 1];
        move->asked = true; /* it is stopped already: this only confirms it */
        move->ask = ASK_SPINDLE_OFF;
        planner->next = 1;
    }
    plan_answers(planner, end);
}

/* Down to where the change began.  Once the new length counts, the tip comes back to the height
 * at which the old one was; before that, the nose does. */
static void down(struct planner *planner, bool offset_counts)
{
    const struct change_request *request = &planner->out->request;
    struct spread was, is;
    double z = request->start[AXIS_Z];
    bool known = request->start_known;
    if (known && offset_counts) {
        known = look_true_stickout(&planner->look, request->from, &was);
        known = look_true_stickout(&planner->look, request->to, &is) && known;
        if (known)
            z += is.nominal - was.nominal;
    }
    plan_vertical(planner, MOVE_DOWN, known, z, INFINITY);
}

static void finish(struct planner *planner)
{
    bool late = false;
    if (planner->route.plate && planner->plate_lies)
        plan_unasked(planner, MOVE_PLATE_OFF);
    if (planner->route.plate && planner->clip_on)
        plan_unasked(planner, MOVE_CLIP_OFF);
    if (planner->route.hand && planner->block_lies)
        plan_unasked(planner, MOVE_BLOCK_AWAY);
    if (planner->route.returns)
        plan_sideways(planner, MOVE_BACK, END_START);
    planner->started = false;
    plan_answers(planner, planner->procedure.count);
    if (!planner->started && !leaves_off(planner))
        plan_switch(planner, MOVE_SPINDLE_START);
    bool known = look_word(&planner->look, FIELD_CHANGE_OFFSET_APPLIED, "after_descent", &late);
    late = known && late;
    if (planner->route.returns && late)
        down(planner, false);
    plan_step(planner, MOVE_OFFSET)->timed = TIME_KNOWN;
    if (planner->route.returns && !late)
        down(planner, true);
}

/* Where the outgoing cutter is not measured, something must have been measured before: a step
 * of its own, once for all changes, before the spindle runs.  Zero that is set anew on the work
 * needs none: each touch of the plate is its own reference. */
static void reference(struct planner *planner)
{
    const struct field_value *old =
        machine_field(planner->look.machine, FIELD_CHANGE_TOUCHES_OLD, 0);
    if (!(planner->route.setter || planner->route.plate) || old->state != VALUE_GIVEN ||
        old->flag)
        return;
    bool anew = false;
    if (planner->route.plate &&
        look_word(&planner->look, FIELD_CHANGE_SETS, "work_zero", &anew) && anew)
        return;
    enum spindle_act meanwhile = planner->spindle;
    planner->spindle = SPINDLE_STANDS;
    plan_step(planner, MOVE_REFERENCE)->by_hand = true; /* and takes no time of the change */
    planner->spindle = meanwhile;
}

/* Is there a rotary axis of which nobody says that it is kept still? */
static bool chuck_may_turn(const struct machine *machine)
{
    for (uint32_t i = 0; i < machine->groups[GROUP_OBSTACLE].count; i++) {
        const struct field_value *stands =
            machine_field(machine, FIELD_OBSTACLE_CHUCK_STANDS, i);
        if (machine_field(machine, FIELD_OBSTACLE_CHUCK_DIAMETER, i)->state != VALUE_ABSENT &&
            !(stands->state == VALUE_GIVEN && stands->flag))
            return true;
    }
    return false;
}

static bool plan(struct planner *planner, const struct change_request *request)
{
    *planner->out = (struct change){.request = *request};
    if (!route_find(&planner->look, &planner->route))
        return false;
    procedure_walk(&planner->procedure, planner->look.machine);
    if (!look_word(&planner->look, FIELD_CHANGE_CUTS_POWER_TO, "machine",
                   &planner->machine_cut))
        return false;
    const struct machine *machine = planner->look.machine;
    const struct field_value *held = machine_field(machine, FIELD_CHANGE_MOTORS_HELD, 0);
    const struct field_value *holds =
        machine_field(machine, FIELD_AXIS_HOLDS_UNPOWERED, AXIS_Z);
    planner->motors_released = held->state == VALUE_GIVEN && !held->flag;
    planner->chuck_turns = chuck_may_turn(machine);
    planner->z_sinks = holds->state == VALUE_GIVEN && !holds->flag;
    planner->state = planner->procedure.before;
    planner->cutter = request->from;
    for (int axis = 0; axis < AXES && request->start_known; axis++) {
        planner->at.at[axis] = request->start[axis];
        planner->at.known[axis] = true;
    }
    reference(planner);
    lift(planner);
    stop(planner);
    if (planner->route.touches_old)
        visit_old(planner);
    swap(planner);
    visit_new(planner);
    finish(planner);
    return true;
}

bool change_plan(struct change *out, const struct machine *machine,
                 const struct change_request *request)
{
    struct planner planner = {.out = out, .look = {machine, NULL, &out->missing}};
    return plan(&planner, request);
}

bool change_plan_times(struct change *out, const struct machine *machine,
                       const struct change_request *request)
{
    struct planner planner = {
        .out = out, .look = {machine, NULL, &out->missing}, .no_room = true};
    return plan(&planner, request);
}

bool change_plan_spindle(struct change *out, const struct machine *machine,
                         const struct change_request *request)
{
    struct planner planner = {
        .out = out, .look = {machine, NULL, &out->missing}, .no_gantry = true};
    return plan(&planner, request);
}

const struct move *change_least_room(const struct change *change)
{
    const struct move *least = NULL;
    for (uint32_t i = 0; i < change->count; i++) {
        const struct move *move = &change->moves[i];
        if (move->has_clearance &&
            (!least || move->clearance.value.low < least->clearance.value.low))
            least = move;
    }
    return least;
}

bool change_meets(const struct change *change)
{
    for (uint32_t i = 0; i < change->count; i++)
        if (change->moves[i].has_clearance &&
            spread_settled(change->moves[i].clearance.value.low) < 0)
            return true;
    return false;
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
