/* What all views share while they are drawn: items and their shapes, and values in words. */
#include "draw/internal.h"

#include "quantity/quantity.h"
#include "draw/letters.h"

enum { NAME_SHOWN = 48, NO_PLACE = 0, FARTHEST = 30 /* m */ };

/* --- items --- */

/* The line where a value stands, or what it would stand in. */
static void find_line(const struct sketch *sketch, struct scene_item *item, enum field_id id,
                      uint32_t record)
{
    const struct machine *machine = sketch->machine;
    struct field_place home = machine_home(machine, id, record);
    bool is_value = false;
    const struct tree_node *node = machine_nearest(machine, home.field, home.record, &is_value);
    item->line = NO_PLACE;
    if (!node || !is_value)
        return;
    struct span span = node->span;
    struct source *first = machine->tree->source;
    struct source *source = source_holding(first, &span);
    item->line = source_place(source, span.start, COLUMN_BYTES).line;
    if (source != first)
        item->in_file = arena_format(sketch->arena, "%.*s", VIEW(source->name));
}

static const char *path_of(const struct sketch *sketch, enum field_id id, uint32_t record)
{
    return record == RECORD_NONE ? field_path(sketch->arena, id)
                                 : machine_path(sketch->arena, sketch->machine, id, record, 0);
}

struct scene_item *sketch_item(struct sketch *sketch, const char *what, enum field_id id,
                               uint32_t record)
{
    struct scene_item *item = ARENA_NEW(sketch->arena, struct scene_item);
    item->what = what;
    item->fields[0] = path_of(sketch, id, record);
    if (record != RECORD_NONE)
        find_line(sketch, item, id, record);
    VECTOR_ADD(sketch->arena, &sketch->view->items, item);
    return item;
}

void item_also(const struct sketch *sketch, struct scene_item *item, enum field_id id,
               uint32_t record)
{
    for (int i = 1; i < SCENE_FIELDS; i++)
        if (!item->fields[i]) {
            item->fields[i] = path_of(sketch, id, record);
            return;
        }
}

void item_label_at(struct scene_item *item, double x, double y)
{
    item->labelled = true;
    item->anchor = (struct plane_point){x, y};
}

struct scene_item *sketch_unknown(struct sketch *sketch, const char *what, const char *words,
                                  enum field_id id, uint32_t record)
{
    struct scene_item *item = sketch_item(sketch, what, id, record);
    item->value = words;
    item->unknown = true;
    return item;
}

/* --- shapes --- */

static void take_in(struct scene_view *view, double x, double y, double around)
{
    struct plane_rectangle *extent = &view->extent;
    if (!view->drawn)
        *extent = plane_place(x, y);
    view->drawn = true;
    extent->x_low = fmin(extent->x_low, x - around);
    extent->x_high = fmax(extent->x_high, x + around);
    extent->y_low = fmin(extent->y_low, y - around);
    extent->y_high = fmax(extent->y_high, y + around);
}

/* Is that somewhere that a drawing could show besides anything else? */
static bool is_near(double x, double y, double around)
{
    return fabs(x) + around < FARTHEST && fabs(y) + around < FARTHEST;
}

/* A shape that is part of the item, or of none where it lies too far off. */
static struct scene_shape *add_shape(struct sketch *sketch, struct scene_item *item,
                                     const struct scene_shape *shape)
{
    bool near = true;
    for (uint32_t i = 0; i < shape->count; i++)
        near = near && is_near(shape->points[i].x, shape->points[i].y, shape->radius);
    if (!near) {
        struct scene_shape *unseen = ARENA_NEW(sketch->arena, struct scene_shape);
        item->too_far = true;
        *unseen = *shape;
        return unseen;
    }
    for (uint32_t i = 0; i < shape->count; i++)
        take_in(sketch->view, shape->points[i].x, shape->points[i].y, shape->radius);
    if (!item->labelled && !item->shapes.count)
        item->anchor = shape->points[0];
    VECTOR_ADD(sketch->arena, &item->shapes, *shape);
    return &item->shapes.items[item->shapes.count - 1];
}

struct scene_shape *item_polyline(struct sketch *sketch, struct scene_item *item,
                                  enum scene_line line, const struct plane_point *points,
                                  uint32_t count)
{
    struct scene_shape shape = {.line = line, .count = count};
    BUG_UNLESS(count > 0 && count <= PLANE_CORNERS);
    for (uint32_t i = 0; i < count; i++)
        shape.points[i] = points[i];
    return add_shape(sketch, item, &shape);
}

struct scene_shape *item_widened(struct sketch *sketch, struct scene_item *item,
                                 enum scene_line line, const struct plane_hull *hull,
                                 double radius)
{
    struct scene_shape shape = {
        .line = line, .closed = true, .count = hull->count, .radius = radius};
    for (uint32_t i = 0; i < hull->count; i++)
        shape.points[i] = hull->corners[i];
    return add_shape(sketch, item, &shape);
}

struct scene_shape *item_segment(struct sketch *sketch, struct scene_item *item,
                                 enum scene_line line, const struct plane_point ends[2])
{
    return item_polyline(sketch, item, line, ends, 2);
}

struct scene_shape *item_rectangle(struct sketch *sketch, struct scene_item *item,
                                   enum scene_line line, const struct plane_rectangle *box)
{
    const struct plane_point corners[] = {{box->x_low, box->y_low},
                                          {box->x_high, box->y_low},
                                          {box->x_high, box->y_high},
                                          {box->x_low, box->y_high}};
    struct scene_shape *shape = item_polyline(sketch, item, line, corners, 4);
    shape->closed = true;
    return shape;
}

struct scene_shape *item_circle(struct sketch *sketch, struct scene_item *item,
                                enum scene_line line, struct plane_point middle, double radius)
{
    const struct scene_shape shape = {
        .line = line, .count = 1, .points = {middle}, .radius = radius};
    return add_shape(sketch, item, &shape);
}

/* --- values --- */

const char *sketch_length(const struct sketch *sketch, double metres)
{
    return quantity_text(sketch->arena, spread_settled(metres), DIMENSION_LENGTH,
                         sketch->scene->length);
}

const char *sketch_spread(const struct sketch *sketch, const struct spread *spread)
{
    double below = spread_settled(spread->nominal - spread->low);
    double above = spread_settled(spread->high - spread->nominal);
    if (below == 0 && above == 0)
        return sketch_length(sketch, spread->nominal);
    if (below == above)
        return arena_format(sketch->arena, "%s ± %s", sketch_length(sketch, spread->nominal),
                            sketch_length(sketch, above));
    return arena_format(sketch->arena, "%s to %s", sketch_length(sketch, spread->low),
                        sketch_length(sketch, spread->high));
}

const char *sketch_cutter(const struct sketch *sketch, uint32_t record)
{
    return machine_record_name(sketch->arena, sketch->machine, GROUP_CUTTER, record);
}

static const struct field_value *usable(const struct sketch *sketch, enum field_id id,
                                        uint32_t record)
{
    if (record >= sketch->machine->groups[field_table[id].group].count)
        return NULL;
    const struct field_value *value = machine_field(sketch->machine, id, record);
    return value->state == VALUE_GIVEN || value->state == VALUE_DEFAULTED ? value : NULL;
}

const char *sketch_name(const struct sketch *sketch, enum field_id id, uint32_t record,
                        const char *otherwise)
{
    const struct field_value *value = usable(sketch, id, record);
    return value && value->text.size ? text_cut(sketch->arena, value->text, NAME_SHOWN)
                                     : otherwise;
}

bool sketch_number(const struct sketch *sketch, enum field_id id, uint32_t record, double *out)
{
    const struct field_value *value = usable(sketch, id, record);
    if (value)
        *out = value->si;
    return value;
}

bool sketch_pair(const struct sketch *sketch, enum field_id id, uint32_t record, double out[2])
{
    const struct field_value *value = usable(sketch, id, record);
    for (int part = 0; value && part < 2; part++)
        if (value->pair[part].state != VALUE_GIVEN &&
            value->pair[part].state != VALUE_DEFAULTED)
            value = NULL;
    for (int part = 0; value && part < 2; part++)
        out[part] = value->pair[part].si;
    return value;
}

bool sketch_says(const struct sketch *sketch, enum field_id id, uint32_t record,
                 const char *word)
{
    const struct field_value *value = usable(sketch, id, record);
    if (!value)
        return false;
    if (field_table[id].kind == KIND_FLAG)
        return value->flag == (strcmp(word, "yes") == 0);
    return field_choice_is(&field_table[id], value->choice, word);
}

bool sketch_given(const struct sketch *sketch, enum field_id id, uint32_t record)
{
    return usable(sketch, id, record);
}

bool sketch_homes(const struct sketch *sketch)
{
    const struct field_value *order = usable(sketch, FIELD_HOMING_ORDER, 0);
    return order && !order->words->none;
}

bool sketch_measures_with(const struct sketch *sketch, const char *word)
{
    return sketch_says(sketch, FIELD_CHANGE_MEASURES_WITH, 0, word);
}

enum field_id sketch_approach_field(const struct sketch *sketch)
{
    return sketch_says(sketch, FIELD_CHANGE_APPROACH, 0, "fixed") ? FIELD_CHANGE_APPROACH_Z
                                                                  : FIELD_CHANGE_STANDOFF;
}

bool sketch_may_measure_with(const struct sketch *sketch, const char *word)
{
    return sketch_measures_with(sketch, word) ||
           !sketch_given(sketch, FIELD_CHANGE_MEASURES_WITH, 0);
}

uint32_t sketch_step_number(const struct change *change, uint32_t index)
{
    return index + (change->moves[0].kind == MOVE_REFERENCE ? 0 : 1);
}

const char *sketch_room_reservation(const struct change *change)
{
    for (uint32_t i = 0; i < change->count; i++) {
        const struct move *move = &change->moves[i];
        if (move_wants_room(change, move) && !(move->has_clearance && move->whole))
            return "; not all that is in the way is known";
    }
    return "";
}

const char *sketch_spindle_reservation(const struct clearance_spindle *spindle)
{
    return spindle->whole ? "" : "; not all that hangs on the spindle is known";
}

const struct move *sketch_last_move(const struct change *change, enum move_kind kind)
{
    const struct move *found = NULL;
    for (uint32_t i = 0; change && i < change->count; i++)
        if (change->moves[i].kind == kind)
            found = &change->moves[i];
    return found;
}
