/* Over lists.
 *
 * The loop itself notes no reads, however long the list: what is noted while tracing is read
 * once more at the element that decided, where the bound name then stays.  What a quantifier
 * came to is kept with the element that decided it, so that tracing many instances does not
 * walk a long list for each.
 */
#include "formula/internal_run.h"

enum {
    REVISITED_MAX = 16, /* elements looked at for what is missing */
};

/* Over which list a quantifier goes, and a place for what decides. */
struct walk {
    struct evaluator *evaluator;
    const struct formula_node *n;
    struct list list;
    uint8_t state; /* of the elements that are not known */
    uint32_t unknown;
};

uint8_t run_list_open(struct evaluator *evaluator, const struct formula_node *quantifier,
                      struct list *out)
{
    const struct formula_node *domain = node_of(evaluator, quantifier->c);
    out->domain = domain;
    out->count = out->record = 0;
    evaluator->slots[domain->b].state = ENV_ABSENT; /* over nothing the name stays nowhere */
    if (domain->type != TYPE_NUMBERS) {
        bool wrong = false;
        out->count = evaluator->values.count(evaluator->values.user, domain->kind, &wrong);
        return wrong ? ENV_WRONG : ENV_KNOWN;
    }
    struct env_value value;
    uint8_t state = run_read(evaluator, domain, &value, &out->record);
    if (state == ENV_KNOWN)
        out->count = value.count;
    return state;
}

void run_list_at(struct evaluator *evaluator, const struct list *list, uint32_t index)
{
    const struct formula_node *domain = list->domain;
    struct slot *slot = &evaluator->slots[domain->b];
    slot->state = ENV_KNOWN;
    slot->kind = domain->kind;
    slot->record = index;
    if (domain->type != TYPE_NUMBERS)
        return;
    struct env_value value;
    evaluator->values.number(evaluator->values.user, domain->leaf, list->record, index, &value);
    slot->state = (uint8_t)value.state;
    if (value.state == ENV_KNOWN)
        form_with(&slot->form, value.number,
                  deviation_own(evaluator, domain, list->record, index), value.tolerance);
}

static void note_unknown(struct walk *walk, uint32_t index, uint8_t state)
{
    walk->state = worse(walk->state, state);
    if (walk->unknown == NODE_NONE)
        walk->unknown = index;
}

/* Is element `index`, which the name now stands for, among those asked about?  Unknown counts
 * as yes. */
static uint8_t is_meant(struct walk *walk, struct outcome *where)
{
    if (walk->n->b == NODE_NONE) {
        where->truth = TRUTH_TRUE;
        return TRUTH_TRUE;
    }
    run_condition(walk->evaluator, walk->n->b, where);
    return where->truth;
}

/* Reads once more, noting, what decided, and why it is among those asked about: the name stays
 * there. */
static void revisit(struct walk *walk, uint32_t index)
{
    struct outcome where;
    run_list_at(walk->evaluator, &walk->list, index);
    if (walk->n->b != NODE_NONE)
        run_truth(walk->evaluator, walk->n->b, &where);
    run_any(walk->evaluator, walk->n->a);
}

/* Notes what is missing in the elements from the first unknown one on. */
static void revisit_unknown(struct walk *walk)
{
    struct evaluator *evaluator = walk->evaluator;
    uint32_t end = walk->list.count - walk->unknown > REVISITED_MAX
                       ? walk->unknown + REVISITED_MAX
                       : walk->list.count;
    for (uint32_t i = walk->unknown; i < end && !evaluator->exhausted; i++) {
        struct outcome where;
        run_list_at(evaluator, &walk->list, i);
        evaluator->recording = false;
        uint8_t meant = is_meant(walk, &where);
        bool unknown = meant == TRUTH_UNKNOWN ||
                       (meant == TRUTH_TRUE && run_any(evaluator, walk->n->a) != ENV_KNOWN);
        evaluator->recording = true;
        if (unknown)
            revisit(walk, i);
    }
    run_list_at(evaluator, &walk->list, walk->unknown);
}

static void after(struct walk *walk, bool unknown, const struct decided *decided)
{
    if (!walk->evaluator->recording)
        return;
    if (unknown && walk->unknown != NODE_NONE)
        revisit_unknown(walk);
    if (decided->other != NODE_NONE)
        revisit(walk, decided->other);
    if (decided->element != NODE_NONE)
        revisit(walk, decided->element);
}

/* Opens the list; false where it cannot be gone through, with the state. */
static bool begin(struct walk *walk, struct evaluator *evaluator, uint32_t node, uint8_t *state)
{
    const struct formula_node *n = node_of(evaluator, node);
    *walk = (struct walk){.evaluator = evaluator, .n = n, .unknown = NODE_NONE};
    *state = run_list_open(evaluator, n, &walk->list);
    return *state == ENV_KNOWN;
}

/* Quantities. */

static void count_elements(struct walk *walk, struct form *out, struct decided *decided)
{
    uint32_t count = 0;
    struct outcome where, holds;
    for (uint32_t i = 0; i < walk->list.count && !walk->evaluator->exhausted; i++) {
        run_list_at(walk->evaluator, &walk->list, i);
        if (is_meant(walk, &where) == TRUTH_FALSE)
            continue;
        run_truth(walk->evaluator, walk->n->a, &holds);
        if (holds.truth == TRUTH_FALSE)
            continue;
        if (where.truth == TRUTH_UNKNOWN || holds.truth == TRUTH_UNKNOWN)
            note_unknown(walk, i, worse(where.state, holds.state));
        else if (count++ == 0)
            decided->element = i;
    }
    form_exact(out, count);
}

static uint8_t extreme(struct walk *walk, struct form *out, struct decided *decided)
{
    bool largest = walk->n->op == OP_LARGEST;
    struct outcome where;
    struct form element;
    double best = 0;
    for (uint32_t i = 0; i < walk->list.count && !walk->evaluator->exhausted; i++) {
        run_list_at(walk->evaluator, &walk->list, i);
        if (is_meant(walk, &where) == TRUTH_FALSE)
            continue;
        uint8_t state = run_quantity(walk->evaluator, walk->n->a, &element);
        if (where.truth == TRUTH_UNKNOWN)
            state = worse(state, where.state);
        if (state != ENV_KNOWN) {
            note_unknown(walk, i, state);
            continue;
        }
        bool first = decided->element == NODE_NONE;
        if (first || (largest ? element.mid > best : element.mid < best)) {
            best = element.mid;
            decided->element = i;
        }
        if (first)
            copy_form(out, &element);
        else if (largest)
            form_maximum(out, out, &element);
        else
            form_minimum(out, out, &element);
    }
    return decided->element == NODE_NONE ? ENV_ABSENT : ENV_KNOWN;
}

static uint8_t go_through(struct walk *walk, struct form *out, struct decided *decided)
{
    uint8_t state = ENV_KNOWN;
    bool recording = walk->evaluator->recording;
    walk->evaluator->recording = false;
    if (walk->n->op == OP_COUNT)
        count_elements(walk, out, decided);
    else
        state = extreme(walk, out, decided);
    walk->evaluator->recording = recording;
    if (walk->evaluator->exhausted)
        return ENV_ABSENT;
    return worse(state, walk->state);
}

/* What was kept of a quantifier, or NULL. */
static const struct kept *recall(const struct walk *walk)
{
    uint32_t call = walk->list.domain->c;
    return call == NODE_NONE ? NULL : kept_find(walk->evaluator, call, false);
}

static struct kept *retain(const struct walk *walk, const struct decided *decided)
{
    uint32_t call = walk->list.domain->c;
    struct kept *kept = call == NODE_NONE ? NULL : kept_renew(walk->evaluator, call);
    if (kept)
        kept->decided = *decided;
    return kept;
}

uint8_t run_list_quantity(struct evaluator *evaluator, uint32_t node, struct form *out,
                          struct decided *decided)
{
    struct walk walk;
    uint8_t state;
    *decided = (struct decided){NODE_NONE, NODE_NONE};
    if (!begin(&walk, evaluator, node, &state))
        return state;
    const struct kept *kept = recall(&walk);
    if (kept) {
        state = kept->state;
        *decided = kept->decided;
        walk.unknown = kept->unknown;
        if (state == ENV_KNOWN)
            copy_form(out, &kept->form);
    } else {
        state = go_through(&walk, out, decided);
        struct kept *keep = retain(&walk, decided);
        if (keep) {
            keep->state = state;
            keep->unknown = walk.unknown;
            if (state == ENV_KNOWN)
                copy_form(&keep->form, out);
        }
    }
    after(&walk, state != ENV_KNOWN, decided);
    return state;
}

/* Truths. */

/* Does `one` count before `best`, both of one truth?  The least margin for `every`, the
 * greatest for `any`; the first where there are none. */
static bool counts_before(bool every, const struct outcome *one, const struct outcome *best)
{
    if (one->has_margin != best->has_margin)
        return one->has_margin;
    return one->has_margin && (every ? one->margin < best->margin : one->margin > best->margin);
}

/* The best outcome of each truth so far. */
struct best {
    struct outcome outcome[2];
    uint32_t element[2];
};

static void consider(struct best *best, bool every, const struct outcome *one, uint32_t index)
{
    int which = one->truth == TRUTH_TRUE;
    if (best->element[which] != NODE_NONE && !counts_before(every, one, &best->outcome[which]))
        return;
    best->outcome[which] = *one;
    best->element[which] = index;
}

/* What all elements together come to. */
static void conclude(struct walk *walk, const struct best *best, bool every,
                     struct outcome *out, struct decided *decided)
{
    int decisive = every ? 0 : 1;
    int which = best->element[decisive] != NODE_NONE ? decisive : 1 - decisive;
    if (walk->evaluator->exhausted) {
        outcome_unknown(out, ENV_ABSENT);
    } else if (which != decisive && walk->unknown != NODE_NONE) {
        outcome_unknown(out, walk->state);
    } else if (best->element[which] == NODE_NONE) {
        uint32_t node = (uint32_t)(walk->n - walk->evaluator->nodes);
        outcome_plain(out, node, every);
    } else {
        *out = best->outcome[which];
        decided->element = best->element[which];
    }
}

static void every_or_any(struct walk *walk, struct outcome *out, struct decided *decided)
{
    bool every = walk->n->op == OP_EVERY;
    uint8_t decisive = every ? TRUTH_FALSE : TRUTH_TRUE;
    struct best best = {.element = {NODE_NONE, NODE_NONE}};
    struct outcome where, one;
    for (uint32_t i = 0; i < walk->list.count && !walk->evaluator->exhausted; i++) {
        run_list_at(walk->evaluator, &walk->list, i);
        if (is_meant(walk, &where) == TRUTH_FALSE)
            continue;
        run_truth(walk->evaluator, walk->n->a, &one);
        bool meant = where.truth == TRUTH_TRUE;
        if (one.truth == TRUTH_UNKNOWN || (!meant && one.truth == decisive))
            note_unknown(walk, i, meant ? one.state : worse(one.state, where.state));
        else if (meant)
            consider(&best, every, &one, i);
        if (meant && one.truth == decisive && !node_of(walk->evaluator, walk->n->a)->kind)
            break; /* without margins the first that decides is as good as any */
    }
    conclude(walk, &best, every, out, decided);
}

void run_list_truth(struct evaluator *evaluator, uint32_t node, struct outcome *out,
                    struct decided *decided)
{
    struct walk walk;
    uint8_t state;
    *decided = (struct decided){NODE_NONE, NODE_NONE};
    if (!begin(&walk, evaluator, node, &state)) {
        outcome_unknown(out, state);
        return;
    }
    const struct kept *kept = recall(&walk);
    if (kept && kept->statistical == evaluator->statistical) {
        *out = kept->outcome;
        *decided = kept->decided;
        walk.unknown = kept->unknown;
    } else {
        bool recording = evaluator->recording;
        evaluator->recording = false;
        if (walk.n->op == OP_DISTINCT) {
            run_distinct(evaluator, node, out, decided);
            walk.unknown = out->truth == TRUTH_UNKNOWN ? decided->element : NODE_NONE;
            if (out->truth == TRUTH_UNKNOWN)
                decided->element = NODE_NONE;
        } else {
            every_or_any(&walk, out, decided);
        }
        evaluator->recording = recording;
        struct kept *keep = retain(&walk, decided);
        if (keep) {
            keep->outcome = *out;
            keep->statistical = evaluator->statistical;
            keep->unknown = walk.unknown;
        }
    }
    after(&walk, out->truth == TRUTH_UNKNOWN, decided);
}

/* Element by element. */

static void compare_elements(struct walk *walk, uint32_t node, const struct form *other,
                             struct outcome *out, struct decided *decided)
{
    const struct formula_node *n = node_of(walk->evaluator, node);
    struct best best = {.element = {NODE_NONE, NODE_NONE}};
    struct outcome where, one;
    struct form element;
    for (uint32_t i = 0; i < walk->list.count && !walk->evaluator->exhausted; i++) {
        run_list_at(walk->evaluator, &walk->list, i);
        if (is_meant(walk, &where) == TRUTH_FALSE)
            continue;
        uint8_t state = run_quantity(walk->evaluator, walk->n->a, &element);
        if (state == ENV_KNOWN) {
            if (n->part & FLAG_EACH_IS_HIGH)
                form_subtract(&element, &element, other);
            else
                form_subtract(&element, other, &element);
            outcome_compared(walk->evaluator, node, n->part & FLAG_STRICT, &element, &one);
        } else {
            outcome_unknown(&one, state);
        }
        bool meant = where.truth == TRUTH_TRUE;
        if (one.truth == TRUTH_UNKNOWN || (!meant && one.truth == TRUTH_FALSE))
            note_unknown(walk, i, meant ? one.state : worse(one.state, where.state));
        else if (meant)
            consider(&best, true, &one, i);
    }
    conclude(walk, &best, true, out, decided);
    bool nothing = out->truth != TRUTH_UNKNOWN && decided->element == NODE_NONE;
    if (nothing) /* the largest of nothing is not known */
        outcome_unknown(out, ENV_ABSENT);
}

void run_each_compared(struct evaluator *evaluator, uint32_t node, struct outcome *out,
                       struct decided *decided)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct walk walk;
    struct form other;
    uint8_t listed;
    *decided = (struct decided){NODE_NONE, NODE_NONE};
    uint8_t state = run_quantity(evaluator, n->a, &other);
    if (!begin(&walk, evaluator, n->b, &listed) || state != ENV_KNOWN) {
        if (listed == ENV_KNOWN && evaluator->recording)
            listed = run_quantity(evaluator, n->b, &other); /* what else is missing */
        outcome_unknown(out, worse(state, listed));
        return;
    }
    bool recording = evaluator->recording;
    evaluator->recording = false;
    compare_elements(&walk, node, &other, out, decided);
    evaluator->recording = recording;
    after(&walk, out->truth == TRUTH_UNKNOWN, decided);
}
