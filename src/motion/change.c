#include "motion/change.h"

#include "motion/internal_plan.h"

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

/* Switched by hand, the wait after the stop begins with the answer. */
void plan_switch(struct planner *planner, enum move_kind kind)
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
    if (starts)
        planner->state = (struct procedure_state){false, false, false};
    planner->spindle = starts                  ? SPINDLE_RUNS
                       : planner->state.stands ? SPINDLE_STANDS
                                               : SPINDLE_STOPS;
}

/* NAN where it is missing. */
static double feed_of(struct planner *planner, enum field_id id)
{
    double feed = NAN;
    return look_nominal(&planner->look, id, 0, &feed) ? feed : NAN;
}

static void approach(struct planner *planner)
{
    double z = 0;
    double feed = feed_of(planner, FIELD_CHANGE_APPROACH_FEED);
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
    plan_z_time(planner, move, known ? TIME_AT_MOST : TIME_UNKNOWN, stroke, feed);
    planner->at = move->to;
}

static void probe(struct planner *planner, enum move_kind kind, enum field_id feed_field,
                  enum field_id stroke_field)
{
    double feed = feed_of(planner, feed_field);
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

static void jog(struct planner *planner)
{
    struct move *move = plan_by_hand(planner, MOVE_JOG);
    move->moves[AXIS_X] = move->moves[AXIS_Y] = move->moves[AXIS_Z] = true;
    move->to = (struct move_place){{0, 0, 0}, {false, false, false}};
    planner->at = move->to;
    planner->where = END_SPOT;
}

static bool is_plate_word(enum question_word word)
{
    return word == ASK_PLATE_ON || word == ASK_CLIP_ON;
}

static bool is_away_word(enum question_word word)
{
    return word == ASK_PLATE_OFF || word == ASK_CLIP_OFF;
}

/* The first question from `from` up to `end` that comes after the probing: it takes plate or
 * clip away, or readies the spindle; `end` where none does. */
static uint32_t first_after(const struct procedure *list, uint32_t from, uint32_t end)
{
    while (from < end && !is_away_word(list->steps[from].ask) &&
           list->steps[from].ask < ASK_SUPPLY_ON)
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
               !is_plate_word(list->steps[around.before - 1].ask))
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
    while (at > planner->next && list->steps[at - 1].ask >= ASK_SUPPLY_ON)
        at--;
    return at;
}

_Static_assert(ASK_SUPPLY_ON + 3 == ASK_COUNT, "supply, speed and start are the last words");

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
    jog(planner);
    touch(planner);
    plan_answers(planner, around->after);
    if (lays && planner->plate_lies)
        plan_unasked(planner, MOVE_PLATE_OFF);
    if (clips && planner->clip_on)
        plan_unasked(planner, MOVE_CLIP_OFF);
    lift(planner);
}

static void visit_setter(struct planner *planner)
{
    plan_sideways(planner, MOVE_TO_SETTER, END_SETTER);
    approach(planner);
    touch(planner);
    lift(planner);
}

/* Measures the outgoing cutter. */
static void visit_old(struct planner *planner)
{
    if (!planner->route.plate) {
        visit_setter(planner);
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
        return;
    }
    plan_answers(planner, last);
    visit_setter(planner);
}

static void park(struct planner *planner)
{
    struct look *look = &planner->look;
    double z = 0;
    plan_sideways(planner, MOVE_TO_PARK, END_PARK);
    /* A machine with a plate may change at traverse height. */
    if (!planner->route.plate || look_given(look, FIELD_CHANGE_PARK_Z, 0)) {
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
    while (at < end && !is_plate_word(list->steps[at].ask))
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
    if (planner->route.returns)
        plan_sideways(planner, MOVE_BACK, END_START);
    planner->started = false;
    plan_answers(planner, planner->procedure.count);
    if (!planner->started)
        plan_switch(planner, MOVE_SPINDLE_START);
    bool known = look_word(&planner->look, FIELD_CHANGE_OFFSET_APPLIED, "after_descent", &late);
    late = known && late;
    if (planner->route.returns && late)
        down(planner, false);
    plan_step(planner, MOVE_OFFSET)->timed = TIME_KNOWN;
    if (planner->route.returns && !late)
        down(planner, true);
}

static bool plan(struct planner *planner, const struct change_request *request)
{
    *planner->out = (struct change){.request = *request};
    if (!route_find(&planner->look, &planner->route))
        return false;
    procedure_walk(&planner->procedure, planner->look.machine);
    if (!look_word(&planner->look, FIELD_CHANGE_CUTS_POWER_TO, "machine", &planner->machine_cut))
        return false;
    const struct machine *machine = planner->look.machine;
    const struct field_value *held = machine_field(machine, FIELD_CHANGE_MOTORS_HELD, 0);
    const struct field_value *holds =
        machine_field(machine, FIELD_AXIS_HOLDS_UNPOWERED, AXIS_Z);
    planner->motors_released = held->state == VALUE_GIVEN && !held->flag;
    planner->z_sinks = holds->state == VALUE_GIVEN && !holds->flag;
    planner->state = planner->procedure.before;
    planner->cutter = request->from;
    for (int axis = 0; axis < AXES && request->start_known; axis++) {
        planner->at.at[axis] = request->start[axis];
        planner->at.known[axis] = true;
    }
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

bool change_plan_spindle(struct change *out, const struct machine *machine,
                         const struct change_request *request)
{
    struct planner planner = {
        .out = out, .look = {machine, NULL, &out->missing}, .no_gantry = true};
    return plan(&planner, request);
}

bool change_meets(const struct change *change)
{
    for (uint32_t i = 0; i < change->count; i++)
        if (change->moves[i].has_clearance &&
            spread_settled(change->moves[i].clearance.value.low) < 0)
            return true;
    return false;
}
