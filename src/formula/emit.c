/* From trees to nodes: where each kind of expression is sent, and the numbering of nodes. */
#include "formula/internal_build.h"

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

uint32_t emit_any(const struct context *context, const struct ast *ast)
{
    switch (ast->kind) {
    case AST_NUMBER:
    case AST_PI:
        return emit_number(context, ast);
    case AST_TEXT:
        return emit_text(context, ast);
    case AST_PATH:
        return emit_path(context, ast);
    case AST_CALL:
        return emit_call(context, ast);
    case AST_BUILTIN:
        return ast->word == WORD_DISTANCE ? emit_distance(context, ast)
                                          : emit_builtin(context, ast);
    case AST_NEGATE:
    case AST_ADD:
    case AST_SUBTRACT:
    case AST_MULTIPLY:
    case AST_DIVIDE:
    case AST_POWER:
        return emit_arithmetic(context, ast);
    case AST_NOMINAL:
        return emit_nominal(context, ast);
    case AST_WIDEN:
        return emit_widened(context, ast);
    case AST_OTHERWISE:
        return emit_otherwise(context, ast);
    case AST_IF:
        return emit_if(context, ast);
    case AST_KNOWN:
        return emit_known(context, ast);
    case AST_TRUTH:
    case AST_NOT:
    case AST_AND:
    case AST_OR:
        return emit_logic(context, ast);
    case AST_COMPARE:
    case AST_INSIDE:
        return emit_comparison(context, ast);
    case AST_IS_WORD:
    case AST_IS:
    case AST_HAS:
    case AST_BEFORE:
    case AST_MATCHES:
        return emit_word_test(context, ast);
    case AST_QUANTIFIER:
        return emit_quantifier(context, ast);
    }
    BUG("an expression of no kind");
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
