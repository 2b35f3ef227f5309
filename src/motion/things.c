/* The things that stand still, and how near bodies come to them. */
#include "motion/internal_bodies.h"

#include "base/bug.h"

/* A round thing about the place where it is, as high as its trip.  How wide it is matters only
 * to what does not pass over its middle.  One that the gantry carries is level with the
 * spindle: both are looked at from the gantry then, where nothing goes along Y. */
static bool find_setter(struct look *look, struct clearance_box *out)
{
    bool carried = false;
    double x = 0;
    bool known = look_carried(look, &carried);
    if (known && carried) {
        known = look_nominal(look, FIELD_SETTER_AT_X, 0, &x);
        out->footprint = plane_place(x, 0);
        out->from_gantry = true;
    } else {
        known = known && route_area(look, END_SETTER, &out->footprint);
    }
    known = look_spread(look, FIELD_SETTER_NOSE_CONTACT, 0, &out->top) && known;
    out->widest = out->footprint;
    return known;
}

static bool find_work(struct look *look, struct clearance_box *out)
{
    struct spread table, height;
    bool known = route_area(look, END_START, &out->footprint);
    known = look_spread(look, FIELD_WORK_HEIGHT, 0, &height) && known;
    known = look_table(look, &table) && known;
    if (known)
        out->top = spread_add(table, height);
    out->widest = out->footprint;
    return known;
}

/* Where nobody says how far the table reaches, it reaches everywhere. */
static bool find_table(struct look *look, struct clearance_box *out)
{
    struct spread x[2], y[2];
    if (!look_table(look, &out->top))
        return false;
    out->everywhere =
        !look_given(look, FIELD_TABLE_X, 0) || !look_given(look, FIELD_TABLE_Y, 0);
    if (out->everywhere)
        return true;
    bool known = look_pair(look, FIELD_TABLE_X, 0, x);
    known = look_pair(look, FIELD_TABLE_Y, 0, y) && known;
    if (!known)
        return false;
    out->footprint =
        (struct plane_rectangle){x[0].nominal, x[1].nominal, y[0].nominal, y[1].nominal};
    out->widest = (struct plane_rectangle){x[0].low, x[1].high, y[0].low, y[1].high};
    return true;
}

bool thing_find(struct look *look, enum clearance_to what, uint32_t record,
                struct clearance_box *out)
{
    *out = (struct clearance_box){.round = 0};
    switch (what) {
    case TO_OBSTACLE:
        return look_obstacle(look, record, out);
    case TO_SETTER:
        return find_setter(look, out);
    case TO_WORK:
        return find_work(look, out);
    case TO_TABLE:
        return find_table(look, out);
    case TO_NOTHING:
        break;
    }
    BUG("no thing %d", (int)what);
}

/* That the tip comes down on the setter is what the descent is for, and how high the setter
 * stands over the table is no matter of room. */
static unsigned bodies_against(enum situation situation, enum clearance_to what)
{
    unsigned bodies = BODIES_ALL;
    if (situation == SITUATION_DESCENT && (what == TO_SETTER || what == TO_TABLE))
        bodies &= ~(unsigned)BODIES_OF_CUTTER;
    return bodies;
}

void room_begin(struct room_search *search)
{
    search->whole = search->spindle->whole;
    search->clearance = clearance_none();
    search->to = TO_NOTHING;
    search->record = 0;
}

static bool hangs_beside(const struct clearance_spindle *spindle)
{
    for (uint32_t i = 0; i < spindle->count; i++)
        if (spindle->parts[i].beside.x != 0 || spindle->parts[i].beside.y != 0)
            return true;
    return false;
}

/* With the tip on it, whatever the setter's height is off by lifts all that hangs on the
 * spindle along. */
static void over_tip(const struct room_search *search, struct clearance_spindle *out)
{
    struct spread tip = search->pose->height;
    out->count = search->spindle->count;
    for (uint32_t i = 0; i < out->count; i++) {
        out->parts[i] = search->spindle->parts[i];
        struct spread *underside = &out->parts[i].underside;
        underside->low += tip.nominal - tip.low;
        underside->high -= tip.high - tip.nominal;
    }
}

/* The path as the thing sees it. */
static const struct plane_hull *path_to(const struct clearance_box *box,
                                        const struct plane_hull *path, struct plane_hull *flat)
{
    if (!box->from_gantry)
        return path;
    double low = path->corners[0].x, high = low;
    for (uint32_t i = 1; i < path->count; i++) {
        low = fmin(low, path->corners[i].x);
        high = fmax(high, path->corners[i].x);
    }
    const struct plane_rectangle from = plane_place(low, 0), to = plane_place(high, 0);
    plane_sweep(flat, &from, &to);
    return flat;
}

/* The thing and how far the path is from it; false where a field is missing. */
static bool stand(struct room_search *search, enum clearance_to what, uint32_t record,
                  struct room_thing *out)
{
    struct room_thing *kept = what == TO_OBSTACLE || !search->kept ? NULL : &search->kept[what];
    if (!kept || !kept->known) {
        if (!thing_find(search->look, what, record, &out->box))
            return false;
        struct plane_hull flat;
        out->from_axis = clearance_beside(path_to(&out->box, search->path, &flat), &out->box);
        out->known = true;
        if (kept)
            *kept = *out;
    } else {
        *out = *kept;
    }
    return true;
}

void room_try(struct room_search *search, enum clearance_to what, uint32_t record)
{
    unsigned bodies = bodies_against(search->situation, what);
    const struct clearance_spindle *hung = search->spindle;
    struct clearance_spindle lifted;
    struct room_thing thing;
    struct spread width;
    struct plane_hull flat;
    if (!stand(search, what, record, &thing)) {
        search->whole = false;
        return;
    }
    if (what == TO_SETTER && (thing.from_axis.nominal > 0 || hangs_beside(hung))) {
        /* However slim it is, what passes over its middle may run into it. */
        if (look_spread(search->look, FIELD_SETTER_BODY, 0, &width))
            thing.box.round = width.high / 2;
        else
            search->whole = false;
    }
    if (what == TO_SETTER && search->pose->kind == POSE_TIP) {
        over_tip(search, &lifted);
        hung = &lifted;
        thing.box.top = spread_exact(thing.box.top.nominal);
    }
    if (clearance_nearer(hung, bodies, path_to(&thing.box, search->path, &flat), &thing.box,
                         thing.from_axis, &search->clearance)) {
        search->to = what;
        search->record = record;
    }
}

void room_try_fixed(struct room_search *search, bool by_setter)
{
    if (by_setter)
        room_try(search, TO_SETTER, 0);
    room_try(search, TO_WORK, 0);
    room_try(search, TO_TABLE, 0);
}

void room_try_obstacles(struct room_search *search)
{
    const struct machine_group *group = &search->look->machine->groups[GROUP_OBSTACLE];
    for (uint32_t i = 0; i < group->count; i++)
        room_try(search, TO_OBSTACLE, i);
    search->whole = search->whole && !group->wrong;
}

/* Heights over the table as it was touched off: that of the table itself does not come into it,
 * only what the board under the work has lost since. */
static bool height_of(struct room_search *search, enum clearance_to what, uint32_t record,
                      struct spread *out)
{
    struct spread top = {0, 0, 0}, table = {0, 0, 0};
    if (what == TO_OBSTACLE)
        return look_obstacle_height(search->look, record, out);
    bool known = true;
    if (what == TO_WORK) {
        known = look_spread(search->look, FIELD_WORK_HEIGHT, 0, &top);
        known = look_board_lost(search->look, &table) && known;
    } else {
        known = look_spread(search->look, FIELD_SETTER_NOSE_CONTACT, 0, &top);
        known = look_spread(search->look, FIELD_TABLE_NOSE_CONTACT, 0, &table) && known;
    }
    *out = spread_subtract(top, table);
    return known;
}

/* Takes over what the beam leaves, where it is less than what there is. */
static void take_beam(struct room_search *search, struct spread room, enum clearance_to what,
                      uint32_t record)
{
    if (room.low >= search->clearance.value.low)
        return;
    search->clearance = (struct clearance){.value = room, .body = BODY_GANTRY};
    search->to = what;
    search->record = record;
}

static bool is_passed(struct room_search *search, enum clearance_to what, uint32_t record,
                      bool *passes)
{
    *passes = true;
    return what != TO_OBSTACLE ||
           look_flag_of(search->look, FIELD_OBSTACLE_PASSED_BY_GANTRY, record, passes);
}

static void beam_over(struct room_search *search, struct spread underside,
                      enum clearance_to what, uint32_t record)
{
    struct spread top = {0, 0, 0};
    bool passes = true;
    bool known = is_passed(search, what, record, &passes);
    known = height_of(search, what, record, &top) && known;
    search->whole = search->whole && known;
    if (known && passes)
        take_beam(search, spread_subtract(underside, top), what, record);
}

/* The setter that the gantry carries, over or beside a thing: along Y it comes everywhere, and
 * where nobody says how low it hangs it may only be beside. */
static void setter_over(struct room_search *search, enum clearance_to what, uint32_t record)
{
    struct clearance_box box;
    struct spread width;
    double x = 0;
    bool passes = true;
    bool known = is_passed(search, what, record, &passes);
    if (known && !passes)
        return;
    known = look_nominal(search->look, FIELD_SETTER_AT_X, 0, &x) && known;
    known = look_spread(search->look, FIELD_SETTER_BODY, 0, &width) && known;
    known = thing_find(search->look, what, record, &box) && known;
    if (!known) {
        search->whole = false;
        return;
    }
    struct clearance_spindle hung = {.count = 1};
    struct clearance_part *part = &hung.parts[0];
    *part = (struct clearance_part){.body = BODY_SETTER, .radius = spread_scale(width, 0.5)};
    known = look_spread(search->look, FIELD_SETTER_UNDERSIDE, 0, &part->underside);
    known = height_of(search, what, record, &box.top) && known;
    box.footprint.y_low = box.footprint.y_high = box.widest.y_low = box.widest.y_high = 0;
    const struct plane_rectangle place = plane_place(x, 0);
    struct plane_hull path;
    plane_sweep(&path, &place, &place);
    struct spread beside = clearance_beside(&path, &box);
    if (!known) {
        part->underside = box.top = spread_exact(0);
        search->whole = search->whole && beside.low > part->radius.high;
        if (beside.low <= part->radius.high)
            return;
    }
    if (clearance_nearer(&hung, BODY_BIT(BODY_SETTER), &path, &box, beside,
                         &search->clearance)) {
        search->to = what;
        search->record = record;
    }
}

void room_try_gantry(struct room_search *search, bool by_setter)
{
    struct spread underside;
    bool carried = false;
    uint32_t obstacles = search->look->machine->groups[GROUP_OBSTACLE].count;
    if (by_setter && !look_carried(search->look, &carried))
        search->whole = false;
    for (uint32_t i = 0; carried && i < obstacles; i++)
        setter_over(search, TO_OBSTACLE, i);
    if (carried)
        setter_over(search, TO_WORK, 0);
    if (!look_spread(search->look, FIELD_MACHINE_GANTRY_UNDERSIDE, 0, &underside)) {
        search->whole = false;
        return;
    }
    for (uint32_t i = 0; i < obstacles; i++)
        beam_over(search, underside, TO_OBSTACLE, i);
    if (by_setter && !carried)
        beam_over(search, underside, TO_SETTER, 0);
    beam_over(search, underside, TO_WORK, 0);
}
