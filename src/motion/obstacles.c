#include "motion/obstacles.h"

#include "motion/internal_bodies.h"

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
        bool by_hand = route->ends[i - 1] == END_SPOT || route->ends[i] == END_SPOT;
        if (by_hand || gone_before(route, i))
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

/* Hangs the whole list of cutters. */
static void hang_all(const struct obstacles *view, struct obstacle_pose *pose,
                     enum pose_kind kind)
{
    struct look look = {view->machine, NULL, &pose->bodies_missing};
    const struct cutter_range all = {0, view->machine->groups[GROUP_CUTTER].count};
    const struct pose at = {kind, pose->height};
    struct spindle spindle;
    if (pose->hung || !pose->known)
        return;
    pose->hung = true;
    spindle_hang(&look, &all, &at, &spindle);
    pose->bodies = spindle.bodies;
}

/* What follows looks no further than the question at hand needs, and once. */
static void look_passing(struct obstacles *out)
{
    struct obstacle_pose *pose = &out->passing;
    if (pose->looked)
        return;
    pose->looked = true;
    struct look look = {out->machine, &pose->order, &pose->missing};
    struct route route;
    double z;
    if (!route_find(&look, &route) || !route.homes)
        return;
    out->plate = route.plate;
    find_legs(&look, &route, out);
    look.read = &pose->read;
    if (!look_nominal(&look, FIELD_CHANGE_TRAVERSE_Z, 0, &z) ||
        !look_height(&look, z, &pose->height))
        return;
    pose->known = true;
}

static void look_down(struct obstacles *out)
{
    struct obstacle_pose *pose = &out->touching, *approach = &out->approaching;
    if (pose->looked)
        return;
    pose->looked = true;
    struct look look = {out->machine, &pose->order, &pose->missing};
    struct plane_rectangle at;
    if (!look_word(&look, FIELD_CHANGE_MEASURES_WITH, "plate", &out->plate) || out->plate)
        return;
    look.read = &pose->read;
    bool known = route_area(&look, END_SETTER, &at);
    approach->read = pose->read; /* the place */
    known = look_spread(&look, FIELD_SETTER_NOSE_CONTACT, 0, &pose->height) && known;
    if (!known)
        return;
    plane_sweep(&out->setter, &at, &at);
    pose->known = approach->known = true;
    approach->order = pose->order;
}

static void look_parked(struct obstacles *out)
{
    struct obstacle_pose *pose = &out->parked;
    if (pose->looked)
        return;
    pose->looked = true;
    struct look look = {out->machine, &pose->order, &pose->missing};
    struct route route;
    struct plane_rectangle at;
    double z;
    if (!route_find(&look, &route) || !route.homes || !route_has(&route, END_PARK) ||
        (route.plate && !look_given(&look, FIELD_CHANGE_PARK_Z, 0)))
        return;
    out->plate = route.plate;
    look.read = &pose->read;
    bool known = look_nominal(&look, FIELD_CHANGE_PARK_Z, 0, &z);
    known = route_area(&look, END_PARK, &at) && known;
    if (!known || !look_height(&look, z, &pose->height))
        return;
    pose->known = true;
    plane_sweep(&out->park, &at, &at);
}

void obstacles_look(struct obstacles *out, const struct machine *machine)
{
    *out = (struct obstacles){.machine = machine};
}

void obstacles_hang_all(struct obstacles *view)
{
    look_passing(view);
    look_down(view);
    hang_all(view, &view->passing, POSE_NOSE);
    hang_all(view, &view->touching, POSE_TIP);
    hang_all(view, &view->approaching, POSE_APPROACH);
}

/* The greatest size among what enters the clearance along `path`. */
static double scale_of(const struct room_search *search)
{
    const struct clearance_box *box = &search->box;
    double scale = fmax(size_of(search->pose->height), size_of(box->top));
    const struct clearance_spindle *bodies = &search->spindle->bodies;
    for (uint32_t i = 0; i < bodies->count; i++)
        scale = fmax(scale, size_of(bodies->parts[i].underside));
    scale = fmax(scale, fmax(fmax(fabs(box->widest.x_low), fabs(box->widest.x_high)),
                             fmax(fabs(box->widest.y_low), fabs(box->widest.y_high))));
    for (uint32_t i = 0; i < search->path->count; i++)
        scale = fmax(scale,
                     fmax(fabs(search->path->corners[i].x), fabs(search->path->corners[i].y)));
    return scale;
}

/* A question being answered. */
struct answer {
    const struct obstacles *view;
    struct obstacle_room *out;
    const struct obstacle_pose *pose; /* that gives the least so far */
    const struct obstacle_leg *leg;   /* and the leg, where it is sideways */
    enum pose_kind kind;
    struct clearance_part part;
};

static void begin(struct answer *answer, const struct obstacles *view,
                  struct obstacle_room *out)
{
    *answer = (struct answer){.view = view, .out = out};
    *out = (struct obstacle_room){.value = spread_exact(INFINITY),
                                  .move = MOVE_TO_SETTER,
                                  .body = BODY_CUTTER,
                                  .length_of = RECORD_NONE,
                                  .width_of = RECORD_NONE};
}

/* Takes over what a search found where it is less than what there is. */
static void take(struct answer *answer, const struct room_search *search,
                 const struct obstacle_pose *pose, const struct obstacle_leg *leg,
                 enum move_kind move)
{
    struct obstacle_room *out = answer->out;
    if (search->clearance.value.low >= out->value.low)
        return;
    answer->pose = pose;
    answer->leg = leg;
    answer->kind = search->pose->kind;
    answer->part = search->spindle->bodies.parts[search->clearance.part];
    out->value = search->clearance.value;
    out->body = answer->part.body;
    out->move = move;
    out->to = search->to;
    out->obstacle = search->record;
    out->scale = scale_of(search);
}

static void read_thing(struct look *look, const struct obstacle_room *out)
{
    struct clearance_box box;
    if (!thing_find(look, out->to, out->obstacle, out->to == TO_SETTER, &box) &&
        !thing_find(look, out->to, out->obstacle, false, &box))
        return;
}

/* What the answer rests on first, then what was looked at and found better. */
static void finish(struct answer *answer)
{
    struct obstacle_room *out = answer->out;
    const struct clearance_part *part = &answer->part;
    if (!answer->pose)
        return;
    bool by_length = part->length_of != RECORD_NONE &&
                     (answer->kind != POSE_TIP || part->body != BODY_CUTTER);
    out->length_of = by_length ? part->length_of : RECORD_NONE;
    out->width_of =
        BODIES_OF_CUTTER & BODY_BIT(part->body) ? part->width_of : (uint32_t)RECORD_NONE;
    out->attachment = part->body == BODY_ATTACHMENT ? part->width_of : 0;
    struct look look = {answer->view->machine, &out->read, NULL};
    const struct pose pose = {answer->kind, answer->pose->height};
    read_thing(&look, out);
    spindle_part_reads(&look, &pose, part);
    for (uint32_t i = 0; i < out->read.count; i++)
        out->read.items[i].decides = true;
    field_uses_join(&out->read, &answer->pose->read, true);
    if (answer->leg)
        field_uses_join(&out->read, &answer->leg->read, true);
    spindle_others_read(&look);
    if (answer->leg)
        for (uint32_t i = 0; i < answer->view->leg_count; i++)
            field_uses_join(&out->read, &answer->view->legs[i].read, false);
    field_uses_join(&out->read, &answer->pose->order, false);
    for (uint32_t i = 0; i < out->read.count; i++) /* it lifts both alike */
        if (out->to == TO_SETTER && answer->kind == POSE_TIP &&
            out->read.items[i].field == FIELD_SETTER_NOSE_CONTACT)
            out->read.items[i].width = 0;
}

/* One obstacle with any cutter along one way in one pose. */
static void ask_obstacle(struct answer *answer, const struct obstacle_pose *pose,
                         enum pose_kind kind, const struct obstacle_leg *leg, uint32_t obstacle)
{
    const struct obstacles *view = answer->view;
    struct look look = {view->machine, NULL, &answer->out->missing};
    const struct pose at = {kind, pose->height};
    struct spindle spindle = {pose->bodies, true};
    struct room_search search = {
        .look = &look,
        .situation = leg ? SITUATION_SIDEWAYS : SITUATION_DESCENT,
        .pose = &at,
        .spindle = &spindle,
        .path = leg ? &leg->path : &view->setter,
    };
    room_begin(&search);
    room_try(&search, TO_OBSTACLE, obstacle);
    take(answer, &search, pose, leg, leg ? leg->move : MOVE_PROBE);
}

/* Everything that a question about all cutters needs of an obstacle and a pose is missing. */
static bool begin_pose(struct answer *answer, struct obstacle_pose *pose, enum pose_kind kind,
                       uint32_t obstacle)
{
    struct look look = {answer->view->machine, NULL, &answer->out->missing};
    struct clearance_box box;
    hang_all(answer->view, pose, kind);
    field_uses_join(&answer->out->missing, &pose->missing, false);
    field_uses_join(&answer->out->missing, &pose->bodies_missing, false);
    return thing_find(&look, TO_OBSTACLE, obstacle, false, &box) && pose->known;
}

void obstacles_sideways(struct obstacles *view, uint32_t obstacle, struct obstacle_room *out)
{
    struct answer answer;
    look_passing(view);
    begin(&answer, view, out);
    if (!begin_pose(&answer, &view->passing, POSE_NOSE, obstacle))
        return;
    for (uint32_t i = 0; i < view->leg_count; i++)
        ask_obstacle(&answer, &view->passing, POSE_NOSE, &view->legs[i], obstacle);
    finish(&answer);
}

void obstacles_at_setter(struct obstacles *view, uint32_t obstacle, struct obstacle_room *out)
{
    struct answer answer;
    look_down(view);
    begin(&answer, view, out);
    if (begin_pose(&answer, &view->touching, POSE_TIP, obstacle))
        ask_obstacle(&answer, &view->touching, POSE_TIP, NULL, obstacle);
    if (begin_pose(&answer, &view->approaching, POSE_APPROACH, obstacle))
        ask_obstacle(&answer, &view->approaching, POSE_APPROACH, NULL, obstacle);
    finish(&answer);
}

void obstacles_beside_way(struct obstacles *view, struct obstacle_room *out)
{
    look_passing(view);
    const struct cutter_range none = {0, 0};
    const struct pose pose = {POSE_NOSE, view->passing.height};
    struct answer answer;
    struct spindle spindle;
    begin(&answer, view, out);
    struct look look = {view->machine, NULL, &out->missing};
    field_uses_join(&out->missing, &view->passing.missing, false);
    if (!view->passing.known)
        return;
    spindle_hang(&look, &none, &pose, &spindle);
    for (uint32_t i = 0; i < view->leg_count; i++) {
        const struct obstacle_leg *leg = &view->legs[i];
        struct room_search search = {.look = &look,
                                     .situation = SITUATION_SIDEWAYS,
                                     .pose = &pose,
                                     .spindle = &spindle,
                                     .path = &leg->path};
        room_begin(&search);
        room_try_fixed(&search, view->plate);
        take(&answer, &search, &view->passing, leg, leg->move);
    }
    finish(&answer);
}

/* One cutter in one place. */
static void ask_cutter(struct answer *answer, const struct obstacle_pose *pose,
                       enum pose_kind kind, enum situation situation, uint32_t cutter)
{
    const struct obstacles *view = answer->view;
    bool parks = situation == SITUATION_PARK;
    const struct cutter_range one = {cutter, 1};
    const struct pose at = {kind, pose->height};
    struct look look = {view->machine, NULL, &answer->out->missing};
    struct spindle spindle;
    field_uses_join(&answer->out->missing, &pose->missing, false);
    if (!pose->known)
        return;
    spindle_hang(&look, &one, &at, &spindle);
    struct room_search search = {.look = &look,
                                 .situation = situation,
                                 .pose = &at,
                                 .spindle = &spindle,
                                 .path = parks ? &view->park : &view->setter};
    room_begin(&search);
    room_try_fixed(&search, view->plate);
    if (parks)
        room_try_obstacles(&search);
    take(answer, &search, pose, NULL, parks ? MOVE_PARK_HEIGHT : MOVE_PROBE);
}

void obstacles_going_down(struct obstacles *view, uint32_t cutter, struct obstacle_room *out)
{
    struct answer answer;
    look_down(view);
    begin(&answer, view, out);
    ask_cutter(&answer, &view->touching, POSE_TIP, SITUATION_DESCENT, cutter);
    ask_cutter(&answer, &view->approaching, POSE_APPROACH, SITUATION_DESCENT, cutter);
    finish(&answer);
}

void obstacles_at_park(struct obstacles *view, uint32_t cutter, struct obstacle_room *out)
{
    struct answer answer;
    look_parked(view);
    begin(&answer, view, out);
    ask_cutter(&answer, &view->parked, POSE_NOSE, SITUATION_PARK, cutter);
    finish(&answer);
}
