/* Over lists: every, any, count, distinct, largest, smallest. */
#include "formula/internal_build.h"

bool emit_domain(const struct context *context, const struct ast *path, struct reached *out,
                 struct binding *bound)
{
    struct reached domain;
    if (!name_reach(context, path, &domain))
        return false;
    const struct env_place *place = &domain.place;
    if (domain.node == NODE_NONE && place->type == TYPE_NUMBERS) {
        bound->type = TYPE_QUANTITY;
        bound->dimension = place->dimension;
    } else if (domain.node == NODE_NONE &&
               (place->type == TYPE_LIST || (place->type == TYPE_SECTION && place->indexed))) {
        bound->type = TYPE_RECORD;
        bound->kind = place->kind;
    } else {
        formula_complain(context, path->start, path->end, "a list is expected after `in`");
        return false;
    }
    *out = domain;
    return true;
}

static uint32_t add_domain(const struct context *context, const struct ast *ast,
                           const struct reached *domain, const struct binding *bound)
{
    struct formula_node node = {
        .op = OP_DOMAIN,
        .type = (uint8_t)domain->place.type,
        .kind = bound->kind,
        .dimension = bound->dimension,
        .leaf = domain->place.leaf,
        .a = domain->record,
        .b = bound->slot,
        .c = NODE_NONE,
    };
    return build_node(context, ast->c, node);
}

/* Which slots a part reads that are not bound within it; counted only as far as it matters. */
struct free_slots {
    VECTOR(uint32_t) read, bound;
};

static void collect_slots(const struct formula_builder *builder, uint32_t node,
                          struct free_slots *slots)
{
    const struct formula_node *n = &builder->nodes.items[node];
    if (n->op == OP_SLOT || n->op == OP_RECORD_SLOT)
        VECTOR_ADD(builder->arena, &slots->read, n->a);
    if (n->op == OP_DOMAIN)
        VECTOR_ADD(builder->arena, &slots->bound, n->b);
    uint32_t below[3];
    unsigned count = formula_node_below(n, below);
    for (unsigned i = 0; i < count; i++)
        collect_slots(builder, below[i], slots);
}

static bool holds_slot(const uint32_t *items, size_t count, uint32_t slot)
{
    for (size_t i = 0; i < count; i++)
        if (items[i] == slot)
            return true;
    return false;
}

/* A quantifier's value is kept while the one outer record that it reads, if any, stays the
 * same: so what does not depend on an outer name is computed once. */
static void keep(const struct context *context, uint32_t quantifier)
{
    struct formula_builder *builder = context->builder;
    struct free_slots slots = {0};
    collect_slots(builder, quantifier, &slots);
    uint32_t key = NODE_NONE;
    for (size_t i = 0; i < slots.read.count; i++) {
        uint32_t slot = slots.read.items[i];
        if (slot == key || holds_slot(slots.bound.items, slots.bound.count, slot))
            continue;
        if (key != NODE_NONE || builder->slots.items[slot] != TYPE_RECORD)
            return;
        key = slot;
    }
    if (builder->calls.count >= CALLS_MAX)
        return;
    build_at(context, build_at(context, quantifier)->c)->c = (uint32_t)builder->calls.count;
    struct formula_call call = {
        .body = quantifier,
        .first_slot = key == NODE_NONE ? 0 : key,
        .parameters = key != NODE_NONE,
        .keeps = true,
    };
    VECTOR_ADD(builder->arena, &builder->calls, call);
}

static enum formula_op operation(const struct context *context, enum word word)
{
    switch (word) {
    case WORD_EVERY:
        return context->negate ? OP_ANY : OP_EVERY;
    case WORD_ANY:
        return context->negate ? OP_EVERY : OP_ANY;
    case WORD_COUNT:
        return OP_COUNT;
    case WORD_DISTINCT:
        return OP_DISTINCT;
    case WORD_LARGEST:
        return OP_LARGEST;
    case WORD_SMALLEST:
        return OP_SMALLEST;
    default:
        BUG("no quantifier");
    }
}

static bool emit_body(const struct context *context, const struct ast *ast,
                      struct formula_node *node)
{
    struct context inner = *context;
    bool order = node->op == OP_LARGEST || node->op == OP_SMALLEST;
    if (node->op == OP_COUNT || node->op == OP_DISTINCT)
        inner.nominal = true;
    if (node->op != OP_EVERY && node->op != OP_ANY)
        inner.negate = false;
    bool truth = node->op == OP_EVERY || node->op == OP_ANY || node->op == OP_COUNT;
    node->a = truth ? emit_truth(&inner, ast->a) : emit_any(&inner, ast->a);
    if (node->a == NODE_NONE)
        return false;
    const struct formula_node *body = build_at(context, node->a);
    bool fits = truth || body->type == TYPE_QUANTITY || body->type == TYPE_DATE ||
                (!order && (body->type == TYPE_TEXT || body->type == TYPE_CHOICE));
    if (!fits) {
        formula_complain(context, ast->a->start, ast->a->end,
                         order ? "a quantity is expected; this is %s"
                               : "a quantity, a word or a text is expected; this is %s",
                         name_of_type(context, body));
        return false;
    }
    node->type = order ? body->type : node->op == OP_COUNT ? TYPE_QUANTITY : TYPE_FLAG;
    node->dimension =
        node->op == OP_COUNT || node->op == OP_DISTINCT ? DIMENSION_NONE : body->dimension;
    if (node->op == OP_EVERY || node->op == OP_ANY)
        node->kind = body->kind;
    return true;
}

static bool emit_where(const struct context *context, const struct ast *ast,
                       struct formula_node *node)
{
    node->b = NODE_NONE;
    if (!ast->b)
        return true;
    struct context inner = *context;
    inner.nominal = true;
    inner.negate = false;
    node->b = emit_truth(&inner, ast->b);
    return node->b != NODE_NONE;
}

uint32_t emit_quantifier(const struct context *context, const struct ast *ast)
{
    struct formula_builder *builder = context->builder;
    struct reached domain;
    struct binding bound = {.name = ast->name.text, .next = context->names};
    if (!name_is_free(context, &ast->name, "what a list is gone through with") ||
        !emit_domain(context, ast->c, &domain, &bound))
        return NODE_NONE;
    bound.slot = build_slot(builder, bound.type);
    if (!context->definition)
        VECTOR_ADD(builder->arena, &builder->bound, (struct bound_in){NODE_NONE, bound});
    struct context inner = *context;
    inner.names = &bound;
    struct formula_node node = {.op = (uint8_t)operation(context, ast->word)};
    bool body = emit_body(&inner, ast, &node);
    bool where = emit_where(&inner, ast, &node);
    if (!body || !where)
        return NODE_NONE;
    if (node.op == OP_DISTINCT && context->negate)
        node.part = FLAG_NEGATE;
    node.c = add_domain(context, ast, &domain, &bound);
    if (node.c == NODE_NONE)
        return NODE_NONE;
    uint32_t quantifier = build_node(context, ast, node);
    if (quantifier != NODE_NONE)
        keep(context, quantifier);
    return quantifier;
}
