#include "rules/run.h"

#include <stdlib.h>

#include "base/bug.h"
#include "base/hash.h"

enum {
    /* For the formulas of a shop's own rulebooks; ours need no limit. */
    STEPS_A_FILE = 10 * 1000 * 1000,
    REQUIREMENT_BITS = 32,
};

/* Rules by their names, which are looked for at every start. */
struct rule_index {
    const struct rule_entry *rules;
    uint32_t *places; /* index + 1, or 0; more than half of them are free */
    uint32_t mask;
};

/* Where a name stands, or would. */
static uint32_t *place_of(const struct rule_index *index, const char *name)
{
    uint32_t at = (uint32_t)hash_bytes(view_of(name)) & index->mask;
    while (index->places[at] &&
           strcmp(index->rules[index->places[at] - 1].rule->name, name) != 0)
        at = (at + 1) & index->mask;
    return &index->places[at];
}

static void index_rules(const struct runner *runner, struct arena *arena,
                        struct rule_index *out)
{
    uint32_t room = 16;
    while (room < 2 * runner->rule_count + 2)
        room *= 2;
    *out = (struct rule_index){runner->rules, ARENA_ARRAY(arena, uint32_t, room), room - 1};
    for (uint32_t i = 0; i < runner->rule_count; i++) {
        uint32_t *place = place_of(out, runner->rules[i].rule->name);
        if (!*place)
            *place = i + 1;
    }
}

static void list_rules(struct runner *runner, struct arena *arena,
                       const struct rulebook *const *books, size_t count)
{
    struct rule_index index;
    uint32_t next = 0;
    for (size_t b = 0; b < count; b++)
        for (uint32_t r = 0; r < books[b]->rule_count; r++)
            runner->rules[next++] = (struct rule_entry){
                .book = books[b], .rule = &books[b]->rules[r], .book_index = (uint32_t)b};
    index_rules(runner, arena, &index);
    for (uint32_t i = 0; i < next; i++)
        for (size_t k = 0; k < RULE_IMPLIED_MAX; k++) {
            const char *name = runner->rules[i].rule->implied_by[k];
            uint32_t place = name ? *place_of(&index, name) : 0;
            runner->rules[i].implied_by[k] = place ? place - 1 : RULE_NONE;
        }
    uint32_t place = 0;
    for (uint32_t domain = 0; domain < GROUP_COUNT; domain++) {
        runner->domain_start[domain] = place;
        for (uint32_t i = 0; i < next; i++)
            if (runner->rules[i].rule->domain == domain)
                runner->order[place++] = i;
    }
    runner->domain_start[GROUP_COUNT] = place;
}

void runner_init(struct runner *runner, struct arena *arena,
                 const struct rulebook *const *books, size_t count)
{
    *runner = (struct runner){.book_count = count};
    for (size_t b = 0; b < count; b++)
        runner->rule_count += books[b]->rule_count;
    runner->rules = ARENA_ARRAY(arena, struct rule_entry, runner->rule_count);
    runner->order = ARENA_ARRAY(arena, uint32_t, runner->rule_count);
    runner->applies = ARENA_ARRAY(arena, uint8_t, runner->rule_count);
    runner->failed_at = ARENA_ARRAY(arena, uint32_t, runner->rule_count);
    runner->failed_which = ARENA_ARRAY(arena, uint32_t, runner->rule_count);
    list_rules(runner, arena, books, count);
    binding_init(&runner->binding, arena);
    runner->evaluators = ARENA_ARRAY(arena, struct evaluator *, count);
    struct environment_values values = binding_values(&runner->binding, NULL);
    for (size_t b = 0; b < count; b++)
        runner->evaluators[b] =
            evaluator_new(arena, &books[b]->program, &values, b ? STEPS_A_FILE : 0);
}

bool runner_statistical(const struct runner *runner, const struct rule *rule)
{
    if (!rule->chosen_stack)
        return false;
    const struct field_value *stack =
        binding_value(&runner->binding, FIELD_ALLOWANCES_STACK, 0, 0);
    return (stack->state == VALUE_GIVEN || stack->state == VALUE_DEFAULTED) &&
           stack->choice ==
               field_choice_find(&field_table[FIELD_ALLOWANCES_STACK], view_of("statistical"));
}

const struct requirement *runner_requirement(const struct runner *runner,
                                             const struct instance *instance)
{
    const struct rule_entry *entry = &runner->rules[instance->rule];
    return &entry->book->requirements[entry->rule->first_requirement + instance->requirement];
}

static struct evaluator *bind_record(struct runner *runner, const struct rule_entry *entry,
                                     uint32_t record)
{
    struct evaluator *evaluator = runner->evaluators[entry->book_index];
    if (entry->rule->domain)
        evaluator_bind(evaluator, entry->rule->slot,
                       (struct record_value){entry->rule->domain, true, record});
    return evaluator;
}

struct evaluator *runner_bind(struct runner *runner, const struct instance *instance)
{
    return bind_record(runner, &runner->rules[instance->rule], instance->record);
}

int instance_compare(const void *a, const void *b)
{
    const struct instance *x = a, *y = b;
    double mx = x->has_margin ? x->margin : 0, my = y->has_margin ? y->margin : 0;
    if (mx != my)
        return mx < my ? -1 : 1;
    if (x->record != y->record)
        return x->record < y->record ? -1 : 1;
    return (x->requirement > y->requirement) - (x->requirement < y->requirement);
}

/* Keeps the worst FINDINGS_A_NAME: a heap with the least bad on top once it is full. */
static void keep_worst(struct arena *arena, struct rule_result *result,
                       const struct instance *instance)
{
    if (result->failures.count < FINDINGS_A_NAME) {
        VECTOR_ADD(arena, &result->failures, *instance);
        struct instance *heap = result->failures.items;
        for (size_t i = result->failures.count - 1; i;) {
            size_t parent = (i - 1) / 2;
            if (instance_compare(&heap[i], &heap[parent]) <= 0)
                break;
            struct instance swap = heap[i];
            heap[i] = heap[parent];
            heap[parent] = swap;
            i = parent;
        }
        return;
    }
    struct instance *heap = result->failures.items;
    if (instance_compare(instance, &heap[0]) >= 0)
        return;
    size_t i = 0;
    for (;;) {
        size_t child = 2 * i + 1;
        if (child >= FINDINGS_A_NAME)
            break;
        if (child + 1 < FINDINGS_A_NAME && instance_compare(&heap[child], &heap[child + 1]) < 0)
            child++;
        if (instance_compare(&heap[child], instance) <= 0)
            break;
        heap[i] = heap[child];
        i = child;
    }
    heap[i] = *instance;
}

static bool is_tighter(const struct instance *a, const struct instance *b)
{
    if (a->has_margin != b->has_margin)
        return a->has_margin;
    return a->has_margin && a->margin < b->margin;
}

/* The tightest, the closest of those that have room, and all where they are asked for. */
static void keep_held(struct arena *arena, struct rule_result *result,
                      const struct instance *instance, bool has_room, bool all)
{
    if (!result->held++ || is_tighter(instance, &result->tightest))
        result->tightest = *instance;
    if (has_room && instance->size > 0) {
        double tightness = instance->margin / instance->size;
        if (!result->has_closest || tightness < result->tightness) {
            result->closest = *instance;
            result->tightness = tightness;
            result->has_closest = true;
        }
    }
    if (all && result->all_held.count < FINDINGS_A_NAME)
        VECTOR_ADD(arena, &result->all_held, *instance);
}

/* Which rule's failure explains this one: of the same record, or of the whole file.  Rules with
 * several requirements each explain only the one of the same number. */
static uint32_t explained_by(const struct runner *runner, const struct instance *instance)
{
    const struct rule_entry *entry = &runner->rules[instance->rule];
    for (size_t i = 0; i < RULE_IMPLIED_MAX && entry->implied_by[i] != RULE_NONE; i++) {
        uint32_t other = entry->implied_by[i];
        const struct rule *rule = runner->rules[other].rule;
        if (!runner->failed_at[other])
            continue;
        if (rule->domain && (rule->domain != entry->rule->domain ||
                             runner->failed_at[other] != instance->record + 1))
            continue;
        bool paired = rule->requirement_count > 1 &&
                      rule->requirement_count == entry->rule->requirement_count;
        if (!paired || runner->failed_which[other] >> instance->requirement & 1)
            return other;
    }
    return RULE_NONE;
}

/* A run over one file. */
struct run {
    struct runner *runner;
    struct arena *arena;
    bool keep_held;
    VECTOR(struct instance) fresh; /* failures of the record at hand, not yet explained */
};

/* Notes a failure as one that may explain others. */
static void note_cause(struct runner *runner, const struct instance *instance)
{
    if (runner->failed_at[instance->rule] != instance->record + 1)
        runner->failed_which[instance->rule] = 0;
    runner->failed_at[instance->rule] = instance->record + 1;
    if (instance->requirement < REQUIREMENT_BITS)
        runner->failed_which[instance->rule] |= 1u << instance->requirement;
}

/* Before anything is explained: what is accepted must not take others with it. */
static void settle_waived(struct run *run)
{
    const struct acceptance *acceptance = run->runner->acceptance;
    for (size_t i = 0; i < run->fresh.count; i++) {
        struct instance *instance = &run->fresh.items[i];
        if (acceptance && acceptance->accepts(acceptance->user, instance)) {
            instance->outcome = OUTCOME_WAIVED;
            VECTOR_ADD(run->arena, &run->runner->results[instance->rule].waived, *instance);
        } else {
            note_cause(run->runner, instance);
        }
    }
}

static void settle_failures(struct run *run)
{
    settle_waived(run);
    for (size_t i = 0; i < run->fresh.count; i++) {
        struct instance *instance = &run->fresh.items[i];
        struct rule_result *result = &run->runner->results[instance->rule];
        if (instance->outcome == OUTCOME_WAIVED)
            continue;
        instance->implied_by = explained_by(run->runner, instance);
        result->failed++;
        result->plain_failed += instance->implied_by == RULE_NONE;
        keep_worst(run->arena, result, instance);
    }
    run->fresh.count = 0;
}

static void note(struct run *run, const struct instance *instance, bool has_room)
{
    struct rule_result *result = &run->runner->results[instance->rule];
    switch ((enum finding_outcome)instance->outcome) {
    case OUTCOME_HELD:
        keep_held(run->arena, result, instance, has_room, run->keep_held);
        return;
    case OUTCOME_FAILED:
        VECTOR_ADD(run->arena, &run->fresh, *instance);
        return;
    default:
        result->unchecked++;
        if (result->unknowns.count < FINDINGS_A_NAME)
            VECTOR_ADD(run->arena, &result->unknowns, *instance);
    }
}

static void note_condition(struct run *run, uint32_t rule, uint32_t record)
{
    struct instance instance = {.rule = rule,
                                .record = record,
                                .at_condition = true,
                                .outcome = OUTCOME_UNCHECKED,
                                .implied_by = RULE_NONE};
    note(run, &instance, false);
}

static void ask(struct run *run, uint32_t index, uint32_t record)
{
    struct runner *runner = run->runner;
    const struct rule_entry *entry = &runner->rules[index];
    const struct rule *rule = entry->rule;
    if (runner->applies[index] != TRUTH_TRUE)
        return;
    struct evaluator *evaluator = bind_record(runner, entry, record);
    if (rule->when_each) {
        enum truth applies = evaluate_condition(evaluator, rule->when);
        if (applies == TRUTH_UNKNOWN)
            note_condition(run, index, record);
        if (applies != TRUTH_TRUE)
            return;
    }
    static const uint8_t outcomes[] = {[TRUTH_TRUE] = OUTCOME_HELD,
                                       [TRUTH_FALSE] = OUTCOME_FAILED,
                                       [TRUTH_UNKNOWN] = OUTCOME_UNCHECKED};
    const struct requirement *requirement = &entry->book->requirements[rule->first_requirement];
    bool statistical = runner_statistical(runner, rule);
    for (uint32_t i = 0; i < rule->requirement_count; i++, requirement++) {
        struct verdict verdict;
        evaluate_requirement(evaluator, requirement->node, statistical, &verdict);
        struct instance instance = {.rule = index,
                                    .requirement = i,
                                    .record = record,
                                    .outcome = outcomes[verdict.truth],
                                    .has_margin = verdict.has_margin,
                                    .implied_by = RULE_NONE,
                                    .margin = verdict.has_margin ? verdict.margin : 0,
                                    .size = verdict.has_margin ? verdict.size : 0};
        note(run, &instance, requirement->has_room);
    }
}

bool runner_verdict(struct runner *runner, const struct instance *instance, struct verdict *out)
{
    const struct rule *rule = runner->rules[instance->rule].rule;
    struct evaluator *evaluator = runner_bind(runner, instance);
    if (rule->when != NODE_NONE && evaluate_condition(evaluator, rule->when) != TRUTH_TRUE)
        return false;
    evaluate_requirement(evaluator, runner_requirement(runner, instance)->node,
                         runner_statistical(runner, rule), out);
    return true;
}

bool runner_fails(struct runner *runner, const struct instance *instance)
{
    struct verdict verdict;
    return runner_verdict(runner, instance, &verdict) && verdict.truth == TRUTH_FALSE;
}

/* Asks each rule's condition that does not depend on a record. */
static void ask_conditions(struct run *run)
{
    struct runner *runner = run->runner;
    for (uint32_t i = 0; i < runner->rule_count; i++) {
        const struct rule *rule = runner->rules[i].rule;
        enum truth applies = TRUTH_TRUE;
        if (rule->when != NODE_NONE && !rule->when_each)
            applies =
                evaluate_condition(runner->evaluators[runner->rules[i].book_index], rule->when);
        runner->applies[i] = (uint8_t)applies;
        runner->results[i] = (struct rule_result){0};
        if (applies == TRUTH_UNKNOWN)
            note_condition(run, i, 0);
    }
}

/* A list that carries an error itself: what is in it is not known. */
static void give_up_domain(struct run *run, uint32_t domain)
{
    struct runner *runner = run->runner;
    for (uint32_t i = runner->domain_start[domain]; i < runner->domain_start[domain + 1]; i++)
        if (runner->applies[runner->order[i]] == TRUTH_TRUE)
            note_condition(run, runner->order[i], 0);
}

void runner_reset(struct runner *runner, const struct machine *machine)
{
    struct environment_values values = binding_values(&runner->binding, machine);
    for (size_t b = 0; b < runner->book_count; b++)
        evaluator_reset(runner->evaluators[b], &values);
}

void runner_change(struct runner *runner, const struct formula_change *changes)
{
    binding_values(&runner->binding, runner->binding.machine);
    for (size_t b = 0; b < runner->book_count; b++)
        evaluator_change(runner->evaluators[b], &changes[b]);
}

void runner_range(struct runner *runner, const struct formula_change *changes,
                  const struct field_place *place, const struct binding_range *range)
{
    double middle = range->value->si;
    const struct formula_range asked = {
        .leaf = (uint16_t)place->field,
        .part = place->part,
        .record = place->record,
        .half = fmax(middle - range->ends[0], range->ends[1] - middle),
        .failing = range->failing,
    };
    runner->binding.range = range;
    for (int end = 0; end < 2; end++)
        derived_reset(&runner->binding.at_ends[end], runner->binding.machine);
    for (size_t b = 0; b < runner->book_count; b++)
        evaluator_range(runner->evaluators[b], &changes[b], &asked);
}

void runner_run(struct runner *runner, struct arena *arena, const struct machine *machine,
                bool keep)
{
    struct environment_values values = binding_values(&runner->binding, machine);
    runner_reset(runner, machine);
    runner->results = arena_alloc(arena, runner->rule_count * sizeof *runner->results);
    memset(runner->failed_at, 0, runner->rule_count * sizeof *runner->failed_at);
    struct run run = {.runner = runner, .arena = arena, .keep_held = keep};
    ask_conditions(&run);
    for (uint32_t domain = 0; domain < GROUP_COUNT; domain++) {
        bool wrong = false;
        uint32_t count = domain ? values.count(values.user, (uint8_t)domain, &wrong) : 1;
        if (wrong)
            give_up_domain(&run, domain);
        for (uint32_t record = 0; record < count && !wrong; record++) {
            for (uint32_t i = runner->domain_start[domain];
                 i < runner->domain_start[domain + 1]; i++)
                ask(&run, runner->order[i], record);
            settle_failures(&run);
        }
    }
}
