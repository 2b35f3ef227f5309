/* The view from the front: X to the right and Z up, on the same scale as the plan.  What
 * happens at the setter or the plate follows as details.
 */
#include "draw/internal.h"

#include "draw/letters.h"

enum { NAME_SHOWN = 40 };

/* --- the whole machine --- */

static double depth_of(const struct sketch *sketch)
{
    return sketch->view->extent.y_high - sketch->view->extent.y_low;
}

/* A level from one end of the plan to the other. */
static void draw_level(struct sketch *sketch, struct scene_item *item, enum scene_line line,
                       double z)
{
    const struct plane_rectangle *reach = &sketch->scene->reach;
    const struct plane_point ends[] = {{reach->x_low, z}, {reach->x_high, z}};
    item_segment(sketch, item, line, ends);
    item_label_at(item, ends[1].x, z);
    item->in_column = true;
}

static bool table_height(const struct sketch *sketch, double *out)
{
    struct clearance_box box; /* where it ends does not matter here */
    if (standing_thing(sketch->machine, TO_TABLE, 0, &box)) {
        *out = box.top.nominal;
        return true;
    }
    return sketch_number(sketch, FIELD_TABLE_NOSE_CONTACT, 0, out);
}

static void add_table(struct sketch *sketch)
{
    double z, xs[2];
    if (!table_height(sketch, &z)) {
        sketch_unknown(sketch, "table", "how high it lies is not known",
                       FIELD_TABLE_NOSE_CONTACT, 0);
        return;
    }
    struct scene_item *item = sketch_item(sketch, "table", FIELD_TABLE_NOSE_CONTACT, 0);
    item_also(sketch, item, FIELD_TABLE_X, 0);
    item_also(sketch, item, FIELD_TABLE_THICKNESS_NOW, 0);
    item->value = arena_format(sketch->arena, "Z %s", sketch_length(sketch, z));
    item->unknown = !sketch_pair(sketch, FIELD_TABLE_X, 0, xs);
    if (item->unknown) {
        item->value =
            arena_format(sketch->arena, "%s, where it ends is not known", item->value);
        draw_level(sketch, item, SCENE_LINE_BROKEN, z);
    } else {
        const struct plane_point ends[] = {{fmin(xs[0], xs[1]), z}, {fmax(xs[0], xs[1]), z}};
        item_segment(sketch, item, SCENE_LINE_WIDE, ends)->hatched = true;
        item_label_at(item, ends[1].x, z);
        item->in_column = true;
    }
}

static void add_work(struct sketch *sketch)
{
    struct clearance_box box;
    double table;
    if (!standing_thing(sketch->machine, TO_WORK, 0, &box) || !table_height(sketch, &table)) {
        sketch_unknown(sketch, "work", "its place or its height is not known",
                       FIELD_WORK_HEIGHT, 0);
        return;
    }
    struct scene_item *item = sketch_item(sketch, "work", FIELD_WORK_HEIGHT, 0);
    item_also(sketch, item, FIELD_WORK_X, 0);
    item->value = arena_format(sketch->arena, "%s high, top at Z %s",
                               sketch_length(sketch, box.top.nominal - table),
                               sketch_length(sketch, box.top.nominal));
    const struct plane_rectangle front = {box.footprint.x_low, box.footprint.x_high, table,
                                          box.top.nominal};
    item_rectangle(sketch, item, SCENE_LINE_NARROW, &front);
    item_label_at(item, (front.x_low + front.x_high) / 2, front.y_high);
    item->room = front;
}

static void add_obstacle(struct sketch *sketch, uint32_t record)
{
    const char *name = sketch_name(sketch, FIELD_OBSTACLE_NAME, record, "obstacle");
    struct clearance_box box;
    double foot;
    if (!standing_thing(sketch->machine, TO_OBSTACLE, record, &box) ||
        !sketch_number(sketch, FIELD_TABLE_NOSE_CONTACT, 0, &foot)) {
        sketch_unknown(sketch, name, "its place or its height is not known", FIELD_OBSTACLE_TOP,
                       record);
        return;
    }
    struct scene_item *item = sketch_item(sketch, name, FIELD_OBSTACLE_TOP, record);
    item_also(sketch, item, FIELD_OBSTACLE_X, record);
    item->value = arena_format(sketch->arena, "%s high, top at Z %s",
                               sketch_length(sketch, box.top.nominal - foot),
                               sketch_length(sketch, box.top.nominal));
    const struct plane_rectangle front = {box.footprint.x_low, box.footprint.x_high,
                                          fmin(foot, box.top.nominal),
                                          fmax(foot, box.top.nominal)};
    item_rectangle(sketch, item, SCENE_LINE_WIDE, &front);
    item_label_at(item, (front.x_low + front.x_high) / 2, front.y_high);
    item->room = front;
    item->labelled = record < SCENE_LABELS;
}

/* Where the setter's foot is; of one that the gantry carries its underside. */
static bool setter_foot(const struct sketch *sketch, double *out)
{
    double under = 0;
    bool carried = sketch_says(sketch, FIELD_SETTER_RIDES_ON, 0, "gantry");
    bool known = carried ? sketch_number(sketch, FIELD_TABLE_NOSE_CONTACT, 0, out)
                         : table_height(sketch, out);
    if (carried)
        known = sketch_number(sketch, FIELD_SETTER_UNDERSIDE, 0, &under) && known;
    *out += under;
    return known;
}

static void add_setter(struct sketch *sketch)
{
    double x = 0, trip = 0, foot = 0, body = 0;
    if (!sketch_may_measure_with(sketch, "setter"))
        return;
    bool known = sketch_number(sketch, FIELD_SETTER_AT_X, 0, &x);
    if (!known || !sketch_number(sketch, FIELD_SETTER_NOSE_CONTACT, 0, &trip)) {
        sketch_unknown(sketch, "setter", "its place or its height is not known",
                       known ? FIELD_SETTER_NOSE_CONTACT : FIELD_SETTER_AT_X, 0);
        return;
    }
    struct scene_item *item = sketch_item(sketch, "setter", FIELD_SETTER_NOSE_CONTACT, 0);
    item_also(sketch, item, FIELD_SETTER_HEIGHT, 0);
    item_also(sketch, item, FIELD_SETTER_UNDERSIDE, 0);
    item_also(sketch, item, FIELD_SETTER_AT_X, 0);
    item->value = arena_format(sketch->arena, "trips at Z %s", sketch_length(sketch, trip));
    bool has_foot = setter_foot(sketch, &foot);
    bool has_body = sketch_number(sketch, FIELD_SETTER_BODY, 0, &body);
    const struct plane_rectangle front = {x - body / 2, x + body / 2, fmin(foot, trip),
                                          fmax(foot, trip)};
    const struct plane_point at = {x, trip};
    item->unknown = !has_foot || !has_body;
    if (has_foot && has_body)
        item_rectangle(sketch, item, SCENE_LINE_WIDE, &front);
    else
        item_polyline(sketch, item, SCENE_LINE_BROKEN, &at, 1);
    item_label_at(item, x, trip);
}

static void add_lowered(struct sketch *sketch)
{
    double x, height, foot, body;
    if (!sketch_measures_with(sketch, "setter") ||
        !sketch_number(sketch, FIELD_SETTER_LOWERED_HEIGHT, 0, &height) ||
        !sketch_number(sketch, FIELD_SETTER_AT_X, 0, &x) ||
        !sketch_number(sketch, FIELD_SETTER_BODY, 0, &body) || !table_height(sketch, &foot))
        return;
    struct scene_item *item =
        sketch_item(sketch, "setter lowered", FIELD_SETTER_LOWERED_HEIGHT, 0);
    const struct plane_point ends[] = {{x - body / 2, foot + height},
                                       {x + body / 2, foot + height}};
    item->value =
        arena_format(sketch->arena, "%s over the table", sketch_length(sketch, height));
    item_segment(sketch, item, SCENE_LINE_LIMIT, ends);
    item_label_at(item, ends[0].x, ends[0].y);
}

static void add_beam(struct sketch *sketch)
{
    double under, table;
    if (!sketch_number(sketch, FIELD_MACHINE_GANTRY_UNDERSIDE, 0, &under) ||
        !sketch_number(sketch, FIELD_TABLE_NOSE_CONTACT, 0, &table)) {
        sketch_unknown(sketch, "beam", "how high it passes is not known",
                       FIELD_MACHINE_GANTRY_UNDERSIDE, 0);
        return;
    }
    struct scene_item *item = sketch_item(sketch, "beam", FIELD_MACHINE_GANTRY_UNDERSIDE, 0);
    item->value =
        arena_format(sketch->arena, "passes %s over the table", sketch_length(sketch, under));
    draw_level(sketch, item, SCENE_LINE_LIMIT, table + under);
}

/* How far the nose goes up and down, at the side of all else. */
static void add_z_travel(struct sketch *sketch, enum field_id id, const char *what, int place)
{
    const struct plane_rectangle *reach = &sketch->scene->reach;
    double zs[2], beside = (reach->x_high - reach->x_low) * place / 20;
    if (!sketch_pair(sketch, id, 2, zs)) {
        if (id == FIELD_AXIS_TRAVEL)
            sketch_unknown(sketch, what, "not known", id, 2);
        return;
    }
    struct scene_item *item = sketch_item(sketch, what, id, 2);
    const struct plane_point ends[] = {{reach->x_low - beside, zs[0]},
                                       {reach->x_low - beside, zs[1]}};
    item->value = arena_format(sketch->arena, "of the nose, Z %s to %s",
                               sketch_length(sketch, zs[0]), sketch_length(sketch, zs[1]));
    item_segment(sketch, item, SCENE_LINE_NARROW, ends)->ends = SCENE_END_ARROWS;
    item_label_at(item, ends[0].x, (zs[0] + zs[1]) / 2);
}

/* --- the spindle --- */

/* A body from its underside up, without an end, as motion takes it. */
static void draw_body(struct sketch *sketch, struct scene_item *item,
                      const struct clearance_part *part, double x, double top)
{
    double under = part->underside.nominal, middle = x + part->beside.x;
    double left = middle - part->radius.nominal, right = middle + part->radius.nominal;
    const struct plane_point cup[] = {
        {left, fmax(top, under)}, {left, under}, {right, under}, {right, fmax(top, under)}};
    item_polyline(sketch, item, SCENE_LINE_WIDE, cup, 4);
}

/* With the nose at a place; the item has its value. */
static void draw_spindle(struct sketch *sketch, struct scene_item *item, uint32_t cutter,
                         double x, double nose)
{
    struct clearance_spindle spindle;
    double above = nose + fmax(depth_of(sketch) / 6, 0.01);
    standing_spindle(sketch->machine, cutter, nose, &spindle);
    for (uint32_t i = 0; i < spindle.count; i++) {
        const struct clearance_part *part = &spindle.parts[i];
        bool of_cutter = BODIES_OF_CUTTER & BODY_BIT(part->body);
        draw_body(sketch, item, part, x, of_cutter ? nose : above);
    }
    item->unknown = !spindle.whole;
    item->value =
        arena_format(sketch->arena, "%s%s", item->value, sketch_spindle_reservation(&spindle));
    item_label_at(item, x, nose);
}

/* "nose at Z -3 mm, tip at Z -45 mm" */
static const char *heights_text(const struct sketch *sketch, uint32_t cutter, double nose)
{
    struct spread stickout;
    const char *tip = "; how far the cutter sticks out is not known";
    if (cutter_true_stickout(sketch->machine, cutter, &stickout))
        tip = arena_format(sketch->arena, ", tip at Z %s",
                           sketch_length(sketch, nose - stickout.nominal));
    return arena_format(sketch->arena, "nose at Z %s%s", sketch_length(sketch, nose), tip);
}

static void add_pose(struct sketch *sketch, const char *what, enum field_id id, uint32_t cutter,
                     const struct move_place *at)
{
    if (!at->known[0] || !at->known[2]) {
        sketch_unknown(sketch, what, "where the spindle is then is not known", id, 0);
        return;
    }
    struct scene_item *item = sketch_item(sketch, what, id, 0);
    item->value = heights_text(sketch, cutter, at->at[2]);
    item->after_step = sketch->drawing->has_step;
    draw_spindle(sketch, item, cutter, at->at[0], at->at[2]);
}

static void add_poses(struct sketch *sketch)
{
    const struct drawing *drawing = sketch->drawing;
    const struct change *change = drawing->change;
    if (drawing->has_step) {
        const struct move *move = &change->moves[drawing->step];
        const char *what =
            arena_format(sketch->arena, "after step %u, %s",
                         sketch_step_number(change, drawing->step), move_name(move->kind));
        add_pose(sketch, what, FIELD_CHANGE_TRAVERSE_Z, move->cutter, &move->to);
        return;
    }
    const struct move *park = sketch_last_move(change, MOVE_PARK_HEIGHT);
    const struct move *beside = sketch_last_move(change, MOVE_TO_PARK);
    const struct move *approach = sketch_last_move(change, MOVE_APPROACH);
    if (park || beside)
        add_pose(sketch, "parked", FIELD_CHANGE_PARK_Z, change->request.to,
                 park ? &park->to : &beside->to);
    if (approach)
        add_pose(sketch, "where the approach ends", sketch_approach_field(sketch),
                 approach->cutter, &approach->to);
}

/* At what heights all sideways moves go. */
static void add_traverse(struct sketch *sketch)
{
    double z;
    struct spread stickout;
    if (!sketch_homes(sketch)) {
        sketch_unknown(
            sketch, "heights of the nose",
            "the machine does not home, so they count from wherever it was switched on",
            FIELD_HOMING_ORDER, 0);
        return;
    }
    if (!sketch_number(sketch, FIELD_CHANGE_TRAVERSE_Z, 0, &z)) {
        sketch_unknown(sketch, "traverse", "not known", FIELD_CHANGE_TRAVERSE_Z, 0);
        return;
    }
    struct scene_item *item =
        sketch_item(sketch, "nose at traverse", FIELD_CHANGE_TRAVERSE_Z, 0);
    item->value = arena_format(sketch->arena, "Z %s", sketch_length(sketch, z));
    draw_level(sketch, item, SCENE_LINE_CHAIN, z);
    uint32_t cutter = sketch->drawing->cutter;
    if (cutter == RECORD_NONE || !cutter_true_stickout(sketch->machine, cutter, &stickout))
        return;
    item = sketch_item(
        sketch,
        arena_format(sketch->arena, "tip of %s at traverse", sketch_cutter(sketch, cutter)),
        FIELD_CUTTER_STICKOUT, cutter);
    item->subject = sketch_cutter(sketch, cutter);
    item->value =
        arena_format(sketch->arena, "Z %s", sketch_length(sketch, z - stickout.nominal));
    draw_level(sketch, item, SCENE_LINE_CHAIN, z - stickout.nominal);
}

/* The underside of what comes nearest: a body of the spindle, or what the gantry carries. */
static bool nearest_underside(const struct sketch *sketch, const struct move *move, double *out)
{
    static const enum field_id carried[] = {
        [BODY_GANTRY] = FIELD_MACHINE_GANTRY_UNDERSIDE, [BODY_SETTER] = FIELD_SETTER_UNDERSIDE};
    double table = 0, under = 0;
    *out = move->part.underside.nominal;
    if (move->clearance.body < BODY_GANTRY)
        return true;
    bool known = sketch_number(sketch, FIELD_TABLE_NOSE_CONTACT, 0, &table);
    known = sketch_number(sketch, carried[move->clearance.body], 0, &under) && known;
    *out = table + under;
    return known;
}

/* How much room in all, and what reservation there is about it. */
static const char *apart_text(const struct sketch *sketch, const struct move *move)
{
    double room = spread_settled(move->clearance.value.low);
    return arena_format(sketch->arena, "%s%s%s at worst%s", room < 0 ? "runs into it by " : "",
                        sketch_length(sketch, fabs(room)), room < 0 ? "" : " apart",
                        sketch_room_reservation(sketch->drawing->change));
}

/* Of the change, as far as it is upwards. */
static void add_nearest(struct sketch *sketch)
{
    const struct change *change = sketch->drawing->change;
    const struct move *move = change ? change_least_room(change) : NULL;
    struct clearance_box box;
    double under = 0;
    if (!move) {
        sketch_unknown(sketch, "least room", "not known", FIELD_CHANGE_TRAVERSE_Z, 0);
        return;
    }
    struct scene_item *item = sketch_item(sketch, "least room", FIELD_CHANGE_TRAVERSE_Z, 0);
    struct view name = thing_name(sketch->machine, move->to_what, move->obstacle);
    const char *to = name.size ? text_cut(sketch->arena, name, NAME_SHOWN) : "an obstacle";
    struct view text = body_name(sketch->machine, move->clearance.body, move->attachment);
    const char *body = text.size ? text_cut(sketch->arena, text, NAME_SHOWN) : "attachment";
    item->unknown = *sketch_room_reservation(change);
    item->value =
        arena_format(sketch->arena, "%s to %s, %s", body, to, apart_text(sketch, move));
    if (!nearest_underside(sketch, move, &under) ||
        !standing_thing(sketch->machine, move->to_what, move->obstacle, &box) ||
        under == box.top.nominal)
        return;
    double top = box.top.nominal;
    double x = box.everywhere ? sketch->scene->reach.x_low
                              : (box.footprint.x_low + box.footprint.x_high) / 2;
    item->value =
        arena_format(sketch->arena, "%s %s %s %s in height, %s", body,
                     sketch_length(sketch, fabs(under - top)),
                     under < top ? "below the top of" : "over", to, apart_text(sketch, move));
    const struct plane_point ends[] = {{x, under}, {x, top}};
    item_segment(sketch, item, SCENE_LINE_NARROW, ends)->ends = SCENE_END_ARROWS;
    item_label_at(item, x, (under + top) / 2);
}

void side_sketch(struct sketch *sketch)
{
    sketch->view = &sketch->scene->views[sketch->scene->view_count++];
    sketch->view->kind = SCENE_SIDE;
    sketch->view->title = "view from the front";
    sketch->view->letter[0] = "X";
    sketch->view->letter[1] = "Z";
    add_table(sketch);
    add_work(sketch);
    for (uint32_t i = 0; i < sketch->machine->groups[GROUP_OBSTACLE].count; i++)
        add_obstacle(sketch, i);
    add_setter(sketch);
    add_lowered(sketch);
    add_beam(sketch);
    add_z_travel(sketch, FIELD_AXIS_TRAVEL, "travel of Z", 1);
    add_z_travel(sketch, FIELD_AXIS_SOFT_LIMITS, "soft limits of Z", 2);
    add_nearest(sketch);
    add_poses(sketch);
    add_traverse(sketch);
    detail_sketch(sketch);
}
