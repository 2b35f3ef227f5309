/* Reading fields of a machine with a record of what was read and what is missing; and where the
 * sideways moves of a change begin and end. */
#include "motion/internal.h"

static struct field_use *find(struct field_uses *uses, const struct field_use *use)
{
    for (uint32_t i = 0; i < uses->count; i++)
        if (uses->items[i].field == use->field && uses->items[i].record == use->record)
            return &uses->items[i];
    return NULL;
}

void field_uses_add(struct field_uses *uses, const struct field_use *use)
{
    struct field_use *there = find(uses, use);
    if (there) {
        there->decides = there->decides || use->decides;
        there->width = fmax(there->width, use->width);
    } else if (uses->count < FIELD_USES) {
        uses->items[uses->count++] = *use;
    }
}

void field_uses_join(struct field_uses *uses, const struct field_uses *more, bool decide)
{
    for (uint32_t i = 0; i < more->count; i++) {
        struct field_use use = more->items[i];
        use.decides = use.decides || decide;
        field_uses_add(uses, &use);
    }
}

static const struct field_value *value_of(const struct look *look, enum field_id id,
                                          uint32_t record)
{
    static const struct field_value absent = {.state = VALUE_ABSENT};
    if (record >= look->machine->groups[field_table[id].group].count)
        return &absent; /* an unreadable file has not even a root */
    return machine_field(look->machine, id, record);
}

static void note(struct field_uses *uses, enum field_id id, uint32_t record, double width)
{
    struct field_use use = {.field = id, .record = record, .width = width};
    if (uses)
        field_uses_add(uses, &use);
}

static bool miss(struct look *look, enum field_id id, uint32_t record, bool wrong)
{
    struct field_use use = {.field = id, .record = record, .wrong = wrong};
    if (look->missing)
        field_uses_add(look->missing, &use);
    return false;
}

/* The value where it may be used, NULL where it is missing. */
static const struct field_value *usable(struct look *look, enum field_id id, uint32_t record)
{
    const struct field_value *value = value_of(look, id, record);
    if (value->state == VALUE_GIVEN || value->state == VALUE_DEFAULTED)
        return value;
    miss(look, id, record, value->state == VALUE_WRONG);
    return NULL;
}

bool look_given(const struct look *look, enum field_id id, uint32_t record)
{
    return value_of(look, id, record)->state != VALUE_ABSENT;
}

bool look_spread(struct look *look, enum field_id id, uint32_t record, struct spread *out)
{
    const struct field_value *value = usable(look, id, record);
    if (!value)
        return false;
    note(look->read, id, record, value->tolerance);
    *out = spread_with(value->si, value->tolerance);
    return true;
}

bool look_nominal(struct look *look, enum field_id id, uint32_t record, double *out)
{
    const struct field_value *value = usable(look, id, record);
    if (!value)
        return false;
    note(look->read, id, record, 0);
    *out = value->si;
    return true;
}

bool look_pair(struct look *look, enum field_id id, uint32_t record, struct spread out[2])
{
    const struct field_value *value = usable(look, id, record);
    if (!value)
        return false;
    for (int part = 0; part < 2; part++)
        if (value->pair[part].state == VALUE_WRONG || value->pair[part].state == VALUE_ABSENT)
            return miss(look, id, record, true);
    note(look->read, id, record, fmax(value->pair[0].tolerance, value->pair[1].tolerance));
    for (int part = 0; part < 2; part++)
        out[part] = spread_with(value->pair[part].si, value->pair[part].tolerance);
    return true;
}

bool look_flag_of(struct look *look, enum field_id id, uint32_t record, bool *out)
{
    const struct field_value *value = usable(look, id, record);
    if (!value)
        return false;
    note(look->read, id, record, 0);
    *out = value->flag;
    return true;
}

bool look_flag(struct look *look, enum field_id id, bool *out)
{
    return look_flag_of(look, id, 0, out);
}

bool look_word(struct look *look, enum field_id id, const char *word, bool *is)
{
    const struct field_value *value = usable(look, id, 0);
    if (!value)
        return false;
    note(look->read, id, 0, 0);
    *is = field_choice_is(&field_table[id], value->choice, word);
    return true;
}

bool look_words(struct look *look, enum field_id id, const struct word_list **out)
{
    const struct field_value *value = usable(look, id, 0);
    if (!value)
        return false;
    note(look->read, id, 0, 0);
    *out = value->words;
    return true;
}

bool look_homes(struct look *look, bool *homes)
{
    const struct field_value *value = usable(look, FIELD_HOMING_ORDER, 0);
    if (!value)
        return false;
    note(look->read, FIELD_HOMING_ORDER, 0, 0);
    *homes = !value->words->none;
    return true;
}

/* Its own, else the one for all. */
static bool look_reseat(struct look *look, uint32_t cutter, struct spread *out)
{
    bool own = look_given(look, FIELD_CUTTER_RESEAT, cutter);
    enum field_id id = own ? FIELD_CUTTER_RESEAT : FIELD_ALLOWANCES_RESEAT;
    uint32_t record = own ? cutter : 0;
    if (!look_spread(look, id, record, out))
        return false;
    note(look->read, id, record, out->high);
    return true;
}

bool look_true_stickout(struct look *look, uint32_t cutter, struct spread *out)
{
    struct spread listed, reseat, range[2];
    if (look_given(look, FIELD_CUTTER_STICKOUT, cutter)) {
        if (!look_spread(look, FIELD_CUTTER_STICKOUT, cutter, &listed) ||
            !look_reseat(look, cutter, &reseat))
            return false;
        *out = (struct spread){listed.nominal, listed.low - reseat.high,
                               listed.high + reseat.high};
        return true;
    }
    if (!look_pair(look, FIELD_CHANGE_STICKOUT_RANGE, 0, range))
        return false;
    *out =
        (struct spread){(range[0].nominal + range[1].nominal) / 2, range[0].low, range[1].high};
    note(look->read, FIELD_CHANGE_STICKOUT_RANGE, 0, out->high - out->nominal);
    return true;
}

bool look_used_stickout(struct look *look, uint32_t cutter, double *out)
{
    bool assumed;
    if (!look_word(look, FIELD_CHANGE_STICKOUT_FROM, "assumed", &assumed))
        return false;
    if (assumed || !look_given(look, FIELD_CUTTER_STICKOUT, cutter))
        return look_nominal(look, FIELD_CHANGE_ASSUMED_STICKOUT, 0, out);
    return look_nominal(look, FIELD_CUTTER_STICKOUT, cutter, out);
}

bool look_approach_nose(struct look *look, uint32_t cutter, double *out)
{
    double contact = 0, stickout = 0, standoff = 0;
    bool fixed;
    if (!look_word(look, FIELD_CHANGE_APPROACH, "fixed", &fixed))
        return false;
    if (fixed)
        return look_nominal(look, FIELD_CHANGE_APPROACH_Z, 0, out);
    bool known = look_nominal(look, FIELD_SETTER_NOSE_CONTACT, 0, &contact);
    known = look_used_stickout(look, cutter, &stickout) && known;
    known = look_nominal(look, FIELD_CHANGE_STANDOFF, 0, &standoff) && known;
    if (known)
        *out = contact + stickout + standoff;
    return known;
}

bool look_radius(struct look *look, enum field_id diameter, uint32_t record, struct spread *out)
{
    const struct field_value *value = usable(look, diameter, record);
    if (!value)
        return false;
    *out = spread_scale(spread_with(value->si, value->tolerance), 0.5);
    note(look->read, diameter, record, value->tolerance / 2);
    return true;
}

bool look_height_error(struct look *look, struct spread *out)
{
    struct spread off = {0, 0, 0};
    if (look_given(look, FIELD_HOMING_REPEATABILITY, AXIS_Z)) {
        if (!look_spread(look, FIELD_HOMING_REPEATABILITY, AXIS_Z, &off))
            return false;
        note(look->read, FIELD_HOMING_REPEATABILITY, AXIS_Z, off.high);
    }
    *out = spread_with(0, off.high);
    return true;
}

bool look_height(struct look *look, double z, struct spread *out)
{
    struct spread error;
    if (!look_height_error(look, &error))
        return false;
    *out = spread_add(spread_exact(z), error);
    return true;
}

bool look_board_lost(struct look *look, struct spread *out)
{
    struct spread was, is;
    *out = spread_exact(0);
    if (!look_given(look, FIELD_TABLE_THICKNESS_NOW, 0))
        return true;
    bool known = look_spread(look, FIELD_TABLE_THICKNESS, 0, &was);
    known = look_spread(look, FIELD_TABLE_THICKNESS_NOW, 0, &is) && known;
    if (known)
        *out = spread_subtract(was, is);
    return known;
}

bool look_table(struct look *look, struct spread *out)
{
    struct spread touched, lost;
    bool known = look_spread(look, FIELD_TABLE_NOSE_CONTACT, 0, &touched);
    known = look_board_lost(look, &lost) && known;
    if (known)
        *out = spread_subtract(touched, lost);
    return known;
}

bool look_obstacle_height(struct look *look, uint32_t obstacle, struct spread *out)
{
    struct spread axis, reach;
    bool known = look_spread(look, FIELD_OBSTACLE_TOP, obstacle, out);
    if (!look_given(look, FIELD_OBSTACLE_CHUCK_DIAMETER, obstacle))
        return known;
    known = look_radius(look, FIELD_OBSTACLE_CHUCK_DIAMETER, obstacle, &reach) && known;
    known = look_spread(look, FIELD_OBSTACLE_CHUCK_AXIS_HEIGHT, obstacle, &axis) && known;
    if (known) {
        reach = spread_add(axis, reach);
        *out = (struct spread){fmax(out->nominal, reach.nominal), fmax(out->low, reach.low),
                               fmax(out->high, reach.high)};
    }
    return known;
}

/* It stays where it was when the board under the work is surfaced. */
static bool obstacle_top(struct look *look, uint32_t obstacle, struct spread *out)
{
    struct spread table, top;
    bool known = look_obstacle_height(look, obstacle, &top);
    known = look_spread(look, FIELD_TABLE_NOSE_CONTACT, 0, &table) && known;
    if (known)
        *out = spread_add(table, top);
    return known;
}

bool look_obstacle(struct look *look, uint32_t obstacle, struct clearance_box *out)
{
    struct spread x[2], y[2], top;
    bool known = look_pair(look, FIELD_OBSTACLE_X, obstacle, x);
    known = look_pair(look, FIELD_OBSTACLE_Y, obstacle, y) && known;
    known = obstacle_top(look, obstacle, &top) && known;
    if (!known)
        return false;
    *out = (struct clearance_box){
        .footprint = {x[0].nominal, x[1].nominal, y[0].nominal, y[1].nominal},
        .widest = {x[0].low, x[1].high, y[0].low, y[1].high},
        .top = top,
    };
    return true;
}

bool look_carried(struct look *look, bool *carried)
{
    return look_word(look, FIELD_SETTER_RIDES_ON, "gantry", carried);
}

bool look_lifts(const struct look *look)
{
    return look_given(look, FIELD_SETTER_LOWERED_HEIGHT, 0) ||
           look_given(look, FIELD_SETTER_UP_INPUT, 0) ||
           look_given(look, FIELD_SETTER_DOWN_INPUT, 0);
}

/* Of a setter: as far along Y as the park position where the gantry carries it. */
static bool setter_area(struct look *look, bool first, struct plane_rectangle *out)
{
    struct spread work[2];
    double x = 0, y = 0;
    bool carried = false;
    if (!look_carried(look, &carried))
        return false;
    bool known = look_nominal(look, FIELD_SETTER_AT_X, 0, &x);
    if (carried && first) {
        known = look_pair(look, FIELD_WORK_Y, 0, work) && known;
        if (known)
            *out = (struct plane_rectangle){x, x, work[0].nominal, work[1].nominal};
        return known;
    }
    known =
        look_nominal(look, carried ? FIELD_CHANGE_PARK_Y : FIELD_SETTER_AT_Y, 0, &y) && known;
    if (known)
        *out = plane_place(x, y);
    return known;
}

bool route_area(struct look *look, enum route_end end, struct plane_rectangle *out)
{
    struct spread x[2], y[2];
    double at[2] = {0, 0};
    bool known = true;
    switch (end) {
    case END_START:
        known = look_pair(look, FIELD_WORK_X, 0, x);
        known = look_pair(look, FIELD_WORK_Y, 0, y) && known;
        if (known)
            *out = (struct plane_rectangle){x[0].nominal, x[1].nominal, y[0].nominal,
                                            y[1].nominal};
        return known;
    case END_SETTER:
    case END_SETTER_FIRST:
        return setter_area(look, end == END_SETTER_FIRST, out);
    case END_PARK:
        known = look_nominal(look, FIELD_CHANGE_PARK_X, 0, &at[0]);
        known = look_nominal(look, FIELD_CHANGE_PARK_Y, 0, &at[1]) && known;
        break;
    case END_SPOT:
        return false;
    }
    if (known)
        *out = plane_place(at[0], at[1]);
    return known;
}

/* Is there a place to park at?  Always with the setter; without it a machine may be parked, or
 * its cutter is changed where it stands. */
static bool parks(const struct look *look, const struct route *route)
{
    return route->setter || (route->homes && look_given(look, FIELD_CHANGE_PARK_X, 0) &&
                             look_given(look, FIELD_CHANGE_PARK_Y, 0));
}

static bool find_measuring(struct look *look, struct route *out)
{
    const enum field_id with = FIELD_CHANGE_MEASURES_WITH;
    return look_word(look, with, "setter", &out->setter) &&
           look_word(look, with, "plate", &out->plate) &&
           look_word(look, with, "hand", &out->hand);
}

bool route_find(struct look *look, struct route *out)
{
    struct route route = {0};
    bool known = find_measuring(look, &route);
    if (!known || route.setter || route.plate)
        known = look_flag(look, FIELD_CHANGE_TOUCHES_OLD, &route.touches_old) && known;
    known = look_flag(look, FIELD_CHANGE_RETURNS_TO_START, &route.returns) && known;
    known = look_homes(look, &route.homes) && known;
    known = known && (!route.setter || look_carried(look, &route.carried));
    if (!known)
        return false;
    enum route_end measuring = route.setter ? END_SETTER : END_SPOT;
    route.ends[route.count++] = END_START;
    if (route.touches_old)
        route.ends[route.count++] = route.carried ? END_SETTER_FIRST : measuring;
    if (parks(look, &route))
        route.ends[route.count++] = END_PARK;
    if (route.setter || route.plate || route.hand)
        route.ends[route.count++] = measuring;
    if (route.returns)
        route.ends[route.count++] = END_START;
    *out = route;
    return true;
}

bool route_has(const struct route *route, enum route_end end)
{
    for (uint32_t i = 0; i < route->count; i++)
        if (route->ends[i] == end)
            return true;
    return false;
}
