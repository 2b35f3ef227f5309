/* Truths and their margins. */
#include "formula/internal_run.h"

#include "formula/pattern.h"

#define OUT_OF_LINE __attribute__((noinline))

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
    size_t mark = trace_mark(evaluator);
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
    if (out->truth == TRUTH_UNKNOWN || other.truth == TRUTH_UNKNOWN)
        trace_answer(evaluator, mark);
    if (side == 2)
        *out = other;
}

void run_condition(struct evaluator *evaluator, uint32_t node, struct outcome *out)
{
    bool comparing = evaluator->comparing;
    evaluator->comparing = false;
    run_truth(evaluator, node, out);
    evaluator->comparing = comparing;
}

static OUT_OF_LINE void choose(struct evaluator *evaluator, const struct formula_node *n,
                               struct outcome *out)
{
    if (n->op == OP_IF) {
        uint8_t state;
        uint32_t branch = run_branch(evaluator, n, &state);
        if (branch == NODE_NONE)
            outcome_unknown(out, state);
        else
            run_truth(evaluator, branch, out);
        return;
    }
    size_t mark = trace_mark(evaluator);
    run_truth(evaluator, n->a, out);
    if (out->truth != TRUTH_UNKNOWN || out->state == ENV_WRONG)
        return;
    run_truth(evaluator, n->b, out);
    trace_otherwise(evaluator, mark, out->state);
}

static OUT_OF_LINE void call_truth(struct evaluator *evaluator, const struct formula_node *n,
                                   struct outcome *out)
{
    const struct kept *kept = run_enter(evaluator, n);
    if (kept && kept->statistical == evaluator->statistical) {
        *out = kept->outcome;
        return;
    }
    run_truth(evaluator, evaluator->program->calls[n->a].body, out);
    struct kept *keep = kept_renew(evaluator, n->a);
    if (keep) {
        keep->outcome = *out;
        keep->statistical = evaluator->statistical;
    }
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
    const struct formula_node *leaf = n->op == OP_FLAG ? n : node_of(evaluator, n->a);
    struct env_value value;
    uint32_t record;
    uint8_t state = run_read(evaluator, leaf, &value, &record);
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
            uint8_t read = run_read(evaluator, node_of(evaluator, side), &value, &record);
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
    size_t mark = trace_mark(evaluator);
    uint8_t state = run_any(evaluator, n->a);
    if (state == ENV_WRONG || evaluator->exhausted) {
        outcome_unknown(out, state);
        return;
    }
    trace_answer(evaluator, mark);
    outcome_plain(out, node, (state == ENV_KNOWN) != ((n->part & FLAG_NEGATE) != 0));
}

static OUT_OF_LINE void over_list(struct evaluator *evaluator, uint32_t node,
                                  struct outcome *out)
{
    struct decided decided;
    if (node_of(evaluator, node)->op == OP_COMPARE_EACH)
        run_each_compared(evaluator, node, out, &decided);
    else
        run_list_truth(evaluator, node, out, &decided);
}

void run_truth(struct evaluator *evaluator, uint32_t node, struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    if (!step_on(evaluator)) {
        outcome_unknown(out, ENV_ABSENT);
        return;
    }
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
        over_list(evaluator, node, out);
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
        over_list(evaluator, node, out);
        return;
    default:
        BUG("operation %d gives no truth", n->op);
    }
}
