/* Formulas worked out: leaves, calls, quantities, truths.
 *
 * Quantities are the innermost loop of the program: no allocation, and forms are copied by the
 * terms they have.  While recording (record.c) each function here enters what it works out.
 */
#include "formula/internal.h"
#include "formula/pattern.h"

#define OUT_OF_LINE __attribute__((noinline))
#define IN_LINE     inline __attribute__((always_inline))

/* Counts a step; false where there are none left. */
static inline bool step_on(struct evaluator *evaluator)
{
    if (++evaluator->steps <= evaluator->steps_max)
        return true;
    evaluator->exhausted = true;
    return false;
}

/* Which side of an `if` counts; NODE_NONE with the state where that is not known. */
static uint32_t branch_of(struct evaluator *evaluator, const struct formula_node *n,
                          uint8_t *state)
{
    struct outcome condition;
    run_truth(evaluator, n->a, &condition);
    *state = condition.state;
    if (condition.truth == TRUTH_UNKNOWN)
        return NODE_NONE;
    return condition.truth == TRUTH_TRUE ? n->b : n->c;
}

/* Leaves and records. */

/* Which record a node stands for: mostly what a name is bound to, or one that is always the
 * same. */
static inline uint8_t quick_record(struct evaluator *evaluator, uint32_t node, uint32_t *record)
{
    const struct formula_node *n = node_of(evaluator, node);
    if (evaluator->record || (n->op != OP_RECORD_SLOT && n->op != OP_RECORD_FIXED))
        return run_record(evaluator, node, record);
    bool fixed = n->op == OP_RECORD_FIXED;
    *record = fixed ? n->a : evaluator->slots[n->a].record;
    return fixed ? ENV_KNOWN : evaluator->slots[n->a].state;
}

/* What a leaf is in the record that it belongs to. */
static inline uint8_t read_leaf(struct evaluator *evaluator, const struct formula_node *leaf,
                                struct env_value *value, uint32_t *owner)
{
    *owner = 0;
    if (leaf->a != NODE_NONE) {
        uint8_t state = quick_record(evaluator, leaf->a, owner);
        if (state != ENV_KNOWN)
            return state;
    }
    evaluator->values.read(evaluator->values.user, leaf->leaf, leaf->part & PART_MASK, *owner,
                           value);
    if (evaluator->record)
        record_read(evaluator, leaf, *owner, value);
    return (uint8_t)value->state;
}

uint8_t run_leaf(struct evaluator *evaluator, uint32_t node, struct env_value *value,
                 uint32_t *owner)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct record *record = evaluator->record;
    if (!record)
        return read_leaf(evaluator, n, value, owner);
    uint32_t entry = record_open(record, n);
    uint8_t state = read_leaf(evaluator, n, value, owner);
    if (entry != NODE_NONE && state == ENV_KNOWN && n->type == TYPE_FLAG)
        outcome_plain(&record->entries.items[entry].of.outcome, node,
                      (value->number != 0) != ((n->part & FLAG_NEGATE) != 0));
    else if (entry != NODE_NONE && state == ENV_KNOWN)
        record->entries.items[entry].of.value = *value;
    record_close(record, entry, state);
    return state;
}

static uint8_t record_of(struct evaluator *evaluator, const struct formula_node *n,
                         uint32_t *record)
{
    struct env_value value;
    uint8_t state;
    uint32_t branch, owner;
    switch (n->op) {
    case OP_RECORD_SLOT:
        *record = evaluator->slots[n->a].record;
        return evaluator->slots[n->a].state;
    case OP_RECORD_FIXED:
        *record = n->a;
        return ENV_KNOWN;
    case OP_RECORD_LEAF:
        state = read_leaf(evaluator, n, &value, &owner);
        if (state == ENV_KNOWN)
            *record = (uint32_t)value.number;
        return state;
    case OP_IF:
        branch = branch_of(evaluator, n, &state);
        return branch == NODE_NONE ? state : run_record(evaluator, branch, record);
    case OP_OTHERWISE:
        state = run_record(evaluator, n->a, record);
        return state == ENV_ABSENT ? run_record(evaluator, n->b, record) : state;
    default:
        BUG("operation %d gives no record", n->op);
    }
}

uint8_t run_record(struct evaluator *evaluator, uint32_t node, uint32_t *record)
{
    const struct formula_node *n = node_of(evaluator, node);
    if (!evaluator->record)
        return record_of(evaluator, n, record);
    uint32_t entry = record_open(evaluator->record, n);
    uint8_t state = record_of(evaluator, n, record);
    if (entry != NODE_NONE)
        evaluator->record->entries.items[entry].of.record = *record;
    record_close(evaluator->record, entry, state);
    return state;
}

static inline uint32_t next_entry(const struct evaluator *evaluator)
{
    return evaluator->record ? record_next(evaluator->record) : NODE_NONE;
}

/* Calls: arguments into slots, and values kept while the arguments stay the same.
 *
 * One value a call is mostly enough, since rules are asked record by record: all rules about
 * one cutter find what the first of them computed. */

/* All arguments are evaluated before any is stored: an argument may itself contain this call.
 */
static void store_arguments(struct evaluator *evaluator, uint32_t argument, uint32_t slot)
{
    if (argument == NODE_NONE)
        return;
    const struct formula_node *n = node_of(evaluator, argument);
    const struct formula_node *value = node_of(evaluator, n->a);
    struct slot *into = &evaluator->slots[slot];
    struct form form;
    bool is_record = value->type == TYPE_RECORD;
    uint32_t record = 0, entry = next_entry(evaluator);
    uint8_t state =
        is_record ? run_record(evaluator, n->a, &record) : run_quantity(evaluator, n->a, &form);
    store_arguments(evaluator, n->b, slot + 1);
    into->state = state;
    into->entry = entry;
    if (is_record) {
        into->kind = value->kind;
        into->record = record;
    } else if (state == ENV_KNOWN) {
        copy_form(&into->form, &form);
    }
}

static uint32_t slot_key(const struct slot *slot)
{
    return slot->state == ENV_KNOWN ? slot->record : NODE_NONE - slot->state;
}

/* Where what a call comes to is kept for the records that its parameters stand for now. */
static inline struct kept *place_of(const struct evaluator *evaluator, uint32_t call)
{
    if (evaluator->ways == 1)
        return &evaluator->kept[call];
    const struct formula_call *c = &evaluator->program->calls[call];
    uint32_t way = c->parameters ? slot_key(&evaluator->slots[c->first_slot]) : 0;
    return &evaluator->kept[(size_t)call * evaluator->ways + (way & (evaluator->ways - 1))];
}

const struct kept *kept_find(const struct evaluator *evaluator, uint32_t call)
{
    const struct formula_call *c = &evaluator->program->calls[call];
    const struct kept *kept = place_of(evaluator, call);
    if (kept->epoch != evaluator->epoch) /* such as is never kept has none */
        return NULL;
    for (uint32_t i = 0; i < c->parameters; i++)
        if (kept->keys[i] != slot_key(&evaluator->slots[c->first_slot + i]))
            return NULL;
    return kept;
}

struct kept *kept_renew(struct evaluator *evaluator, uint32_t call)
{
    const struct formula_call *c = &evaluator->program->calls[call];
    if (!c->keeps || evaluator->exhausted)
        return NULL;
    struct kept *kept = place_of(evaluator, call);
    kept->epoch = evaluator->epoch;
    kept->recording = 0;
    for (uint32_t i = 0; i < c->parameters; i++)
        kept->keys[i] = slot_key(&evaluator->slots[c->first_slot + i]);
    return kept;
}

/* Binds the arguments of a call; what was kept for them, or NULL.  While recording only what
 * this record tells the way to serves. */
static const struct kept *enter(struct evaluator *evaluator, const struct formula_node *call)
{
    if (call->b != NODE_NONE)
        store_arguments(evaluator, call->b, evaluator->program->calls[call->a].first_slot);
    const struct kept *kept = kept_find(evaluator, call->a);
    struct record *record = evaluator->record;
    if (!record || !kept)
        return kept;
    if (kept->recording != record->number)
        return NULL;
    record_stand(record, kept->entry);
    return kept;
}

/* After the body of a call was worked out, whose entry would be `body`: where to keep it. */
static struct kept *leave(struct evaluator *evaluator, const struct formula_node *call,
                          uint32_t body)
{
    struct kept *keep = kept_renew(evaluator, call->a);
    if (evaluator->record) {
        record_stand(evaluator->record, body);
        if (keep) {
            keep->recording = evaluator->record->number;
            keep->entry = body;
        }
    }
    return keep;
}

static OUT_OF_LINE uint8_t call_quantity(struct evaluator *evaluator,
                                         const struct formula_node *n, struct form *out)
{
    const struct kept *kept = enter(evaluator, n);
    if (kept) {
        if (kept->state == ENV_KNOWN)
            copy_form(out, &kept->form);
        return kept->state;
    }
    uint32_t body = next_entry(evaluator);
    uint8_t state = run_quantity(evaluator, evaluator->program->calls[n->a].body, out);
    struct kept *keep = leave(evaluator, n, body);
    if (keep) {
        keep->state = state;
        if (state == ENV_KNOWN)
            copy_form(&keep->form, out);
    }
    return state;
}

static uint8_t call_text(struct evaluator *evaluator, const struct formula_node *n,
                         struct view *out)
{
    const struct kept *kept = enter(evaluator, n);
    if (kept) {
        *out = kept->text;
        return kept->state;
    }
    *out = (struct view){NULL, 0};
    uint32_t body = next_entry(evaluator);
    uint8_t state = run_text(evaluator, evaluator->program->calls[n->a].body, out);
    struct kept *keep = leave(evaluator, n, body);
    if (keep) {
        keep->state = state;
        keep->text = *out;
    }
    return state;
}

static OUT_OF_LINE void call_truth(struct evaluator *evaluator, const struct formula_node *n,
                                   struct outcome *out)
{
    const struct kept *kept = enter(evaluator, n);
    if (kept && kept->statistical == evaluator->statistical) {
        *out = kept->outcome;
        return;
    }
    uint32_t body = next_entry(evaluator);
    run_truth(evaluator, evaluator->program->calls[n->a].body, out);
    struct kept *keep = leave(evaluator, n, body);
    if (keep) {
        keep->outcome = *out;
        keep->statistical = evaluator->statistical;
    }
}

/* Texts. */

static uint8_t text_of(struct evaluator *evaluator, const struct formula_node *n,
                       struct view *out)
{
    struct env_value value;
    uint32_t owner, branch;
    uint8_t state;
    switch (n->op) {
    case OP_TEXT:
        *out = (struct view){evaluator->program->text + n->text, n->text_size};
        return ENV_KNOWN;
    case OP_LEAF:
        state = read_leaf(evaluator, n, &value, &owner);
        if (state == ENV_KNOWN)
            *out = value.text;
        return state;
    case OP_CALL:
        return call_text(evaluator, n, out);
    case OP_IF:
        branch = branch_of(evaluator, n, &state);
        return branch == NODE_NONE ? state : run_text(evaluator, branch, out);
    case OP_OTHERWISE:
        state = run_text(evaluator, n->a, out);
        return state == ENV_ABSENT ? run_text(evaluator, n->b, out) : state;
    default:
        BUG("operation %d gives no text", n->op);
    }
}

uint8_t run_text(struct evaluator *evaluator, uint32_t node, struct view *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    if (!step_on(evaluator))
        return ENV_ABSENT;
    if (!evaluator->record)
        return text_of(evaluator, n, out);
    uint32_t entry = record_open(evaluator->record, n);
    uint8_t state = text_of(evaluator, n, out);
    if (entry != NODE_NONE && state == ENV_KNOWN)
        evaluator->record->entries.items[entry].of.text = *out;
    record_close(evaluator->record, entry, state);
    return state;
}

/* Quantities. */

static OUT_OF_LINE uint8_t leaf_quantity(struct evaluator *evaluator,
                                         const struct formula_node *n, struct form *out)
{
    struct env_value value;
    uint32_t owner;
    uint8_t state = read_leaf(evaluator, n, &value, &owner);
    if (state != ENV_KNOWN)
        return state;
    if (n->type == TYPE_DATE || value.tolerance == 0 || n->part & FLAG_NOMINAL)
        form_exact(out, value.number);
    else
        form_with(out, value.number, deviation_own(evaluator, n, owner, NODE_NONE),
                  value.tolerance);
    return ENV_KNOWN;
}

static OUT_OF_LINE uint8_t slot_quantity(struct evaluator *evaluator,
                                         const struct formula_node *n, struct form *out)
{
    const struct slot *slot = &evaluator->slots[n->a];
    if (evaluator->record)
        record_stand(evaluator->record, slot->entry);
    if (slot->state != ENV_KNOWN)
        return slot->state;
    if (n->part & FLAG_NOMINAL)
        form_nominal(out, &slot->form);
    else
        copy_form(out, &slot->form);
    return ENV_KNOWN;
}

/* For a record: what else stands in the text of an operation. */
static void record_rest(struct evaluator *evaluator, const struct formula_node *n)
{
    const uint32_t rest[2] = {n->b, n->c};
    struct form number;
    uint32_t record;
    if (n->op == OP_SCALE)
        run_quantity(evaluator, n->b, &number);
    for (int i = 0; i < 2 && n->op == OP_DISTANCE; i++)
        if (node_of(evaluator, rest[i])->type == TYPE_RECORD)
            run_record(evaluator, rest[i], &record);
        else
            record_close(evaluator->record,
                         record_open(evaluator->record, node_of(evaluator, rest[i])),
                         ENV_ABSENT);
}

static OUT_OF_LINE uint8_t one_quantity(struct evaluator *evaluator,
                                        const struct formula_node *n, struct form *out)
{
    uint8_t state = run_quantity(evaluator, n->a, out);
    if (evaluator->record)
        record_rest(evaluator, n);
    if (state != ENV_KNOWN)
        return state;
    switch (n->op) {
    case OP_NEGATE:
        form_negate(out, out);
        return ENV_KNOWN;
    case OP_SCALE:
        form_scale(out, out, n->number);
        return ENV_KNOWN;
    case OP_POWER:
        return form_power(out, out, (int32_t)n->b) ? ENV_KNOWN : ENV_ABSENT;
    case OP_ROOT:
        return form_root(out, out) ? ENV_KNOWN : ENV_ABSENT;
    case OP_ABSOLUTE:
        form_absolute(out, out);
        return ENV_KNOWN;
    default: /* OP_NOMINAL, OP_DISTANCE */
        return ENV_KNOWN;
    }
}

static deviation_name name_of_width(struct evaluator *evaluator, const struct formula_node *n)
{
    const struct formula_node *name = node_of(evaluator, n->c);
    struct record *record = evaluator->record;
    uint32_t owner = 0;
    evaluator->record = NULL;
    bool known = name->a != NODE_NONE && run_record(evaluator, name->a, &owner) == ENV_KNOWN;
    evaluator->record = record;
    return deviation_of(evaluator, name, known ? owner : NODE_NONE);
}

static OUT_OF_LINE uint8_t two_quantities(struct evaluator *evaluator,
                                          const struct formula_node *n, struct form *out)
{
    struct form right;
    uint8_t left = run_quantity(evaluator, n->a, out);
    uint8_t state = worse(left, run_quantity(evaluator, n->b, &right));
    if (state != ENV_KNOWN)
        return state;
    switch (n->op) {
    case OP_ADD:
        form_add(out, out, &right);
        return ENV_KNOWN;
    case OP_SUBTRACT:
        form_subtract(out, out, &right);
        return ENV_KNOWN;
    case OP_MULTIPLY:
        form_multiply(out, out, &right);
        return ENV_KNOWN;
    case OP_DIVIDE:
        return form_divide(out, out, &right) ? ENV_KNOWN : ENV_ABSENT;
    case OP_HYPOT:
        form_hypot(out, out, &right);
        return ENV_KNOWN;
    case OP_MAXIMUM:
        form_maximum(out, out, &right);
        return ENV_KNOWN;
    case OP_MINIMUM:
        form_minimum(out, out, &right);
        return ENV_KNOWN;
    default: /* OP_WIDEN */
        form_widen(out, out, name_of_width(evaluator, n), &right);
        return ENV_KNOWN;
    }
}

static OUT_OF_LINE uint8_t chosen_quantity(struct evaluator *evaluator,
                                           const struct formula_node *n, struct form *out)
{
    uint8_t state;
    if (n->op == OP_IF) {
        uint32_t branch = branch_of(evaluator, n, &state);
        return branch == NODE_NONE ? state : run_quantity(evaluator, branch, out);
    }
    state = run_quantity(evaluator, n->a, out);
    return state == ENV_ABSENT ? run_quantity(evaluator, n->b, out) : state;
}

static OUT_OF_LINE uint8_t last_margin(const struct evaluator *evaluator,
                                       const struct formula_node *n, struct form *out)
{
    const struct verdict *verdict = &evaluator->verdict;
    if (!verdict->has_margin)
        return ENV_ABSENT;
    form_exact(out, n->op == OP_MARGIN ? verdict->margin : 0 - verdict->margin);
    /* It is no better known than what it was computed from. */
    out->scale = verdict->size > out->scale ? verdict->size : out->scale;
    return ENV_KNOWN;
}

static IN_LINE uint8_t quantity_of(struct evaluator *evaluator, uint32_t node, struct form *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    switch (n->op) {
    case OP_NUMBER:
        form_exact(out, n->number);
        return ENV_KNOWN;
    case OP_LEAF:
        return leaf_quantity(evaluator, n, out);
    case OP_SLOT:
        return slot_quantity(evaluator, n, out);
    case OP_CALL:
        return call_quantity(evaluator, n, out);
    case OP_ADD:
    case OP_SUBTRACT:
    case OP_MULTIPLY:
    case OP_DIVIDE:
    case OP_HYPOT:
    case OP_MAXIMUM:
    case OP_MINIMUM:
    case OP_WIDEN:
        return two_quantities(evaluator, n, out);
    case OP_NEGATE:
    case OP_SCALE:
    case OP_POWER:
    case OP_ROOT:
    case OP_ABSOLUTE:
    case OP_NOMINAL:
    case OP_DISTANCE:
        return one_quantity(evaluator, n, out);
    case OP_IF:
    case OP_OTHERWISE:
        return chosen_quantity(evaluator, n, out);
    case OP_COUNT:
    case OP_LARGEST:
    case OP_SMALLEST:
        return run_list_quantity(evaluator, node, out);
    case OP_SHORTFALL:
    case OP_MARGIN:
        return last_margin(evaluator, n, out);
    default:
        BUG("operation %d gives no quantity", n->op);
    }
}

static OUT_OF_LINE uint8_t recorded_quantity(struct evaluator *evaluator, uint32_t node,
                                             struct form *out)
{
    uint32_t entry = record_open(evaluator->record, node_of(evaluator, node));
    uint8_t state = quantity_of(evaluator, node, out);
    record_quantity(evaluator, entry, state, out);
    return state;
}

OUT_OF_LINE uint8_t run_quantity(struct evaluator *evaluator, uint32_t node, struct form *out)
{
    if (!step_on(evaluator))
        return ENV_ABSENT;
    return evaluator->record ? recorded_quantity(evaluator, node, out)
                             : quantity_of(evaluator, node, out);
}

/* Truths and their margins. */

void outcome_unknown(struct outcome *out, uint8_t state)
{
    *out = (struct outcome){.truth = TRUTH_UNKNOWN,
                            .state = state == ENV_WRONG ? ENV_WRONG : ENV_ABSENT,
                            .decided_by = NODE_NONE};
}

void outcome_plain(struct outcome *out, uint32_t node, bool holds)
{
    *out = (struct outcome){.truth = holds ? TRUTH_TRUE : TRUTH_FALSE, .decided_by = node};
}

void outcome_compared(const struct evaluator *evaluator, uint32_t node, bool strict,
                      const struct form *difference, struct outcome *out)
{
    /* any that is not finite makes the sum no number */
    double finite = difference->low * 0 + difference->high * 0 + difference->mid * 0 +
                    difference->scale * 0 + difference->rest * 0;
    if (finite != 0) {
        outcome_unknown(out, ENV_ABSENT);
        return;
    }
    double margin = form_settle(difference, form_least(difference, evaluator->statistical));
    out->truth = (strict ? margin > 0 : margin >= 0) ? TRUTH_TRUE : TRUTH_FALSE;
    out->state = ENV_KNOWN;
    out->has_margin = node_of(evaluator, node)->kind;
    out->decided_by = node;
    out->margin = margin;
    out->size = difference->scale;
}

/* Comparisons. */

static OUT_OF_LINE void compare(struct evaluator *evaluator, uint32_t node, struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct form first, second; /* as they are written, so that reads are noted in that order */
    bool swapped = n->part & FLAG_SWAPPED;
    uint8_t state = run_quantity(evaluator, swapped ? n->b : n->a, &first);
    state = worse(state, run_quantity(evaluator, swapped ? n->a : n->b, &second));
    if (state != ENV_KNOWN) {
        outcome_unknown(out, state);
        return;
    }
    if (swapped)
        form_subtract(&first, &second, &first);
    else
        form_subtract(&first, &first, &second);
    outcome_compared(evaluator, node, n->part & FLAG_STRICT, &first, out);
}

/* Two quantities are equal where they may be: what is to spare is minus the least they can
 * differ. */
static OUT_OF_LINE void compare_equal(struct evaluator *evaluator, uint32_t node,
                                      struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct form a, b;
    uint8_t state = run_quantity(evaluator, n->a, &a);
    state = worse(state, run_quantity(evaluator, n->b, &b));
    if (state == ENV_KNOWN) {
        form_subtract(&a, &a, &b);
        if (!form_is_finite(&a))
            state = ENV_ABSENT;
    }
    if (state != ENV_KNOWN) {
        outcome_unknown(out, state);
        return;
    }
    double above = form_settle(&a, form_least(&a, evaluator->statistical));
    double below = form_settle(&a, form_greatest(&a, evaluator->statistical));
    double apart = above > 0 ? above : below < 0 ? -below : 0;
    bool differ = n->part & FLAG_NEGATE;
    out->truth = (apart > 0) == differ ? TRUTH_TRUE : TRUTH_FALSE;
    out->state = ENV_KNOWN;
    out->has_margin = n->kind;
    out->decided_by = node;
    out->margin = differ ? apart : 0 - apart;
    out->size = a.scale;
}

static OUT_OF_LINE void compare_inside(struct evaluator *evaluator, uint32_t node,
                                       struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct form x, low, high;
    uint8_t state = run_quantity(evaluator, n->a, &x);
    state = worse(state, run_quantity(evaluator, n->b, &low));
    state = worse(state, run_quantity(evaluator, n->c, &high));
    if (state != ENV_KNOWN) {
        outcome_unknown(out, state);
        return;
    }
    bool outside = n->part & FLAG_NEGATE;
    double half = (high.mid - low.mid) / 2; /* nothing inside has more to spare */
    struct outcome other;
    if (outside) {
        form_subtract(&low, &low, &x);
        form_subtract(&high, &x, &high);
    } else {
        form_subtract(&low, &x, &low);
        form_subtract(&high, &high, &x);
    }
    outcome_compared(evaluator, node, outside, &low, out);
    outcome_compared(evaluator, node, outside, &high, &other);
    if (other.truth == TRUTH_UNKNOWN || out->truth == TRUTH_UNKNOWN)
        outcome_unknown(out, ENV_ABSENT);
    else if (outside ? other.margin > out->margin : other.margin < out->margin)
        *out = other;
    if (!outside && half > 0 && half < out->size)
        out->size = half;
}

/* Logic. */

/* Of two sides that came out alike: the one whose margin counts, the first where it is all the
 * same. */
static int tighter(bool least, const struct outcome *x, const struct outcome *y)
{
    if (!y->has_margin)
        return 1;
    if (!x->has_margin)
        return 2;
    return (least ? y->margin < x->margin : y->margin > x->margin) ? 2 : 1;
}

int outcome_side(bool both, const struct outcome *x, const struct outcome *y)
{
    uint8_t decides = both ? TRUTH_FALSE : TRUTH_TRUE;
    if (x->truth == decides && y->truth == decides)
        return tighter(both, x, y);
    if (x->truth == decides)
        return 1;
    if (y->truth == decides)
        return 2;
    if (x->truth == TRUTH_UNKNOWN || y->truth == TRUTH_UNKNOWN)
        return 0;
    return tighter(both, x, y);
}

static OUT_OF_LINE void join(struct evaluator *evaluator, const struct formula_node *n,
                             struct outcome *out)
{
    bool both = n->op == OP_AND;
    run_truth(evaluator, n->a, out);
    /* an `or` that holds at once, and an `and` that a flag has denied, ask no further */
    if (both ? out->truth == TRUTH_FALSE && !out->has_margin : out->truth == TRUTH_TRUE)
        return;
    struct outcome other;
    run_truth(evaluator, n->b, &other);
    int side = outcome_side(both, out, &other);
    if (side == 0) {
        outcome_unknown(out, worse(out->state, other.state));
        return;
    }
    if (side == 2)
        *out = other;
}

static OUT_OF_LINE void choose(struct evaluator *evaluator, const struct formula_node *n,
                               struct outcome *out)
{
    if (n->op == OP_IF) {
        uint8_t state;
        uint32_t branch = branch_of(evaluator, n, &state);
        if (branch == NODE_NONE)
            outcome_unknown(out, state);
        else
            run_truth(evaluator, branch, out);
        return;
    }
    run_truth(evaluator, n->a, out);
    if (out->truth == TRUTH_UNKNOWN && out->state != ENV_WRONG)
        run_truth(evaluator, n->b, out);
}

/* Words. */

static int rank_of(const struct env_value *list, uint32_t word)
{
    for (uint32_t i = 0; i < list->count; i++)
        if (list->words[i] == word)
            return list->ranks[i];
    return -1;
}

/* Does the value of a leaf pass the test of `n`? */
static bool passes(const struct formula_node *n, const struct env_value *value)
{
    int first, second;
    switch (n->op) {
    case OP_FLAG:
        return value->number != 0;
    case OP_IS_WORD:
        return (uint32_t)value->number == n->b;
    case OP_IS_NONE:
        return value->none;
    case OP_HAS:
        return rank_of(value, n->b) >= 0;
    case OP_BEFORE:
        first = rank_of(value, n->b);
        second = rank_of(value, n->c);
        return first < 0 || second < 0 || first < second;
    default:
        BUG("operation %d asks no leaf", n->op);
    }
}

static OUT_OF_LINE void ask_leaf(struct evaluator *evaluator, uint32_t node,
                                 struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct env_value value;
    uint32_t owner;
    uint8_t state = n->op == OP_FLAG ? read_leaf(evaluator, n, &value, &owner)
                                     : run_leaf(evaluator, n->a, &value, &owner);
    if (state != ENV_KNOWN)
        outcome_unknown(out, state);
    else
        outcome_plain(out, node, passes(n, &value) != ((n->part & FLAG_NEGATE) != 0));
}

static uint8_t match(struct evaluator *evaluator, const struct formula_node *n,
                     struct view text, bool *matches)
{
    const struct formula_node *literal = node_of(evaluator, n->b);
    struct view pattern = {evaluator->program->text + literal->text, literal->text_size};
    const char *message;
    size_t offset, whole[2], value[2];
    uint64_t budget = PATTERN_BUDGET;
    struct pattern *compiled = pattern_open(evaluator->arena, pattern, &message, &offset);
    BUG_UNLESS(compiled); /* it was opened once when the formula was read */
    enum pattern_result result = pattern_search(compiled, text, 0, &budget, whole, value);
    pattern_close(compiled);
    *matches = result == PATTERN_MATCH;
    if (result == PATTERN_COSTLY)
        evaluator->exhausted = true;
    return result == PATTERN_COSTLY ? ENV_ABSENT : ENV_KNOWN;
}

static OUT_OF_LINE void ask_texts(struct evaluator *evaluator, uint32_t node,
                                  struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct view a, b;
    bool holds = false;
    uint8_t state = run_text(evaluator, n->a, &a);
    state = worse(state, run_text(evaluator, n->b, &b));
    if (state == ENV_KNOWN) {
        if (n->op == OP_MATCHES)
            state = match(evaluator, n, a, &holds);
        else
            holds = view_equal(a, b);
    }
    if (state != ENV_KNOWN)
        outcome_unknown(out, state);
    else
        outcome_plain(out, node, holds != ((n->part & FLAG_NEGATE) != 0));
}

/* Two words of one choice, two flags, or two records. */
static OUT_OF_LINE void ask_same(struct evaluator *evaluator, uint32_t node,
                                 struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    double number[2] = {0, 0};
    uint8_t state = ENV_KNOWN;
    uint32_t record = 0;
    for (int i = 0; i < 2; i++) {
        uint32_t side = i ? n->b : n->a;
        struct env_value value;
        if (n->op == OP_IS_RECORD) {
            state = worse(state, run_record(evaluator, side, &record));
            number[i] = record;
        } else {
            uint8_t read = run_leaf(evaluator, side, &value, &record);
            state = worse(state, read);
            number[i] = read == ENV_KNOWN ? value.number : 0;
        }
    }
    if (state != ENV_KNOWN)
        outcome_unknown(out, state);
    else
        outcome_plain(out, node, (number[0] == number[1]) != ((n->part & FLAG_NEGATE) != 0));
}

static OUT_OF_LINE void ask_known(struct evaluator *evaluator, uint32_t node,
                                  struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    uint8_t state = run_any(evaluator, n->a);
    if (state == ENV_WRONG || evaluator->exhausted) {
        outcome_unknown(out, state);
        return;
    }
    outcome_plain(out, node, (state == ENV_KNOWN) != ((n->part & FLAG_NEGATE) != 0));
}

static IN_LINE void truth_of(struct evaluator *evaluator, uint32_t node, struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    switch (n->op) {
    case OP_TRUTH:
        outcome_plain(out, node, n->number != 0);
        return;
    case OP_COMPARE:
        compare(evaluator, node, out);
        return;
    case OP_EQUAL:
        compare_equal(evaluator, node, out);
        return;
    case OP_INSIDE:
        compare_inside(evaluator, node, out);
        return;
    case OP_COMPARE_EACH:
        run_each_compared(evaluator, node, out);
        return;
    case OP_AND:
    case OP_OR:
        join(evaluator, n, out);
        return;
    case OP_IF:
    case OP_OTHERWISE:
        choose(evaluator, n, out);
        return;
    case OP_CALL:
        call_truth(evaluator, n, out);
        return;
    case OP_FLAG:
    case OP_IS_WORD:
    case OP_IS_NONE:
    case OP_HAS:
    case OP_BEFORE:
        ask_leaf(evaluator, node, out);
        return;
    case OP_IS_TEXT:
    case OP_MATCHES:
        ask_texts(evaluator, node, out);
        return;
    case OP_IS_SAME:
    case OP_IS_RECORD:
        ask_same(evaluator, node, out);
        return;
    case OP_KNOWN:
        ask_known(evaluator, node, out);
        return;
    case OP_EVERY:
    case OP_ANY:
    case OP_DISTINCT:
        run_list_truth(evaluator, node, out);
        return;
    default:
        BUG("operation %d gives no truth", n->op);
    }
}

static OUT_OF_LINE void recorded_truth(struct evaluator *evaluator, uint32_t node,
                                       struct outcome *out)
{
    uint32_t entry = record_open(evaluator->record, node_of(evaluator, node));
    truth_of(evaluator, node, out);
    if (entry != NODE_NONE)
        evaluator->record->entries.items[entry].of.outcome = *out;
    record_close(evaluator->record, entry,
                 out->truth == TRUTH_UNKNOWN ? out->state : ENV_KNOWN);
}

OUT_OF_LINE void run_truth(struct evaluator *evaluator, uint32_t node, struct outcome *out)
{
    if (!step_on(evaluator))
        outcome_unknown(out, ENV_ABSENT);
    else if (evaluator->record)
        recorded_truth(evaluator, node, out);
    else
        truth_of(evaluator, node, out);
}

uint8_t run_any(struct evaluator *evaluator, uint32_t node)
{
    struct form form;
    struct outcome outcome;
    struct view text;
    struct env_value value;
    uint32_t record;
    switch ((enum value_type)node_of(evaluator, node)->type) {
    case TYPE_QUANTITY:
    case TYPE_DATE:
        return run_quantity(evaluator, node, &form);
    case TYPE_FLAG:
        run_truth(evaluator, node, &outcome);
        return outcome.truth == TRUTH_UNKNOWN ? outcome.state : ENV_KNOWN;
    case TYPE_TEXT:
        return run_text(evaluator, node, &text);
    case TYPE_RECORD:
        return run_record(evaluator, node, &record);
    default:
        return run_leaf(evaluator, node, &value, &record);
    }
}
