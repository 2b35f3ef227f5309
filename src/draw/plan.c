/* The plan: what one sees from above, X to the right and Y away from the operator.
 *
 * Outlines are the file's own numbers; ways, what is swept along them and the nearest approach
 * are those of motion.  Heights are in words.  What has no place in the file gets none here.
 */
#include "draw/internal.h"

#include "draw/letters.h"
#include "draw/near.h"

enum { WAYS = 8, SHOWN = 40 };

/* --- areas --- */

/* The rectangle of two pairs.  Where one is missing, of that direction the extent of the view
 * so far; false where both are. */
struct area {
    bool known[2];
    struct plane_rectangle box;
};

static struct area area_of(const struct sketch *sketch, enum field_id x, uint32_t x_record,
                           enum field_id y, uint32_t y_record)
{
    double xs[2], ys[2];
    struct area area = {
        .known = {sketch_pair(sketch, x, x_record, xs), sketch_pair(sketch, y, y_record, ys)},
        .box = sketch->view->extent};
    if (area.known[0])
        area.box.x_low = fmin(xs[0], xs[1]), area.box.x_high = fmax(xs[0], xs[1]);
    if (area.known[1])
        area.box.y_low = fmin(ys[0], ys[1]), area.box.y_high = fmax(ys[0], ys[1]);
    return area;
}

/* Its two edges along the direction that is known. */
static void draw_edges(struct sketch *sketch, struct scene_item *item, enum scene_line line,
                       const struct area *area)
{
    const struct plane_rectangle *b = &area->box;
    const struct plane_point along_y[2][2] = {{{b->x_low, b->y_low}, {b->x_low, b->y_high}},
                                              {{b->x_high, b->y_low}, {b->x_high, b->y_high}}};
    const struct plane_point along_x[2][2] = {{{b->x_low, b->y_low}, {b->x_high, b->y_low}},
                                              {{b->x_low, b->y_high}, {b->x_high, b->y_high}}};
    for (int i = 0; i < 2; i++)
        item_segment(sketch, item, line, area->known[0] ? along_y[i] : along_x[i]);
}

static void draw_area(struct sketch *sketch, struct scene_item *item, enum scene_line line,
                      const struct area *area)
{
    if (area->known[0] && area->known[1])
        item_rectangle(sketch, item, line, &area->box);
    else if (sketch->view->drawn && (area->known[0] || area->known[1]))
        draw_edges(sketch, item, SCENE_LINE_BROKEN, area);
    if (item->shapes.count)
        item_label_at(item, area->box.x_low, area->box.y_high);
}

/* "850 mm x 1300 mm", or of the direction that is known "850 mm along X". */
static const char *size_text(const struct sketch *sketch, const struct area *area)
{
    const char *along_x = sketch_length(sketch, area->box.x_high - area->box.x_low);
    const char *along_y = sketch_length(sketch, area->box.y_high - area->box.y_low);
    if (area->known[0] && area->known[1])
        return arena_format(sketch->arena, "%s x %s", along_x, along_y);
    return arena_format(sketch->arena, "%s along %s", area->known[0] ? along_x : along_y,
                        area->known[0] ? "X" : "Y");
}

/* One direction is not known. */
static void say_half(const struct sketch *sketch, struct scene_item *item,
                     const struct area *area)
{
    item->unknown = true;
    item->value = arena_format(sketch->arena, "%s, along %s not known", item->value,
                               area->known[0] ? "Y" : "X");
}

static void add_travel(struct sketch *sketch)
{
    struct area area = area_of(sketch, FIELD_AXIS_TRAVEL, 0, FIELD_AXIS_TRAVEL, 1);
    if (!area.known[0] && !area.known[1]) {
        sketch_unknown(sketch, "travel", "not known", FIELD_AXIS_TRAVEL, 0);
        return;
    }
    uint32_t first = area.known[0] ? 0 : 1;
    struct scene_item *item = sketch_item(sketch, "travel", FIELD_AXIS_TRAVEL, first);
    item_also(sketch, item, FIELD_AXIS_TRAVEL, 1 - first);
    item->value = size_text(sketch, &area);
    draw_area(sketch, item, SCENE_LINE_LIMIT, &area);
    if (!area.known[0] || !area.known[1])
        say_half(sketch, item, &area);
}

static void add_soft_limits(struct sketch *sketch)
{
    struct area area = area_of(sketch, FIELD_AXIS_SOFT_LIMITS, 0, FIELD_AXIS_SOFT_LIMITS, 1);
    if (!area.known[0] && !area.known[1])
        return;
    struct scene_item *item =
        sketch_item(sketch, "soft limits", FIELD_AXIS_SOFT_LIMITS, area.known[0] ? 0 : 1);
    item_also(sketch, item, FIELD_AXIS_SOFT_LIMITS, area.known[0] ? 1 : 0);
    item->value = size_text(sketch, &area);
    draw_area(sketch, item, SCENE_LINE_LIMIT, &area);
    if (!area.known[0] || !area.known[1])
        say_half(sketch, item, &area);
}

/* Where nobody says where it ends, a broken line goes around all else. */
static void add_table(struct sketch *sketch)
{
    struct area area = area_of(sketch, FIELD_TABLE_X, 0, FIELD_TABLE_Y, 0);
    struct scene_item *item =
        sketch_item(sketch, "table", area.known[0] ? FIELD_TABLE_X : FIELD_TABLE_Y, 0);
    item_also(sketch, item, area.known[0] ? FIELD_TABLE_Y : FIELD_TABLE_X, 0);
    item_also(sketch, item, FIELD_TABLE_NOSE_CONTACT, 0);
    if (area.known[0] || area.known[1]) {
        item->value = size_text(sketch, &area);
        draw_area(sketch, item, SCENE_LINE_WIDE, &area);
        if (!area.known[0] || !area.known[1])
            say_half(sketch, item, &area);
        return;
    }
    item->unknown = true;
    item->value = "where it ends is not known";
    if (!sketch->view->drawn)
        return;
    double beyond =
        fmax(area.box.x_high - area.box.x_low, area.box.y_high - area.box.y_low) / 25;
    const struct plane_rectangle around = {area.box.x_low - beyond, area.box.x_high + beyond,
                                           area.box.y_low - beyond, area.box.y_high + beyond};
    item_rectangle(sketch, item, SCENE_LINE_BROKEN, &around);
    item_label_at(item, around.x_low, around.y_high);
}

static void add_work(struct sketch *sketch)
{
    struct area area = area_of(sketch, FIELD_WORK_X, 0, FIELD_WORK_Y, 0);
    double height;
    if (!area.known[0] && !area.known[1]) {
        sketch_unknown(sketch, "work area", "where it lies is not known", FIELD_WORK_X, 0);
        return;
    }
    struct scene_item *item =
        sketch_item(sketch, "work area", area.known[0] ? FIELD_WORK_X : FIELD_WORK_Y, 0);
    item_also(sketch, item, area.known[0] ? FIELD_WORK_Y : FIELD_WORK_X, 0);
    item_also(sketch, item, FIELD_WORK_HEIGHT, 0);
    item->value = "height not known";
    if (sketch_number(sketch, FIELD_WORK_HEIGHT, 0, &height))
        item->value =
            arena_format(sketch->arena, "up to %s high", sketch_length(sketch, height));
    draw_area(sketch, item, SCENE_LINE_NARROW, &area);
    item->room = area.box;
    if (!area.known[0] || !area.known[1])
        say_half(sketch, item, &area);
}

/* --- things --- */

/* How high it is, as motion takes it: a rotary axis with what its jaws sweep. */
static const char *height_text(const struct sketch *sketch, uint32_t record)
{
    struct clearance_box box;
    double high, foot, wide;
    const char *chuck = "";
    bool turns = sketch_given(sketch, FIELD_OBSTACLE_CHUCK_DIAMETER, record);
    if (sketch_number(sketch, FIELD_TABLE_NOSE_CONTACT, 0, &foot) &&
        standing_thing(sketch->machine, TO_OBSTACLE, record, &box)) {
        high = box.top.nominal - foot;
        if (sketch_number(sketch, FIELD_OBSTACLE_CHUCK_DIAMETER, record, &wide))
            chuck =
                arena_format(sketch->arena, ", its jaws sweep %s", sketch_length(sketch, wide));
    } else if (sketch_number(sketch, FIELD_OBSTACLE_TOP, record, &high)) {
        chuck = turns ? ", not reckoned with its jaws" : "";
    } else {
        return "height not known";
    }
    return arena_format(sketch->arena, "%s high%s", sketch_length(sketch, high), chuck);
}

/* A setter that stands there without being used, as wide as nobody knows. */
static bool add_idle_setter(struct sketch *sketch, uint32_t record, const char *name)
{
    const struct machine_group *group = &sketch->machine->groups[GROUP_OBSTACLE];
    struct plane_point at;
    if (record < group->written)
        return false;
    uint32_t setter = sketch->machine->idle[record - group->written];
    if (!sketch_number(sketch, FIELD_SETTERS_AT_X, setter, &at.x) ||
        !sketch_number(sketch, FIELD_SETTERS_AT_Y, setter, &at.y))
        return false;
    struct scene_item *item = sketch_item(sketch, name, FIELD_SETTERS_AT_X, setter);
    item_also(sketch, item, FIELD_SETTERS_AT_Y, setter);
    item->value = "how wide it is, is not known";
    item->unknown = true;
    item_polyline(sketch, item, SCENE_LINE_BROKEN, &at, 1);
    item_label_at(item, at.x, at.y);
    return true;
}

static void add_obstacle(struct sketch *sketch, uint32_t record, bool labelled)
{
    bool setter = record >= sketch->machine->groups[GROUP_OBSTACLE].written;
    const char *name = sketch_name(sketch, FIELD_OBSTACLE_NAME, record, "obstacle");
    if (setter)
        name = arena_format(sketch->arena, "setter not used, %s", name);
    struct area area = area_of(sketch, FIELD_OBSTACLE_X, record, FIELD_OBSTACLE_Y, record);
    if (!area.known[0] && !area.known[1] && add_idle_setter(sketch, record, name))
        return;
    if (!area.known[0] && !area.known[1]) {
        sketch_unknown(sketch, name, "where it stands is not known", FIELD_OBSTACLE_X, record);
        return;
    }
    struct scene_item *item = sketch_item(sketch, name, FIELD_OBSTACLE_X, record);
    item_also(sketch, item, FIELD_OBSTACLE_Y, record);
    item_also(sketch, item, FIELD_OBSTACLE_TOP, record);
    item_also(sketch, item, FIELD_OBSTACLE_CHUCK_DIAMETER, record);
    item_also(sketch, item, FIELD_OBSTACLE_CHUCK_STANDS, record);
    item->value = height_text(sketch, record);
    draw_area(sketch, item, SCENE_LINE_WIDE, &area);
    item_label_at(item, (area.box.x_low + area.box.x_high) / 2,
                  (area.box.y_low + area.box.y_high) / 2);
    item->room = area.box;
    item->labelled = labelled && item->shapes.count;
    if (!area.known[0] || !area.known[1])
        say_half(sketch, item, &area);
}

static void add_obstacles(struct sketch *sketch)
{
    const struct machine_group *group = &sketch->machine->groups[GROUP_OBSTACLE];
    for (uint32_t i = 0; i < group->count; i++)
        add_obstacle(sketch, i, i < SCENE_LABELS);
    if (group->wrong)
        sketch_unknown(sketch, "obstacles",
                       "the list has a mistake, so some may be missing here", FIELD_OBSTACLE_X,
                       RECORD_NONE);
}

/* The gantry carries it along Y, so that it is met anywhere on a line. */
static void draw_carried(struct sketch *sketch, struct scene_item *item, double x)
{
    struct plane_rectangle all = sketch->view->extent;
    double body = 0;
    const struct plane_point line[] = {{x, all.y_low}, {x, all.y_high}};
    item_segment(sketch, item, SCENE_LINE_CHAIN, line);
    if (sketch_number(sketch, FIELD_SETTER_BODY, 0, &body) && all.y_high > all.y_low) {
        const struct plane_rectangle strip = {x - body / 2, x + body / 2, all.y_low,
                                              all.y_high};
        item_rectangle(sketch, item, SCENE_LINE_NARROW, &strip);
    }
    item->value = "rides on the gantry, so it has no place along Y";
    item_label_at(item, x, all.y_high);
}

static void draw_setter(struct sketch *sketch, struct scene_item *item, struct plane_point at)
{
    double body = 0, face = 0;
    bool has_body = sketch_number(sketch, FIELD_SETTER_BODY, 0, &body);
    bool has_face = sketch_number(sketch, FIELD_SETTER_FACE, 0, &face);
    item_polyline(sketch, item, SCENE_LINE_CHAIN, &at, 1);
    if (has_body)
        item_circle(sketch, item, SCENE_LINE_WIDE, at, body / 2);
    if (has_face)
        item_circle(sketch, item, SCENE_LINE_NARROW, at, face / 2);
    item->unknown = !has_body;
    item->value =
        has_body
            ? arena_format(sketch->arena, "body %s, face %s wide", sketch_length(sketch, body),
                           has_face ? sketch_length(sketch, face) : "not known how")
            : "how wide it is, is not known";
    item_label_at(item, at.x + body / 2, at.y);
}

static void add_setter(struct sketch *sketch)
{
    struct plane_point at;
    if (!sketch_may_measure_with(sketch, "setter"))
        return;
    const char *name = "setter";
    if (sketch_given(sketch, FIELD_CHANGE_SETTER, 0))
        name = arena_format(sketch->arena, "setter %s",
                            sketch_name(sketch, FIELD_CHANGE_SETTER, 0, ""));
    bool carried = sketch_says(sketch, FIELD_SETTER_RIDES_ON, 0, "gantry");
    bool known = sketch_number(sketch, FIELD_SETTER_AT_X, 0, &at.x);
    if (!known || (!carried && !sketch_number(sketch, FIELD_SETTER_AT_Y, 0, &at.y))) {
        sketch_unknown(sketch, name, "where it stands is not known",
                       known ? FIELD_SETTER_AT_Y : FIELD_SETTER_AT_X, 0);
        return;
    }
    struct scene_item *item = sketch_item(sketch, name, FIELD_SETTER_AT_X, 0);
    item_also(sketch, item, FIELD_SETTER_AT_Y, 0);
    item_also(sketch, item, FIELD_SETTER_FACE, 0);
    item_also(sketch, item, FIELD_SETTER_BODY, 0);
    if (carried)
        draw_carried(sketch, item, at.x);
    else
        draw_setter(sketch, item, at);
}

static void add_plate(struct sketch *sketch)
{
    if (!sketch_measures_with(sketch, "plate"))
        return;
    bool fixed = sketch_says(sketch, FIELD_PLATE_SPOT, 0, "fixed");
    sketch_unknown(sketch, "touch plate",
                   fixed ? "is laid on one marked place, which the file does not tell"
                         : "is laid wherever the operator lays it, so it has no place here",
                   FIELD_PLATE_SPOT, 0);
}

/* A cross at a place of two fields. */
static void add_place(struct sketch *sketch, const char *what, const enum field_id ids[2],
                      const uint32_t records[2])
{
    struct plane_point at;
    bool known[2] = {sketch_number(sketch, ids[0], records[0], &at.x),
                     sketch_number(sketch, ids[1], records[1], &at.y)};
    if (!known[0] || !known[1]) {
        bool half = known[0] || known[1];
        sketch_unknown(sketch, what,
                       half ? "where it is, is only half known" : "where it is, is not known",
                       ids[known[0]], records[known[0]]);
        return;
    }
    struct scene_item *item = sketch_item(sketch, what, ids[0], records[0]);
    item_also(sketch, item, ids[1], records[1]);
    item_polyline(sketch, item, SCENE_LINE_NARROW, &at, 1);
    item_label_at(item, at.x, at.y);
}

static void add_places(struct sketch *sketch)
{
    add_place(sketch, "park", (const enum field_id[]){FIELD_CHANGE_PARK_X, FIELD_CHANGE_PARK_Y},
              (const uint32_t[]){0, 0});
    if (sketch_homes(sketch))
        add_place(sketch, "home", (const enum field_id[]){FIELD_HOMING_REST, FIELD_HOMING_REST},
                  (const uint32_t[]){0, 1});
    else
        sketch_unknown(sketch, "home",
                       "the machine does not home: its zero is where it was set",
                       FIELD_HOMING_ORDER, 0);
}

/* --- ways --- */

static bool same_area(const struct plane_rectangle *a, const struct plane_rectangle *b)
{
    return a->x_low == b->x_low && a->x_high == b->x_high && a->y_low == b->y_low &&
           a->y_high == b->y_high;
}

/* A way back is the way there. */
static bool same_way(const struct move *a, const struct move *b)
{
    return (same_area(&a->way[0], &b->way[0]) && same_area(&a->way[1], &b->way[1])) ||
           (same_area(&a->way[0], &b->way[1]) && same_area(&a->way[1], &b->way[0]));
}

static bool is_place(const struct plane_rectangle *area)
{
    return area->x_low == area->x_high && area->y_low == area->y_high;
}

/* What one body sweeps along a way: the way itself, widened all around. */
static void draw_swept(struct sketch *sketch, struct scene_item *item,
                       const struct plane_hull *hull, const struct clearance_part *part,
                       bool outlined)
{
    struct plane_hull moved = *hull;
    for (uint32_t i = 0; i < moved.count; i++) {
        moved.corners[i].x += part->beside.x;
        moved.corners[i].y += part->beside.y;
    }
    item_widened(sketch, item, outlined ? SCENE_LINE_NARROW : SCENE_LINE_NONE, &moved,
                 part->radius.nominal)
        ->filled = true;
}

/* One way, however many moves go along it: with the cutter that sweeps it widest. */
struct way {
    const struct move *move; /* the first of them */
    uint32_t cutter;
    double radius; /* of the widest body; 0: none is known */
    bool whole;    /* all that hangs on the spindle is known, on each of them */
};

static const struct clearance_part *widest_of(const struct clearance_spindle *spindle)
{
    const struct clearance_part *widest = NULL;
    for (uint32_t i = 0; i < spindle->count; i++)
        if (!widest || spindle->parts[i].radius.nominal > widest->radius.nominal)
            widest = &spindle->parts[i];
    return widest;
}

/* The widest body gets an outline. */
static void draw_bodies(struct sketch *sketch, struct scene_item *item,
                        const struct plane_hull *hull, const struct way *way)
{
    struct clearance_spindle spindle;
    standing_spindle(sketch->machine, way->cutter, 0, &spindle);
    spindle.whole = way->whole;
    const struct clearance_part *widest = widest_of(&spindle);
    for (uint32_t i = 0; i < spindle.count; i++)
        draw_swept(sketch, item, hull, &spindle.parts[i], &spindle.parts[i] == widest);
    item->unknown = !way->whole;
    item->value = "how wide it is swept is not known";
    if (widest)
        item->value = arena_format(sketch->arena, "swept %s wide by the %s%s",
                                   sketch_length(sketch, 2 * widest->radius.nominal),
                                   clearance_body_name(widest->body),
                                   sketch_spindle_reservation(&spindle));
}

static void add_way(struct sketch *sketch, const struct way *way)
{
    const struct move *move = way->move;
    struct plane_hull hull;
    struct scene_item *item =
        sketch_item(sketch, move_name(move->kind), FIELD_CHANGE_TRAVERSE_Z, 0);
    plane_sweep(&hull, &move->way[0], &move->way[1]);
    draw_bodies(sketch, item, &hull, way);
    const struct plane_point ends[] = {{move->way[0].x_low, move->way[0].y_low},
                                       {move->way[1].x_low, move->way[1].y_low}};
    if (is_place(&move->way[0]) && is_place(&move->way[1])) {
        item_segment(sketch, item, SCENE_LINE_CHAIN, ends)->ends = SCENE_END_ARROW;
        item_label_at(item, (ends[0].x + ends[1].x) / 2, (ends[0].y + ends[1].y) / 2);
    } else {
        item->what =
            arena_format(sketch->arena, "%s, anywhere in the work area", move_name(move->kind));
    }
}

/* Takes a move into the ways; false where there are too many of them. */
static bool take_way(const struct sketch *sketch, const struct move *move, struct way *ways,
                     uint32_t *count)
{
    struct clearance_spindle spindle;
    uint32_t at = 0;
    standing_spindle(sketch->machine, move->cutter, 0, &spindle);
    const struct clearance_part *widest = widest_of(&spindle);
    double radius = widest ? widest->radius.nominal : 0;
    while (at < *count && !same_way(move, ways[at].move))
        at++;
    if (at == WAYS)
        return false;
    if (at == *count)
        ways[(*count)++] = (struct way){move, move->cutter, radius, spindle.whole};
    ways[at].whole = ways[at].whole && spindle.whole;
    if (radius > ways[at].radius)
        ways[at].cutter = move->cutter, ways[at].radius = radius;
    return true;
}

static bool goes_sideways(const struct move *move)
{
    return move->kind == MOVE_TO_SETTER || move->kind == MOVE_TO_PARK ||
           move->kind == MOVE_BACK;
}

static void add_ways(struct sketch *sketch)
{
    const struct change *change = sketch->drawing->change;
    struct way ways[WAYS];
    uint32_t count = 0, more = 0;
    for (uint32_t i = 0; i < change->count; i++) {
        const struct move *move = &change->moves[i];
        if (move->has_way)
            more += !take_way(sketch, move, ways, &count);
        else if (goes_sideways(move))
            sketch_unknown(sketch, move_name(move->kind), "which way it goes is not known",
                           FIELD_CHANGE_TRAVERSE_Z, 0);
    }
    for (uint32_t i = 0; i < count; i++)
        add_way(sketch, &ways[i]);
    if (more)
        sketch_unknown(sketch, "further ways",
                       arena_format(sketch->arena, "%u moves are not drawn", more),
                       FIELD_CHANGE_TRAVERSE_Z, 0);
    if (!count)
        sketch_unknown(sketch, "ways of the change", "not known, or made by hand",
                       FIELD_CHANGE_MEASURES_WITH, 0);
}

/* --- the nearest approach --- */

/* Where the axis goes on that move. */
static bool way_of(const struct move *move, struct plane_hull *out)
{
    struct plane_rectangle at = plane_place(move->to.at[0], move->to.at[1]);
    if (move->has_way)
        plane_sweep(out, &move->way[0], &move->way[1]);
    else if (move->to.known[0] && move->to.known[1])
        plane_sweep(out, &at, &at);
    else
        return false;
    return true;
}

/* A cross in the middle of a thing that is met from the gantry, which passes over all of it. */
static void draw_passed(struct sketch *sketch, struct scene_item *item,
                        const struct clearance_box *box)
{
    const struct plane_rectangle *foot = &box->footprint;
    const struct plane_point middle = {(foot->x_low + foot->x_high) / 2,
                                       (foot->y_low + foot->y_high) / 2};
    item_polyline(sketch, item, SCENE_LINE_NARROW, &middle, 1);
    item_label_at(item, middle.x, middle.y);
}

/* From the edge of the body to that of the thing where it passes beside it; else a cross where
 * it passes over. */
static void draw_nearest(struct sketch *sketch, struct scene_item *item,
                         const struct move *move)
{
    struct plane_hull hull;
    struct clearance_box box;
    struct plane_point ends[2];
    double body = 0;
    if (!standing_thing(sketch->machine, move->to_what, move->obstacle, &box) ||
        box.everywhere || box.from_gantry)
        return;
    if (move->clearance.body >= BODY_GANTRY || !way_of(move, &hull)) {
        draw_passed(sketch, item, &box);
        return;
    }
    if (move->to_what == TO_SETTER && sketch_number(sketch, FIELD_SETTER_BODY, 0, &body))
        box.round = body / 2;
    for (uint32_t i = 0; i < hull.count; i++) {
        hull.corners[i].x += move->part.beside.x;
        hull.corners[i].y += move->part.beside.y;
    }
    near_points(&hull, &box.footprint, &ends[0], &ends[1]);
    double apart = plane_point_distance(ends[0], ends[1]);
    double radius = move->part.radius.nominal;
    item_label_at(item, ends[1].x, ends[1].y);
    if (apart <= radius + box.round) {
        item_polyline(sketch, item, SCENE_LINE_NARROW, &ends[1], 1);
        return;
    }
    struct plane_point along = {(ends[1].x - ends[0].x) / apart,
                                (ends[1].y - ends[0].y) / apart};
    ends[0].x += radius * along.x, ends[0].y += radius * along.y;
    ends[1].x -= box.round * along.x, ends[1].y -= box.round * along.y;
    item_segment(sketch, item, SCENE_LINE_NARROW, ends)->ends = SCENE_END_ARROWS;
    item_label_at(item, (ends[0].x + ends[1].x) / 2, (ends[0].y + ends[1].y) / 2);
}

static void add_nearest(struct sketch *sketch)
{
    const struct change *change = sketch->drawing->change;
    const struct move *move = change_least_room(change);
    if (!move) {
        sketch_unknown(sketch, "nearest approach", "not known", FIELD_CHANGE_TRAVERSE_Z, 0);
        return;
    }
    struct scene_item *item =
        sketch_item(sketch, "nearest approach", FIELD_CHANGE_TRAVERSE_Z, 0);
    struct view name = thing_name(sketch->machine, move->to_what, move->obstacle);
    const char *to = name.size ? text_cut(sketch->arena, name, SHOWN) : "an obstacle";
    struct view body = body_name(sketch->machine, move->clearance.body, move->attachment);
    double room = spread_settled(move->clearance.value.low);
    const char *reservation = sketch_room_reservation(change);
    item->value =
        arena_format(sketch->arena, "%s%s%s at worst, %s to %s, step %u%s",
                     room < 0 ? "runs into it by " : "", sketch_length(sketch, fabs(room)),
                     room < 0 ? "" : " of room",
                     body.size ? text_cut(sketch->arena, body, SHOWN) : "attachment", to,
                     sketch_step_number(change, (uint32_t)(move - change->moves)), reservation);
    item->unknown = *reservation;
    draw_nearest(sketch, item, move);
}

/* --- the spindle after a step --- */

static void add_step(struct sketch *sketch)
{
    const struct move *move = &sketch->drawing->change->moves[sketch->drawing->step];
    const char *what =
        arena_format(sketch->arena, "spindle after step %u",
                     sketch_step_number(sketch->drawing->change, sketch->drawing->step));
    if (!move->to.known[0] || !move->to.known[1]) {
        sketch_unknown(sketch, what, "where it is then is not known", FIELD_CHANGE_TRAVERSE_Z,
                       0);
        return;
    }
    struct scene_item *item = sketch_item(sketch, what, FIELD_CHANGE_TRAVERSE_Z, 0);
    struct clearance_spindle spindle;
    struct plane_point at = {move->to.at[0], move->to.at[1]};
    standing_spindle(sketch->machine, move->cutter, 0, &spindle);
    item->value = arena_format(sketch->arena, "%s%s", move_name(move->kind),
                               sketch_spindle_reservation(&spindle));
    item->unknown = !spindle.whole;
    item->after_step = true;
    item_polyline(sketch, item, SCENE_LINE_WIDE, &at, 1);
    for (uint32_t i = 0; i < spindle.count; i++) {
        const struct clearance_part *part = &spindle.parts[i];
        struct plane_point middle = {at.x + part->beside.x, at.y + part->beside.y};
        item_circle(sketch, item, SCENE_LINE_WIDE, middle, part->radius.nominal);
    }
    item_label_at(item, at.x, at.y);
}

/* --- the whole --- */

void plan_sketch(struct sketch *sketch)
{
    sketch->view->kind = SCENE_PLAN;
    sketch->view->title = "plan, seen from above";
    sketch->view->letter[0] = "X";
    sketch->view->letter[1] = "Y";
    add_travel(sketch);
    add_soft_limits(sketch);
    add_work(sketch);
    add_obstacles(sketch);
    add_places(sketch);
    add_setter(sketch);
    add_plate(sketch);
    if (sketch->drawing->change) {
        if (sketch->drawing->has_step)
            add_step(sketch);
        add_nearest(sketch);
        add_ways(sketch);
    }
    add_table(sketch);
}
