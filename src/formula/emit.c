/* From trees to nodes: arithmetic, distances and comparisons, and where each other kind of
 * expression is sent. */
#include "formula/internal_build.h"

#include <math.h>

/* Arithmetic with dimensions: checked once here, so that the evaluator need not.
 *
 * Numbers that stand for themselves are worked out at once, with the same operations that the
 * nominal values of forms go through.
 */

/* A number made of `a` and `b` at once; false where they are not numbers themselves.  Not for
 * sums: what went into them tells how far a difference can be trusted. */
static bool fold(const struct context *context, const struct ast *ast, uint32_t a, uint32_t b,
                 struct formula_node *node)
{
    const struct formula_node *x = build_at(context, a), *y = build_at(context, b);
    if (x->op != OP_NUMBER || y->op != OP_NUMBER)
        return false;
    double value = 0;
    switch (ast->kind) {
    case AST_MULTIPLY:
        value = x->number * y->number;
        break;
    case AST_DIVIDE:
        value = x->number / y->number;
        break;
    default:
        return false;
    }
    if (!isfinite(value))
        return false;
    node->op = OP_NUMBER;
    node->number = value;
    return true;
}

static uint32_t mismatch(const struct context *context, const struct ast *ast, uint32_t a,
                         uint32_t b, const char *what)
{
    const struct formula_node *x = build_at(context, a), *y = build_at(context, b);
    formula_complain(context, ast->start, ast->end, "%s and %s cannot be %s",
                     name_of_type(context, x), name_of_type(context, y), what);
    return NODE_NONE;
}

/* Dates: a difference of two is a time, and a time can be added to one. */
static uint32_t emit_dates(const struct context *context, const struct ast *ast, uint32_t a,
                           uint32_t b)
{
    const struct formula_node *x = build_at(context, a), *y = build_at(context, b);
    bool x_date = x->type == TYPE_DATE, y_date = y->type == TYPE_DATE;
    bool x_time = x->type == TYPE_QUANTITY && dimension_equal(x->dimension, DIMENSION_TIME);
    bool y_time = y->type == TYPE_QUANTITY && dimension_equal(y->dimension, DIMENSION_TIME);
    struct formula_node node = {
        .op = ast->kind == AST_ADD ? OP_ADD : OP_SUBTRACT, .a = a, .b = b};
    bool difference = x_date && y_date && ast->kind == AST_SUBTRACT;
    bool moved = (x_date && y_time) || (x_time && y_date && ast->kind == AST_ADD);
    if (!difference && !moved)
        return mismatch(context, ast, a, b, ast->kind == AST_ADD ? "added" : "subtracted");
    node.type = difference ? TYPE_QUANTITY : TYPE_DATE;
    node.dimension = difference ? DIMENSION_TIME : DIMENSION_NONE;
    return build_node(context, ast, node);
}

static uint32_t emit_sum(const struct context *context, const struct ast *ast)
{
    uint32_t a = emit_any(context, ast->a), b = emit_any(context, ast->b);
    if (a == NODE_NONE || b == NODE_NONE)
        return NODE_NONE;
    if (build_at(context, a)->type == TYPE_DATE || build_at(context, b)->type == TYPE_DATE)
        return emit_dates(context, ast, a, b);
    emit_reconcile(context, ast->a, a, ast->b, b);
    const struct formula_node *x = build_at(context, a), *y = build_at(context, b);
    if (x->type != TYPE_QUANTITY || y->type != TYPE_QUANTITY ||
        !dimension_equal(x->dimension, y->dimension))
        return mismatch(context, ast, a, b, ast->kind == AST_ADD ? "added" : "subtracted");
    struct formula_node node = {.op = ast->kind == AST_ADD ? OP_ADD : OP_SUBTRACT,
                                .type = TYPE_QUANTITY,
                                .dimension = x->dimension,
                                .a = a,
                                .b = b};
    return build_node(context, ast, node);
}

static uint32_t emit_product(const struct context *context, const struct ast *ast)
{
    uint32_t a = emit_quantity(context, ast->a), b = emit_quantity(context, ast->b);
    if (a == NODE_NONE || b == NODE_NONE)
        return NODE_NONE;
    bool over = ast->kind == AST_DIVIDE;
    const struct formula_node *x = build_at(context, a), *y = build_at(context, b);
    struct formula_node node = {
        .op = over ? OP_DIVIDE : OP_MULTIPLY, .type = TYPE_QUANTITY, .a = a, .b = b};
    bool fits = over ? dimension_divide(x->dimension, y->dimension, &node.dimension)
                     : dimension_multiply(x->dimension, y->dimension, &node.dimension);
    if (!fits) {
        formula_complain(context, ast->start, ast->end,
                         "the powers of its units grow too large");
        return NODE_NONE;
    }
    if (over && y->op == OP_NUMBER && y->number == 0) {
        formula_complain(context, ast->b->start, ast->b->end, "nothing can be divided by 0");
        return NODE_NONE;
    }
    if (!fold(context, ast, a, b, &node) && !over &&
        (x->op == OP_NUMBER || y->op == OP_NUMBER)) {
        bool first = x->op == OP_NUMBER;
        node.op = OP_SCALE;
        node.number = first ? x->number : y->number;
        node.a = first ? b : a;
        node.b = first ? a : b;
        node.part = first ? FLAG_SWAPPED : 0;
    }
    return build_node(context, ast, node);
}

static uint32_t emit_negation(const struct context *context, const struct ast *ast)
{
    uint32_t a = emit_quantity(context, ast->a);
    if (a == NODE_NONE)
        return NODE_NONE;
    const struct formula_node *x = build_at(context, a);
    struct formula_node node = {
        .op = OP_NEGATE, .type = TYPE_QUANTITY, .dimension = x->dimension, .a = a};
    if (x->op == OP_NUMBER) {
        node.op = OP_NUMBER;
        node.number = -x->number;
        node.kind = x->kind;
    }
    return build_node(context, ast, node);
}

static uint32_t emit_power(const struct context *context, const struct ast *ast)
{
    uint32_t a = emit_quantity(context, ast->a);
    if (a == NODE_NONE)
        return NODE_NONE;
    int power = (int)ast->number;
    struct formula_node node = {
        .op = OP_POWER, .type = TYPE_QUANTITY, .a = a, .b = (uint32_t)(int32_t)power};
    if (!dimension_power(build_at(context, a)->dimension, power, &node.dimension)) {
        formula_complain(context, ast->start, ast->end,
                         "the powers of its units grow too large");
        return NODE_NONE;
    }
    return build_node(context, ast, node);
}

/* min, max and hypot of the values so far and one more. */
static uint32_t emit_pair(const struct context *context, const struct ast *ast,
                          enum formula_op op, uint32_t a, uint32_t i)
{
    uint32_t b = emit_quantity(context, ast->items[i]);
    if (a == NODE_NONE || b == NODE_NONE)
        return NODE_NONE;
    emit_reconcile(context, ast->items[i - 1], a, ast->items[i], b);
    const struct formula_node *x = build_at(context, a), *y = build_at(context, b);
    if (!dimension_equal(x->dimension, y->dimension)) {
        formula_complain(context, ast->items[i]->start, ast->items[i]->end,
                         "`%.*s` wants values of one kind; %s and %s are not",
                         VIEW(ast->name.text), name_of_type(context, x),
                         name_of_type(context, y));
        return NODE_NONE;
    }
    struct formula_node node = {
        .op = (uint8_t)op, .type = TYPE_QUANTITY, .dimension = x->dimension, .a = a, .b = b};
    return build_node(context, ast, node);
}

static uint32_t emit_single(const struct context *context, const struct ast *ast)
{
    uint32_t a = emit_quantity(context, ast->items[0]);
    if (a == NODE_NONE)
        return NODE_NONE;
    const struct formula_node *x = build_at(context, a);
    struct formula_node node = {
        .op = ast->word == WORD_ABS ? OP_ABSOLUTE : OP_ROOT,
        .type = TYPE_QUANTITY,
        .dimension = x->dimension,
        .a = a,
    };
    if (ast->word == WORD_SQRT && !dimension_root(x->dimension, &node.dimension)) {
        formula_complain(context, ast->start, ast->end,
                         "the square root of %s is not a quantity", name_of_type(context, x));
        return NODE_NONE;
    }
    return build_node(context, ast, node);
}

static uint32_t emit_builtin(const struct context *context, const struct ast *ast)
{
    enum word word = ast->word;
    bool single = word == WORD_ABS || word == WORD_SQRT;
    bool fits = single               ? ast->count == 1
                : word == WORD_HYPOT ? ast->count == 2
                                     : ast->count >= 2;
    if (!fits) {
        formula_complain(context, ast->start, ast->end,
                         "`%.*s` takes %s in its parentheses, not %u", VIEW(ast->name.text),
                         single               ? "one value"
                         : word == WORD_HYPOT ? "two values"
                                              : "two values or more",
                         ast->count);
        return NODE_NONE;
    }
    if (single)
        return emit_single(context, ast);
    enum formula_op op = word == WORD_HYPOT ? OP_HYPOT
                         : word == WORD_MIN ? OP_MINIMUM
                                            : OP_MAXIMUM;
    uint32_t node = emit_quantity(context, ast->items[0]);
    for (uint32_t i = 1; i < ast->count; i++)
        node = emit_pair(context, ast, op, node, i);
    return node;
}

static uint32_t emit_nominal(const struct context *context, const struct ast *ast)
{
    struct context inner = *context;
    inner.nominal = true;
    uint32_t a = emit_quantity(&inner, ast->a);
    if (a == NODE_NONE)
        return NODE_NONE;
    struct formula_node *x = build_at(context, a);
    if (x->op == OP_LEAF || x->op == OP_CALL || x->op == OP_SLOT) {
        x->part |= FLAG_SAID_NOMINAL;
        return a;
    }
    struct formula_node node = {
        .op = OP_NOMINAL, .type = TYPE_QUANTITY, .dimension = x->dimension, .a = a};
    return build_node(context, ast, node);
}

/* What a tolerance is called: the first field that its width reads, the record that belongs to,
 * and the records in whose name the text stands. */
static uint32_t emit_name(const struct context *context, const struct ast *ast, uint32_t width)
{
    struct formula_node name = {.op = OP_NAME, .a = NODE_NONE, .b = NODE_NONE, .c = NODE_NONE};
    uint32_t leaf = walk_first_leaf(context->builder, width);
    uint32_t own_slot = NODE_NONE;
    if (leaf != NODE_NONE) {
        const struct formula_node *field = build_at(context, leaf);
        name.leaf = field->leaf;
        name.part = field->part & PART_MASK;
        name.a = field->a;
        if (name.a != NODE_NONE && build_at(context, name.a)->op == OP_RECORD_SLOT)
            own_slot = build_at(context, name.a)->a;
    } else {
        name.number = ++context->builder->width_count;
        if (context->builder->width_count > DEVIATION_LEAF_MAX) {
            formula_complain(context, ast->start, ast->end,
                             "there are too many tolerances without a field");
            return NODE_NONE;
        }
    }
    uint32_t slots[FORMULA_DEPTH_MAX + PARAMETERS_MAX];
    unsigned count = 0;
    for (const struct binding *b = context->names; b; b = b->next)
        if (b->type == TYPE_RECORD && b->slot != own_slot &&
            count < sizeof slots / sizeof slots[0])
            slots[count++] = b->slot;
    while (count > 1) {
        struct formula_node more = {
            .op = OP_NAME, .a = NODE_NONE, .b = slots[--count], .c = name.c};
        name.c = build_node(context, ast, more);
    }
    if (count)
        name.b = slots[0];
    return build_node(context, ast, name);
}

/* A tolerance in per cent of a ratio.  Of a number that is not in per cent itself it is a part,
 * as in a machine file; what a field or formula is written in is not known here.  False, told,
 * where it could be either. */
static bool take_percent(const struct context *context, const struct ast *ast, uint32_t a,
                         uint32_t b)
{
    struct formula_node *x = build_at(context, a), *y = build_at(context, b);
    unit_id percent = unit_read(view_of("%"));
    if (ast->b->kind != AST_NUMBER || ast->b->unit != percent ||
        !dimension_is_none(x->dimension))
        return true;
    if (ast->a->kind != AST_NUMBER) {
        formula_complain(
            context, ast->b->start, ast->b->end,
            "per cent of what? write a plain number, or the part times what it is of");
        return false;
    }
    if (ast->a->unit != percent)
        y->number *= fabs(x->number);
    return true;
}

static uint32_t emit_widened(const struct context *context, const struct ast *ast)
{
    uint32_t a = emit_quantity(context, ast->a), b = emit_quantity(context, ast->b);
    if (a == NODE_NONE || b == NODE_NONE || !take_percent(context, ast, a, b))
        return NODE_NONE;
    emit_reconcile(context, ast->a, a, ast->b, b);
    const struct formula_node *x = build_at(context, a), *y = build_at(context, b);
    if (!dimension_equal(x->dimension, y->dimension)) {
        formula_complain(context, ast->start, ast->end, "%s cannot have a tolerance that is %s",
                         name_of_type(context, x), name_of_type(context, y));
        return NODE_NONE;
    }
    struct formula_node node = {
        .op = OP_WIDEN, .type = TYPE_QUANTITY, .dimension = x->dimension, .a = a, .b = b};
    if (context->nominal)
        return a;
    node.c = emit_name(context, ast, b);
    return node.c == NODE_NONE ? NODE_NONE : build_node(context, ast, node);
}

/* `distance(place, place or area)`: plan distance, spelled out as arithmetic on the fields.
 *
 * From a place p to an area lo .. hi the distance along one axis is the greatest of lo - p, p -
 * hi and nothing; both axes together make a right angle.
 */

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

static uint32_t emit_distance(const struct context *context, const struct ast *ast)
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

/* Comparisons of quantities and dates.
 *
 * All four become `a is at least b`, strict or not, so that what is to spare is always a - b.
 * Against a `largest` or `smallest` they are made element by element where that means the same
 * and says more: the margin is then that of one element with its own tolerances.
 */

static bool are_comparable(const struct context *context, const struct ast *ast, uint32_t a,
                           uint32_t b)
{
    const struct formula_node *x = build_at(context, a), *y = build_at(context, b);
    bool quantities = x->type == TYPE_QUANTITY && y->type == TYPE_QUANTITY;
    if ((x->type == TYPE_DATE && y->type == TYPE_DATE) ||
        (quantities && dimension_equal(x->dimension, y->dimension)))
        return true;
    const char *hint = x->type == TYPE_FLAG || x->type == TYPE_CHOICE || x->type == TYPE_TEXT
                           ? "; words and texts are compared with `is`"
                           : "";
    formula_complain(context, ast->start, ast->end, "%s and %s cannot be compared%s",
                     name_of_type(context, x), name_of_type(context, y), hint);
    return false;
}

/* `high` is at least `low`: may one of them be taken element by element? */
static void spread(const struct context *context, struct formula_node *node)
{
    uint32_t high = node->a, low = node->b;
    if (build_at(context, low)->op == OP_LARGEST) {
        node->op = OP_COMPARE_EACH;
    } else if (build_at(context, high)->op == OP_SMALLEST) {
        node->op = OP_COMPARE_EACH;
        node->part |= FLAG_EACH_IS_HIGH;
        node->a = low;
        node->b = high;
    }
}

static uint32_t emit_order(const struct context *context, const struct ast *ast, uint32_t a,
                           uint32_t b)
{
    bool less = ast->word == SIGN_LESS || ast->word == SIGN_LEAST_LESS;
    bool strict = ast->word == SIGN_LESS || ast->word == SIGN_MORE;
    if (context->negate) {
        less = !less;
        strict = !strict;
    }
    struct formula_node node = {
        .op = OP_COMPARE,
        .type = TYPE_FLAG,
        .kind = !context->nominal,
        .part = (uint8_t)((strict ? FLAG_STRICT : 0) | (less ? FLAG_SWAPPED : 0)),
        .dimension = build_margin(build_at(context, a)),
        .a = less ? b : a,
        .b = less ? a : b,
    };
    spread(context, &node);
    return build_node(context, ast, node);
}

static uint32_t emit_inside(const struct context *context, const struct ast *ast)
{
    struct context inner = *context;
    inner.negate = false;
    uint32_t x = emit_any(&inner, ast->a), low = emit_any(&inner, ast->b),
             high = emit_any(&inner, ast->c);
    if (x == NODE_NONE || low == NODE_NONE || high == NODE_NONE)
        return NODE_NONE;
    emit_reconcile(context, ast->a, x, ast->b, low);
    emit_reconcile(context, ast->a, x, ast->c, high);
    if (!are_comparable(context, ast, x, low) || !are_comparable(context, ast, x, high))
        return NODE_NONE;
    struct formula_node node = {
        .op = OP_INSIDE,
        .type = TYPE_FLAG,
        .kind = !context->nominal,
        .part = context->negate ? FLAG_NEGATE : 0,
        .dimension = build_margin(build_at(context, x)),
        .a = x,
        .b = low,
        .c = high,
    };
    return build_node(context, ast, node);
}

static uint32_t emit_comparison(const struct context *context, const struct ast *ast)
{
    if (ast->kind == AST_INSIDE)
        return emit_inside(context, ast);
    struct context inner = *context;
    inner.negate = false;
    uint32_t a = emit_any(&inner, ast->a), b = emit_any(&inner, ast->b);
    if (a == NODE_NONE || b == NODE_NONE)
        return NODE_NONE;
    emit_reconcile(context, ast->a, a, ast->b, b);
    if (!are_comparable(context, ast, a, b))
        return NODE_NONE;
    if (ast->word != SIGN_EQUAL)
        return emit_order(context, ast, a, b);
    return emit_equal(context, ast, a, b);
}

/* Each kind of expression. */

static uint32_t emit_path(const struct context *context, const struct ast *ast)
{
    struct reached reached;
    if (!name_reach(context, ast, &reached))
        return NODE_NONE;
    return name_node(context, ast, &reached);
}

static uint32_t emit_number(const struct context *context, const struct ast *ast)
{
    struct dimension dimension = unit_dimension(ast->unit);
    struct formula_node number = {
        .op = OP_NUMBER,
        .type = TYPE_QUANTITY,
        .kind = ast->unit,
        .dimension = dimension,
        .number = ast->kind == AST_PI ? 3.14159265358979323846
                                      : unit_to_si(ast->unit, dimension, ast->number),
    };
    return build_node(context, ast, number);
}

static uint32_t emit_text(const struct context *context, const struct ast *ast)
{
    uint32_t node =
        build_node(context, ast, (struct formula_node){.op = OP_TEXT, .type = TYPE_TEXT});
    if (node != NODE_NONE) {
        build_at(context, node)->text = context->base + ast->name.start;
        build_at(context, node)->text_size = ast->name.end - ast->name.start;
    }
    return node;
}

uint32_t emit_expression(const struct context *context, const struct ast *ast)
{
    static emitter *const emitters[] = {
        [AST_NUMBER] = emit_number,
        [AST_TEXT] = emit_text,
        [AST_PATH] = emit_path,
        [AST_CALL] = emit_call,
        [AST_BUILTIN] = emit_builtin,
        [AST_PI] = emit_number,
        [AST_TRUTH] = emit_logic,
        [AST_NEGATE] = emit_negation,
        [AST_NOMINAL] = emit_nominal,
        [AST_KNOWN] = emit_known,
        [AST_NOT] = emit_logic,
        [AST_ADD] = emit_sum,
        [AST_SUBTRACT] = emit_sum,
        [AST_MULTIPLY] = emit_product,
        [AST_DIVIDE] = emit_product,
        [AST_POWER] = emit_power,
        [AST_WIDEN] = emit_widened,
        [AST_OTHERWISE] = emit_otherwise,
        [AST_AND] = emit_logic,
        [AST_OR] = emit_logic,
        [AST_COMPARE] = emit_comparison,
        [AST_INSIDE] = emit_comparison,
        [AST_IS_WORD] = emit_is_word,
        [AST_IS] = emit_is,
        [AST_HAS] = emit_has,
        [AST_BEFORE] = emit_before,
        [AST_MATCHES] = emit_matches,
        [AST_IF] = emit_if,
        [AST_QUANTIFIER] = emit_quantifier,
    };
    emitter *emit = ast->kind == AST_BUILTIN && ast->word == WORD_DISTANCE
                        ? emit_distance
                        : emitters[ast->kind];
    return emit(context, ast);
}
