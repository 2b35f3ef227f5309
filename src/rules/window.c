#include "rules/window.h"

#include <math.h>

#include "base/bug.h"
#include "quantity/quantity.h"

enum {
    HALVINGS = 200,  /* more than a double has bits to settle */
    PASSES_MAX = 64, /* instances that may bound one end one after another */
    SCAN_STEPS = 400,
};

/* An instance that depends on the field, asked at one value. */
struct asked {
    enum truth truth;
    bool has_margin;
    double margin;
};

/* A search for one field. */
struct search {
    struct runner *runner;
    struct arena *arena;
    struct machine *machine;
    enum field_id field;
    struct field_value *value;
    bool *depends;         /* of each rule: does it read the field? */
    double floor, ceiling; /* how far it is looked for */
};

static void note_leaf(void *user, uint16_t leaf)
{
    bool *leaves = user;
    leaves[leaf] = true;
}

/* Which rules can read the field, conditions included. */
static bool find_dependents(struct search *search)
{
    bool any = false;
    bool *leaves = ARENA_ARRAY(search->arena, bool, FIELD_COUNT);
    for (uint32_t i = 0; i < search->runner->rule_count; i++) {
        const struct rule_entry *entry = &search->runner->rules[i];
        const struct program *program = &entry->book->program;
        memset(leaves, 0, FIELD_COUNT);
        if (entry->rule->when != NODE_NONE)
            formula_leaves(program, entry->rule->when, note_leaf, leaves);
        for (uint32_t k = 0; k < entry->rule->requirement_count; k++)
            formula_leaves(program,
                           entry->book->requirements[entry->rule->first_requirement + k].node,
                           note_leaf, leaves);
        search->depends[i] = leaves[search->field];
        any |= search->depends[i];
    }
    return any;
}

static void put(struct search *search, double x)
{
    search->value->si = x;
    struct environment_values values =
        binding_values(&search->runner->binding, search->machine);
    for (size_t b = 0; b < search->runner->book_count; b++)
        evaluator_reset(search->runner->evaluators[b], &values);
}

/* Asks one instance at x. */
static struct asked ask_at(struct search *search, const struct instance *instance, double x)
{
    put(search, x);
    const struct rule_entry *entry = &search->runner->rules[instance->rule];
    struct evaluator *evaluator = runner_bind(search->runner, instance);
    struct asked asked = {.truth = TRUTH_TRUE};
    if (entry->rule->when != NODE_NONE &&
        evaluate_condition(evaluator, entry->rule->when) != TRUTH_TRUE)
        return asked; /* does not apply: nothing against this value */
    struct verdict verdict;
    evaluate_requirement(evaluator, runner_requirement(search->runner, instance)->node,
                         runner_statistical(search->runner, entry->rule), &verdict);
    asked = (struct asked){verdict.truth, verdict.has_margin, verdict.margin};
    return asked;
}

static bool fails_at(struct search *search, const struct instance *instance, double x)
{
    return ask_at(search, instance, x).truth == TRUTH_FALSE;
}

/* Asks every dependent instance at x; gives the worst that fails.  True where one does.
 * `*asked` counts those whose truth is known. */
static bool worst_at(struct search *search, double x, struct instance *worst, size_t *asked)
{
    put(search, x);
    struct runner *runner = search->runner;
    bool failed = false;
    double worst_relative = 0;
    for (uint32_t i = 0; i < runner->rule_count; i++) {
        if (!search->depends[i])
            continue;
        const struct rule_entry *entry = &runner->rules[i];
        const struct rule *rule = entry->rule;
        uint32_t count = rule->domain ? search->machine->groups[rule->domain].count : 1;
        bool statistical = runner_statistical(runner, rule);
        for (uint32_t record = 0; record < count; record++) {
            struct instance instance = {.rule = i, .record = record, .implied_by = RULE_NONE};
            struct evaluator *evaluator = runner_bind(runner, &instance);
            if (rule->when != NODE_NONE &&
                evaluate_condition(evaluator, rule->when) != TRUTH_TRUE)
                continue;
            for (uint32_t k = 0; k < rule->requirement_count; k++) {
                struct verdict verdict;
                instance.requirement = k;
                evaluate_requirement(evaluator, runner_requirement(runner, &instance)->node,
                                     statistical, &verdict);
                if (asked && verdict.truth != TRUTH_UNKNOWN)
                    ++*asked;
                if (verdict.truth != TRUTH_FALSE)
                    continue;
                double relative = verdict.has_margin && verdict.size > 0
                                      ? verdict.margin / verdict.size
                                      : -HUGE_VAL;
                if (failed && relative >= worst_relative)
                    continue;
                failed = true;
                worst_relative = relative;
                *worst = instance;
            }
        }
    }
    return failed;
}

/* The boundary of one instance between `good`, where it holds, and `bad`, where it fails: the
 * last value, coming from `good`, at which it still holds. */
static double boundary(struct search *search, const struct instance *instance, double good,
                       double bad)
{
    for (int i = 0; i < HALVINGS; i++) {
        double middle = good + (bad - good) / 2;
        if (middle == good || middle == bad)
            break;
        if (fails_at(search, instance, middle))
            bad = middle;
        else
            good = middle;
    }
    return good;
}

/* An end found by growing: the value and the instance that bounds it. */
struct found {
    bool bounded;
    double at;
    struct instance by;
};

/* Grows from `good`, where everything holds, to `limit`. */
static struct found grow(struct search *search, double good, double limit)
{
    struct found found = {.at = limit};
    struct instance worst;
    for (int pass = 0; pass < PASSES_MAX; pass++) {
        if (!worst_at(search, found.at, &worst, NULL))
            return found;
        found.at = boundary(search, &worst, good, found.at);
        found.by = worst;
        found.bounded = true;
    }
    return found;
}

/* Looks for the value nearest to x at which a failing instance holds, outward on both sides. */
static bool nearest_good(struct search *search, const struct instance *instance, double x,
                         double *good)
{
    double span = search->ceiling - search->floor;
    double smallest = span * 1e-9;
    double ratio = pow(1e9, 1.0 / SCAN_STEPS);
    double distance = smallest;
    for (int i = 0; i <= SCAN_STEPS; i++, distance *= ratio) {
        const double candidates[] = {x + distance, x - distance};
        for (int side = 0; side < 2; side++) {
            double at = candidates[side];
            if (at < search->floor || at > search->ceiling || fails_at(search, instance, at))
                continue;
            *good = boundary(search, instance, at, x);
            return true;
        }
    }
    return false;
}

static void exclude(struct window *out, const struct instance *a, const struct instance *b,
                    double overlap, const struct describer *describer)
{
    struct finding bare;
    const struct instance *both[] = {a, b};
    out->empty = true;
    out->overlap = fabs(overlap);
    for (int i = 0; i < 2; i++) {
        describe_bare(describer, both[i], &bare);
        out->between[i] = bare.rule;
        out->between_subject[i] = bare.subject;
    }
}

/* From a value where something fails to the nearest where everything holds.  False: there is
 * none; `out` says why. */
static bool find_good(struct search *search, struct window *out, double *x,
                      const struct describer *describer)
{
    struct instance first = {.rule = RULE_NONE}, worst;
    double direction = 0;
    for (int pass = 0; pass < PASSES_MAX; pass++) {
        if (!worst_at(search, *x, &worst, NULL))
            return true;
        double good;
        if (!nearest_good(search, &worst, *x, &good)) {
            exclude(out, &worst, first.rule == RULE_NONE ? &worst : &first, 0, describer);
            return false;
        }
        double step = good - *x;
        if (direction != 0 && step * direction < 0) {
            exclude(out, direction < 0 ? &worst : &first, direction < 0 ? &first : &worst, step,
                    describer);
            return false;
        }
        direction = step;
        first = worst;
        *x = good;
    }
    exclude(out, &worst, &first, 0, describer);
    return false;
}

double window_step(unit_id unit, struct dimension dimension)
{
    const char *text = unit_text(unit);
    double in_unit = 0.1;
    if (strcmp(text, "in") == 0 || strcmp(text, "\"") == 0)
        in_unit = 1.0 / 64;
    else if (strcmp(text, "m") == 0)
        in_unit = 1e-4;
    else if (strcmp(text, "um") == 0 || strcmp(text, "ms") == 0 || strcmp(text, "rpm") == 0)
        in_unit = 1;
    else if (strcmp(text, "ft") == 0 || strcmp(text, "min") == 0 || strcmp(text, "cm") == 0)
        in_unit = 0.01;
    double step = unit_to_si(unit, dimension, in_unit);
    return fabs(step);
}

/* Rounds a bound inward (`toward` +1: up) to a whole number of steps, finer steps where the
 * window is narrow. */
static double round_inward(struct search *search, const struct window *window, double at,
                           int toward, double other)
{
    struct dimension dimension = field_table[search->field].dimension;
    double step = window_step(window->unit, dimension);
    struct instance worst;
    for (int i = 0; i < 8; i++, step /= 10) {
        double in_unit = unit_from_si(window->unit, dimension, at);
        double unit_step = unit_from_si(window->unit, dimension, step);
        double whole = in_unit / unit_step;
        double slack = 1e-9 * fmax(1, fabs(whole));
        whole = toward > 0 ? ceil(whole - slack) : floor(whole + slack);
        /* Dividing by a whole number of steps a unit gives the double that the typed text
         * would. */
        double steps_a_unit = 1 / unit_step;
        double typed = steps_a_unit >= 1 ? whole / round(steps_a_unit) : whole * unit_step;
        double si = unit_to_si(window->unit, dimension, typed);
        bool crosses = toward > 0 ? si > other : si < other;
        if (!crosses && !worst_at(search, si, &worst, NULL))
            return si;
    }
    return at;
}

static void fill_end(struct search *search, const struct window *window,
                     const struct found *found, int toward, double other,
                     const struct describer *describer, struct window_end *out)
{
    *out = (struct window_end){.bounded = found->bounded};
    if (!found->bounded)
        return;
    struct finding bare;
    describe_bare(describer, &found->by, &bare);
    out->exact = found->at;
    out->si = round_inward(search, window, found->at, toward, other);
    out->text = quantity_text(search->arena, out->si, field_table[search->field].dimension,
                              window->unit);
    out->rule = bare.rule;
    out->subject = bare.subject;
}

/* How far a field is looked for: far beyond what is plausible, a size not below nothing. */
static void set_limits(struct search *search, double value)
{
    const struct field *field = &field_table[search->field];
    double reach = fabs(value);
    if (!isnan(field->plausible_low))
        reach = fmax(reach, fabs(field->plausible_low));
    if (!isnan(field->plausible_high))
        reach = fmax(reach, fabs(field->plausible_high));
    if (reach == 0)
        reach = 1;
    search->ceiling = 100 * reach;
    search->floor = field->kind == KIND_POSITION ? -search->ceiling : 0;
}

static bool is_number(enum field_id field)
{
    enum field_kind kind = field_table[field].kind;
    return kind == KIND_QUANTITY || kind == KIND_POSITION || kind == KIND_COUNT;
}

static double start_value(enum field_id field, const struct field_value *value)
{
    if (value->state == VALUE_GIVEN || value->state == VALUE_DEFAULTED)
        return value->si;
    double low = field_table[field].plausible_low, high = field_table[field].plausible_high;
    return isnan(low) || isnan(high) ? 0 : low + (high - low) / 4;
}

static void find(struct search *search, const struct describer *describer, struct window *out)
{
    struct instance worst;
    size_t asked = 0;
    out->holds = !worst_at(search, out->value, &worst, &asked);
    out->asked = asked > 0;
    double good = out->value;
    if (!out->holds && !find_good(search, out, &good, describer))
        return;
    struct found low = grow(search, good, search->floor);
    struct found high = grow(search, good, search->ceiling);
    fill_end(search, out, &low, 1, high.at, describer, &out->low);
    fill_end(search, out, &high, -1, low.bounded ? out->low.si : low.at, describer, &out->high);
}

static void open_search(struct search *search, struct runner *runner, struct arena *arena,
                        struct machine *machine)
{
    *search = (struct search){.runner = runner, .arena = arena, .machine = machine};
    search->depends = ARENA_ARRAY(arena, bool, runner->rule_count);
}

static struct field_value *value_of(struct machine *machine, enum field_id field,
                                    uint32_t record)
{
    enum field_group group = field_table[field].group;
    return &machine->groups[group]
                .values[(size_t)record * field_group_width(group) + field_slot(field)];
}

bool window_find(struct runner *runner, struct arena *arena, struct machine *machine,
                 enum field_id field, uint32_t record, struct window *out)
{
    if (!is_number(field))
        return false;
    struct search search;
    open_search(&search, runner, arena, machine);
    search.field = field;
    search.value = value_of(machine, field, record);
    const struct field_value kept = *search.value;
    *out =
        (struct window){.field = field, .record = record, .given = kept.state == VALUE_GIVEN};
    out->path = machine_path(arena, machine, field, record, 0);
    out->value = start_value(field, &kept);
    out->unit =
        kept.state == VALUE_GIVEN ? kept.unit : unit_read(view_of(field_table[field].unit));
    *search.value =
        (struct field_value){.state = VALUE_GIVEN, .unit = out->unit, .node = kept.node};
    if (kept.state == VALUE_GIVEN)
        search.value->tolerance = kept.tolerance;
    set_limits(&search, out->value);
    struct describer describer = {runner, machine, machine->tree->source, arena};
    if (find_dependents(&search))
        find(&search, &describer, out);
    else
        out->holds = true;
    *search.value = kept;
    put(&search, kept.si);
    *search.value = kept;
    return true;
}

void window_margins(struct runner *runner, struct machine *machine, enum field_id field,
                    uint32_t record, const struct instance *instance, const double *values,
                    size_t count, double *margins)
{
    struct search search = {.runner = runner, .machine = machine, .field = field};
    search.value = value_of(machine, field, record);
    const struct field_value kept = *search.value;
    for (size_t i = 0; i < count; i++) {
        struct asked asked = ask_at(&search, instance, values[i]);
        margins[i] = asked.has_margin && asked.truth != TRUTH_UNKNOWN ? asked.margin : NAN;
    }
    put(&search, kept.si);
    *search.value = kept;
}
