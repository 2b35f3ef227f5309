/* Comparisons of quantities and dates.
 *
 * All four become `a is at least b`, strict or not, so that what is to spare is always a - b.
 * Against a `largest` or `smallest` they are made element by element where that means the same
 * and says more: the margin is then that of one element with its own tolerances.
 */
#include "formula/internal_build.h"

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

static struct dimension margin_dimension(const struct formula_node *side)
{
    return side->type == TYPE_DATE ? DIMENSION_TIME : side->dimension;
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
        .dimension = margin_dimension(build_at(context, a)),
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
        .dimension = margin_dimension(build_at(context, x)),
        .a = x,
        .b = low,
        .c = high,
    };
    return build_node(context, ast, node);
}

uint32_t emit_comparison(const struct context *context, const struct ast *ast)
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

uint32_t emit_equal(const struct context *context, const struct ast *ast, uint32_t a,
                    uint32_t b)
{
    struct formula_node node = {
        .op = OP_EQUAL,
        .type = TYPE_FLAG,
        .kind = !context->nominal,
        .part = context->negate ? FLAG_NEGATE : 0,
        .dimension = margin_dimension(build_at(context, a)),
        .a = a,
        .b = b,
    };
    return build_node(context, ast, node);
}
