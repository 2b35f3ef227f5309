/* Over lists: the name that stands for each element in turn, and what they all come to.
 *
 * What a quantifier came to is kept with the element that decided it, so that recording many
 * instances does not walk a long list for each.
 */
#include "formula/internal_eval.h"

#include <stdlib.h>

struct item {
    double number;    /* quantities, dates, words */
    struct view text; /* texts */
    uint32_t index;
};

static struct item *room_for(struct evaluator *evaluator, uint32_t count)
{
    size_t size = (size_t)count * sizeof(struct item);
    if (size > evaluator->scratch_size) {
        evaluator->scratch_size = size * 2;
        evaluator->scratch = arena_alloc(evaluator->arena, evaluator->scratch_size);
    }
    return evaluator->scratch;
}

uint8_t list_open(struct walk *walk, struct evaluator *evaluator, uint32_t node,
                  const struct leaf *leaf)
{
    const struct formula_node *n = node_of(evaluator, node);
    bool wrong = false;
    *walk = (struct walk){
        .evaluator = evaluator,
        .n = n,
        .domain = node_of(evaluator, n->c),
        .node = node,
        .unknown = NODE_NONE,
        .decided = {NODE_NONE, NODE_NONE},
        .best = {.element = {NODE_NONE, NODE_NONE}},
    };
    if (leaf) {
        walk->count = leaf->value.count;
        walk->record = leaf->record;
    } else if (walk->domain->type != TYPE_NUMBERS) {
        walk->count =
            evaluator->values.count(evaluator->values.user, walk->domain->kind, &wrong);
    }
    return wrong ? ENV_WRONG : ENV_KNOWN;
}

void list_stand_at(const struct walk *walk, uint32_t index)
{
    struct evaluator *evaluator = walk->evaluator;
    const struct formula_node *domain = walk->domain;
    struct slot *slot = &evaluator->slots[domain->b];
    slot->state = ENV_KNOWN;
    slot->kind = domain->kind;
    slot->record = index;
    slot->entry = NODE_NONE;
    if (domain->type != TYPE_NUMBERS)
        return;
    struct env_value value;
    evaluator->values.number(evaluator->values.user, domain->leaf, walk->record, index, &value);
    slot->state = (uint8_t)value.state;
    if (value.state == ENV_KNOWN)
        form_with(&slot->form, value.number,
                  deviation_own(evaluator, domain, walk->record, index), value.tolerance);
}

static void note_unknown(struct walk *walk, uint32_t index, uint8_t state)
{
    walk->state = worse(walk->state, state);
    if (walk->unknown == NODE_NONE)
        walk->unknown = index;
}

/* Quantities. */

static void take_counted(struct walk *walk, const struct outcome *where,
                         const struct outcome *one, uint32_t index)
{
    if (one->truth == TRUTH_FALSE)
        return;
    if (where->truth == TRUTH_UNKNOWN || one->truth == TRUTH_UNKNOWN)
        note_unknown(walk, index, worse(where->state, one->state));
    else if (walk->taken++ == 0)
        walk->decided.element = index;
}

void list_take_form(struct walk *walk, const struct outcome *where, const struct form *element,
                    uint32_t index)
{
    bool largest = walk->n->op == OP_LARGEST, first = walk->decided.element == NODE_NONE;
    uint8_t state = form_state(element);
    if (where->truth == TRUTH_UNKNOWN)
        state = worse(state, where->state);
    if (state != ENV_KNOWN) {
        note_unknown(walk, index, state);
        return;
    }
    if (first || (largest ? element->mid > walk->most : element->mid < walk->most)) {
        walk->most = element->mid;
        walk->decided.element = index;
    }
    if (first)
        copy_form(walk->form, element);
    else if (largest)
        form_maximum(walk->form, walk->form, element);
    else
        form_minimum(walk->form, walk->form, element);
}

uint8_t list_form(struct walk *walk)
{
    bool is_count = walk->n->op == OP_COUNT;
    if (is_count)
        form_exact(walk->form, walk->taken);
    if (walk->evaluator->exhausted)
        return ENV_ABSENT;
    return worse(is_count || walk->decided.element != NODE_NONE ? ENV_KNOWN : ENV_ABSENT,
                 walk->state);
}

/* Truths. */

static bool asks_all(const struct walk *walk)
{
    return walk->n->op != OP_ANY;
}

/* Which truth of one element settles it. */
static int decisive(const struct walk *walk)
{
    return asks_all(walk) ? TRUTH_FALSE : TRUTH_TRUE;
}

void list_take_truth(struct walk *walk, const struct outcome *where, const struct outcome *one,
                     uint32_t index)
{
    if (walk->n->op == OP_COUNT) {
        take_counted(walk, where, one, index);
        return;
    }
    bool meant = where->truth == TRUTH_TRUE;
    struct best *best = &walk->best;
    if (one->truth == TRUTH_UNKNOWN || (!meant && one->truth == decisive(walk)))
        note_unknown(walk, index, meant ? one->state : worse(one->state, where->state));
    else if (meant &&
             (best->element[one->truth] == NODE_NONE ||
              outcome_counts_before(asks_all(walk), one, &best->outcome[one->truth]))) {
        best->outcome[one->truth] = *one;
        best->element[one->truth] = index;
    }
}

bool list_is_decided(const struct walk *walk)
{
    /* without margins the first that decides is as good as any */
    return (walk->n->op == OP_EVERY || walk->n->op == OP_ANY) &&
           walk->best.element[decisive(walk)] != NODE_NONE &&
           !node_of(walk->evaluator, walk->n->a)->kind;
}

/* Are all values of a list different?  By sorting, so that a long list costs no pairs. */

static int by_value(const void *a, const void *b)
{
    const struct item *x = a, *y = b;
    int order = (x->number > y->number) - (x->number < y->number);
    if (!order)
        order = view_compare(x->text, y->text);
    return order ? order : (x->index > y->index) - (x->index < y->index);
}

uint8_t list_number(const struct evaluator *evaluator, const struct form *form, double *number)
{
    if (!form_known(form))
        return form_state(form);
    if (evaluator->moved) {
        struct form nominal;
        form_nominal_range(&nominal, form);
        if (nominal.low != nominal.high)
            return ENV_OPEN;
    }
    *number = form->mid;
    return form_is_finite(form) ? ENV_KNOWN : ENV_ABSENT;
}

void list_take_item(struct walk *walk, const struct outcome *where, uint8_t state,
                    double number, struct view text, uint32_t index)
{
    if (where->truth == TRUTH_UNKNOWN)
        state = worse(state, where->state);
    if (state != ENV_KNOWN) {
        note_unknown(walk, index, state);
        return;
    }
    if (!walk->items)
        walk->items = room_for(walk->evaluator, walk->count);
    walk->items[walk->taken++] = (struct item){number, text, index};
}

/* The earliest repeated value, with the element before it that has the same. */
static bool find_repeated(struct walk *walk)
{
    struct item *items = walk->items;
    struct decided *decided = &walk->decided;
    if (walk->taken)
        qsort(items, walk->taken, sizeof *items, by_value);
    for (uint32_t i = 1; i < walk->taken; i++) {
        bool same = items[i].number == items[i - 1].number &&
                    view_equal(items[i].text, items[i - 1].text);
        if (same && items[i].index < decided->element) {
            decided->element = items[i].index;
            decided->other = items[i - 1].index;
        }
    }
    return decided->element != NODE_NONE;
}

static void conclude_distinct(struct walk *walk, struct outcome *out)
{
    bool repeated_wanted = walk->n->part & FLAG_NEGATE;
    if (find_repeated(walk))
        outcome_plain(out, walk->node, repeated_wanted);
    else if (walk->unknown != NODE_NONE)
        outcome_unknown(out, walk->state);
    else
        outcome_plain(out, walk->node, !repeated_wanted);
}

void list_truth(struct walk *walk, struct outcome *out)
{
    const struct best *best = &walk->best;
    int deciding = decisive(walk);
    int which = best->element[deciding] != NODE_NONE ? deciding : 1 - deciding;
    if (walk->evaluator->exhausted) {
        outcome_unknown(out, ENV_ABSENT);
    } else if (walk->n->op == OP_DISTINCT) {
        conclude_distinct(walk, out);
    } else if (which != deciding && walk->unknown != NODE_NONE) {
        outcome_unknown(out, walk->state);
    } else if (best->element[which] == NODE_NONE) {
        outcome_plain(out, walk->node, asks_all(walk));
    } else {
        *out = best->outcome[which];
        walk->decided.element = best->element[which];
    }
}

/* Keeping. */

struct kept *list_recall(struct walk *walk, bool is_truth, bool *known)
{
    const struct evaluator *evaluator = walk->evaluator;
    uint32_t call = walk->domain->c;
    *known = false;
    if (call == NODE_NONE)
        return NULL;
    const struct slot *slot = &evaluator->slots[evaluator->program->calls[call].first_slot];
    const uint32_t keys[KEY_COUNT] = {kept_key(slot->state, slot->record)};
    struct kept *kept = kept_place(evaluator, call, keys, is_truth, known);
    if (*known) {
        walk->decided = kept->decided;
        walk->unknown = kept->unknown;
    }
    return kept;
}

bool list_retain(const struct walk *walk, struct kept *kept)
{
    if (!kept_fill(walk->evaluator, kept))
        return false;
    kept->decided = walk->decided;
    kept->unknown = walk->unknown;
    return true;
}
