#include "motion/obstacles.h"

#include "base/bug.h"
#include "motion/internal_bodies.h"

static enum move_kind leg_kind(enum route_end to)
{
    bool measures = to == END_SETTER || to == END_SETTER_FIRST;
    return measures ? MOVE_TO_SETTER : to == END_PARK ? MOVE_TO_PARK : MOVE_BACK;
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
    out->leg_count = 0;
    for (uint32_t i = 1; i < route->count; i++) {
        bool by_hand = route->ends[i - 1] == END_SPOT || route->ends[i] == END_SPOT;
        if (by_hand || gone_before(route, i))
            continue;
        struct obstacle_leg *leg = &out->legs[out->leg_count];
        struct plane_rectangle from, to;
        leg->read.count = 0;
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

/* Hangs the whole list of cutters. */
static void hang_all(const struct obstacles *view, struct obstacle_pose *pose)
{
    struct look look = {view->machine, NULL, &pose->bodies_missing};
    const struct cutter_range all = {0, view->machine->groups[GROUP_CUTTER].count};
    if (pose->hung || !pose->known)
        return;
    pose->hung = true;
    spindle_hang(&look, &all, &pose->at, &pose->bodies);
}

/* What follows looks no further than the question at hand needs, and once: false where that was
 * done before. */
static bool begin_pose(struct obstacle_pose *pose, enum pose_kind kind)
{
    if (pose->looked)
        return false;
    pose->looked = true;
    pose->known = pose->hung = false;
    pose->at = (struct pose){.kind = kind};
    pose->order.count = pose->read.count = 0;
    pose->missing.count = pose->bodies_missing.count = pose->bodies.count = 0;
    return true;
}

static void look_passing(struct obstacles *out)
{
    struct obstacle_pose *pose = &out->passing;
    if (!begin_pose(pose, POSE_NOSE))
        return;
    struct look look = {out->machine, &pose->order, &pose->missing};
    struct route route;
    double z;
    if (!route_find(&look, &route) || !route.homes)
        return;
    out->by_setter = route.setter;
    find_legs(&look, &route, out);
    look.read = &pose->read;
    pose->known = look_nominal(&look, FIELD_CHANGE_TRAVERSE_Z, 0, &z) &&
                  look_height(&look, z, &pose->at.height);
}

/* A place, or all between two that the gantry comes to. */
static void begin_place(struct obstacle_place *out, const struct plane_rectangle *at,
                        const struct plane_rectangle *or_at)
{
    plane_sweep(&out->path, at, or_at);
    for (int what = 0; what <= TO_TABLE; what++)
        out->things[what].known = false;
}

static void look_down(struct obstacles *out)
{
    struct obstacle_pose *pose = &out->touching, *approach = &out->approaching;
    if (!begin_pose(pose, POSE_TIP) || !begin_pose(approach, POSE_APPROACH))
        return;
    struct look look = {out->machine, &pose->order, &pose->missing};
    struct plane_rectangle at, first;
    bool carried = false, twice = false;
    if (!look_word(&look, FIELD_CHANGE_MEASURES_WITH, "setter", &out->by_setter) ||
        !out->by_setter || !look_carried(&look, &carried) ||
        (carried && !look_flag(&look, FIELD_CHANGE_TOUCHES_OLD, &twice)))
        return;
    look.read = &pose->read;
    bool known = route_area(&look, END_SETTER, &at);
    known = route_area(&look, twice ? END_SETTER_FIRST : END_SETTER, &first) && known;
    approach->read = pose->read; /* the place */
    known = look_spread(&look, FIELD_SETTER_NOSE_CONTACT, 0, &pose->at.height) && known;
    if (!known)
        return;
    begin_place(&out->setter, &at, &first);
    pose->known = approach->known = true;
    approach->order = pose->order;
}

static void look_parked(struct obstacles *out)
{
    struct obstacle_pose *pose = &out->parked;
    if (!begin_pose(pose, POSE_NOSE))
        return;
    struct look look = {out->machine, &pose->order, &pose->missing};
    struct route route;
    struct plane_rectangle at;
    double z;
    if (!route_find(&look, &route) || !route.homes || !route_has(&route, END_PARK) ||
        (!route.setter && !look_given(&look, FIELD_CHANGE_PARK_Z, 0)))
        return;
    out->by_setter = route.setter;
    look.read = &pose->read;
    bool known = look_nominal(&look, FIELD_CHANGE_PARK_Z, 0, &z);
    known = route_area(&look, END_PARK, &at) && known;
    if (!known || !look_height(&look, z, &pose->at.height))
        return;
    pose->known = true;
    begin_place(&out->park, &at, &at);
}

void obstacles_look(struct obstacles *out, const struct machine *machine)
{
    out->machine = machine;
    out->passing.looked = out->touching.looked = out->approaching.looked = false;
    out->parked.looked = false;
}

void obstacles_hang_all(struct obstacles *view)
{
    look_passing(view);
    look_down(view);
    hang_all(view, &view->passing);
    hang_all(view, &view->touching);
    hang_all(view, &view->approaching);
}

static void begin(struct obstacle_room *out)
{
    out->value = spread_exact(INFINITY);
    out->move = MOVE_TO_SETTER;
    out->body = BODY_CUTTER;
    out->length_of = out->width_of = RECORD_NONE;
    out->attachment = out->obstacle = 0;
    out->to = TO_NOTHING;
    out->missing.count = 0;
    out->pose = NULL;
    out->has_read = false;
}

/* Takes over what a search found where it is less than what there is. */
static void take(struct obstacle_room *out, const struct room_search *search,
                 const struct obstacle_pose *pose, const struct obstacle_leg *leg,
                 enum move_kind move)
{
    if (search->clearance.value.low >= out->value.low)
        return;
    out->pose = pose;
    out->leg = leg;
    out->part = search->spindle->parts[search->clearance.part];
    out->value = search->clearance.value;
    out->move = move;
    out->to = search->to;
    out->obstacle = search->record;
}

static void finish(struct obstacle_room *out)
{
    const struct clearance_part *part = &out->part;
    if (!out->pose)
        return;
    out->body = part->body;
    if (out->pose->at.kind != POSE_TIP || part->body != BODY_CUTTER)
        out->length_of = part->length_of;
    if (BODIES_OF_CUTTER & BODY_BIT(part->body))
        out->width_of = part->width_of;
    if (part->body == BODY_ATTACHMENT)
        out->attachment = part->width_of;
}

/* One obstacle with any cutter along one way in one pose. */
static void ask_obstacle(const struct obstacles *view, const struct obstacle_pose *pose,
                         const struct obstacle_leg *leg, uint32_t obstacle,
                         struct obstacle_room *out)
{
    struct look look = {view->machine, NULL, &out->missing};
    struct room_search search = {
        .look = &look,
        .situation = leg ? SITUATION_SIDEWAYS : SITUATION_DESCENT,
        .pose = &pose->at,
        .spindle = &pose->bodies,
        .path = leg ? &leg->path : &view->setter.path,
    };
    room_begin(&search);
    room_try(&search, TO_OBSTACLE, obstacle);
    take(out, &search, pose, leg, leg ? leg->move : MOVE_PROBE);
}

/* Notes what a question about all cutters wants of a pose and an obstacle; false where it
 * cannot be asked. */
static bool ready(const struct obstacles *view, struct obstacle_pose *pose, uint32_t obstacle,
                  struct obstacle_room *out)
{
    struct look look = {view->machine, NULL, &out->missing};
    struct clearance_box box;
    hang_all(view, pose);
    field_uses_join(&out->missing, &pose->missing, false);
    field_uses_join(&out->missing, &pose->bodies_missing, false);
    return thing_find(&look, TO_OBSTACLE, obstacle, &box) && pose->known;
}

void obstacles_sideways(struct obstacles *view, uint32_t obstacle, struct obstacle_room *out)
{
    look_passing(view);
    begin(out);
    if (!ready(view, &view->passing, obstacle, out))
        return;
    for (uint32_t i = 0; i < view->leg_count; i++)
        ask_obstacle(view, &view->passing, &view->legs[i], obstacle, out);
    finish(out);
}

void obstacles_at_setter(struct obstacles *view, uint32_t obstacle, struct obstacle_room *out)
{
    look_down(view);
    begin(out);
    if (ready(view, &view->touching, obstacle, out))
        ask_obstacle(view, &view->touching, NULL, obstacle, out);
    if (ready(view, &view->approaching, obstacle, out))
        ask_obstacle(view, &view->approaching, NULL, obstacle, out);
    finish(out);
}

void obstacles_beside_way(struct obstacles *view, struct obstacle_room *out)
{
    const struct cutter_range none = {0, 0};
    const struct obstacle_pose *pose = &view->passing;
    struct look look = {view->machine, NULL, &out->missing};
    struct clearance_spindle spindle;
    look_passing(view);
    begin(out);
    field_uses_join(&out->missing, &pose->missing, false);
    if (!pose->known)
        return;
    spindle_hang(&look, &none, &pose->at, &spindle);
    for (uint32_t i = 0; i < view->leg_count; i++) {
        const struct obstacle_leg *leg = &view->legs[i];
        struct room_search search = {.look = &look,
                                     .situation = SITUATION_SIDEWAYS,
                                     .pose = &pose->at,
                                     .spindle = &spindle,
                                     .path = &leg->path};
        room_begin(&search);
        room_try_fixed(&search, view->by_setter);
        take(out, &search, pose, leg, leg->move);
    }
    finish(out);
}

/* One cutter in one place. */
static void ask_cutter(struct obstacles *view, const struct obstacle_pose *pose,
                       enum situation situation, uint32_t cutter, struct obstacle_room *out)
{
    bool parks = situation == SITUATION_PARK;
    struct obstacle_place *place = parks ? &view->park : &view->setter;
    const struct cutter_range one = {cutter, 1};
    struct look look = {view->machine, NULL, &out->missing};
    struct clearance_spindle spindle;
    field_uses_join(&out->missing, &pose->missing, false);
    if (!pose->known)
        return;
    spindle_hang(&look, &one, &pose->at, &spindle);
    struct room_search search = {.look = &look,
                                 .situation = situation,
                                 .pose = &pose->at,
                                 .spindle = &spindle,
                                 .path = &place->path,
                                 .kept = place->things};
    room_begin(&search);
    room_try_fixed(&search, view->by_setter);
    if (parks)
        room_try_obstacles(&search);
    take(out, &search, pose, NULL, parks ? MOVE_PARK_HEIGHT : MOVE_PROBE);
}

void obstacles_going_down(struct obstacles *view, uint32_t cutter, struct obstacle_room *out)
{
    look_down(view);
    begin(out);
    ask_cutter(view, &view->touching, SITUATION_DESCENT, cutter, out);
    ask_cutter(view, &view->approaching, SITUATION_DESCENT, cutter, out);
    finish(out);
}

void obstacles_at_park(struct obstacles *view, uint32_t cutter, struct obstacle_room *out)
{
    look_parked(view);
    begin(out);
    ask_cutter(view, &view->parked, SITUATION_PARK, cutter, out);
    finish(out);
}

static void read_thing(struct look *look, const struct obstacle_room *room)
{
    struct clearance_box box;
    struct spread width;
    bool known = thing_find(look, room->to, room->obstacle, &box);
    BUG_UNLESS(known);
    if (room->to == TO_SETTER)
        known = look_spread(look, FIELD_SETTER_BODY, 0, &width);
}

/* What the answer rests on first, then what was looked at and found better. */
const struct field_uses *obstacles_read(const struct obstacles *view,
                                        struct obstacle_room *room)
{
    struct field_uses *read = &room->read;
    const struct obstacle_pose *pose = room->pose;
    struct look look = {view->machine, read, NULL};
    if (room->has_read)
        return read;
    room->has_read = true;
    read->count = 0;
    if (!pose)
        return read;
    read_thing(&look, room);
    spindle_part_reads(&look, &pose->at, &room->part);
    for (uint32_t i = 0; i < read->count; i++)
        read->items[i].decides = true;
    field_uses_join(read, &pose->read, true);
    if (room->leg)
        field_uses_join(read, &room->leg->read, true);
    spindle_others_read(&look);
    if (room->leg)
        for (uint32_t i = 0; i < view->leg_count; i++)
            field_uses_join(read, &view->legs[i].read, false);
    field_uses_join(read, &pose->order, false);
    for (uint32_t i = 0; i < read->count; i++) /* it lifts both alike */
        if (room->to == TO_SETTER && pose->at.kind == POSE_TIP &&
            read->items[i].field == FIELD_SETTER_NOSE_CONTACT)
            read->items[i].width = 0;
    return read;
}
