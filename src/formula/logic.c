/* Truths from truths: and, or, not, if, otherwise, known.
 *
 * `not` is pushed down to what it finally denies, so the evaluator meets no `not`: the opposite
 * of an `and` is an `or` of opposites, and so on down to comparisons, words and quantifiers.
 */
#include "formula/internal_build.h"

bool emit_join_margins(const struct context *context, const struct ast *ast,
                       struct formula_node *node, uint32_t a, uint32_t b)
{
    const struct formula_node *x = build_at(context, a), *y = build_at(context, b);
    node->kind = x->kind || y->kind;
    node->dimension = x->kind ? x->dimension : y->dimension;
    if (!x->kind || !y->kind || dimension_equal(x->dimension, y->dimension))
        return true;
    formula_complain(context, ast->start, ast->end,
                     "this joins a margin that is %s with one that is %s: write two rules",
                     name_of_dimension(context, x->dimension),
                     name_of_dimension(context, y->dimension));
    return false;
}

static uint32_t emit_joined(const struct context *context, const struct ast *ast)
{
    uint32_t a = emit_truth(context, ast->a), b = emit_truth(context, ast->b);
    if (a == NODE_NONE || b == NODE_NONE)
        return NODE_NONE;
    bool both = (ast->kind == AST_AND) != context->negate;
    struct formula_node node = {.op = both ? OP_AND : OP_OR, .type = TYPE_FLAG, .a = a, .b = b};
    if (!emit_join_margins(context, ast, &node, a, b))
        return NODE_NONE;
    return build_node(context, ast, node);
}

uint32_t emit_logic(const struct context *context, const struct ast *ast)
{
    struct context inner = *context;
    switch (ast->kind) {
    case AST_TRUTH:
        return build_node(
            context, ast,
            (struct formula_node){.op = OP_TRUTH,
                                  .type = TYPE_FLAG,
                                  .number = (ast->word == WORD_YES) != context->negate});
    case AST_NOT:
        inner.negate = !context->negate;
        return emit_truth(&inner, ast->a);
    default:
        return emit_joined(context, ast);
    }
}

/* Do two alternatives give the same kind of thing?  Fills in what comes of them. */
static bool same_kind(const struct context *context, const struct ast *ast, const struct ast *a,
                      const struct ast *b, struct formula_node *node)
{
    uint32_t left = ast->kind == AST_IF ? node->b : node->a;
    uint32_t right = ast->kind == AST_IF ? node->c : node->b;
    emit_reconcile(context, a, left, b, right);
    const struct formula_node *x = build_at(context, left), *y = build_at(context, right);
    node->type = x->type;
    node->dimension = x->dimension;
    bool may = x->type == TYPE_QUANTITY || x->type == TYPE_DATE || x->type == TYPE_TEXT ||
               x->type == TYPE_FLAG || x->type == TYPE_RECORD;
    bool same = x->type == y->type;
    if (same && x->type == TYPE_QUANTITY)
        same = dimension_equal(x->dimension, y->dimension);
    if (same && x->type == TYPE_RECORD) {
        same = x->kind == y->kind;
        node->kind = x->kind;
    }
    if (!may || !same) {
        formula_complain(
            context, ast->start, ast->end,
            may ? "both sides must be of one kind; %s and %s are not"
                : "quantities, dates, texts and conditions can be chosen between, not %s and %s",
            name_of_type(context, x), name_of_type(context, y));
        return false;
    }
    return x->type != TYPE_FLAG || emit_join_margins(context, ast, node, left, right);
}

uint32_t emit_if(const struct context *context, const struct ast *ast)
{
    struct context condition = *context;
    bool words = context->telling && ast->b->kind == AST_TEXT;
    condition.nominal = !words;
    condition.negate = false;
    struct formula_node node = {.op = OP_IF};
    node.a = emit_truth(&condition, ast->a);
    node.b = emit_any(context, ast->b);
    node.c = emit_any(context, ast->c);
    if (node.a == NODE_NONE || node.b == NODE_NONE || node.c == NODE_NONE ||
        !same_kind(context, ast, ast->b, ast->c, &node))
        return NODE_NONE;
    return build_node(context, ast, node);
}

uint32_t emit_otherwise(const struct context *context, const struct ast *ast)
{
    struct formula_node node = {.op = OP_OTHERWISE};
    node.a = emit_any(context, ast->a);
    node.b = emit_any(context, ast->b);
    if (node.a == NODE_NONE || node.b == NODE_NONE ||
        !same_kind(context, ast, ast->a, ast->b, &node))
        return NODE_NONE;
    return build_node(context, ast, node);
}

/* Of a place or an area: both its axes. */
static uint32_t emit_known_place(const struct context *context, const struct ast *ast,
                                 const struct reached *place)
{
    static const char *const letters[] = {"x", "y"};
    struct formula_node both = {.op = context->negate ? OP_OR : OP_AND, .type = TYPE_FLAG};
    uint32_t nodes[2];
    for (int i = 0; i < 2; i++) {
        struct reached axis;
        if (!name_reach_step(context, place, view_of(letters[i]), &axis))
            BUG("a place without %s", letters[i]);
        struct formula_node known = {
            .op = OP_KNOWN, .type = TYPE_FLAG, .part = context->negate ? FLAG_NEGATE : 0};
        known.a = name_node(context, ast, &axis);
        nodes[i] = known.a == NODE_NONE ? NODE_NONE : build_node(context, ast, known);
        if (nodes[i] == NODE_NONE)
            return NODE_NONE;
    }
    both.a = nodes[0];
    both.b = nodes[1];
    return build_node(context, ast, both);
}

uint32_t emit_known(const struct context *context, const struct ast *ast)
{
    struct context inner = *context;
    inner.negate = false;
    inner.nominal = true;
    uint32_t a;
    if (ast->a->kind == AST_PATH) {
        struct reached reached;
        if (!name_reach(&inner, ast->a, &reached))
            return NODE_NONE;
        bool place = reached.node == NODE_NONE &&
                     (reached.place.type == TYPE_PLACE || reached.place.type == TYPE_RECTANGLE);
        if (place)
            return emit_known_place(context, ast, &reached);
        a = name_node(&inner, ast->a, &reached);
    } else {
        a = emit_any(&inner, ast->a);
    }
    if (a == NODE_NONE)
        return NODE_NONE;
    struct formula_node node = {
        .op = OP_KNOWN, .type = TYPE_FLAG, .part = context->negate ? FLAG_NEGATE : 0, .a = a};
    return build_node(context, ast, node);
}
