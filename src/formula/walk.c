/* Walks over compiled formulas: what is below a node, which field it is about. */
#include "formula/internal_build.h"
#include "formula/internal.h"

#include "base/arena.h"
#include "formula/compile.h"

/* Which operands are nodes, where they are others than the first two. */
static const char *const operands[OP_OP_COUNT] = {
    [OP_NUMBER] = "",       [OP_SLOT] = "",         [OP_TRUTH] = "",     [OP_TEXT] = "",
    [OP_RECORD_SLOT] = "",  [OP_RECORD_FIXED] = "", [OP_NAME] = "",      [OP_PLACE] = "",
    [OP_SHORTFALL] = "",    [OP_MARGIN] = "",       [OP_LEAF] = "a",     [OP_FLAG] = "a",
    [OP_RECORD_LEAF] = "a", [OP_DOMAIN] = "a",      [OP_NEGATE] = "a",   [OP_SCALE] = "a",
    [OP_POWER] = "a",       [OP_ROOT] = "a",        [OP_ABSOLUTE] = "a", [OP_NOMINAL] = "a",
    [OP_DISTANCE] = "a",    [OP_KNOWN] = "a",       [OP_IS_WORD] = "a",  [OP_IS_NONE] = "a",
    [OP_HAS] = "a",         [OP_BEFORE] = "a",      [OP_MATCHES] = "a",  [OP_CALL] = "b",
    [OP_IF] = "abc",        [OP_INSIDE] = "abc",    [OP_COUNT] = "abc",  [OP_LARGEST] = "abc",
    [OP_SMALLEST] = "abc",  [OP_EVERY] = "abc",     [OP_ANY] = "abc",    [OP_DISTINCT] = "abc",
};

unsigned formula_node_below(const struct formula_node *node, uint32_t below[3])
{
    const uint32_t all[] = {node->a, node->b, node->c};
    bool less = node->part & FLAG_SWAPPED, high = node->part & FLAG_EACH_IS_HIGH;
    /* the elements are written first where they are the higher side of >, or the lower of < */
    bool swapped =
        (node->op == OP_COMPARE && less) || (node->op == OP_COMPARE_EACH && high != less);
    const char *which = operands[node->op] ? operands[node->op] : swapped ? "ba" : "ab";
    unsigned count = 0;
    for (; *which; which++)
        if (all[*which - 'a'] != NODE_NONE)
            below[count++] = all[*which - 'a'];
    return count;
}

/* The first field. */

/* What the parameters of the calls we are in stand for, innermost first. */
struct substitution {
    const struct formula_call *call;
    uint32_t arguments; /* OP_ARGUMENT chain */
    const struct substitution *outer;
};

static uint32_t argument_at(const struct formula_builder *builder, uint32_t argument,
                            uint32_t index)
{
    while (index-- && argument != NODE_NONE)
        argument = builder->nodes.items[argument].b;
    return argument == NODE_NONE ? NODE_NONE : builder->nodes.items[argument].a;
}

/* What a slot stands for in the terms of the call's place; NODE_NONE where it is no parameter.
 */
static uint32_t argument_for(const struct formula_builder *builder,
                             const struct substitution *in, uint32_t slot)
{
    if (!in || slot < in->call->first_slot ||
        slot >= in->call->first_slot + in->call->parameters)
        return NODE_NONE;
    return argument_at(builder, in->arguments, slot - in->call->first_slot);
}

static uint32_t copy_node(struct formula_builder *builder, struct formula_node model)
{
    VECTOR_ADD(builder->arena, &builder->nodes, model);
    return (uint32_t)builder->nodes.count - 1;
}

/* A record in the terms of the outermost place. */
static uint32_t outer_record(struct formula_builder *builder, const struct substitution *in,
                             uint32_t record)
{
    if (record == NODE_NONE || !in)
        return record;
    struct formula_node node = builder->nodes.items[record];
    if (node.op == OP_RECORD_SLOT) {
        uint32_t argument = argument_for(builder, in, node.a);
        if (argument == NODE_NONE)
            return record;
        uint32_t outer = outer_record(builder, in->outer, argument);
        struct formula_node copy = builder->nodes.items[outer];
        if (copy.kind == node.kind || (copy.op != OP_RECORD_SLOT && copy.op != OP_RECORD_FIXED))
            return outer;
        copy.kind = node.kind; /* an axis by its number, in another section */
        return copy_node(builder, copy);
    }
    if (node.op == OP_RECORD_LEAF) {
        node.a = outer_record(builder, in, node.a);
        return copy_node(builder, node);
    }
    return record;
}

struct leaf_search {
    struct formula_builder *builder;
    bool conditions; /* look into conditions too */
    uint32_t steps;
};

enum { LEAF_STEPS_MAX = 20000 }; /* definitions of definitions may unfold without end */

static uint32_t find_leaf(struct leaf_search *search, const struct substitution *in,
                          uint32_t node);

static uint32_t find_in_call(struct leaf_search *search, const struct substitution *in,
                             const struct formula_node *node)
{
    struct formula_builder *builder = search->builder;
    struct formula_call call = builder->calls.items[node->a];
    struct substitution inner = {&call, node->b, in};
    return call.body == NODE_NONE ? NODE_NONE : find_leaf(search, &inner, call.body);
}

static uint32_t find_leaf(struct leaf_search *search, const struct substitution *in,
                          uint32_t node)
{
    struct formula_builder *builder = search->builder;
    struct formula_node n = builder->nodes.items[node];
    if (++search->steps > LEAF_STEPS_MAX)
        return NODE_NONE;
    if (n.op == OP_LEAF || n.op == OP_FLAG) {
        n.a = outer_record(builder, in, n.a);
        return in ? copy_node(builder, n) : node;
    }
    if (n.op == OP_RECORD_LEAF || n.op == OP_RECORD_SLOT) {
        uint32_t record = outer_record(builder, in, node);
        return builder->nodes.items[record].op == OP_RECORD_LEAF ? record : NODE_NONE;
    }
    if (n.op == OP_CALL)
        return find_in_call(search, in, &n);
    if (n.op == OP_SLOT) {
        uint32_t argument = argument_for(builder, in, n.a);
        return argument == NODE_NONE ? NODE_NONE : find_leaf(search, in->outer, argument);
    }
    uint32_t below[3];
    unsigned count = formula_node_below(&n, below);
    for (unsigned i = 0; i < count; i++) {
        bool condition =
            (n.op == OP_IF && i == 0) || (op_is_quantifier(n.op) && n.b != NODE_NONE && i == 1);
        if (condition && !search->conditions)
            continue;
        uint32_t found = find_leaf(search, in, below[i]);
        if (found != NODE_NONE)
            return found;
    }
    return NODE_NONE;
}

uint32_t walk_first_leaf(struct formula_builder *builder, uint32_t node)
{
    struct leaf_search search = {.builder = builder};
    uint32_t found = find_leaf(&search, NULL, node);
    if (found != NODE_NONE)
        return found;
    search = (struct leaf_search){.builder = builder, .conditions = true};
    return find_leaf(&search, NULL, node);
}

uint32_t formula_first_field(struct formula_builder *builder, uint32_t requirement)
{
    return requirement == NODE_NONE ? NODE_NONE : walk_first_leaf(builder, requirement);
}

/* What a node reads. */

static bool uses(const struct formula_builder *builder, uint32_t node, uint32_t slot)
{
    const struct formula_node *n = &builder->nodes.items[node];
    if ((n->op == OP_SLOT || n->op == OP_RECORD_SLOT) && n->a == slot)
        return true;
    uint32_t below[3];
    unsigned count = formula_node_below(n, below);
    for (unsigned i = 0; i < count; i++)
        if (uses(builder, below[i], slot))
            return true;
    return false;
}

bool formula_uses(const struct formula_builder *builder, uint32_t node, uint32_t slot)
{
    return node != NODE_NONE && uses(builder, node, slot);
}

/* What depends on what: which calls and nodes can come out differently with other leaves. */

static bool reads_leaf(const struct formula_node *n)
{
    return op_reads_leaf(n->op) || (n->op == OP_DOMAIN && n->type == TYPE_NUMBERS);
}

static bool call_changes(struct formula_change *change, uint32_t call)
{
    if (!change->looked[call]) {
        change->looked[call] = true;
        change->changes[call] = formula_changes(change, change->program->calls[call].body);
    }
    return change->changes[call];
}

bool formula_changes(struct formula_change *change, uint32_t node)
{
    if (node == NODE_NONE)
        return false;
    const struct formula_node *n = &change->program->nodes[node];
    if ((reads_leaf(n) && change->leaves[n->leaf]) ||
        (n->op == OP_CALL && call_changes(change, n->a)))
        return true;
    uint32_t below[3];
    unsigned count = formula_node_below(n, below);
    for (unsigned i = 0; i < count; i++)
        if (formula_changes(change, below[i]))
            return true;
    return false;
}

void formula_change_find(struct formula_change *out, struct arena *arena,
                         const struct program *program, const bool *leaves)
{
    uint32_t count = program->call_count;
    *out = (struct formula_change){.program = program,
                                   .leaves = leaves,
                                   .places = ARENA_ARRAY(arena, uint32_t, program->place_count),
                                   .looked = ARENA_ARRAY(arena, bool, count),
                                   .changes = ARENA_ARRAY(arena, bool, count),
                                   .calls = ARENA_ARRAY(arena, uint32_t, count)};
    for (uint32_t call = 0; call < count; call++)
        if (call_changes(out, call))
            out->calls[out->count++] = call;
    bool *found = ARENA_ARRAY(arena, bool, program->place_count);
    for (uint32_t i = 0; i < program->node_count; i++) {
        const struct formula_node *n = &program->nodes[i];
        if (!op_reads_leaf(n->op) || !leaves[n->leaf] || found[n->c])
            continue;
        found[n->c] = true;
        out->places[out->place_count++] = n->c;
    }
}
