/* What all that compile formulas have in common: nodes, complaints, and the way from a part of
 * an expression to whoever compiles parts of its kind (emit.c), which none of them needs to
 * know.
 */
#include "formula/internal_build.h"

#include <stdarg.h>
#include <stdio.h>

#include "base/hash.h"

enum { MESSAGE_MAX = 400 };

/* Complaints. */

/* The first trouble in a body that others wrote is told at the call. */
static void complain_of_call(struct call_site *site, const char *text)
{
    if (site->trouble)
        return;
    const struct context *caller = site->caller;
    const struct ast *call = site->call, *one = call->count == 1 ? call->items[0] : call;
    site->trouble = arena_copy(caller->builder->arena, text, strlen(text));
    formula_complain(caller, one->start, one->end, "`%.*s` cannot take %s: in it, %s",
                     VIEW(call->name.text), call->count == 1 ? "this" : "these", site->trouble);
}

void formula_complain(const struct context *context, uint32_t start, uint32_t end,
                      const char *format, ...)
{
    struct formula_builder *builder = context->builder;
    char text[MESSAGE_MAX];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    builder->errors++;
    if (context->site) {
        complain_of_call(context->site, text);
        return;
    }
    if (context->definition)
        context->definition->reported = true;
    if (!context->muted)
        builder->report(builder->user, context->origin, start, end, text);
}

const char *name_of_dimension(const struct context *context, struct dimension dimension)
{
    const char *name = dimension_name(dimension, context->builder->arena);
    if (strpbrk(name, "*/^"))
        return arena_format(context->builder->arena, "a quantity in %s", name);
    bool vowel = name[0] && strchr("aeiou", name[0]) != NULL;
    return arena_format(context->builder->arena, "%s %s", vowel ? "an" : "a", name);
}

static const char *type_name(enum value_type type)
{
    switch (type) {
    case TYPE_QUANTITY:
        return "a quantity";
    case TYPE_DATE:
        return "a date";
    case TYPE_FLAG:
        return "a yes or no";
    case TYPE_CHOICE:
        return "a word";
    case TYPE_WORDS:
        return "a list of words";
    case TYPE_TEXT:
        return "a text";
    case TYPE_NUMBERS:
        return "a list of quantities";
    case TYPE_RECORD:
        return "a thing with fields of its own";
    case TYPE_LIST:
        return "a list";
    case TYPE_PAIR:
        return "a pair of `low` and `high`";
    case TYPE_PLACE:
        return "a place";
    case TYPE_RECTANGLE:
        return "an area";
    case TYPE_SECTION:
        return "a section";
    }
    return "something else";
}

const char *name_of_type(const struct context *context, const struct formula_node *node)
{
    if (node->type == TYPE_QUANTITY)
        return name_of_dimension(context, node->dimension);
    return type_name(node->type);
}

/* Nodes. */

uint32_t build_node(const struct context *context, const struct ast *ast,
                    struct formula_node model)
{
    struct formula_builder *builder = context->builder;
    if (builder->nodes.count >= FORMULA_NODES_MAX) {
        uint32_t start = ast ? ast->start : 0, end = ast ? ast->end : 0;
        if (!builder->full)
            formula_complain(context, start, end, "there are too many formulas");
        builder->full = true;
        builder->errors++;
        return NODE_NONE;
    }
    if (ast) {
        model.text = context->base + ast->start;
        model.text_size = ast->end - ast->start;
    }
    VECTOR_ADD(builder->arena, &builder->nodes, model);
    return (uint32_t)builder->nodes.count - 1;
}

struct formula_node *build_at(const struct context *context, uint32_t node)
{
    return &context->builder->nodes.items[node];
}

uint32_t build_slot(struct formula_builder *builder, enum value_type type)
{
    VECTOR_ADD(builder->arena, &builder->slots, (uint8_t)type);
    return (uint32_t)builder->slots.count - 1;
}

uint32_t build_text(struct formula_builder *builder, struct view text)
{
    uint32_t start = (uint32_t)builder->text.size;
    buffer_add(&builder->text, text);
    buffer_byte(&builder->text, '\n');
    return start;
}

struct definition *definition_find(const struct formula_builder *builder, struct view name)
{
    struct definition *d = builder->buckets[hash_bytes(name) % DEFINITION_BUCKETS];
    while (d && !view_equal(d->name, name))
        d = d->next_in_bucket;
    return d;
}

/* Parts. */

uint32_t emit_any(const struct context *context, const struct ast *ast)
{
    return context->builder->emit(context, ast);
}

uint32_t emit_quantity(const struct context *context, const struct ast *ast)
{
    uint32_t node = emit_any(context, ast);
    if (node == NODE_NONE || build_at(context, node)->type == TYPE_QUANTITY)
        return node;
    formula_complain(context, ast->start, ast->end, "a quantity is expected; this is %s",
                     name_of_type(context, build_at(context, node)));
    return NODE_NONE;
}

uint32_t emit_truth(const struct context *context, const struct ast *ast)
{
    uint32_t node = emit_any(context, ast);
    if (node == NODE_NONE || build_at(context, node)->type == TYPE_FLAG)
        return node;
    formula_complain(context, ast->start, ast->end, "a condition is expected; this is %s",
                     name_of_type(context, build_at(context, node)));
    return NODE_NONE;
}

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

struct dimension build_margin(const struct formula_node *side)
{
    return side->type == TYPE_DATE ? DIMENSION_TIME : side->dimension;
}

uint32_t emit_equal(const struct context *context, const struct ast *ast, uint32_t a,
                    uint32_t b)
{
    struct formula_node node = {
        .op = OP_EQUAL,
        .type = TYPE_FLAG,
        .kind = !context->nominal,
        .part = context->negate ? FLAG_NEGATE : 0,
        .dimension = build_margin(build_at(context, a)),
        .a = a,
        .b = b,
    };
    return build_node(context, ast, node);
}
