/* Which requirements are straight in what they read.
 *
 * A comparison whose sides are sums, with factors that do not move and have no tolerance, has a
 * margin that is straight; the least of several such margins lies nowhere above what continues
 * any of them.  Whatever else moves is taken for bent: too much is, and nothing too little.
 */
#include "formula/internal_build.h"
#include "formula/internal.h"

#include "formula/compile.h"

enum { STEPS_MAX = 100000 };

/* What is known of a value. */
struct nature {
    bool moves; /* it is not the same with other numbers */
    bool bent;  /* nor is it straight in them */
    bool wide;  /* it may have tolerances; these stay as they are where it is straight */
};

struct straightness {
    struct formula_change *change;
    const struct formula_leaves *leaves;
    struct nature *slots; /* of the quantities that names stand for */
    uint32_t steps;
};

static struct nature nature_of(struct straightness *s, uint32_t node);

static const struct formula_node *node_at(const struct straightness *s, uint32_t node)
{
    return &s->change->program->nodes[node];
}

static struct nature join(struct nature x, struct nature y)
{
    return (struct nature){x.moves || y.moves, x.bent || y.bent, x.wide || y.wide};
}

static struct nature bent_where_it_moves(struct nature x)
{
    return (struct nature){x.moves, x.moves, true};
}

static struct nature of_all_below(struct straightness *s, const struct formula_node *n)
{
    uint32_t below[3];
    unsigned count = formula_node_below(n, below);
    struct nature all = {0};
    for (unsigned i = 0; i < count; i++)
        all = join(all, nature_of(s, below[i]));
    return all;
}

static struct nature of_leaf(struct straightness *s, const struct formula_node *n)
{
    struct nature owner = bent_where_it_moves(of_all_below(s, n));
    bool wide =
        n->type != TYPE_QUANTITY || (s->leaves->wide[n->leaf] && !(n->part & FLAG_NOMINAL));
    bool moves = s->change->leaves[n->leaf];
    return (struct nature){owner.moves || moves,
                           owner.bent || (moves && s->leaves->bent[n->leaf]), wide};
}

/* What a factor does to what it is a factor of. */
static struct nature of_product(struct nature x, struct nature factor)
{
    struct nature both = join(x, factor);
    both.bent |= factor.moves || (x.moves && factor.wide);
    return both;
}

/* What its parameters stand for holds within the body.  All are looked at before any is given:
 * one may be what the same definition comes to. */
static void give_arguments(struct straightness *s, const struct formula_node *n)
{
    const struct formula_call *call = &s->change->program->calls[n->a];
    struct nature given[PARAMETERS_MAX];
    uint32_t count = 0;
    for (uint32_t at = n->b; at != NODE_NONE; at = node_at(s, at)->b) {
        BUG_UNLESS(count < PARAMETERS_MAX);
        given[count++] = nature_of(s, node_at(s, at)->a);
    }
    for (uint32_t i = 0; i < count; i++)
        s->slots[call->first_slot + i] = given[i];
}

static struct nature of_call(struct straightness *s, const struct formula_node *n)
{
    give_arguments(s, n);
    return nature_of(s, s->change->program->calls[n->a].body);
}

/* Whether there are elements, and which, must not move. */
static bool goes_through_the_same(struct straightness *s, const struct formula_node *n)
{
    const struct formula_node *domain = node_at(s, n->c);
    struct nature list = nature_of(s, n->c);
    s->slots[domain->b] = list;
    return !list.moves && (n->b == NODE_NONE || !nature_of(s, n->b).moves);
}

static struct nature of_list(struct straightness *s, const struct formula_node *n)
{
    bool same = goes_through_the_same(s, n);
    struct nature body = nature_of(s, n->a);
    body.moves |= !same;
    return bent_where_it_moves(body);
}

static struct nature nature_of(struct straightness *s, uint32_t node)
{
    if (node == NODE_NONE)
        return (struct nature){0};
    const struct formula_node *n = node_at(s, node);
    if (++s->steps > STEPS_MAX)
        return (struct nature){true, true, true};
    struct nature x;
    switch (n->op) {
    case OP_NUMBER:
        return (struct nature){0};
    case OP_LEAF:
    case OP_FLAG:
    case OP_RECORD_LEAF:
        return of_leaf(s, n);
    case OP_SLOT:
        return s->slots[n->a];
    case OP_NEGATE:
    case OP_SCALE:
    case OP_DISTANCE:
        return nature_of(s, n->a);
    case OP_NOMINAL:
        x = nature_of(s, n->a);
        x.wide = false;
        return x;
    case OP_ADD:
    case OP_SUBTRACT:
    case OP_OTHERWISE:
        return join(nature_of(s, n->a), nature_of(s, n->b));
    case OP_WIDEN:
        x = join(nature_of(s, n->a), bent_where_it_moves(nature_of(s, n->b)));
        x.wide = true;
        return x;
    case OP_MULTIPLY: {
        struct nature a = nature_of(s, n->a), b = nature_of(s, n->b);
        return a.moves ? of_product(a, b) : of_product(b, a);
    }
    case OP_DIVIDE:
        x = nature_of(s, n->a);
        return of_product(x, nature_of(s, n->b));
    case OP_IF:
        x = bent_where_it_moves(nature_of(s, n->a));
        return join(x, join(nature_of(s, n->b), nature_of(s, n->c)));
    case OP_CALL:
        return of_call(s, n);
    case OP_DOMAIN:
        x = of_all_below(s, n);
        x.moves |= n->type == TYPE_NUMBERS && s->change->leaves[n->leaf];
        return bent_where_it_moves(x);
    default:
        return op_is_quantifier(n->op) ? of_list(s, n)
                                       : bent_where_it_moves(of_all_below(s, n));
    }
}

static bool is_straight(struct straightness *s, uint32_t node)
{
    return !nature_of(s, node).bent;
}

static bool margin_is_least(struct straightness *s, uint32_t node)
{
    const struct formula_node *n = node_at(s, node);
    switch (n->op) {
    case OP_COMPARE:
        return is_straight(s, n->a) && is_straight(s, n->b);
    case OP_COMPARE_EACH: {
        const struct formula_node *each = node_at(s, n->b);
        return op_is_quantifier(each->op) && is_straight(s, n->a) &&
               goes_through_the_same(s, each) && is_straight(s, each->a);
    }
    case OP_INSIDE:
        return !(n->part & FLAG_NEGATE) && is_straight(s, n->a) && is_straight(s, n->b) &&
               is_straight(s, n->c);
    case OP_AND:
        return margin_is_least(s, n->a) && margin_is_least(s, n->b);
    case OP_EVERY:
        return goes_through_the_same(s, n) && margin_is_least(s, n->a);
    case OP_OR: /* a flag beside it says whether it is compared at all */
        return node_at(s, n->a)->kind == 0 && !nature_of(s, n->a).moves &&
               margin_is_least(s, n->b);
    case OP_IF:
        return !nature_of(s, n->a).moves && margin_is_least(s, n->b) &&
               margin_is_least(s, n->c);
    case OP_CALL:
        give_arguments(s, n);
        return margin_is_least(s, s->change->program->calls[n->a].body);
    default:
        return !nature_of(s, node).moves;
    }
}

bool formula_is_straight(struct arena *arena, struct formula_change *change,
                         const struct formula_leaves *leaves, uint32_t requirement)
{
    struct straightness s = {
        .change = change,
        .leaves = leaves,
        .slots = ARENA_ARRAY(arena, struct nature, change->program->slot_count + 1)};
    return requirement != NODE_NONE && margin_is_least(&s, requirement);
}
