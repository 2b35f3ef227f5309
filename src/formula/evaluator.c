/* What is asked of an evaluator from outside: one program, one file's values, one thread.
 *
 * What a finding shows is read from a record of one evaluation: which comparison decided, what
 * was read for it, what was missing.  How all that is said is for the files of internal_say.h.
 */
#include "formula/internal_say.h"

enum { KEPT_WAYS = 16 };

struct evaluator *evaluator_new(struct arena *arena, const struct program *program,
                                const struct environment_values *values, uint64_t steps_max)
{
    struct evaluator *evaluator = ARENA_NEW(arena, struct evaluator);
    evaluator->arena = arena;
    evaluator->program = program;
    evaluator->nodes = program->nodes;
    evaluator->slots = ARENA_ARRAY(arena, struct slot, program->slot_count);
    evaluator->leaves = ARENA_ARRAY(arena, struct leaf, program->place_count);
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
    evaluator->pattern_steps = PATTERN_SEARCHES * PATTERN_BUDGET.steps;
    evaluator->exhausted = false;
    deviations_forget(evaluator);
    evaluator->statistical = false;
    evaluator->moved = NULL;
    evaluator->verdict = (struct verdict){.truth = TRUTH_UNKNOWN};
    for (uint32_t i = 0; i < evaluator->program->slot_count; i++)
        evaluator->slots[i].state = ENV_ABSENT; /* until it is bound */
}

void evaluator_change(struct evaluator *evaluator, const struct formula_change *change)
{
    evaluator->steps = evaluator->recorded_steps = 0;
    evaluator->pattern_steps = PATTERN_SEARCHES * PATTERN_BUDGET.steps;
    evaluator->exhausted = false;
    evaluator->moved = NULL;
    for (uint32_t i = 0; i < change->place_count; i++)
        evaluator->leaves[change->places[i]].epoch = 0;
    for (uint32_t i = 0; i < change->count; i++)
        for (uint32_t way = 0; way < evaluator->ways; way++)
            evaluator->kept[(size_t)change->calls[i] * evaluator->ways + way].epoch = 0;
}

void evaluator_range(struct evaluator *evaluator, const struct formula_change *change,
                     const struct formula_range *range)
{
    evaluator->range = *range;
    evaluator->moved = change->leaves;
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
        .open = outcome.truth == TRUTH_UNKNOWN && outcome.state == ENV_OPEN,
        .has_margin = outcome.truth != TRUTH_UNKNOWN && outcome.has_margin,
        .margin = outcome.margin,
        .size = outcome.size,
        .decided_by = outcome.decided_by,
    };
}

bool evaluate_quantity(struct evaluator *evaluator, uint32_t node, struct form *out)
{
    struct form room;
    const struct form *form = run_quantity(evaluator, node, &room);
    if (!form_known(form) || !form_is_finite(form))
        return false;
    copy_form(out, form);
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

/* What a record tells. */

/* From the whole to the comparison that decided; numbers in a list count as compared. */
static const struct entry *next_down(struct record *record, const struct entry *entry)
{
    const struct entry *x = entry_at(record, entry->first);
    const struct entry *last = entry_at(record, entry->last);
    switch (entry->node->op) {
    case OP_AND:
    case OP_OR:
        return x == last || outcome_side(entry->node->op == OP_AND, &x->of.outcome,
                                         &last->of.outcome) == 1
                   ? x
                   : last;
    case OP_IF:
    case OP_OTHERWISE:
        return last;
    case OP_CALL:
        return entry_at(record, entry->stands_for);
    case OP_EVERY:
    case OP_ANY:
        if (!last || !last->is_element)
            return NULL;
        if (x->read != NODE_NONE)
            record->reads.items[x->read].read.comparing = true;
        return entry_at(record, last->last);
    default:
        return NULL;
    }
}

/* Which limit of `inside` decided. */
static void find_limit(const struct evaluator *evaluator, struct compared *out)
{
    const struct record *record = &evaluator->last;
    const struct entry *sides[3]; /* what is compared, the limits */
    struct form spare[2];
    double least[2];
    bool outside = out->entry->node->part & FLAG_NEGATE;
    for (uint32_t i = 0; i < 3; i++)
        sides[i] = entry_part(record, out->entry, i);
    for (int limit = 0; limit < 2; limit++) {
        bool above = (limit == 0) != outside;
        const struct form *x = entry_form(record, sides[0]);
        const struct form *end = entry_form(record, sides[1 + limit]);
        form_subtract(&spare[limit], above ? x : end, above ? end : x);
        least[limit] =
            form_settle(&spare[limit], form_least(&spare[limit], evaluator->statistical));
    }
    int at = outside ? least[1] > least[0] : least[1] < least[0];
    bool above = (at == 0) != outside;
    out->high = above ? sides[0] : sides[1 + at];
    out->low = above ? sides[1 + at] : sides[0];
}

static void find_sides(const struct evaluator *evaluator, struct compared *out)
{
    const struct record *record = &evaluator->last;
    const struct formula_node *n = out->entry->node;
    const struct entry *first = entry_part(record, out->entry, 0);
    const struct entry *second = entry_at(record, out->entry->last);
    bool swapped = n->op == OP_COMPARE && n->part & FLAG_SWAPPED; /* written second, first */
    if (n->op == OP_COMPARE_EACH) {
        second = entry_at(record, second->last); /* of the element */
        swapped = n->part & FLAG_EACH_IS_HIGH;
    }
    if (n->op == OP_INSIDE) {
        find_limit(evaluator, out);
    } else if (n->op == OP_COMPARE || n->op == OP_EQUAL || n->op == OP_COMPARE_EACH) {
        out->high = swapped ? second : first;
        out->low = swapped ? first : second;
    }
}

/* What an entry was worked out of was compared, but for the conditions of an `if`. */
static void mark_compared(struct record *record, const struct entry *entry)
{
    if (!entry || entry->walk == record->walk)
        return;
    record->entries.items[entry - record->entries.items].walk = record->walk;
    if (entry->read != NODE_NONE)
        record->reads.items[entry->read].read.comparing = true;
    const struct entry *part = entry_at(record, entry->first);
    if (part && entry->node->op == OP_IF)
        part = entry_at(record, part->next);
    for (; part; part = entry_at(record, part->next))
        mark_compared(record, part);
    mark_compared(record, entry_at(record, entry->stands_for));
}

/* What was not there is missed where nothing around it is known all the same: `known` or
 * `otherwise` had an answer, or another side decided. */
static void mark_needed(struct record *record, const struct entry *entry)
{
    bool known = entry && entry->state == ENV_KNOWN && !entry->is_element;
    if (!entry || known || entry->walk == record->walk)
        return;
    record->entries.items[entry - record->entries.items].walk = record->walk;
    if (entry->read != NODE_NONE)
        record->reads.items[entry->read].needed = true;
    for (const struct entry *part = entry_at(record, entry->first); part;
         part = entry_at(record, part->next))
        mark_needed(record, part);
    mark_needed(record, entry_at(record, entry->stands_for));
}

/* The reads in the order first asked, without those whose absence did no harm; all, as if they
 * had been compared, where the record is not whole. */
static void give_reads(const struct record *record, struct arena *arena, struct trace *out)
{
    out->reads = ARENA_ARRAY(arena, struct formula_read, record->reads.count);
    for (size_t i = 0; i < record->reads.count; i++) {
        const struct noted *noted = &record->reads.items[i];
        if (noted->read.state != ENV_KNOWN && !noted->needed && !record->full)
            continue;
        out->reads[out->read_count] = noted->read;
        out->reads[out->read_count++].comparing |= record->full;
    }
}

static void tell(struct evaluator *evaluator, const struct formula_namer *namer,
                 struct arena *arena, struct trace *out)
{
    struct record *record = &evaluator->last;
    struct compared compared = {.entry = entry_at(record, 0)};
    record->walk++;
    if (!compared.entry || out->verdict.truth == TRUTH_UNKNOWN) {
        mark_needed(record, compared.entry);
        return;
    }
    for (const struct entry *next = compared.entry; next; next = next_down(record, next))
        compared.entry = next;
    find_sides(evaluator, &compared);
    if (!compared.high || compared.entry->node->op == OP_COMPARE_EACH)
        mark_compared(record, compared.entry);
    mark_compared(record, compared.high);
    mark_compared(record, compared.low);
    if (compared.high)
        form_subtract(&out->difference, entry_form(record, compared.high),
                      entry_form(record, compared.low));
    if (namer)
        say_lines(evaluator, namer, &compared, arena, out);
}

void evaluate_traced(struct evaluator *evaluator, uint32_t node, bool statistical,
                     const struct formula_namer *namer, struct arena *arena, struct trace *out)
{
    /* recording has as many steps as checking, of its own */
    uint64_t steps = evaluator->steps;
    bool exhausted = evaluator->exhausted;
    evaluator->steps = evaluator->recorded_steps;
    evaluator->exhausted = false;
    *out = (struct trace){0};
    form_exact(&out->difference, 0);
    record_start(evaluator);
    evaluate_requirement(evaluator, node, statistical, &out->verdict);
    evaluator->record = NULL;
    evaluator->recorded_steps = evaluator->steps;
    evaluator->steps = steps;
    evaluator->exhausted = exhausted;
    evaluator->verdict = out->verdict;
    if (!evaluator->last.full)
        tell(evaluator, namer, arena, out);
    give_reads(&evaluator->last, arena, out);
}

void evaluate_shown(struct evaluator *evaluator, uint32_t node,
                    const struct formula_namer *namer, unit_id unit, struct buffer *out)
{
    record_start(evaluator);
    run_any(evaluator, node);
    evaluator->record = NULL;
    say_shown(evaluator, namer, unit, out);
}
