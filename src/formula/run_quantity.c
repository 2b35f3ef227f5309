/* Quantities: affine forms from nodes.
 *
 * The innermost loop of the program: no allocation, and forms are copied by the terms they
 * have. */
#include "formula/internal_run.h"

#define OUT_OF_LINE __attribute__((noinline))

static OUT_OF_LINE uint8_t leaf_quantity(struct evaluator *evaluator,
                                         const struct formula_node *n, struct form *out)
{
    struct env_value value;
    uint32_t record = 0;
    uint8_t state = n->a == NODE_NONE ? ENV_KNOWN : run_record(evaluator, n->a, &record);
    if (state != ENV_KNOWN)
        return state;
    evaluator->values.read(evaluator->values.user, n->leaf, n->part & PART_MASK, record,
                           &value);
    if (evaluator->recording)
        trace_note(evaluator, n, record, &value);
    if (value.state != ENV_KNOWN)
        return (uint8_t)value.state;
    if (n->type == TYPE_DATE || value.tolerance == 0 || n->part & FLAG_NOMINAL) {
        form_exact(out, value.number);
        return ENV_KNOWN;
    }
    form_with(out, value.number, deviation_own(evaluator, n, record, NODE_NONE),
              value.tolerance);
    return ENV_KNOWN;
}

static OUT_OF_LINE uint8_t slot_quantity(struct evaluator *evaluator,
                                         const struct formula_node *n, struct form *out)
{
    const struct slot *slot = &evaluator->slots[n->a];
    if (slot->state != ENV_KNOWN)
        return slot->state;
    if (n->part & FLAG_NOMINAL)
        form_nominal(out, &slot->form);
    else
        copy_form(out, &slot->form);
    return ENV_KNOWN;
}

static OUT_OF_LINE uint8_t call_quantity(struct evaluator *evaluator,
                                         const struct formula_node *n, struct form *out)
{
    const struct kept *kept = run_enter(evaluator, n);
    if (kept) {
        if (kept->state == ENV_KNOWN)
            copy_form(out, &kept->form);
        return kept->state;
    }
    uint8_t state = run_quantity(evaluator, evaluator->program->calls[n->a].body, out);
    struct kept *keep = kept_renew(evaluator, n->a);
    if (keep) {
        keep->state = state;
        if (state == ENV_KNOWN)
            copy_form(&keep->form, out);
    }
    return state;
}

/* Of one operand, which is in `out` already; false where there is no such value. */
static bool apply_one(const struct formula_node *n, struct form *out)
{
    switch (n->op) {
    case OP_NEGATE:
        form_negate(out, out);
        return true;
    case OP_SCALE:
        form_scale(out, out, n->number);
        return true;
    case OP_POWER:
        return form_power(out, out, (int32_t)n->b);
    case OP_ROOT:
        return form_root(out, out);
    case OP_ABSOLUTE:
        form_absolute(out, out);
        return true;
    case OP_NOMINAL:
    case OP_DISTANCE:
        return true;
    default:
        BUG("operation %d takes not one operand", n->op);
    }
}

static OUT_OF_LINE uint8_t one_quantity(struct evaluator *evaluator,
                                        const struct formula_node *n, struct form *out)
{
    uint8_t state = run_quantity(evaluator, n->a, out);
    return state == ENV_KNOWN && !apply_one(n, out) ? ENV_ABSENT : state;
}

static OUT_OF_LINE uint8_t list_quantity(struct evaluator *evaluator, uint32_t node,
                                         struct form *out)
{
    struct decided decided;
    return run_list_quantity(evaluator, node, out, &decided);
}

static bool apply_two(const struct formula_node *n, struct form *out, const struct form *right)
{
    switch (n->op) {
    case OP_ADD:
        form_add(out, out, right);
        return true;
    case OP_SUBTRACT:
        form_subtract(out, out, right);
        return true;
    case OP_MULTIPLY:
        form_multiply(out, out, right);
        return true;
    case OP_DIVIDE:
        return form_divide(out, out, right);
    case OP_HYPOT:
        form_hypot(out, out, right);
        return true;
    case OP_MAXIMUM:
        form_maximum(out, out, right);
        return true;
    case OP_MINIMUM:
        form_minimum(out, out, right);
        return true;
    default:
        BUG("operation %d takes not two operands", n->op);
    }
}

static OUT_OF_LINE uint8_t two_quantities(struct evaluator *evaluator,
                                          const struct formula_node *n, struct form *out)
{
    struct form right;
    uint8_t left = run_quantity(evaluator, n->a, out);
    uint8_t state = worse(left, run_quantity(evaluator, n->b, &right));
    if (state != ENV_KNOWN)
        return state;
    return apply_two(n, out, &right) ? ENV_KNOWN : ENV_ABSENT;
}

static OUT_OF_LINE uint8_t widened(struct evaluator *evaluator, const struct formula_node *n,
                                   struct form *out)
{
    struct form width;
    uint8_t left = run_quantity(evaluator, n->a, out);
    uint8_t state = worse(left, run_quantity(evaluator, n->b, &width));
    if (state != ENV_KNOWN)
        return state;
    form_widen(out, out, deviation_of(evaluator, node_of(evaluator, n->c)), &width);
    return ENV_KNOWN;
}

static OUT_OF_LINE uint8_t chosen_quantity(struct evaluator *evaluator,
                                           const struct formula_node *n, struct form *out)
{
    if (n->op == OP_IF) {
        uint8_t state;
        uint32_t branch = run_branch(evaluator, n, &state);
        return branch == NODE_NONE ? state : run_quantity(evaluator, branch, out);
    }
    size_t mark = trace_mark(evaluator);
    uint8_t state = run_quantity(evaluator, n->a, out);
    if (state != ENV_ABSENT)
        return state;
    return trace_otherwise(evaluator, mark, run_quantity(evaluator, n->b, out));
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

uint8_t run_quantity(struct evaluator *evaluator, uint32_t node, struct form *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    if (!step_on(evaluator))
        return ENV_ABSENT;
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
        return two_quantities(evaluator, n, out);
    case OP_NEGATE:
    case OP_SCALE:
    case OP_POWER:
    case OP_ROOT:
    case OP_ABSOLUTE:
    case OP_NOMINAL:
    case OP_DISTANCE:
        return one_quantity(evaluator, n, out);
    case OP_WIDEN:
        return widened(evaluator, n, out);
    case OP_IF:
    case OP_OTHERWISE:
        return chosen_quantity(evaluator, n, out);
    case OP_COUNT:
    case OP_LARGEST:
    case OP_SMALLEST:
        return list_quantity(evaluator, node, out);
    case OP_SHORTFALL:
    case OP_MARGIN:
        return last_margin(evaluator, n, out);
    default:
        BUG("operation %d gives no quantity", n->op);
    }
}
