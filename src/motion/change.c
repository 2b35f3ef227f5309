#include "motion/change.h"

#include "motion/internal_plan.h"

/* Does change.asks have this word?  Its bit. */
static uint32_t ask_bit(const struct machine *machine, const char *word)
{
    const struct field_value *asks = machine_value(
        machine, GROUP_ROOT, field_group_width(GROUP_ROOT), field_slot(FIELD_CHANGE_ASKS), 0);
    int choice = field_choice_find(&field_table[FIELD_CHANGE_ASKS], view_of(word));
    if (choice < 0 || asks->state != VALUE_GIVEN)
        return 0;
    for (uint32_t i = 0; i < asks->words->count; i++)
        if (asks->words->word[i] == choice)
            return (uint32_t)1 << choice;
    return 0;
}

static uint32_t ask_bits(const struct planner *planner, const char *one, const char *other)
{
    const struct machine *machine = planner->look.machine;
    return ask_bit(machine, one) | (other ? ask_bit(machine, other) : 0);
}

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

/* The spindle stops or starts, by the controller with a wait, or by hand. */
static void switch_spindle(struct planner *planner, enum move_kind kind, enum field_id wait)
{
    bool starts = kind == MOVE_SPINDLE_START, by_hand = false;
    double seconds = 0;
    planner->spindle = starts ? SPINDLE_STARTS : SPINDLE_STOPS;
    bool known = look_word(&planner->look, FIELD_SPINDLE_SWITCHED_BY, "hand", &by_hand);
    struct move *move = by_hand ? plan_by_hand(planner, kind) : plan_step(planner, kind);
    move->asks = starts ? ask_bits(planner, "speed_set", "spindle_on")
                        : ask_bits(planner, "spindle_off", NULL);
    if (!by_hand) {
        known = look_nominal(&planner->look, wait, 0, &seconds) && known;
        plan_time(planner, move, known ? TIME_KNOWN : TIME_UNKNOWN, seconds);
    }
    planner->spindle = starts ? SPINDLE_RUNS : SPINDLE_STANDS;
}

/* The nose height at which the fast approach ends. */
static bool approach_nose(struct planner *planner, double *out)
{
    struct look *look = &planner->look;
    double contact = 0, stickout = 0, standoff = 0;
    bool fixed;
    if (!look_word(look, FIELD_CHANGE_APPROACH, "fixed", &fixed))
        return false;
    if (fixed)
        return look_nominal(look, FIELD_CHANGE_APPROACH_Z, 0, out);
    bool known = look_nominal(look, FIELD_SETTER_NOSE_CONTACT, 0, &contact);
    known = look_used_stickout(look, planner->cutter, &stickout) && known;
    known = look_nominal(look, FIELD_CHANGE_STANDOFF, 0, &standoff) && known;
    if (known)
        *out = contact + stickout + standoff;
    return known;
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
    bool known = approach_nose(planner, &z);
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

/* Goes to what measures, measures the cutter in the spindle, and lifts. */
static void visit(struct planner *planner)
{
    if (planner->route.plate) {
        plan_by_hand(planner, MOVE_PLATE_ON)->asks = ask_bits(planner, "plate_on", "clip_on");
        jog(planner);
        touch(planner);
        plan_by_hand(planner, MOVE_PLATE_OFF)->asks =
            ask_bits(planner, "plate_off", "clip_off");
    } else {
        plan_sideways(planner, MOVE_TO_SETTER, END_SETTER);
        approach(planner);
        touch(planner);
    }
    lift(planner);
}

/* Parks where there is a place for it, and the operator changes the cutter. */
static void swap(struct planner *planner)
{
    bool parks = route_has(&planner->route, END_PARK), free_to_start = false;
    struct look *look = &planner->look;
    double z = 0;
    if (parks) {
        plan_sideways(planner, MOVE_TO_PARK, END_PARK);
        /* A machine with a plate may change at traverse height. */
        if (!planner->route.plate || look_given(look, FIELD_CHANGE_PARK_Z, 0)) {
            bool known = look_nominal(look, FIELD_CHANGE_PARK_Z, 0, &z);
            plan_vertical(planner, MOVE_PARK_HEIGHT, known, z, INFINITY);
        }
    }
    if (!look_word(look, FIELD_CHANGE_SPINDLE_HELD_OFF, "no", &free_to_start) ||
        !free_to_start) {
        planner->spindle = SPINDLE_HELD_OFF;
        plan_by_hand(planner, MOVE_HOLD_OFF)->asks = ask_bits(planner, "unplugged", NULL);
    }
    planner->cutter = planner->out->request.to;
    plan_by_hand(planner, MOVE_CUTTER)->asks = ask_bits(planner, "cutter_in", "setter_clean");
    planner->spindle = SPINDLE_STANDS;
    if (parks)
        lift(planner);
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
    if (planner->route.returns)
        plan_sideways(planner, MOVE_BACK, END_START);
    switch_spindle(planner, MOVE_SPINDLE_START, FIELD_SPINDLE_DWELL_AFTER_START);
    bool known = look_word(&planner->look, FIELD_CHANGE_OFFSET_APPLIED, "after_descent", &late);
    late = known && late;
    if (planner->route.returns && late)
        down(planner, false);
    plan_step(planner, MOVE_OFFSET)->timed = TIME_KNOWN;
    if (planner->route.returns && !late)
        down(planner, true);
}

bool change_plan(struct change *out, const struct machine *machine,
                 const struct change_request *request)
{
    struct planner planner = {.out = out, .look = {machine, NULL, &out->missing}};
    *out = (struct change){.request = *request};
    if (!route_find(&planner.look, &planner.route))
        return false;
    planner.cutter = request->from;
    for (int axis = 0; axis < AXES && request->start_known; axis++) {
        planner.at.at[axis] = request->start[axis];
        planner.at.known[axis] = true;
    }
    lift(&planner);
    switch_spindle(&planner, MOVE_SPINDLE_STOP, FIELD_SPINDLE_DWELL_AFTER_STOP);
    if (planner.route.touches_old)
        visit(&planner);
    swap(&planner);
    visit(&planner);
    finish(&planner);
    return true;
}
