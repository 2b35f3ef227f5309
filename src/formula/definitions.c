/* Definitions: compiled once for each kind of arguments they are called with.
 *
 * The kinds are part of a definition's meaning, since its names are looked up in what the
 * parameters stand for.  Values without tolerances and opposites of truths are compiled apart
 * too, so that the evaluator needs no modes.
 */
#include "formula/internal_build.h"

#include "text/nearest.h"

/* The arguments of one call: their nodes and what they make of the parameters. */
struct arguments {
    uint32_t nodes[PARAMETERS_MAX];
    struct binding parameters[PARAMETERS_MAX];
    uint32_t count;
};

static bool same_kinds(const struct instance *instance, const struct arguments *arguments)
{
    for (uint32_t i = 0; i < arguments->count; i++) {
        const struct binding *a = &instance->parameters[i], *b = &arguments->parameters[i];
        if (a->type != b->type || a->kind != b->kind ||
            !dimension_equal(a->dimension, b->dimension))
            return false;
    }
    return true;
}

static bool is_truth(const struct formula_builder *builder, const struct instance *instance)
{
    uint32_t body = builder->calls.items[instance->call].body;
    return body != NODE_NONE && builder->nodes.items[body].type == TYPE_FLAG;
}

/* One that serves already: only truths have opposites, so others are shared. */
static struct instance *find_instance(const struct context *context,
                                      struct definition *definition,
                                      const struct arguments *arguments)
{
    for (struct instance *i = definition->instances; i; i = i->next) {
        if (i->nominal != context->nominal || !same_kinds(i, arguments))
            continue;
        if (i->negate == context->negate || i->failed || !is_truth(context->builder, i))
            return i;
    }
    return NULL;
}

static void bind_parameters(struct formula_builder *builder,
                            const struct definition *definition,
                            const struct arguments *arguments, struct instance *instance)
{
    for (uint32_t i = 0; i < arguments->count; i++) {
        instance->parameters[i] = arguments->parameters[i];
        instance->parameters[i].name = definition->head->items[i]->names[0].text;
        instance->parameters[i].slot = build_slot(builder, arguments->parameters[i].type);
        instance->parameters[i].next =
            i + 1 < arguments->count ? &instance->parameters[i + 1] : NULL;
    }
}

static bool all_records(const struct arguments *arguments)
{
    for (uint32_t i = 0; i < arguments->count; i++)
        if (arguments->parameters[i].type != TYPE_RECORD)
            return false;
    return arguments->count <= KEEP_KEYS;
}

static bool is_value(const struct context *context, const struct definition *definition,
                     uint32_t node)
{
    uint8_t type = build_at(context, node)->type;
    if (type == TYPE_QUANTITY || type == TYPE_DATE || type == TYPE_TEXT || type == TYPE_FLAG)
        return true;
    formula_complain(context, definition->body->start, definition->body->end,
                     "a definition is a quantity, a date, a text or a condition; this is %s",
                     name_of_type(context, build_at(context, node)));
    return false;
}

static void compile_body(const struct context *context, const struct ast *call,
                         struct definition *definition, struct instance *instance)
{
    struct formula_builder *builder = context->builder;
    struct call_site site = {.caller = context, .call = call};
    struct call_site *outermost = definition->lent && call ? &site : NULL;
    struct context inner = {
        .builder = builder,
        .origin = definition->origin,
        .base = definition->base,
        .names = definition->head->count ? &instance->parameters[0] : NULL,
        .nominal = context->nominal,
        .negate = context->negate,
        .muted = definition->reported,
        .definition = definition,
        .site = context->site ? context->site : outermost,
    };
    uint32_t below = builder->below, calls_below = builder->calls_below;
    builder->below = builder->calls_below = 0;
    builder->compiling++;
    definition->compiling = true;
    uint32_t node = emit_any(&inner, definition->body);
    if (node != NODE_NONE && !is_value(&inner, definition, node))
        node = NODE_NONE;
    instance->depth = definition->body->depth + builder->below;
    instance->calls = 1 + builder->calls_below;
    bool deep = instance->depth > CALL_DEPTH_MAX || instance->calls > FORMULA_CALLS_MAX;
    if (node != NODE_NONE && deep) {
        formula_complain(&inner, definition->body->start, definition->body->end,
                         "what `%.*s` is made of is nested too deep", VIEW(definition->name));
        node = NODE_NONE;
    }
    definition->compiling = false;
    builder->compiling--;
    builder->below = below;
    builder->calls_below = calls_below;
    instance->failed = node == NODE_NONE;
    instance->trouble = inner.site ? inner.site->trouble : NULL;
    builder->calls.items[instance->call].body = node;
}

static struct instance *make_instance(const struct context *context, const struct ast *ast,
                                      struct definition *definition,
                                      const struct arguments *arguments)
{
    struct formula_builder *builder = context->builder;
    struct instance *instance = ARENA_NEW(builder->arena, struct instance);
    instance->nominal = context->nominal;
    instance->negate = context->negate;
    instance->next = definition->instances;
    definition->instances = instance;
    instance->call = (uint32_t)builder->calls.count;
    struct formula_call call = {
        .body = NODE_NONE,
        .first_slot = (uint32_t)builder->slots.count,
        .parameters = arguments->count,
        .keeps = all_records(arguments),
        .name = definition->name_start,
        .name_size = definition->name_size,
    };
    VECTOR_ADD(builder->arena, &builder->calls, call);
    bind_parameters(builder, definition, arguments, instance);
    compile_body(context, ast, definition, instance);
    return instance;
}

static bool read_arguments(const struct context *context, const struct ast *call,
                           struct arguments *out)
{
    struct context inner = *context;
    inner.negate = false;
    bool good = true;
    for (uint32_t i = 0; i < call->count; i++) {
        uint32_t node = emit_any(&inner, call->items[i]);
        out->nodes[i] = node;
        if (node == NODE_NONE) {
            good = false;
            continue;
        }
        const struct formula_node *value = build_at(context, node);
        if (value->type != TYPE_QUANTITY && value->type != TYPE_RECORD) {
            formula_complain(context, call->items[i]->start, call->items[i]->end,
                             "`%.*s` takes quantities and things with fields; this is %s",
                             VIEW(call->name.text), name_of_type(context, value));
            good = false;
            continue;
        }
        bool record = value->type == TYPE_RECORD;
        out->parameters[i] =
            (struct binding){.type = value->type,
                             .kind = record ? value->kind : 0,
                             .dimension = record ? DIMENSION_NONE : value->dimension};
    }
    out->count = call->count;
    return good;
}

static void tell_unknown(const struct context *context, const struct ast_name *name)
{
    const struct formula_builder *builder = context->builder;
    VECTOR(struct view) names = {0};
    for (const struct definition *d = builder->first; d; d = d->next)
        VECTOR_ADD(builder->arena, &names, d->name);
    int nearest = nearest_of(name->text, names.items, names.count);
    if (nearest >= 0)
        formula_complain(context, name->start, name->end, "`%.*s` is not defined; `%.*s` is",
                         VIEW(name->text), VIEW(names.items[nearest]));
    else
        formula_complain(context, name->start, name->end, "`%.*s` is not defined",
                         VIEW(name->text));
}

/* Says what stands against calling this definition here; true where nothing does. */
static bool may_call(const struct context *context, const struct ast *call,
                     const struct definition *definition)
{
    const struct formula_builder *builder = context->builder;
    uint32_t wanted = definition->head->count;
    if (call->count != wanted)
        formula_complain(context, call->start, call->end,
                         "`%.*s` takes %u value%s in parentheses, not %u",
                         VIEW(definition->name), wanted, wanted == 1 ? "" : "s", call->count);
    else if (definition->compiling)
        formula_complain(context, call->name.start, call->name.end,
                         "`%.*s` is defined by itself, here or through others",
                         VIEW(definition->name));
    else if (builder->compiling >= FORMULA_CALLS_MAX)
        formula_complain(context, call->name.start, call->name.end,
                         "definitions stand within definitions more than %d deep",
                         FORMULA_CALLS_MAX);
    else if (builder->calls.count >= CALLS_MAX)
        formula_complain(context, call->name.start, call->name.end,
                         "definitions are used with too many different kinds of values");
    else
        return true;
    return false;
}

static uint32_t add_arguments(const struct context *context, const struct ast *call,
                              const struct arguments *arguments)
{
    uint32_t next = NODE_NONE;
    for (uint32_t i = arguments->count; i-- > 0;) {
        struct formula_node argument = {.op = OP_ARGUMENT, .a = arguments->nodes[i], .b = next};
        next = build_node(context, call->items[i], argument);
        if (next == NODE_NONE)
            return NODE_NONE;
    }
    return next;
}

/* A call that cannot be, for what was found out at an earlier one like it. */
static void tell_again(const struct context *context, const struct ast *call,
                       const struct instance *instance)
{
    struct call_site site = {.caller = context, .call = call};
    struct context inner = {.builder = context->builder,
                            .site = context->site ? context->site : &site};
    if (instance->trouble)
        formula_complain(&inner, 0, 0, "%s", instance->trouble);
    else
        context->builder->errors++;
}

uint32_t emit_call(const struct context *context, const struct ast *call)
{
    struct formula_builder *builder = context->builder;
    struct definition *definition = definition_find(builder, call->name.text);
    struct arguments arguments = {.count = 0};
    if (!definition) {
        tell_unknown(context, &call->name);
        return NODE_NONE;
    }
    if (!may_call(context, call, definition) || !read_arguments(context, call, &arguments))
        return NODE_NONE;
    if (!definition->body) {
        builder->errors++;
        return NODE_NONE;
    }
    struct instance *instance = find_instance(context, definition, &arguments);
    bool before = instance != NULL;
    if (!before)
        instance = make_instance(context, call, definition, &arguments);
    if (instance->depth > builder->below)
        builder->below = instance->depth;
    if (instance->calls > builder->calls_below)
        builder->calls_below = instance->calls;
    if (instance->failed && before)
        tell_again(context, call, instance);
    else if (instance->failed)
        builder->errors++;
    if (instance->failed)
        return NODE_NONE;
    const struct formula_node *body =
        build_at(context, builder->calls.items[instance->call].body);
    struct formula_node node = {
        .op = OP_CALL,
        .type = body->type,
        .kind = body->type == TYPE_FLAG ? body->kind : 0,
        .part = context->nominal ? FLAG_NOMINAL : 0,
        .dimension = body->dimension,
        .a = instance->call,
    };
    node.b = add_arguments(context, call, &arguments);
    if (arguments.count && node.b == NODE_NONE)
        return NODE_NONE;
    return build_node(context, call, node);
}

/* Bound names hide nothing, and a definition may stand before or after the one it would hide.
 */
static void check_parameters(struct formula_builder *builder, struct definition *definition)
{
    struct context context = {.builder = builder, .origin = definition->head_origin};
    struct context inner = context;
    inner.definition = definition;
    for (uint32_t i = 0; i < definition->head->count; i++) {
        const struct ast_name *name = &definition->head->items[i]->names[0];
        if (name_is_defined(&inner, name->text))
            formula_complain(
                &context, name->start, name->end,
                "`%.*s` is a definition: what a definition takes wants another name",
                VIEW(name->text));
    }
}

void definitions_check(struct formula_builder *builder)
{
    struct arguments none = {.count = 0};
    for (struct definition *d = builder->first; d; d = d->next)
        check_parameters(builder, d);
    for (struct definition *d = builder->first; d; d = d->next) {
        if (d->instances || !d->body || d->head->count || builder->calls.count >= CALLS_MAX)
            continue;
        struct context context = {.builder = builder, .origin = d->origin, .base = d->base};
        make_instance(&context, NULL, d, &none);
    }
}
