/* Truths and their margins, of what is compared. */
#include "formula/internal_eval.h"

#include <math.h>

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

static uint8_t unless_finite(const struct evaluator *evaluator, const struct form *form)
{
    return form_is_finite(form)              ? ENV_KNOWN
           : form_is_spread(evaluator, form) ? ENV_OPEN
                                             : ENV_ABSENT;
}

void outcome_compared(const struct evaluator *evaluator, uint32_t node, bool strict,
                      const struct form *high, const struct form *low, struct outcome *out)
{
    if (!spare_plainly(high, low, out)) {
        struct form spare;
        form_subtract(&spare, high, low);
        uint8_t state = unless_finite(evaluator, &spare);
        if (state != ENV_KNOWN) {
            outcome_unknown(out, state);
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

/* Two quantities are equal where they may be: what is to spare is minus the least they can
 * differ. */
void outcome_equal(const struct evaluator *evaluator, uint32_t node, const struct form *x,
                   const struct form *y, struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct form apart;
    form_subtract(&apart, x, y);
    uint8_t state = unless_finite(evaluator, &apart);
    if (state != ENV_KNOWN) {
        outcome_unknown(out, state);
        return;
    }
    double above = form_settle(&apart, form_least(&apart, evaluator->statistical));
    double below = form_settle(&apart, form_greatest(&apart, evaluator->statistical));
    double least = above > 0 ? above : below < 0 ? -below : 0;
    bool differ = n->part & FLAG_NEGATE;
    if (least == 0 && form_is_spread(evaluator, &apart)) {
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

void outcome_inside(const struct evaluator *evaluator, uint32_t node, const struct form *x,
                    const struct form *low, const struct form *high, struct outcome *out)
{
    bool outside = node_of(evaluator, node)->part & FLAG_NEGATE;
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

bool outcome_counts_before(bool all, const struct outcome *one, const struct outcome *other)
{
    if (one->has_margin != other->has_margin)
        return one->has_margin;
    return one->has_margin && (all ? one->margin < other->margin : one->margin > other->margin);
}

int outcome_side(bool both, const struct outcome *x, const struct outcome *y)
{
    uint8_t decides = both ? TRUTH_FALSE : TRUTH_TRUE;
    if (x->truth != y->truth) {
        if (x->truth == decides)
            return 1;
        if (y->truth == decides)
            return 2;
    }
    if (x->truth == TRUTH_UNKNOWN || y->truth == TRUTH_UNKNOWN)
        return 0;
    return outcome_counts_before(both, y, x) ? 2 : 1;
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

void outcome_of_texts(struct evaluator *evaluator, uint32_t node, struct view a, struct view b,
                      struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    bool holds = false;
    uint8_t state = ENV_KNOWN;
    if (n->op == OP_MATCHES)
        state = match(evaluator, n, a, &holds);
    else
        holds = view_equal(a, b);
    if (state == ENV_KNOWN)
        outcome_plain(out, node, holds != ((n->part & FLAG_NEGATE) != 0));
    else
        outcome_unknown(out, state);
}
