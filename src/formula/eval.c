/* Formulas worked out: leaves, quantities, truths.
 *
 * Quantities are the innermost loop of the program: no allocation, forms are handed up where
 * they lie, and those that are copied are by the terms they have.  While recording (record.c)
 * each function here enters what it works out.
 */
#include "formula/internal.h"

#include <math.h>

#define OUT_OF_LINE __attribute__((noinline))
#define IN_LINE     inline __attribute__((always_inline))

const struct form unknown_forms[4];

/* Why an operation that cannot be done with x is not known: with other values of the range it
 * may be done. */
static uint8_t undone(const struct evaluator *evaluator, const struct form *x)
{
    return evaluator->moved && x->low != x->high ? ENV_OPEN : ENV_ABSENT;
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

/* Is it worked out of the number whose range is asked about? */
static inline bool is_moved(const struct evaluator *evaluator, const struct formula_node *n)
{
    return evaluator->moved && evaluator->moved[n->leaf] && n->leaf != evaluator->range.leaf;
}

/* Of such a leaf.  How far up its tolerances take it nobody tells: only what fails for want of
 * it can be told to fail. */
static const struct form *moved_form(const struct evaluator *evaluator,
                                     const struct formula_node *n,
                                     const struct env_value *value, struct form *room)
{
    struct form most;
    if (n->part & FLAG_NOMINAL)
        return form_unknown(ENV_OPEN);
    form_at_least(room, value->number);
    if (!evaluator->range.failing || value->most == INFINITY)
        return room;
    form_exact(room, value->number);
    form_exact(&most, value->most);
    form_either(room, room, &most);
    return room;
}

/* Adds the range that is asked about, where this is its number. */
static void add_range(const struct evaluator *evaluator, const struct formula_node *n,
                      uint32_t record, struct form *form)
{
    const struct formula_range *range = &evaluator->range;
    struct form band;
    if (n->leaf != range->leaf || (n->part & PART_MASK) != range->part ||
        record != range->record)
        return;
    form_with(&band, 0, DEVIATION_RANGE, range->half);
    form_add(form, form, &band);
}

/* What stands in a record, or comes of it. */
static inline void read_value(const struct evaluator *evaluator, const struct formula_node *n,
                              uint32_t record, struct env_value *value)
{
    const struct environment_values *values = &evaluator->values;
    if (is_moved(evaluator, n))
        values->throughout(values->user, n->leaf, record, value);
    else
        values->read(values->user, n->leaf, n->part & PART_MASK, record, value);
}

/* The form of a leaf that is known. */
static inline const struct form *form_of(struct evaluator *evaluator,
                                         const struct formula_node *n, uint32_t record,
                                         const struct env_value *value, struct form *room)
{
    if (is_moved(evaluator, n))
        return moved_form(evaluator, n, value, room);
    if (n->type == TYPE_DATE || value->tolerance == 0 || n->part & FLAG_NOMINAL)
        form_exact(room, value->number);
    else
        form_with(room, value->number, deviation_own(evaluator, n, record, NODE_NONE),
                  value->tolerance);
    if (evaluator->moved)
        add_range(evaluator, n, record, room);
    return room;
}

static OUT_OF_LINE void read_leaf(struct evaluator *evaluator, const struct formula_node *n,
                                  uint32_t record, struct leaf *leaf)
{
    struct env_value *value = &leaf->value;
    leaf->epoch = n->part & FLAG_ONE ? evaluator->epoch : 0;
    leaf->record = record;
    read_value(evaluator, n, record, value);
    leaf->known = form_unknown((uint8_t)value->state);
    if (value->state == ENV_KNOWN && (n->type == TYPE_QUANTITY || n->type == TYPE_DATE))
        leaf->known = form_of(evaluator, n, record, value, &leaf->form);
}

/* What a leaf is in the record that it belongs to; one that is always the same is read once a
 * file. */
static inline uint8_t know_leaf(struct evaluator *evaluator, const struct formula_node *n,
                                const struct leaf **out)
{
    uint32_t record = 0;
    if (n->a != NODE_NONE) {
        uint8_t state = quick_record(evaluator, n->a, &record);
        if (state != ENV_KNOWN)
            return state;
    }
    struct leaf *leaf = &evaluator->leaves[n->op == OP_DOMAIN ? 0 : n->c];
    if (leaf->epoch != evaluator->epoch)
        read_leaf(evaluator, n, record, leaf);
    if (evaluator->record)
        record_read(evaluator, n, record, &leaf->value);
    *out = leaf;
    return (uint8_t)leaf->value.state;
}

uint8_t run_leaf(struct evaluator *evaluator, uint32_t node, const struct leaf **leaf)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct record *record = evaluator->record;
    if (!record)
        return know_leaf(evaluator, n, leaf);
    uint32_t entry = record_open(record, n);
    uint8_t state = know_leaf(evaluator, n, leaf);
    if (entry != NODE_NONE && state == ENV_KNOWN && n->type == TYPE_FLAG)
        outcome_plain(&record->entries.items[entry].of.outcome, node,
                      ((*leaf)->value.number != 0) != ((n->part & FLAG_NEGATE) != 0));
    else if (entry != NODE_NONE && state == ENV_KNOWN)
        record->entries.items[entry].of.value = (*leaf)->value;
    record_close(record, entry, state);
    return state;
}

static uint8_t record_of(struct evaluator *evaluator, const struct formula_node *n,
                         uint32_t *record)
{
    const struct leaf *leaf;
    uint8_t state;
    uint32_t branch;
    switch (n->op) {
    case OP_RECORD_SLOT:
        *record = evaluator->slots[n->a].record;
        return evaluator->slots[n->a].state;
    case OP_RECORD_FIXED:
        *record = n->a;
        return ENV_KNOWN;
    case OP_RECORD_LEAF:
        state = know_leaf(evaluator, n, &leaf);
        if (state == ENV_KNOWN)
            *record = (uint32_t)leaf->value.number;
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

/* Texts. */

static uint8_t text_of(struct evaluator *evaluator, const struct formula_node *n,
                       struct view *out)
{
    const struct leaf *leaf;
    uint32_t branch;
    uint8_t state;
    switch (n->op) {
    case OP_TEXT:
        *out = (struct view){evaluator->program->text + n->text, n->text_size};
        return ENV_KNOWN;
    case OP_LEAF:
        state = know_leaf(evaluator, n, &leaf);
        if (state == ENV_KNOWN)
            *out = leaf->value.text;
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

static OUT_OF_LINE const struct form *
leaf_quantity(struct evaluator *evaluator, const struct formula_node *n, struct form *room)
{
    const struct leaf *leaf;
    struct env_value value;
    uint32_t record;
    uint8_t state;
    if (n->part & FLAG_ONE) {
        state = know_leaf(evaluator, n, &leaf);
        return state == ENV_KNOWN ? leaf->known : form_unknown(state);
    }
    state = quick_record(evaluator, n->a, &record);
    if (state != ENV_KNOWN)
        return form_unknown(state);
    read_value(evaluator, n, record, &value);
    if (evaluator->record)
        record_read(evaluator, n, record, &value);
    return value.state == ENV_KNOWN ? form_of(evaluator, n, record, &value, room)
                                    : form_unknown((uint8_t)value.state);
}

static OUT_OF_LINE const struct form *
number_quantity(struct evaluator *evaluator, const struct formula_node *n, struct form *room)
{
    if (n->part & FLAG_ONE) {
        struct leaf *place = &evaluator->leaves[n->c];
        place->epoch = evaluator->epoch;
        place->known = room = &place->form;
    }
    form_exact(room, n->number);
    return room;
}

static OUT_OF_LINE const struct form *
slot_quantity(struct evaluator *evaluator, const struct formula_node *n, struct form *room)
{
    const struct slot *slot = &evaluator->slots[n->a];
    if (evaluator->record)
        record_stand(evaluator->record, slot->entry);
    if (slot->state != ENV_KNOWN)
        return form_unknown(slot->state);
    if (!(n->part & FLAG_NOMINAL))
        return &slot->form;
    if (evaluator->moved)
        form_nominal_range(room, &slot->form);
    else
        form_nominal(room, &slot->form);
    return room;
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

static OUT_OF_LINE const struct form *
one_quantity(struct evaluator *evaluator, const struct formula_node *n, struct form *room)
{
    const struct form *x = run_quantity(evaluator, n->a, room);
    bool known = true;
    if (evaluator->record)
        record_rest(evaluator, n);
    if (!form_known(x))
        return x;
    switch (n->op) {
    case OP_NEGATE:
        form_negate(room, x);
        break;
    case OP_SCALE:
        form_scale(room, x, n->number);
        break;
    case OP_POWER:
        known = form_power(room, x, (int32_t)n->b);
        break;
    case OP_ROOT:
        known = form_root(room, x);
        break;
    case OP_ABSOLUTE:
        form_absolute(room, x);
        break;
    default: /* OP_NOMINAL, OP_DISTANCE */
        return x;
    }
    return known ? room : form_unknown(undone(evaluator, x));
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

static OUT_OF_LINE const struct form *
two_quantities(struct evaluator *evaluator, const struct formula_node *n, struct form *room)
{
    struct form second;
    const struct form *x = run_quantity(evaluator, n->a, room);
    const struct form *y = run_quantity(evaluator, n->b, &second);
    bool known = true;
    if (!form_known(x) || !form_known(y))
        return form_unknown(worse(form_state(x), form_state(y)));
    switch (n->op) {
    case OP_ADD:
        form_add(room, x, y);
        break;
    case OP_SUBTRACT:
        form_subtract(room, x, y);
        break;
    case OP_MULTIPLY:
        form_multiply(room, x, y);
        break;
    case OP_DIVIDE:
        known = form_divide(room, x, y);
        break;
    case OP_HYPOT:
        form_hypot(room, x, y);
        break;
    case OP_MAXIMUM:
        form_maximum(room, x, y);
        break;
    case OP_MINIMUM:
        form_minimum(room, x, y);
        break;
    default: /* OP_WIDEN */
        /* a width that differs within a range is no one tolerance */
        form_widen(room, x,
                   evaluator->moved && y->low != y->high ? 0 : name_of_width(evaluator, n), y);
    }
    return known ? room : form_unknown(undone(evaluator, y));
}

/* Of an `if` whose condition is open: one or the other. */
static const struct form *either_quantity(struct evaluator *evaluator,
                                          const struct formula_node *n, struct form *room)
{
    struct form rooms[2];
    const struct form *x = run_quantity(evaluator, n->b, &rooms[0]);
    const struct form *y = run_quantity(evaluator, n->c, &rooms[1]);
    if (!form_known(x) || !form_known(y))
        return form_unknown(ENV_OPEN);
    form_either(room, x, y);
    return room;
}

static OUT_OF_LINE const struct form *
chosen_quantity(struct evaluator *evaluator, const struct formula_node *n, struct form *room)
{
    if (n->op == OP_IF) {
        uint8_t state;
        uint32_t branch = branch_of(evaluator, n, &state);
        if (state == ENV_OPEN && branch == NODE_NONE)
            return either_quantity(evaluator, n, room);
        return branch == NODE_NONE ? form_unknown(state)
                                   : run_quantity(evaluator, branch, room);
    }
    const struct form *first = run_quantity(evaluator, n->a, room);
    return first == form_unknown(ENV_ABSENT) ? run_quantity(evaluator, n->b, room) : first;
}

static OUT_OF_LINE const struct form *
last_margin(const struct evaluator *evaluator, const struct formula_node *n, struct form *room)
{
    const struct verdict *verdict = &evaluator->verdict;
    if (!verdict->has_margin)
        return form_unknown(ENV_ABSENT);
    form_exact(room, n->op == OP_MARGIN ? verdict->margin : 0 - verdict->margin);
    /* It is no better known than what it was computed from. */
    room->scale = verdict->size > room->scale ? verdict->size : room->scale;
    return room;
}

static IN_LINE const struct form *quantity_of(struct evaluator *evaluator,
                                              const struct formula_node *n, struct form *room)
{
    switch (n->op) {
    case OP_NUMBER:
        return number_quantity(evaluator, n, room);
    case OP_LEAF:
        return leaf_quantity(evaluator, n, room);
    case OP_SLOT:
        return slot_quantity(evaluator, n, room);
    case OP_CALL:
        return call_quantity(evaluator, n, room);
    case OP_ADD:
    case OP_SUBTRACT:
    case OP_MULTIPLY:
    case OP_DIVIDE:
    case OP_HYPOT:
    case OP_MAXIMUM:
    case OP_MINIMUM:
    case OP_WIDEN:
        return two_quantities(evaluator, n, room);
    case OP_NEGATE:
    case OP_SCALE:
    case OP_POWER:
    case OP_ROOT:
    case OP_ABSOLUTE:
    case OP_NOMINAL:
    case OP_DISTANCE:
        return one_quantity(evaluator, n, room);
    case OP_IF:
    case OP_OTHERWISE:
        return chosen_quantity(evaluator, n, room);
    case OP_COUNT:
    case OP_LARGEST:
    case OP_SMALLEST:
        return run_list_quantity(evaluator, n, room);
    case OP_SHORTFALL:
    case OP_MARGIN:
        return last_margin(evaluator, n, room);
    default:
        BUG("operation %d gives no quantity", n->op);
    }
}

static OUT_OF_LINE const struct form *
recorded_quantity(struct evaluator *evaluator, const struct formula_node *n, struct form *room)
{
    uint32_t entry = record_open(evaluator->record, n);
    const struct form *form = quantity_of(evaluator, n, room);
    record_quantity(evaluator, entry, form);
    return form;
}

OUT_OF_LINE const struct form *run_quantity(struct evaluator *evaluator, uint32_t node,
                                            struct form *room)
{
    const struct formula_node *n = node_of(evaluator, node);
    if (!step_on(evaluator))
        return form_unknown(ENV_ABSENT);
    if (evaluator->record)
        return recorded_quantity(evaluator, n, room);
    if (n->op <= OP_LEAF && n->part & FLAG_ONE) { /* mostly, and mostly read before */
        const struct leaf *leaf = &evaluator->leaves[n->c];
        if (leaf->epoch == evaluator->epoch)
            return leaf->known;
    }
    return quantity_of(evaluator, n, room);
}

/* Truths and their margins. */

void outcome_unknown(struct outcome *out, uint8_t state)
{
    *out = (struct outcome){.truth = TRUTH_UNKNOWN,
                            .state = state == ENV_KNOWN ? ENV_ABSENT : state,
                            .decided_by = NODE_NONE};
}

void outcome_plain(struct outcome *out, uint32_t node, bool holds)
{
    *out = (struct outcome){.truth = holds ? TRUTH_TRUE : TRUTH_FALSE, .decided_by = node};
}

/* What is to spare of two numbers without tolerances that are plainly apart, as most are; false
 * where more has to be known. */
static inline bool spare_plainly(const struct form *high, const struct form *low,
                                 struct outcome *out)
{
    double margin = high->mid - low->mid, apart = fabs(margin);
    double size = high->scale > low->scale ? high->scale : low->scale;
    size = size > apart ? size : apart;
    out->margin = margin;
    out->size = size;
    bool exact = (high->count | low->count) == 0 && high->rest == 0 && low->rest == 0;
    return exact && apart > 1e-9 * size; /* which no rounding makes nothing of */
}

void outcome_compared(const struct evaluator *evaluator, uint32_t node, bool strict,
                      const struct form *high, const struct form *low, struct outcome *out)
{
    if (!spare_plainly(high, low, out)) {
        struct form spare;
        form_subtract(&spare, high, low);
        if (!form_is_finite(&spare)) {
            outcome_unknown(out, undone(evaluator, &spare));
            return;
        }
        out->margin = form_settle(&spare, form_least(&spare, evaluator->statistical));
        out->size = spare.scale;
        double best = evaluator->moved ? form_best(&spare, evaluator->statistical) : -HUGE_VAL;
        best = form_settle(&spare, best);
        if (strict ? out->margin <= 0 && best > 0 : out->margin < 0 && best >= 0) {
            outcome_unknown(out, ENV_OPEN); /* it holds somewhere in the range, or may */
            return;
        }
    }
    out->truth = (strict ? out->margin > 0 : out->margin >= 0) ? TRUTH_TRUE : TRUTH_FALSE;
    out->state = ENV_KNOWN;
    out->has_margin = node_of(evaluator, node)->kind;
    out->decided_by = node;
}

/* Comparisons. */

static OUT_OF_LINE void compare(struct evaluator *evaluator, uint32_t node, struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct form rooms[2]; /* worked out as they are written, so that reads are noted so */
    bool swapped = n->part & FLAG_SWAPPED;
    const struct form *x = run_quantity(evaluator, swapped ? n->b : n->a, &rooms[0]);
    const struct form *y = run_quantity(evaluator, swapped ? n->a : n->b, &rooms[1]);
    if (!form_known(x) || !form_known(y))
        outcome_unknown(out, worse(form_state(x), form_state(y)));
    else
        outcome_compared(evaluator, node, n->part & FLAG_STRICT, swapped ? y : x,
                         swapped ? x : y, out);
}

/* Two quantities are equal where they may be: what is to spare is minus the least they can
 * differ. */
static OUT_OF_LINE void compare_equal(struct evaluator *evaluator, uint32_t node,
                                      struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct form rooms[2], apart;
    const struct form *x = run_quantity(evaluator, n->a, &rooms[0]);
    const struct form *y = run_quantity(evaluator, n->b, &rooms[1]);
    uint8_t state = worse(form_state(x), form_state(y));
    if (state == ENV_KNOWN) {
        form_subtract(&apart, x, y);
        if (!form_is_finite(&apart))
            state = undone(evaluator, &apart);
    }
    if (state != ENV_KNOWN) {
        outcome_unknown(out, state);
        return;
    }
    double above = form_settle(&apart, form_least(&apart, evaluator->statistical));
    double below = form_settle(&apart, form_greatest(&apart, evaluator->statistical));
    double least = above > 0 ? above : below < 0 ? -below : 0;
    bool differ = n->part & FLAG_NEGATE;
    if (least == 0 && undone(evaluator, &apart) == ENV_OPEN) {
        outcome_unknown(out, ENV_OPEN); /* it need not be so everywhere in the range */
        return;
    }
    out->truth = (least > 0) == differ ? TRUTH_TRUE : TRUTH_FALSE;
    out->state = ENV_KNOWN;
    out->has_margin = n->kind;
    out->decided_by = node;
    out->margin = differ ? least : 0 - least;
    out->size = apart.scale;
}

static OUT_OF_LINE void compare_inside(struct evaluator *evaluator, uint32_t node,
                                       struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct form rooms[3];
    const struct form *x = run_quantity(evaluator, n->a, &rooms[0]);
    const struct form *low = run_quantity(evaluator, n->b, &rooms[1]);
    const struct form *high = run_quantity(evaluator, n->c, &rooms[2]);
    uint8_t state = worse(form_state(x), worse(form_state(low), form_state(high)));
    if (state != ENV_KNOWN) {
        outcome_unknown(out, state);
        return;
    }
    bool outside = n->part & FLAG_NEGATE;
    double half = (high->mid - low->mid) / 2; /* nothing inside has more to spare */
    struct outcome other;
    outcome_compared(evaluator, node, outside, outside ? low : x, outside ? x : low, out);
    outcome_compared(evaluator, node, outside, outside ? x : high, outside ? high : x, &other);
    int side = outcome_side(!outside, out, &other);
    if (side == 0)
        outcome_unknown(out, worse(out->state, other.state));
    else if (side == 2)
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
        struct outcome other;
        if (branch != NODE_NONE) {
            run_truth(evaluator, branch, out);
            return;
        }
        if (state == ENV_OPEN) {
            run_truth(evaluator, n->b, out);
            run_truth(evaluator, n->c, &other);
        }
        if (state != ENV_OPEN || other.truth != out->truth || out->truth == TRUTH_UNKNOWN)
            outcome_unknown(out, state);
        return;
    }
    run_truth(evaluator, n->a, out);
    if (out->truth == TRUTH_UNKNOWN && out->state == ENV_ABSENT)
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
    const struct leaf *leaf = NULL;
    uint8_t state =
        n->op == OP_FLAG ? know_leaf(evaluator, n, &leaf) : run_leaf(evaluator, n->a, &leaf);
    if (state != ENV_KNOWN)
        outcome_unknown(out, state);
    else
        outcome_plain(out, node, passes(n, &leaf->value) != ((n->part & FLAG_NEGATE) != 0));
}

/* The pattern of an OP_TEXT; NULL where the budget does not suffice for it. */
static struct pattern *pattern_of(struct evaluator *evaluator, uint32_t node,
                                  struct pattern_budget *budget)
{
    for (struct compiled_pattern *c = evaluator->patterns; c; c = c->next)
        if (c->node == node)
            return c->pattern;
    const struct formula_node *literal = node_of(evaluator, node);
    struct view text = {evaluator->program->text + literal->text, literal->text_size};
    const char *message;
    size_t offset;
    struct pattern *pattern = pattern_open(evaluator->arena, text, budget, &message, &offset);
    BUG_UNLESS(!message); /* it was opened once when the formula was read */
    if (!pattern)
        return NULL;
    struct compiled_pattern *compiled = ARENA_NEW(evaluator->arena, struct compiled_pattern);
    *compiled = (struct compiled_pattern){node, pattern, evaluator->patterns};
    evaluator->patterns = compiled;
    return pattern;
}

/* One pattern that runs away leaves the others of the file their answers. */
static uint8_t match(struct evaluator *evaluator, const struct formula_node *n,
                     struct view text, bool *matches)
{
    struct pattern_budget budget = PATTERN_BUDGET;
    if (budget.steps > evaluator->pattern_steps)
        budget.steps = evaluator->pattern_steps;
    uint64_t least = evaluator->pattern_steps - budget.steps;
    size_t whole[2], value[2];
    struct pattern *pattern = pattern_of(evaluator, n->b, &budget);
    enum pattern_result result =
        pattern ? pattern_search(pattern, pattern_text(evaluator->arena, text), 0, &budget,
                                 whole, value)
                : PATTERN_COSTLY;
    evaluator->pattern_steps = least + budget.steps;
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
        const struct leaf *leaf;
        if (n->op == OP_IS_RECORD) {
            state = worse(state, run_record(evaluator, side, &record));
            number[i] = record;
        } else {
            uint8_t read = run_leaf(evaluator, side, &leaf);
            state = worse(state, read);
            number[i] = read == ENV_KNOWN ? leaf->value.number : 0;
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
    if (state > ENV_ABSENT || evaluator->exhausted) {
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
        run_list_truth(evaluator, node_of(evaluator, node), out);
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
    struct form room;
    struct outcome outcome;
    struct view text;
    const struct leaf *leaf;
    uint32_t record;
    switch ((enum value_type)node_of(evaluator, node)->type) {
    case TYPE_QUANTITY:
    case TYPE_DATE:
        return form_state(run_quantity(evaluator, node, &room));
    case TYPE_FLAG:
        run_truth(evaluator, node, &outcome);
        return outcome.truth == TRUTH_UNKNOWN ? outcome.state : ENV_KNOWN;
    case TYPE_TEXT:
        return run_text(evaluator, node, &text);
    case TYPE_RECORD:
        return run_record(evaluator, node, &record);
    default:
        return run_leaf(evaluator, node, &leaf);
    }
}
