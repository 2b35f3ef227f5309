/* `distance(place, place or area)`: plan distance, spelled out as arithmetic on the fields.
 *
 * From a place p to an area lo .. hi the distance along one axis is the greatest of lo - p, p -
 * hi and nothing; both axes together make a right angle.
 */
#include "formula/internal_build.h"

/* One end of a distance. */
struct end {
    bool area;
    struct {
        uint32_t low, high; /* nodes; the same for a place */
    } axis[2];
    uint32_t said; /* node for showing it */
};

static uint32_t part_node(const struct context *context, const struct ast *ast,
                          const struct reached *axis, uint8_t part)
{
    struct reached value = *axis;
    if (part) {
        value.part = part;
        value.place.type = TYPE_QUANTITY;
    }
    return name_node(context, ast, &value);
}

static bool complain_end(const struct context *context, const struct ast *ast)
{
    formula_complain(
        context, ast->start, ast->end,
        "a distance is between a place and a place or an area, each with `x` and `y`");
    return false;
}

static bool reach_end(const struct context *context, const struct ast *ast, struct end *out)
{
    static const char *const letters[] = {"x", "y"};
    struct reached thing;
    if (ast->kind != AST_PATH)
        return complain_end(context, ast);
    if (!name_reach(context, ast, &thing))
        return false;
    if (thing.node != NODE_NONE)
        return complain_end(context, ast);
    for (int i = 0; i < 2; i++) {
        struct reached axis;
        if (!name_reach_step(context, &thing, view_of(letters[i]), &axis))
            return complain_end(context, ast);
        bool pair = axis.place.type == TYPE_PAIR;
        if ((!pair && axis.place.type != TYPE_QUANTITY) || (i && pair != out->area) ||
            !dimension_equal(axis.place.dimension, DIMENSION_LENGTH))
            return complain_end(context, ast);
        out->area = pair;
        out->axis[i].low = part_node(context, ast, &axis, pair ? 1 : 0);
        out->axis[i].high = pair ? part_node(context, ast, &axis, 2) : out->axis[i].low;
        if (out->axis[i].low == NODE_NONE || out->axis[i].high == NODE_NONE)
            return false;
    }
    struct formula_node said = {.op = OP_PLACE, .type = TYPE_PLACE};
    out->said = thing.place.type == TYPE_RECORD ? name_node(context, ast, &thing)
                                                : build_node(context, ast, said);
    return out->said != NODE_NONE;
}

static uint32_t length_node(const struct context *context, const struct ast *ast,
                            enum formula_op op, uint32_t a, uint32_t b)
{
    if (a == NODE_NONE || b == NODE_NONE)
        return NODE_NONE;
    return build_node(context, ast,
                      (struct formula_node){.op = (uint8_t)op,
                                            .type = TYPE_QUANTITY,
                                            .dimension = DIMENSION_LENGTH,
                                            .a = a,
                                            .b = b});
}

static uint32_t axis_distance(const struct context *context, const struct ast *ast,
                              const struct end *place, const struct end *other, int axis)
{
    uint32_t p = place->axis[axis].low;
    uint32_t below = length_node(context, ast, OP_SUBTRACT, other->axis[axis].low, p);
    if (!other->area)
        return below;
    uint32_t above = length_node(context, ast, OP_SUBTRACT, p, other->axis[axis].high);
    struct formula_node nothing = {
        .op = OP_NUMBER, .type = TYPE_QUANTITY, .dimension = DIMENSION_LENGTH};
    uint32_t outside = length_node(context, ast, OP_MAXIMUM, below, above);
    return length_node(context, ast, OP_MAXIMUM, outside, build_node(context, ast, nothing));
}

uint32_t emit_distance(const struct context *context, const struct ast *ast)
{
    if (ast->count != 2) {
        formula_complain(context, ast->start, ast->end,
                         "`distance` takes two places in its parentheses, not %u", ast->count);
        return NODE_NONE;
    }
    struct end ends[2] = {0};
    bool first = reach_end(context, ast->items[0], &ends[0]);
    bool second = reach_end(context, ast->items[1], &ends[1]);
    if (!first || !second)
        return NODE_NONE;
    if (ends[0].area && ends[1].area) {
        complain_end(context, ast);
        return NODE_NONE;
    }
    const struct end *place = &ends[ends[0].area ? 1 : 0], *other = &ends[ends[0].area ? 0 : 1];
    uint32_t x = axis_distance(context, ast, place, other, 0);
    uint32_t y = axis_distance(context, ast, place, other, 1);
    uint32_t plan = length_node(context, ast, OP_HYPOT, x, y);
    if (plan == NODE_NONE)
        return NODE_NONE;
    return build_node(context, ast,
                      (struct formula_node){.op = OP_DISTANCE,
                                            .type = TYPE_QUANTITY,
                                            .dimension = DIMENSION_LENGTH,
                                            .a = plan,
                                            .b = ends[0].said,
                                            .c = ends[1].said});
}
