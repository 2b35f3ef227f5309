/* The builder: definitions and formulas one after another into one program. */
#include "formula/compile.h"

#include "base/hash.h"
#include "formula/internal_build.h"

struct formula_builder *formula_begin(struct arena *arena,
                                      const struct environment *environment,
                                      formula_report *report, void *user)
{
    struct formula_builder *builder = ARENA_NEW(arena, struct formula_builder);
    builder->arena = arena;
    builder->environment = environment;
    builder->report = report;
    builder->user = user;
    builder->emit = emit_expression;
    builder->last = &builder->first;
    buffer_init(&builder->text, arena);
    return builder;
}

/* A text copied into the pool.  What the pool outgrows stays in the arena, so the view stays
 * good. */
static struct view pooled(struct formula_builder *builder, struct view text, uint32_t *base)
{
    *base = build_text(builder, text);
    return (struct view){builder->text.data + *base, text.size};
}

static const struct ast *tell(const struct context *context, const struct ast *ast,
                              const struct syntax_trouble *trouble)
{
    if (!ast)
        formula_complain(context, trouble->start, trouble->end, "%s", trouble->message);
    return ast;
}

static const struct ast *read_formula(struct context *context, struct view text)
{
    struct syntax_trouble trouble;
    struct view copy = pooled(context->builder, text, &context->base);
    return tell(context, syntax_read(context->builder->arena, copy, &trouble), &trouble);
}

/* The chain of names of a formula: the scope's, and those that `requirement` binds. */
static const struct binding *names_of(struct formula_builder *builder,
                                      const struct formula_scope *scope, uint32_t requirement)
{
    const struct binding *names = NULL;
    if (scope && scope->name.size) {
        struct binding *each = ARENA_NEW(builder->arena, struct binding);
        *each = (struct binding){.name = scope->name,
                                 .slot = scope->slot,
                                 .type = TYPE_RECORD,
                                 .kind = scope->domain.kind};
        names = each;
    }
    for (size_t i = builder->bound.count; requirement != NODE_NONE && i-- > 0;) {
        if (builder->bound.items[i].requirement != requirement)
            continue;
        struct binding *bound = ARENA_NEW(builder->arena, struct binding);
        *bound = builder->bound.items[i].binding;
        bound->next = names;
        names = bound;
    }
    return names;
}

/* Definitions. */

static bool head_names_are_free(const struct context *context, const struct ast *head)
{
    bool good = name_is_free(context, &head->name, "a definition");
    struct binding parameters[SYNTAX_ITEMS_MAX];
    struct context inner = *context;
    for (uint32_t i = 0; i < head->count; i++) {
        const struct ast_name *name = &head->items[i]->names[0];
        good &= name_is_free(&inner, name, "what a definition takes");
        if (view_equal(name->text, head->name.text)) {
            formula_complain(context, name->start, name->end, "`%.*s` is the definition itself",
                             VIEW(name->text));
            good = false;
        }
        parameters[i] = (struct binding){.name = name->text, .next = inner.names};
        inner.names = &parameters[i];
    }
    if (head->count > PARAMETERS_MAX) {
        formula_complain(context, head->start, head->end,
                         "a definition takes at most %d values", PARAMETERS_MAX);
        good = false;
    }
    return good;
}

static void add_definition(struct formula_builder *builder, struct definition *definition)
{
    struct definition **bucket =
        &builder->buckets[hash_bytes(definition->name) % DEFINITION_BUCKETS];
    definition->next_in_bucket = *bucket;
    *bucket = definition;
    *builder->last = definition;
    builder->last = &definition->next;
}

void formula_define(struct formula_builder *builder, struct view head, uint32_t head_origin,
                    struct view body, uint32_t body_origin)
{
    struct context context = {.builder = builder, .origin = head_origin};
    struct syntax_trouble trouble;
    struct view copy = pooled(builder, head, &context.base);
    const struct ast *what =
        tell(&context, syntax_head(builder->arena, copy, &trouble), &trouble);
    struct context inner = {.builder = builder, .origin = body_origin};
    const struct ast *formula = read_formula(&inner, body);
    if (!what || !head_names_are_free(&context, what))
        return;
    struct definition *definition = ARENA_NEW(builder->arena, struct definition);
    *definition = (struct definition){
        .name = what->name.text,
        .head = what,
        .body = formula,
        .name_start = context.base + what->name.start,
        .name_size = (uint32_t)what->name.text.size,
        .base = inner.base,
        .origin = body_origin,
        .head_origin = head_origin,
    };
    add_definition(builder, definition);
}

void formula_lend(struct formula_builder *builder)
{
    for (struct definition *d = builder->first; d; d = d->next)
        d->lent = true;
}

/* Formulas. */

static struct context formula_context(struct formula_builder *builder,
                                      const struct formula_scope *scope, uint32_t requirement,
                                      uint32_t origin)
{
    return (struct context){
        .builder = builder,
        .origin = origin,
        .names = names_of(builder, scope, requirement),
    };
}

bool formula_each(struct formula_builder *builder, struct view text, uint32_t origin,
                  struct formula_scope *scope)
{
    struct context context = {.builder = builder, .origin = origin};
    struct syntax_trouble trouble;
    struct view copy = pooled(builder, text, &context.base);
    const struct ast *each =
        tell(&context, syntax_each(builder->arena, copy, &trouble), &trouble);
    struct reached domain;
    struct binding bound;
    if (!each || !name_is_free(&context, &each->name, "`each`") ||
        !emit_domain(&context, each->c, &domain, &bound))
        return false;
    if (bound.type != TYPE_RECORD) {
        formula_complain(
            &context, each->c->start, each->c->end,
            "a rule is asked of things with fields; go through a list of quantities inside it");
        return false;
    }
    *scope = (struct formula_scope){
        .name = each->name.text,
        .slot = build_slot(builder, TYPE_RECORD),
        .domain = domain.place,
    };
    return true;
}

/* The errors of what is compiled next decide whether there is a node. */
static uint32_t unless_wrong(const struct formula_builder *builder, size_t errors,
                             uint32_t node)
{
    return builder->errors == errors ? node : NODE_NONE;
}

static uint32_t compile_truth(struct formula_builder *builder,
                              const struct formula_scope *scope, bool nominal, struct view text,
                              uint32_t origin)
{
    size_t errors = builder->errors, bound = builder->bound.count;
    struct context context = formula_context(builder, scope, NODE_NONE, origin);
    context.nominal = nominal;
    const struct ast *ast = read_formula(&context, text);
    uint32_t node = ast ? emit_truth(&context, ast) : NODE_NONE;
    node = unless_wrong(builder, errors, node);
    for (size_t i = bound; i < builder->bound.count; i++)
        builder->bound.items[i].requirement = node;
    return node;
}

uint32_t formula_requirement(struct formula_builder *builder, const struct formula_scope *scope,
                             struct view text, uint32_t origin)
{
    return compile_truth(builder, scope, false, text, origin);
}

uint32_t formula_condition(struct formula_builder *builder, const struct formula_scope *scope,
                           struct view text, uint32_t origin)
{
    return compile_truth(builder, scope, true, text, origin);
}

static uint32_t emit_field(const struct context *context, const struct ast *ast)
{
    struct reached reached;
    if (ast->kind != AST_PATH) {
        formula_complain(context, ast->start, ast->end, "a field is expected");
        return NODE_NONE;
    }
    if (!name_reach(context, ast, &reached))
        return NODE_NONE;
    uint32_t node = name_node(context, ast, &reached);
    if (node == NODE_NONE)
        return NODE_NONE;
    uint8_t op = build_at(context, node)->op;
    if (op == OP_LEAF || op == OP_FLAG || op == OP_RECORD_LEAF)
        return node;
    formula_complain(context, ast->start, ast->end,
                     "a field is expected; this has no place of its own");
    return NODE_NONE;
}

uint32_t formula_field(struct formula_builder *builder, const struct formula_scope *scope,
                       uint32_t requirement, struct view text, uint32_t origin)
{
    size_t errors = builder->errors;
    struct context context = formula_context(builder, scope, requirement, origin);
    context.lenient = requirement == NODE_NONE;
    const struct ast *ast = read_formula(&context, text);
    return unless_wrong(builder, errors, ast ? emit_field(&context, ast) : NODE_NONE);
}

uint32_t formula_shown(struct formula_builder *builder, const struct formula_scope *scope,
                       uint32_t requirement, struct view text, uint32_t origin)
{
    size_t errors = builder->errors, bound = builder->bound.count;
    struct context context = formula_context(builder, scope, requirement, origin);
    struct formula_node asked = {0};
    context.telling = true;
    context.lenient = requirement == NODE_NONE;
    if (requirement != NODE_NONE) {
        asked = builder->nodes.items[requirement];
        context.margin_of = &asked;
    }
    const struct ast *ast = read_formula(&context, text);
    uint32_t node = ast ? emit_any(&context, ast) : NODE_NONE;
    if (node != NODE_NONE && build_at(&context, node)->type == TYPE_PAIR) {
        formula_complain(&context, ast->start, ast->end,
                         "a pair is shown by its `.low` and `.high`");
        node = NODE_NONE;
    }
    builder->bound.count = bound;
    return unless_wrong(builder, errors, node);
}

bool formula_margin(const struct formula_builder *builder, uint32_t requirement,
                    struct dimension *dimension)
{
    if (requirement == NODE_NONE || !builder->nodes.items[requirement].kind)
        return false;
    *dimension = builder->nodes.items[requirement].dimension;
    return true;
}

/* Where what is read is kept: each number, but not more than of any sane rulebook, and each
 * leaf of the root or of a record that is always the same, by its part and with its tolerance
 * or without.  Others have a place in common with their like, for as long as they are looked
 * at.  The first is that of lists. */
static uint32_t give_places(struct formula_builder *builder)
{
    enum { PARTS = PART_MASK + 1 + FLAG_NOMINAL, RECORDS = 8, NUMBERS_KEPT_MAX = 4096 };
    size_t leaves = 0;
    for (size_t i = 0; i < builder->nodes.count; i++)
        if (builder->nodes.items[i].leaf >= leaves)
            leaves = builder->nodes.items[i].leaf + 1u;
    uint32_t *places = ARENA_ARRAY(builder->arena, uint32_t, leaves * PARTS * RECORDS);
    uint32_t count = 1, numbers = 0;
    for (size_t i = 0; i < builder->nodes.count; i++) {
        struct formula_node *n = &builder->nodes.items[i];
        if (n->op == OP_NUMBER && numbers++ < NUMBERS_KEPT_MAX) {
            n->part |= FLAG_ONE;
            n->c = count++;
        }
        if (!op_reads_leaf(n->op))
            continue;
        const struct formula_node *of = &builder->nodes.items[n->a == NODE_NONE ? i : n->a];
        uint32_t record = n->a == NODE_NONE ? 1 : of->op == OP_RECORD_FIXED ? of->a + 2 : 0;
        if (record >= RECORDS)
            record = 0;
        if (record)
            n->part |= FLAG_ONE;
        uint32_t part = n->part & (PARTS - 1u);
        uint32_t *place = &places[(n->leaf * (uint32_t)PARTS + part) * RECORDS + record];
        if (!*place)
            *place = count++;
        n->c = *place;
    }
    return count;
}

void formula_finish(struct formula_builder *builder, struct program *out)
{
    definitions_check(builder);
    if (!builder->text.data)
        buffer_text(&builder->text, "");
    *out = (struct program){
        .nodes = builder->nodes.items,
        .node_count = (uint32_t)builder->nodes.count,
        .calls = builder->calls.items,
        .call_count = (uint32_t)builder->calls.count,
        .slot_count = (uint32_t)builder->slots.count,
        .place_count = give_places(builder),
        .text = buffer_string(&builder->text),
        .text_size = (uint32_t)builder->text.size,
    };
}
