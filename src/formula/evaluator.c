/* What is asked of an evaluator from outside. */
#include "formula/internal.h"

enum { KEPT_WAYS = 16 };

struct evaluator *evaluator_new(struct arena *arena, const struct program *program,
                                const struct environment_values *values, uint64_t steps_max)
{
    struct evaluator *evaluator = ARENA_NEW(arena, struct evaluator);
    evaluator->arena = arena;
    evaluator->program = program;
    evaluator->nodes = program->nodes;
    evaluator->slots = ARENA_ARRAY(arena, struct slot, program->slot_count);
    evaluator->kept = ARENA_ARRAY(arena, struct kept, program->call_count);
    evaluator->ways_room = 1;
    evaluator->steps_max = steps_max ? steps_max : UINT64_MAX;
    evaluator_reset(evaluator, values);
    return evaluator;
}

void evaluator_reset(struct evaluator *evaluator, const struct environment_values *values)
{
    evaluator->values = *values;
    evaluator->epoch++;
    evaluator->ways = 1;
    evaluator->steps = evaluator->recorded_steps = 0;
    evaluator->exhausted = false;
    deviations_forget(evaluator);
    evaluator->statistical = false;
    evaluator->verdict = (struct verdict){.truth = TRUTH_UNKNOWN};
    for (uint32_t i = 0; i < evaluator->program->slot_count; i++)
        evaluator->slots[i].state = ENV_ABSENT; /* until it is bound */
}

void evaluator_change(struct evaluator *evaluator, const struct formula_change *change)
{
    evaluator->steps = evaluator->recorded_steps = 0;
    evaluator->exhausted = false;
    for (uint32_t i = 0; i < change->count; i++)
        for (uint32_t way = 0; way < evaluator->ways; way++)
            evaluator->kept[(size_t)change->calls[i] * evaluator->ways + way].epoch = 0;
}

void evaluator_keep_several(struct evaluator *evaluator)
{
    if (evaluator->ways_room < KEPT_WAYS) {
        size_t count = (size_t)evaluator->program->call_count * KEPT_WAYS;
        evaluator->kept = ARENA_ARRAY(evaluator->arena, struct kept, count);
        evaluator->ways_room = KEPT_WAYS;
    }
    evaluator->ways = KEPT_WAYS;
    evaluator->epoch++; /* what was kept lies elsewhere */
}

void evaluator_bind(struct evaluator *evaluator, uint32_t slot, struct record_value record)
{
    struct slot *s = &evaluator->slots[slot];
    s->state = record.known ? ENV_KNOWN : ENV_ABSENT;
    s->kind = record.kind;
    s->record = record.known ? record.index : 0;
}

enum truth evaluate_condition(struct evaluator *evaluator, uint32_t node)
{
    struct outcome outcome;
    run_truth(evaluator, node, &outcome);
    return (enum truth)outcome.truth;
}

void evaluate_requirement(struct evaluator *evaluator, uint32_t node, bool statistical,
                          struct verdict *out)
{
    struct outcome outcome;
    evaluator->statistical = statistical;
    run_truth(evaluator, node, &outcome);
    *out = (struct verdict){
        .truth = (enum truth)outcome.truth,
        .has_margin = outcome.truth != TRUTH_UNKNOWN && outcome.has_margin,
        .margin = outcome.margin,
        .size = outcome.size,
        .decided_by = outcome.decided_by,
    };
}

bool evaluate_quantity(struct evaluator *evaluator, uint32_t node, struct form *out)
{
    struct form form;
    if (run_quantity(evaluator, node, &form) != ENV_KNOWN || !form_is_finite(&form))
        return false;
    copy_form(out, &form);
    return true;
}

bool evaluate_field(struct evaluator *evaluator, uint32_t node, uint16_t *leaf, uint8_t *part,
                    uint32_t *record)
{
    const struct formula_node *n = node_of(evaluator, node);
    uint32_t owner = 0;
    if (n->a != NODE_NONE && run_record(evaluator, n->a, &owner) != ENV_KNOWN)
        return false;
    *leaf = n->leaf;
    *part = n->part & PART_MASK;
    *record = owner;
    return true;
}

bool evaluator_exhausted(const struct evaluator *evaluator)
{
    return evaluator->exhausted;
}
