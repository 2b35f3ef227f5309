/* What names in formulas lead to: fields, bound names, definitions.
 *
 * Walks the environment a name at a time and remembers on the way which record the rest belongs
 * to. Knows nothing of what is done with the values.
 */
#include "formula/internal_build.h"

#include <stdio.h>

#include "text/nearest.h"

enum { NAMES_MAX = 512, PLACE_MAX = 200 };

static const struct binding *name_binding(const struct binding *names, struct view name)
{
    for (; names; names = names->next)
        if (view_equal(names->name, name))
            return names;
    return NULL;
}

static struct reached root_reached(const struct context *context)
{
    struct reached root = {.record = NODE_NONE, .node = NODE_NONE};
    const struct environment *environment = context->builder->environment;
    environment->root(environment->user, &root.place);
    return root;
}

bool name_is_defined(const struct context *context, struct view name)
{
    const struct definition *found = definition_find(context->builder, name);
    bool in_lent = context->definition && context->definition->lent;
    return found && (found->lent || !in_lent);
}

bool name_is_free(const struct context *context, const struct ast_name *name, const char *what)
{
    const struct environment *environment = context->builder->environment;
    struct reached root = root_reached(context);
    struct env_place place;
    if (environment->step(environment->user, &root.place, name->text, &place))
        formula_complain(context, name->start, name->end,
                         "`%.*s` is a name of the file: %s wants another", VIEW(name->text),
                         what);
    else if (name_is_defined(context, name->text))
        formula_complain(context, name->start, name->end,
                         "`%.*s` is a definition: %s wants another name", VIEW(name->text),
                         what);
    else if (name_binding(context->names, name->text))
        formula_complain(context, name->start, name->end,
                         "`%.*s` already stands for something here", VIEW(name->text));
    else
        return true;
    return false;
}

/* The bound name that takes the place of an axis' letter, as in homing.a.rest; NULL. */
static const struct binding *index_binding(const struct context *context,
                                           const struct env_place *section, struct view name)
{
    if (!section->indexed)
        return NULL;
    const struct binding *bound = name_binding(context->names, name);
    if (!bound || bound->type != TYPE_RECORD)
        return NULL;
    return bound->kind == section->index_kind || bound->kind == section->kind ? bound : NULL;
}

static uint32_t record_node(const struct context *context, struct formula_node model)
{
    model.type = TYPE_RECORD;
    return build_node(context, NULL, model);
}

static uint32_t slot_record(const struct context *context, uint32_t slot, uint8_t kind)
{
    return record_node(context,
                       (struct formula_node){.op = OP_RECORD_SLOT, .kind = kind, .a = slot});
}

static bool pair_step(const struct reached *from, struct view name, struct reached *out)
{
    bool low = view_is(name, "low"), high = view_is(name, "high");
    if (from->part || (!low && !high))
        return false;
    *out = *from;
    out->part = low ? 1 : 2;
    out->place.type = TYPE_QUANTITY;
    return true;
}

bool name_reach_step(const struct context *context, const struct reached *from,
                     struct view name, struct reached *out)
{
    if (from->place.type == TYPE_PAIR)
        return pair_step(from, name, out);
    const struct binding *index = index_binding(context, &from->place, name);
    if (index) {
        *out = (struct reached){.place = {.type = TYPE_RECORD, .kind = from->place.kind},
                                .record = slot_record(context, index->slot, from->place.kind),
                                .node = NODE_NONE};
        return true;
    }
    const struct environment *environment = context->builder->environment;
    struct reached next = {.record = from->record, .node = NODE_NONE};
    if (!environment->step(environment->user, &from->place, name, &next.place))
        return false;
    if (next.place.type == TYPE_RECORD && next.place.fixed)
        next.record = record_node(context, (struct formula_node){.op = OP_RECORD_FIXED,
                                                                 .kind = next.place.kind,
                                                                 .a = next.place.record});
    else if (next.place.type == TYPE_RECORD)
        next.record = record_node(context, (struct formula_node){.op = OP_RECORD_LEAF,
                                                                 .kind = next.place.kind,
                                                                 .leaf = next.place.leaf,
                                                                 .a = from->record});
    *out = next;
    return true;
}

/* The names that may follow `from`; with those in scope and the definitions where it is the
 * root. */
static size_t names_after(const struct context *context, const struct reached *from, bool root,
                          struct view *names)
{
    const struct formula_builder *builder = context->builder;
    size_t count = 0;
    if (from->place.type == TYPE_PAIR) {
        names[count++] = view_of("low");
        names[count++] = view_of("high");
        return count;
    }
    if (root) {
        for (const struct binding *b = context->names; b && count < NAMES_MAX; b = b->next)
            names[count++] = b->name;
        for (const struct definition *d = builder->first; d && count < NAMES_MAX; d = d->next)
            names[count++] = d->name;
    }
    bool has_names = from->place.type == TYPE_SECTION || from->place.type == TYPE_PLACE ||
                     from->place.type == TYPE_RECTANGLE || from->place.type == TYPE_RECORD;
    const struct environment *environment = builder->environment;
    for (size_t i = 0; has_names && count < NAMES_MAX; i++)
        if (!environment->name(environment->user, &from->place, i, &names[count++]))
            return count - 1;
    return count;
}

static void tell_unknown(const struct context *context, const struct reached *from,
                         const struct ast *path, uint32_t index)
{
    const struct ast_name *name = &path->names[index];
    if (index == 0 && context->lenient) {
        context->builder->errors++;
        return;
    }
    struct view *names = ARENA_ARRAY(context->builder->arena, struct view, NAMES_MAX);
    size_t count = names_after(context, from, index == 0, names);
    int nearest = nearest_of(name->text, names, count);
    char where[PLACE_MAX] = "here";
    if (index) {
        struct view before = {path->names[0].text.data,
                              path->names[index - 1].end - path->names[0].start};
        snprintf(where, sizeof where, "in `%.*s`", VIEW(before));
    }
    if (nearest >= 0)
        formula_complain(context, name->start, name->end, "`%.*s` is no name %s; `%.*s` is",
                         VIEW(name->text), where, VIEW(names[nearest]));
    else if (count == 0)
        formula_complain(context, name->start, name->end,
                         "%s takes no further name; `%.*s` follows it",
                         index ? where + 3 : where, VIEW(name->text));
    else
        formula_complain(context, name->start, name->end, "`%.*s` is no name %s",
                         VIEW(name->text), where);
}

/* Where the first name of a path leads. */
static bool reach_first(const struct context *context, const struct ast *path,
                        struct reached *out)
{
    struct view name = path->names[0].text;
    const struct binding *bound = name_binding(context->names, name);
    if (bound && bound->type == TYPE_RECORD) {
        *out = (struct reached){.place = {.type = TYPE_RECORD, .kind = bound->kind},
                                .record = slot_record(context, bound->slot, bound->kind),
                                .node = NODE_NONE};
        return true;
    }
    struct formula_node value = {.type = TYPE_QUANTITY};
    *out = (struct reached){.record = NODE_NONE, .node = NODE_NONE};
    if (bound) {
        value.op = OP_SLOT;
        value.a = bound->slot;
        value.dimension = bound->dimension;
        value.part = context->nominal ? FLAG_NOMINAL : 0;
        out->node = build_node(context, path, value);
    } else if (context->margin_of && (view_is(name, "margin") || view_is(name, "shortfall"))) {
        value.op = view_is(name, "margin") ? OP_MARGIN : OP_SHORTFALL;
        value.dimension = context->margin_of->dimension;
        if (!context->margin_of->kind) {
            formula_complain(context, path->start, path->end,
                             "this requirement compares no quantities, so it has no %.*s",
                             VIEW(name));
            return false;
        }
        out->node = build_node(context, path, value);
    } else if (definition_find(context->builder, name)) {
        struct ast call = {.kind = AST_CALL,
                           .start = path->names[0].start,
                           .end = path->names[0].end,
                           .name = path->names[0]};
        out->node = emit_any(context, &call);
        return out->node != NODE_NONE;
    } else {
        struct reached root = root_reached(context);
        if (name_reach_step(context, &root, name, out))
            return true;
        tell_unknown(context, &root, path, 0);
        return false;
    }
    return out->node != NODE_NONE;
}

bool name_reach(const struct context *context, const struct ast *path, struct reached *out)
{
    struct reached here;
    if (!reach_first(context, path, &here))
        return false;
    if (here.node != NODE_NONE && path->count > 1) {
        formula_complain(context, path->names[1].start, path->names[1].end,
                         "`%.*s` is a value and takes no further name",
                         VIEW(path->names[0].text));
        return false;
    }
    for (uint32_t i = 1; i < path->count; i++) {
        struct reached next;
        if (!name_reach_step(context, &here, path->names[i].text, &next)) {
            tell_unknown(context, &here, path, i);
            return false;
        }
        here = next;
    }
    *out = here;
    return true;
}

uint32_t name_node(const struct context *context, const struct ast *ast,
                   const struct reached *reached)
{
    if (reached->node != NODE_NONE)
        return reached->node;
    const struct env_place *place = &reached->place;
    if (place->type == TYPE_RECORD) {
        if (reached->record != NODE_NONE) {
            struct formula_node *record = build_at(context, reached->record);
            record->text = context->base + ast->start;
            record->text_size = ast->end - ast->start;
        }
        return reached->record;
    }
    switch (place->type) {
    case TYPE_LIST:
    case TYPE_PLACE:
    case TYPE_RECTANGLE:
    case TYPE_SECTION:
        formula_complain(
            context, ast->start, ast->end, "%s stands where a value is expected",
            name_of_type(context, &(struct formula_node){.type = (uint8_t)place->type}));
        return NODE_NONE;
    default:
        break;
    }
    BUG_UNLESS(place->leaf <= DEVIATION_LEAF_MAX);
    bool nominal = context->nominal && place->type == TYPE_QUANTITY;
    struct formula_node leaf = {
        .op = place->type == TYPE_FLAG ? OP_FLAG : OP_LEAF,
        .type = (uint8_t)place->type,
        .dimension = place->dimension,
        .leaf = place->leaf,
        .part = (uint8_t)(reached->part | (nominal ? FLAG_NOMINAL : 0)),
        .a = reached->record,
    };
    if (place->type == TYPE_FLAG && context->negate)
        leaf.part = FLAG_NEGATE;
    return build_node(context, ast, leaf);
}
