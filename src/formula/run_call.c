/* Calls: arguments into slots, and values kept while the arguments stay the same.
 *
 * One value a call is mostly enough, since rules are asked record by record: all rules about
 * one cutter find what the first of them computed.
 */
#include "formula/internal_run.h"

/* All arguments are evaluated before any is stored: an argument may itself contain this call.
 */
static void store_arguments(struct evaluator *evaluator, uint32_t argument, uint32_t slot)
{
    if (argument == NODE_NONE)
        return;
    const struct formula_node *n = node_of(evaluator, argument);
    const struct formula_node *value = node_of(evaluator, n->a);
    struct slot *into = &evaluator->slots[slot];
    if (value->type == TYPE_RECORD) {
        uint32_t record = 0;
        uint8_t state = run_record(evaluator, n->a, &record);
        store_arguments(evaluator, n->b, slot + 1);
        into->state = state;
        into->kind = value->kind;
        into->record = record;
        return;
    }
    struct form form;
    uint8_t state = run_quantity(evaluator, n->a, &form);
    store_arguments(evaluator, n->b, slot + 1);
    into->state = state;
    if (state == ENV_KNOWN)
        copy_form(&into->form, &form);
}

void run_arguments(struct evaluator *evaluator, const struct formula_node *call)
{
    store_arguments(evaluator, call->b, evaluator->program->calls[call->a].first_slot);
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

const struct kept *kept_find(const struct evaluator *evaluator, uint32_t call, bool recorded)
{
    const struct formula_call *c = &evaluator->program->calls[call];
    const struct kept *kept = place_of(evaluator, call);
    if (kept->epoch != evaluator->epoch || /* such as is never kept has none */
        (recorded && kept->traced != evaluator->trace_epoch))
        return NULL;
    for (uint32_t i = 0; i < c->parameters; i++)
        if (kept->keys[i] != slot_key(&evaluator->slots[c->first_slot + i]))
            return NULL;
    return kept;
}

const struct kept *run_enter(struct evaluator *evaluator, const struct formula_node *call)
{
    if (call->b != NODE_NONE)
        run_arguments(evaluator, call);
    return kept_find(evaluator, call->a, evaluator->recording);
}

struct kept *kept_renew(struct evaluator *evaluator, uint32_t call)
{
    const struct formula_call *c = &evaluator->program->calls[call];
    if (!c->keeps || evaluator->exhausted)
        return NULL;
    struct kept *kept = place_of(evaluator, call);
    kept->epoch = evaluator->epoch;
    kept->traced = evaluator->recording ? evaluator->trace_epoch : 0;
    for (uint32_t i = 0; i < c->parameters; i++)
        kept->keys[i] = slot_key(&evaluator->slots[c->first_slot + i]);
    return kept;
}
