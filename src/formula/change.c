/* What depends on what: which calls and nodes can come out differently with other leaves. */
#include "base/arena.h"
#include "formula/compile.h"
#include "formula/internal.h"

static bool reads_leaf(const struct formula_node *n)
{
    return n->op == OP_LEAF || n->op == OP_FLAG || n->op == OP_RECORD_LEAF ||
           (n->op == OP_DOMAIN && n->type == TYPE_NUMBERS);
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
                                   .looked = ARENA_ARRAY(arena, bool, count),
                                   .changes = ARENA_ARRAY(arena, bool, count),
                                   .calls = ARENA_ARRAY(arena, uint32_t, count)};
    for (uint32_t call = 0; call < count; call++)
        if (call_changes(out, call))
            out->calls[out->count++] = call;
}
