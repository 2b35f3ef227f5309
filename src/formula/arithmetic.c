/* Arithmetic with dimensions: checked once here, so that the evaluator need not.
 *
 * Numbers that stand for themselves are worked out at once, with the same operations that the
 * nominal values of forms go through.
 */
#include "formula/internal_build.h"

#include <math.h>

void emit_reconcile(const struct context *context, const struct ast *a, uint32_t node_a,
                    const struct ast *b, uint32_t node_b)
{
    const struct ast *asts[2] = {a, b};
    struct formula_node *nodes[2] = {build_at(context, node_a), build_at(context, node_b)};
    for (int i = 0; i < 2; i++) {
        struct dimension wanted = nodes[1 - i]->dimension;
        if (asts[i]->kind != AST_NUMBER || nodes[i]->op != OP_NUMBER ||
            nodes[1 - i]->type != TYPE_QUANTITY || asts[i]->unit == UNIT_BARE ||
            dimension_equal(nodes[i]->dimension, wanted) || !unit_fits(asts[i]->unit, wanted))
            continue;
        nodes[i]->dimension = wanted;
        nodes[i]->number = unit_to_si(asts[i]->unit, wanted, asts[i]->number);
        return;
    }
}

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

uint32_t emit_arithmetic(const struct context *context, const struct ast *ast)
{
    switch (ast->kind) {
    case AST_ADD:
    case AST_SUBTRACT:
        return emit_sum(context, ast);
    case AST_MULTIPLY:
    case AST_DIVIDE:
        return emit_product(context, ast);
    case AST_NEGATE:
        return emit_negation(context, ast);
    case AST_POWER:
        return emit_power(context, ast);
    default:
        BUG("no arithmetic");
    }
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

uint32_t emit_builtin(const struct context *context, const struct ast *ast)
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

uint32_t emit_nominal(const struct context *context, const struct ast *ast)
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

uint32_t emit_widened(const struct context *context, const struct ast *ast)
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
