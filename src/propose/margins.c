#include "propose/margins.h"

#include <math.h>

#include "rules/search.h"

/* What a margin is measured by where it has neither tolerance nor allowance: this part of what
 * is compared. */
#define BARE_PART 0.1

enum { LARGE = 100 /* steps */ };

/* The numbers. */

static void open_knob(struct margins *margins, const struct machine *machine,
                      const struct field_place *place, struct knob *out)
{
    const struct field *field = &field_table[place->field];
    struct field_value *value =
        machine_field_put(margins->machine, place->field, place->record);
    if (place->part) { /* the two of a pair are shared with the machine that was copied */
        struct field_value *pair = ARENA_ARRAY(margins->arena, struct field_value, 2);
        memcpy(pair, value->pair, 2 * sizeof *pair);
        value->pair = pair;
        value = &pair[place->part - 1];
    }
    struct usual_range usual =
        machine_usual_range(machine, place->field, place->record, place->part);
    double in_unit = unit_from_si(value->unit, field->dimension, value->si);
    double step = window_step(value->unit, in_unit);
    *out = (struct knob){.place = *place, .value = value, .now = value->si};
    out->step = fabs(unit_to_si(value->unit, field->dimension, step) -
                     unit_to_si(value->unit, field->dimension, 0));
    out->reach = fmax(fabs(value->si), LARGE * out->step);
    out->low = fmin(isnan(usual.low) ? value->si - 10 * out->reach : usual.low, value->si);
    out->high = fmax(isnan(usual.high) ? value->si + 10 * out->reach : usual.high, value->si);
    value->state = VALUE_GIVEN;
}

/* The copy has values of its own where numbers are changed. */
static void copy_machine(struct margins *margins, const struct machine *machine,
                         const struct field_place *places, size_t count)
{
    bool own[GROUP_COUNT] = {false};
    margins->machine = ARENA_NEW(margins->arena, struct machine);
    *margins->machine = *machine;
    for (size_t i = 0; i < count; i++) {
        enum field_group group = field_table[places[i].field].group;
        if (!own[group])
            machine_own_values(margins->machine, margins->arena, &group, 1);
        own[group] = true;
    }
}

/* What can come out differently. */

/* On which of the numbers a requirement rests; false: on none. */
static bool find_rests(const struct margins_of *of, struct formula_change *const *changes,
                       const struct instance *instance, size_t count, bool *rests)
{
    const struct rule_entry *entry = &of->runner->rules[instance->rule];
    uint32_t node = runner_requirement(of->runner, instance)->node;
    bool any = false;
    for (size_t k = 0; k < count; k++) {
        struct formula_change *change = &changes[k][entry->book_index];
        rests[k] = formula_changes(change, entry->rule->when) || formula_changes(change, node);
        any |= rests[k];
    }
    return any;
}

/* What hurts a person bounds numbers though somebody accepts it: no proposal makes it worse. */
static bool is_accepted(const struct margins_of *of, const struct instance *instance)
{
    return of->runner->rules[instance->rule].rule->hurts != HURTS_PERSON &&
           instance_is_listed(of->ignored, instance);
}

static void find_stakes(const struct margins_of *of, struct formula_change *const *changes,
                        struct margins *out)
{
    VECTOR(struct stake) found = {0};
    VECTOR(bool) rests_on = {0};
    size_t count = out->knob_count;
    bool *rests = ARENA_ARRAY(of->arena, bool, count + 1);
    for (uint32_t rule = 0; rule < of->runner->rule_count; rule++) {
        const struct rule *asked = of->runner->rules[rule].rule;
        const struct machine_group *group = &of->machine->groups[asked->domain];
        uint32_t records = !asked->domain ? 1 : group->wrong ? 0 : group->count;
        struct instance instance = {.rule = rule, .implied_by = RULE_NONE};
        for (; instance.requirement < asked->requirement_count; instance.requirement++) {
            if (!find_rests(of, changes, &instance, count, rests))
                continue;
            for (instance.record = 0; instance.record < records; instance.record++) {
                VECTOR_ADD(of->arena, &found,
                           (struct stake){.instance = instance,
                                          .ignored = is_accepted(of, &instance),
                                          .keeps_persons = asked->hurts == HURTS_PERSON});
                for (size_t k = 0; k < count; k++)
                    VECTOR_ADD(of->arena, &rests_on, rests[k]);
            }
        }
    }
    out->stakes = found.items;
    out->stake_count = found.count;
    out->rests_on = rests_on.items;
}

void margins_open(const struct margins_of *of, const struct field_place *places, size_t count,
                  struct margins *out)
{
    *out = (struct margins){.runner = of->runner, .arena = of->arena, .knob_count = count};
    struct formula_change **changes =
        ARENA_ARRAY(of->arena, struct formula_change *, count + 1);
    out->knobs = ARENA_ARRAY(of->arena, struct knob, count + 1);
    out->scratch = arena_new_within(of->arena);
    copy_machine(out, of->machine, places, count);
    runner_reset(of->runner, of->machine);
    for (size_t i = 0; i < count; i++) {
        changes[i] = search_changes(of->runner, of->arena, of->machine, places[i].field);
        open_knob(out, of->machine, &places[i], &out->knobs[i]);
    }
    find_stakes(of, changes, out);
    for (size_t i = 0; i < 2; i++)
        out->slopes[i] = ARENA_ARRAY(of->arena, double, out->stake_count *count + 1);
}

/* Asking. */

/* What a margin is measured by: its tolerance, else what is allowed, else a part of what is
 * compared. */
static double scale_of(const struct margins *margins, const struct stake *stake,
                       const struct verdict *verdict)
{
    const struct runner *runner = margins->runner;
    const struct requirement *requirement = runner_requirement(runner, &stake->instance);
    const struct describer describer = {.runner = margins->runner,
                                        .machine = margins->machine,
                                        .source = margins->machine->tree->source,
                                        .arena = margins->arena};
    struct formula_namer namer = describe_namer(&describer);
    struct trace trace;
    evaluate_traced(runner_bind(margins->runner, &stake->instance), requirement->node,
                    runner_statistical(runner, runner->rules[stake->instance.rule].rule),
                    &namer, margins->arena, &trace);
    double tolerance = trace.difference.rest, allowed = 0;
    for (uint32_t i = 0; i < trace.difference.count; i++)
        tolerance += fabs(trace.difference.terms[i].width);
    for (size_t i = 0; i < trace.read_count; i++) {
        const struct formula_read *read = &trace.reads[i];
        if (!leaf_is_derived(read->leaf) &&
            strncmp(field_table[read->leaf].key, "allowances.", 11) == 0 &&
            dimension_equal(read->dimension, requirement->dimension))
            allowed += fabs(machine_field(margins->machine, read->leaf, read->record)->si);
    }
    double bare = verdict->size > 0 ? verdict->size * BARE_PART : 1;
    return tolerance > 0 ? tolerance : allowed > 0 ? allowed : bare;
}

static void ask(struct margins *margins, struct stake *stake)
{
    struct verdict verdict;
    stake->fails = stake->counts = false;
    if (stake_rests(margins, stake) ||
        !runner_verdict(margins->runner, &stake->instance, &verdict))
        return;
    stake->fails = verdict.truth == TRUTH_FALSE;
    stake->counts = verdict.truth != TRUTH_UNKNOWN && verdict.has_margin;
    stake->margin = stake->counts ? verdict.margin : 0;
    if (stake->counts && !(stake->scale > 0))
        stake->scale = scale_of(margins, stake, &verdict);
}

static void turn_to(struct margins *margins, const double *x)
{
    for (size_t i = 0; i < margins->knob_count; i++)
        margins->knobs[i].value->si = x[i];
    runner_reset(margins->runner, margins->machine);
}

void margins_ask(struct margins *margins, const double *x)
{
    turn_to(margins, x);
    for (size_t i = 0; i < margins->stake_count; i++)
        ask(margins, &margins->stakes[i]);
}

bool margins_cannot_tell(const struct margins *margins, const struct stake *stake)
{
    struct runner *runner = margins->runner;
    const struct rule *rule = runner->rules[stake->instance.rule].rule;
    struct verdict verdict;
    if (rule->when != NODE_NONE &&
        evaluate_condition(runner_bind(runner, &stake->instance), rule->when) == TRUTH_UNKNOWN)
        return true;
    return runner_verdict(runner, &stake->instance, &verdict) && verdict.truth == TRUTH_UNKNOWN;
}

void margins_remember(struct margins *margins)
{
    for (size_t i = 0; i < margins->stake_count; i++) {
        margins->stakes[i].failed_before = margins->stakes[i].fails;
        margins->stakes[i].asked_before = margins->stakes[i].counts;
    }
}

double margins_least(const struct margins *margins, const struct stake **worst)
{
    double least = HUGE_VAL;
    *worst = NULL;
    for (size_t i = 0; i < margins->stake_count; i++) {
        const struct stake *stake = &margins->stakes[i];
        if (!stake_counts(stake) || stake_part(stake) >= least)
            continue;
        least = stake_part(stake);
        *worst = stake;
    }
    return least;
}

double margins_least_at(struct margins *margins, const bool *still, const double *x)
{
    const struct stake *worst;
    for (size_t i = 0; i < margins->stake_count; i++)
        margins->stakes[i].still = still[i];
    margins_ask(margins, x);
    return margins_least(margins, &worst);
}

/* How they move with one number: only what rests on it has to be asked. */
static void slopes_with(struct margins *margins, const double *x, const double *before,
                        size_t k, double *slopes)
{
    size_t count = margins->knob_count;
    turn_to(margins, x);
    for (size_t i = 0; i < margins->stake_count; i++) {
        struct stake *stake = &margins->stakes[i];
        if (isnan(before[i]) || !margins->rests_on[i * count + k])
            continue;
        ask(margins, stake);
        slopes[i * count + k] = stake->counts ? stake->margin - before[i] : 0;
    }
}

void margins_slopes(struct margins *margins, const bool *moves, const double *x, double *slopes)
{
    size_t count = margins->knob_count, stakes = margins->stake_count;
    double *at = ARENA_ARRAY(margins->scratch, double, count + 1);
    double *before = ARENA_ARRAY(margins->scratch, double, stakes + 1);
    memcpy(at, x, count * sizeof *at);
    margins_ask(margins, x);
    for (size_t i = 0; i < stakes; i++)
        before[i] = margins->stakes[i].counts ? margins->stakes[i].margin : NAN;
    if (stakes)
        memset(slopes, 0, stakes * count * sizeof *slopes);
    for (size_t k = 0; k < count; k++) {
        if (moves && !moves[k])
            continue;
        at[k] = x[k] + knob_beside(&margins->knobs[k], x[k]);
        slopes_with(margins, at, before, k, slopes);
        for (size_t i = 0; i < stakes; i++)
            slopes[i * count + k] /= at[k] - x[k];
        at[k] = x[k];
    }
    margins_ask(margins, x);
}
