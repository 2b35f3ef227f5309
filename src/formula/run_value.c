/* Values other than quantities and truths: records, texts, and the reading of leaves. */
#include "formula/internal_run.h"

uint32_t run_branch(struct evaluator *evaluator, const struct formula_node *node,
                    uint8_t *state)
{
    struct outcome condition;
    run_condition(evaluator, node->a, &condition);
    *state = condition.state;
    if (condition.truth == TRUTH_UNKNOWN)
        return NODE_NONE;
    return condition.truth == TRUTH_TRUE ? node->b : node->c;
}

static uint8_t record_leaf(struct evaluator *evaluator, const struct formula_node *node,
                           uint32_t *record)
{
    struct env_value value;
    uint32_t owner;
    uint8_t state = run_read(evaluator, node, &value, &owner);
    if (state == ENV_KNOWN)
        *record = (uint32_t)value.number;
    return state;
}

uint8_t run_record_worked_out(struct evaluator *evaluator, const struct formula_node *n,
                              uint32_t *record)
{
    size_t mark;
    uint8_t state;
    uint32_t branch;
    switch (n->op) {
    case OP_RECORD_LEAF:
        return record_leaf(evaluator, n, record);
    case OP_IF:
        branch = run_branch(evaluator, n, &state);
        return branch == NODE_NONE ? state : run_record(evaluator, branch, record);
    case OP_OTHERWISE:
        mark = trace_mark(evaluator);
        state = run_record(evaluator, n->a, record);
        if (state != ENV_ABSENT)
            return state;
        return trace_otherwise(evaluator, mark, run_record(evaluator, n->b, record));
    default:
        BUG("operation %d gives no record", n->op);
    }
}

uint8_t run_read(struct evaluator *evaluator, const struct formula_node *leaf,
                 struct env_value *value, uint32_t *record)
{
    *record = 0;
    if (leaf->a != NODE_NONE) {
        uint8_t state = run_record(evaluator, leaf->a, record);
        if (state != ENV_KNOWN)
            return state;
    }
    evaluator->values.read(evaluator->values.user, leaf->leaf, leaf->part & PART_MASK, *record,
                           value);
    if (evaluator->recording)
        trace_note(evaluator, leaf, *record, value);
    return (uint8_t)value->state;
}

static uint8_t call_text(struct evaluator *evaluator, const struct formula_node *n,
                         struct view *out)
{
    const struct kept *kept = run_enter(evaluator, n);
    if (kept) {
        *out = kept->text;
        return kept->state;
    }
    *out = (struct view){NULL, 0};
    uint8_t state = run_text(evaluator, evaluator->program->calls[n->a].body, out);
    struct kept *keep = kept_renew(evaluator, n->a);
    if (keep) {
        keep->state = state;
        keep->text = *out;
    }
    return state;
}

uint8_t run_text(struct evaluator *evaluator, uint32_t node, struct view *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct env_value value;
    size_t mark;
    uint32_t record, branch;
    uint8_t state;
    if (!step_on(evaluator))
        return ENV_ABSENT;
    switch (n->op) {
    case OP_TEXT:
        *out = (struct view){evaluator->program->text + n->text, n->text_size};
        return ENV_KNOWN;
    case OP_LEAF:
        state = run_read(evaluator, n, &value, &record);
        if (state == ENV_KNOWN)
            *out = value.text;
        return state;
    case OP_CALL:
        return call_text(evaluator, n, out);
    case OP_IF:
        branch = run_branch(evaluator, n, &state);
        return branch == NODE_NONE ? state : run_text(evaluator, branch, out);
    case OP_OTHERWISE:
        mark = trace_mark(evaluator);
        state = run_text(evaluator, n->a, out);
        if (state != ENV_ABSENT)
            return state;
        return trace_otherwise(evaluator, mark, run_text(evaluator, n->b, out));
    default:
        BUG("operation %d gives no text", n->op);
    }
}

uint8_t run_any(struct evaluator *evaluator, uint32_t node)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct form form;
    struct outcome outcome;
    struct view text;
    struct env_value value;
    uint32_t record;
    switch ((enum value_type)n->type) {
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
        return run_read(evaluator, n, &value, &record);
    }
}
