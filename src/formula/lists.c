/* Over lists.
 *
 * The loop itself enters nothing into a record, however long the list: what is recorded is the
 * element that decided, worked out once more; the bound name then stays there.  What a
 * quantifier came to is kept with the element that decided it, so that recording many instances
 * does not walk a long list for each.
 */
#include "formula/internal.h"

#include <stdlib.h>

enum {
    REVISITED_MAX = 16, /* elements looked at for what is missing */
};

struct list {
    const struct formula_node *domain;
    uint32_t count, record;
};

/* Over which list a quantifier goes, and a place for what decides. */
struct walk {
    struct evaluator *evaluator;
    const struct formula_node *n;
    struct list list;
    uint8_t state; /* of the elements that are not known */
    uint32_t unknown;
};

static uint8_t open_list(struct evaluator *evaluator, const struct formula_node *quantifier,
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
    const struct leaf *leaf;
    uint8_t state = run_leaf(evaluator, quantifier->c, &leaf);
    if (state == ENV_KNOWN) {
        out->count = leaf->value.count;
        out->record = leaf->record;
    }
    return state;
}

/* Lets the bound name stand for an element. */
static void stand_at(struct evaluator *evaluator, const struct list *list, uint32_t index)
{
    const struct formula_node *domain = list->domain;
    struct slot *slot = &evaluator->slots[domain->b];
    slot->state = ENV_KNOWN;
    slot->kind = domain->kind;
    slot->record = index;
    slot->entry = NODE_NONE;
    if (domain->type != TYPE_NUMBERS)
        return;
    struct env_value value;
    evaluator->values.number(evaluator->values.user, domain->leaf, list->record, index, &value);
    slot->state = (uint8_t)value.state;
    if (value.state == ENV_KNOWN)
        form_with(&slot->form, value.number,
                  deviation_own(evaluator, domain, list->record, index), value.tolerance);
}

/* Works on without recording; what is to be put back afterwards. */
static struct record *pause(struct evaluator *evaluator)
{
    struct record *record = evaluator->record;
    evaluator->record = NULL;
    return record;
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
        *where = (struct outcome){.truth = TRUTH_TRUE};
        return TRUTH_TRUE;
    }
    run_truth(walk->evaluator, walk->n->b, where);
    return where->truth;
}

/* Records what decided, and why it is among those asked about: the name stays there. */
static void revisit(struct walk *walk, uint32_t index)
{
    struct outcome where;
    struct record *record = walk->evaluator->record;
    uint32_t entry = record_open(record, walk->list.domain);
    stand_at(walk->evaluator, &walk->list, index);
    if (entry != NODE_NONE) {
        record->entries.items[entry].is_element = true;
        record->entries.items[entry].of.record = index;
    }
    if (walk->n->b != NODE_NONE)
        run_truth(walk->evaluator, walk->n->b, &where);
    run_any(walk->evaluator, walk->n->a);
    record_close(record, entry, ENV_ABSENT);
}

/* Records what is missing in the elements from the first unknown one on. */
static void revisit_unknown(struct walk *walk)
{
    struct evaluator *evaluator = walk->evaluator;
    uint32_t end = walk->list.count - walk->unknown > REVISITED_MAX
                       ? walk->unknown + REVISITED_MAX
                       : walk->list.count;
    for (uint32_t i = walk->unknown; i < end && !evaluator->exhausted; i++) {
        struct outcome where;
        stand_at(evaluator, &walk->list, i);
        struct record *record = pause(evaluator);
        uint8_t meant = is_meant(walk, &where);
        bool unknown = meant == TRUTH_UNKNOWN ||
                       (meant == TRUTH_TRUE && run_any(evaluator, walk->n->a) != ENV_KNOWN);
        evaluator->record = record;
        if (unknown)
            revisit(walk, i);
    }
    stand_at(evaluator, &walk->list, walk->unknown);
}

static void after(struct walk *walk, bool unknown, const struct decided *decided)
{
    if (!walk->evaluator->record)
        return;
    if (unknown && walk->unknown != NODE_NONE)
        revisit_unknown(walk);
    if (decided->other != NODE_NONE)
        revisit(walk, decided->other);
    if (decided->element != NODE_NONE)
        revisit(walk, decided->element);
}

/* Opens the list; false where it cannot be gone through, with the state. */
static bool begin(struct walk *walk, struct evaluator *evaluator, const struct formula_node *n,
                  uint8_t *state)
{
    *walk = (struct walk){.evaluator = evaluator, .n = n, .unknown = NODE_NONE};
    *state = open_list(evaluator, n, &walk->list);
    return *state == ENV_KNOWN;
}

/* Quantities. */

static void count_elements(struct walk *walk, struct form *out, struct decided *decided)
{
    uint32_t count = 0;
    struct outcome where, holds;
    for (uint32_t i = 0; i < walk->list.count && !walk->evaluator->exhausted; i++) {
        stand_at(walk->evaluator, &walk->list, i);
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
    struct form room;
    double best = 0;
    for (uint32_t i = 0; i < walk->list.count && !walk->evaluator->exhausted; i++) {
        stand_at(walk->evaluator, &walk->list, i);
        if (is_meant(walk, &where) == TRUTH_FALSE)
            continue;
        const struct form *element = run_quantity(walk->evaluator, walk->n->a, &room);
        uint8_t state = form_state(element);
        if (where.truth == TRUTH_UNKNOWN)
            state = worse(state, where.state);
        if (state != ENV_KNOWN) {
            note_unknown(walk, i, state);
            continue;
        }
        bool first = decided->element == NODE_NONE;
        if (first || (largest ? element->mid > best : element->mid < best)) {
            best = element->mid;
            decided->element = i;
        }
        if (first)
            copy_form(out, element);
        else if (largest)
            form_maximum(out, out, element);
        else
            form_minimum(out, out, element);
    }
    return decided->element == NODE_NONE ? ENV_ABSENT : ENV_KNOWN;
}

static uint8_t go_through(struct walk *walk, struct form *out, struct decided *decided)
{
    uint8_t state = ENV_KNOWN;
    struct record *record = pause(walk->evaluator);
    if (walk->n->op == OP_COUNT)
        count_elements(walk, out, decided);
    else
        state = extreme(walk, out, decided);
    walk->evaluator->record = record;
    if (walk->evaluator->exhausted)
        return ENV_ABSENT;
    return worse(state, walk->state);
}

/* Where to keep what a quantifier comes to, or NULL; whether it is `known`. */
static struct kept *recall(struct walk *walk, struct decided *decided, bool is_truth,
                           bool *known)
{
    uint32_t call = walk->list.domain->c;
    *known = false;
    if (call == NODE_NONE)
        return NULL;
    struct kept *kept = kept_place(walk->evaluator, call, is_truth, known);
    if (*known) {
        *decided = kept->decided;
        walk->unknown = kept->unknown;
    }
    return kept;
}

static bool retain(const struct walk *walk, const struct decided *decided, struct kept *kept)
{
    if (!kept_fill(walk->evaluator, kept))
        return false;
    kept->decided = *decided;
    kept->unknown = walk->unknown;
    return true;
}

const struct form *run_list_quantity(struct evaluator *evaluator, const struct formula_node *n,
                                     struct form *room)
{
    struct walk walk;
    uint8_t state;
    bool known;
    struct decided decided = {NODE_NONE, NODE_NONE};
    if (!begin(&walk, evaluator, n, &state))
        return form_unknown(state);
    struct kept *kept = recall(&walk, &decided, false, &known);
    if (known) {
        state = kept->state;
        if (state == ENV_KNOWN)
            copy_form(room, &kept->form);
    } else {
        state = go_through(&walk, room, &decided);
        if (retain(&walk, &decided, kept)) {
            kept->state = state;
            if (state == ENV_KNOWN)
                copy_form(&kept->form, room);
        }
    }
    after(&walk, state != ENV_KNOWN, &decided);
    return state == ENV_KNOWN ? room : form_unknown(state);
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
        stand_at(walk->evaluator, &walk->list, i);
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

/* Are all values of a list different?  By sorting, so that a long list costs no pairs. */

struct item {
    double number;    /* quantities, dates, words */
    struct view text; /* texts */
    uint32_t index;
};

static int by_value(const void *a, const void *b)
{
    const struct item *x = a, *y = b;
    int order = (x->number > y->number) - (x->number < y->number);
    if (!order)
        order = view_compare(x->text, y->text);
    return order ? order : (x->index > y->index) - (x->index < y->index);
}

static struct item *room_for(struct evaluator *evaluator, uint32_t count)
{
    size_t size = (size_t)count * sizeof(struct item);
    if (size > evaluator->scratch_size) {
        evaluator->scratch_size = size * 2;
        evaluator->scratch = arena_alloc(evaluator->arena, evaluator->scratch_size);
    }
    return evaluator->scratch;
}

static uint8_t read_item(struct evaluator *evaluator, uint32_t body, struct item *item)
{
    const struct formula_node *n = node_of(evaluator, body);
    struct form room;
    const struct leaf *leaf;
    item->number = 0;
    item->text = (struct view){NULL, 0};
    if (n->type == TYPE_TEXT)
        return run_text(evaluator, body, &item->text);
    if (n->type == TYPE_CHOICE) {
        uint8_t state = run_leaf(evaluator, body, &leaf);
        if (state == ENV_KNOWN)
            item->number = leaf->value.number;
        return state;
    }
    const struct form *form = run_quantity(evaluator, body, &room);
    if (!form_known(form))
        return form_state(form);
    if (evaluator->moved) {
        form_nominal_range(&room, form);
        if (room.low != room.high)
            return ENV_OPEN;
    }
    item->number = form->mid;
    return form_is_finite(form) ? ENV_KNOWN : ENV_ABSENT;
}

/* The earliest repeated value, with the element before it that has the same. */
static bool find_repeated(struct item *items, uint32_t count, struct decided *decided)
{
    qsort(items, count, sizeof *items, by_value);
    decided->element = decided->other = NODE_NONE;
    for (uint32_t i = 1; i < count; i++) {
        bool same = items[i].number == items[i - 1].number &&
                    view_equal(items[i].text, items[i - 1].text);
        if (same && items[i].index < decided->element) {
            decided->element = items[i].index;
            decided->other = items[i - 1].index;
        }
    }
    return decided->element != NODE_NONE;
}

static void are_distinct(struct walk *walk, struct outcome *out, struct decided *decided)
{
    struct evaluator *evaluator = walk->evaluator;
    bool repeated_wanted = walk->n->part & FLAG_NEGATE;
    uint32_t node = (uint32_t)(walk->n - evaluator->nodes), count = 0;
    struct item *items = walk->list.count ? room_for(evaluator, walk->list.count) : NULL;
    for (uint32_t i = 0; i < walk->list.count && !evaluator->exhausted; i++) {
        struct outcome where;
        stand_at(evaluator, &walk->list, i);
        if (is_meant(walk, &where) == TRUTH_FALSE)
            continue;
        uint8_t state = read_item(evaluator, walk->n->a, &items[count]);
        if (where.truth == TRUTH_UNKNOWN)
            state = worse(state, where.state);
        items[count].index = i;
        if (state == ENV_KNOWN)
            count++;
        else
            note_unknown(walk, i, state);
    }
    if (evaluator->exhausted)
        outcome_unknown(out, ENV_ABSENT);
    else if (count && find_repeated(items, count, decided))
        outcome_plain(out, node, repeated_wanted);
    else if (walk->unknown != NODE_NONE)
        outcome_unknown(out, walk->state);
    else
        outcome_plain(out, node, !repeated_wanted);
}

void run_list_truth(struct evaluator *evaluator, const struct formula_node *n,
                    struct outcome *out)
{
    struct walk walk;
    uint8_t state;
    bool known;
    struct decided decided = {NODE_NONE, NODE_NONE};
    if (!begin(&walk, evaluator, n, &state)) {
        outcome_unknown(out, state);
        return;
    }
    struct kept *kept = recall(&walk, &decided, true, &known);
    if (known) {
        *out = kept->outcome;
    } else {
        struct record *record = pause(evaluator);
        if (walk.n->op == OP_DISTINCT)
            are_distinct(&walk, out, &decided);
        else
            every_or_any(&walk, out, &decided);
        evaluator->record = record;
        if (retain(&walk, &decided, kept))
            kept->outcome = *out;
    }
    after(&walk, out->truth == TRUTH_UNKNOWN, &decided);
}

/* Element by element. */

static void compare_elements(struct walk *walk, uint32_t node, const struct form *other,
                             struct outcome *out, struct decided *decided)
{
    const struct formula_node *n = node_of(walk->evaluator, node);
    struct best best = {.element = {NODE_NONE, NODE_NONE}};
    struct outcome where, one;
    struct form room;
    for (uint32_t i = 0; i < walk->list.count && !walk->evaluator->exhausted; i++) {
        stand_at(walk->evaluator, &walk->list, i);
        if (is_meant(walk, &where) == TRUTH_FALSE)
            continue;
        const struct form *element = run_quantity(walk->evaluator, walk->n->a, &room);
        bool is_high = n->part & FLAG_EACH_IS_HIGH;
        if (form_known(element))
            outcome_compared(walk->evaluator, node, n->part & FLAG_STRICT,
                             is_high ? element : other, is_high ? other : element, &one);
        else
            outcome_unknown(&one, form_state(element));
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

void run_each_compared(struct evaluator *evaluator, uint32_t node, struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct walk walk;
    struct form room;
    uint8_t listed;
    struct decided decided = {NODE_NONE, NODE_NONE};
    const struct form *other = run_quantity(evaluator, n->a, &room);
    if (!begin(&walk, evaluator, node_of(evaluator, n->b), &listed) || !form_known(other)) {
        if (listed == ENV_KNOWN && evaluator->record)
            listed =
                form_state(run_quantity(evaluator, n->b, &room)); /* what else is missing */
        outcome_unknown(out, worse(form_state(other), listed));
        return;
    }
    struct record *record = pause(evaluator);
    compare_elements(&walk, node, other, out, &decided);
    evaluator->record = record;
    after(&walk, out->truth == TRUTH_UNKNOWN, &decided);
}
