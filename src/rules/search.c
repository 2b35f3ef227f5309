#include "rules/search.h"

#include <math.h>

#include "motion/turns.h"
#include "quantity/exact.h"

enum {
    SPARSE_FROM = 12, /* cutters: fewer are all asked */
    HALVINGS = 110,   /* more than a double has bits to settle */
    PASSES = 64,      /* instances that may bound one end one after another */
    INSIDE = 31,      /* places looked at between a value and its bound */
    SCAN_STEPS = 400, /* of one instance, out to the limit */
    NEWTON_STEPS = 20,
};

#define GROWTH 1.5

struct formula_change *search_changes(const struct runner *runner, struct arena *arena,
                                      const struct machine *machine, enum field_id field)
{
    bool *leaves = ARENA_ARRAY(arena, bool, LEAF_COUNT);
    leaves[field] = true;
    derived_dependents(machine, field, leaves);
    struct formula_change *changes =
        ARENA_ARRAY(arena, struct formula_change, runner->book_count);
    for (uint32_t i = 0; i < runner->rule_count; i++) {
        const struct rule_entry *entry = &runner->rules[i];
        struct formula_change *change = &changes[entry->book_index];
        if (!change->program)
            formula_change_find(change, arena, &entry->book->program, leaves);
    }
    return changes;
}

static bool depends(const struct search *search, const struct rule_entry *entry)
{
    struct formula_change *change = &search->changes[entry->book_index];
    bool can = formula_changes(change, entry->rule->when);
    for (uint32_t k = 0; k < entry->rule->requirement_count; k++)
        can |= formula_changes(
            change, entry->book->requirements[entry->rule->first_requirement + k].node);
    return can;
}

void search_open(struct search *search, struct runner *runner, struct arena *arena,
                 struct machine *machine, enum field_id field, struct field_value *value)
{
    *search =
        (struct search){.runner = runner, .arena = arena, .machine = machine, .value = value};
    search->whole = field_table[field].kind == KIND_COUNT;
    search->dependents = ARENA_ARRAY(arena, uint32_t, runner->rule_count);
    search->changes = search_changes(runner, arena, machine, field);
    for (uint32_t i = 0; i < runner->rule_count; i++)
        if (depends(search, &runner->rules[i]))
            search->dependents[search->dependent_count++] = i;
    search->sparse = machine->groups[GROUP_CUTTER].count > SPARSE_FROM;
    runner_reset(runner, machine);
    for (size_t b = 0; b < runner->book_count; b++)
        evaluator_keep_several(runner->evaluators[b]);
}

static void put(struct search *search, double x)
{
    search->value->si = search->whole ? round(x) : x;
    runner_change(search->runner, search->changes);
}

static bool is_ignored(const struct search *search, const struct instance *instance)
{
    if (!search->ignored)
        return false;
    for (size_t i = 0; i < search->ignored->items.count; i++) {
        const struct instance *other = &search->ignored->items.items[i];
        if (other->rule == instance->rule && other->requirement == instance->requirement &&
            other->record == instance->record)
            return true;
    }
    return false;
}

/* What asking many instances comes to. */
struct inquiry {
    struct search *search;
    bool failed;
    struct instance worst;
    double badness; /* relative margin of the worst */
    size_t known;
    bool gathers;    /* tightest records of each requirement are wanted */
    double tightest; /* of the requirement at hand */
    uint32_t record;
};

static double relative(const struct verdict *verdict)
{
    if (!verdict->has_margin)
        return verdict->truth == TRUTH_FALSE ? -HUGE_VAL : HUGE_VAL;
    return verdict->size > 0 ? verdict->margin / verdict->size : verdict->margin;
}

static void note_verdict(struct inquiry *inquiry, const struct instance *instance,
                         const struct verdict *verdict)
{
    if (verdict->truth == TRUTH_UNKNOWN)
        return;
    inquiry->known++;
    double tight = relative(verdict);
    if (tight < inquiry->tightest) {
        inquiry->tightest = tight;
        inquiry->record = instance->record;
    }
    if (verdict->truth != TRUTH_FALSE || (inquiry->failed && tight >= inquiry->badness) ||
        is_ignored(inquiry->search, instance))
        return;
    inquiry->failed = true;
    inquiry->badness = tight;
    inquiry->worst = *instance;
}

/* One requirement of one record, if the rule applies to it. */
static void ask_one(struct inquiry *inquiry, const struct instance *instance)
{
    struct runner *runner = inquiry->search->runner;
    const struct rule *rule = runner->rules[instance->rule].rule;
    struct evaluator *evaluator = runner_bind(runner, instance);
    if (rule->when != NODE_NONE && evaluate_condition(evaluator, rule->when) != TRUTH_TRUE)
        return;
    struct verdict verdict;
    evaluate_requirement(evaluator, runner_requirement(runner, instance)->node,
                         runner_statistical(runner, rule), &verdict);
    note_verdict(inquiry, instance, &verdict);
}

static void join_few(struct search *search, uint32_t record)
{
    for (size_t i = 0; i < search->few.count; i++)
        if (search->few.items[i] == record)
            return;
    VECTOR_ADD(search->arena, &search->few, record);
}

static void ask_rule(struct inquiry *inquiry, uint32_t index)
{
    struct search *search = inquiry->search;
    const struct rule *rule = search->runner->rules[index].rule;
    bool sparse = search->sparse && rule->domain == GROUP_CUTTER;
    uint32_t count = rule->domain ? search->machine->groups[rule->domain].count : 1;
    if (rule->domain && search->machine->groups[rule->domain].wrong)
        return;
    if (sparse && !inquiry->gathers)
        count = (uint32_t)search->few.count;
    struct instance instance = {.rule = index, .implied_by = RULE_NONE};
    for (; instance.requirement < rule->requirement_count; instance.requirement++) {
        inquiry->tightest = HUGE_VAL;
        for (uint32_t i = 0; i < count; i++) {
            instance.record = sparse && !inquiry->gathers ? search->few.items[i] : i;
            ask_one(inquiry, &instance);
        }
        if (sparse && inquiry->gathers && inquiry->tightest < HUGE_VAL)
            join_few(search, inquiry->record);
    }
}

static bool ask_all(struct search *search, double x, bool gathers, struct instance *worst,
                    size_t *asked)
{
    struct inquiry inquiry = {.search = search, .gathers = gathers};
    put(search, x);
    for (size_t i = 0; i < search->dependent_count; i++)
        ask_rule(&inquiry, search->dependents[i]);
    if (asked)
        *asked += inquiry.known;
    if (inquiry.failed)
        *worst = inquiry.worst;
    return inquiry.failed;
}

bool search_worst(struct search *search, double x, struct instance *worst, size_t *asked)
{
    return ask_all(search, x, false, worst, asked);
}

bool search_gather(struct search *search, double x, struct instance *worst, size_t *asked)
{
    return ask_all(search, x, search->sparse, worst, asked);
}

bool search_fails(struct search *search, const struct instance *instance, double x,
                  double *margin)
{
    put(search, x);
    struct runner *runner = search->runner;
    const struct rule *rule = runner->rules[instance->rule].rule;
    struct evaluator *evaluator = runner_bind(runner, instance);
    if (margin)
        *margin = NAN;
    if (rule->when != NODE_NONE && evaluate_condition(evaluator, rule->when) != TRUTH_TRUE)
        return false; /* does not apply: nothing against this value */
    struct verdict verdict;
    evaluate_requirement(evaluator, runner_requirement(runner, instance)->node,
                         runner_statistical(runner, rule), &verdict);
    if (margin && verdict.has_margin && verdict.truth != TRUTH_UNKNOWN)
        *margin = verdict.margin;
    return verdict.truth == TRUTH_FALSE;
}

/* The last value, coming from `good`, at which the instance does not fail; at `bad` it does. */
static double search_boundary(struct search *search, const struct instance *instance,
                              double good, double bad)
{
    for (int i = 0; i < HALVINGS; i++) {
        double middle = good + (bad - good) / 2;
        if (middle == good || middle == bad)
            break;
        if (search_fails(search, instance, middle, NULL))
            bad = middle;
        else
            good = middle;
    }
    return good;
}

static double limit_of(const struct search *search, int direction)
{
    return direction > 0 ? search->ceiling : search->floor;
}

static bool is_beyond(double x, double limit, int direction)
{
    return direction > 0 ? x > limit : x < limit;
}

/* Follows the margin to where it comes to nothing.  Finds good values that a scan would step
 * over, where the margin leads there. */
static bool follow_margin(struct search *search, const struct instance *instance, double x,
                          int direction, double *good)
{
    double limit = limit_of(search, direction), at = x, margin, other;
    for (int i = 0; i < NEWTON_STEPS; i++) {
        if (!search_fails(search, instance, at, &margin)) {
            *good = at;
            return true;
        }
        double little = fmax(fabs(at), search->step) * 1e-6 * direction;
        bool fails = search_fails(search, instance, at + little, &other);
        if (!fails && !is_beyond(at + little, limit, direction)) {
            *good = at + little;
            return true;
        }
        double next = at - margin * little / (other - margin);
        bool past = is_beyond(next, limit, direction);
        if (!isfinite(next) || is_beyond(x, next, direction) || (past && at == limit))
            return false;
        at = past ? limit : next; /* where it bends, it leads back from there */
    }
    return false;
}

bool search_next_good(struct search *search, const struct instance *instance, double x,
                      int direction, double *good)
{
    double limit = limit_of(search, direction), bad = x, followed;
    double smallest = search->step * 1e-3;
    if (x == limit || is_beyond(x, limit, direction))
        return false;
    bool can_follow = follow_margin(search, instance, x, direction, &followed);
    double ratio = exact_root(fmax(fabs(limit - x) / smallest, 2), 1.0 / SCAN_STEPS);
    double distance = smallest;
    for (int i = 0; i <= SCAN_STEPS; i++, distance *= ratio) {
        double at = i == SCAN_STEPS ? limit : x + direction * distance;
        if (can_follow && is_beyond(at, followed, direction))
            at = followed;
        if (search_fails(search, instance, at, NULL)) {
            bad = at;
            continue;
        }
        *good = search_boundary(search, instance, at, bad);
        return true;
    }
    return false;
}

/* From the last value where all is well towards one where `out->by` fails. */
static void narrow(struct search *search, double good, double bad, struct search_end *out)
{
    out->bounded = true;
    for (int pass = 0; pass < PASSES; pass++) {
        struct instance worst;
        out->at = bad = search_boundary(search, &out->by, good, bad);
        if (!search_worst(search, bad, &worst, NULL))
            return;
        out->by = worst;
    }
    out->at = good;
}

static void add_turn(void *user, double at)
{
    struct search *search = user;
    for (size_t i = 0; i < search->turns.count; i++)
        if (search->turns.items[i] == at)
            return;
    if (at > search->floor && at < search->ceiling)
        VECTOR_ADD(search->arena, &search->turns, at);
}

void search_find_turns(struct search *search, enum field_id field, uint32_t record)
{
    turns_find(search->machine, field, record, add_turn, search);
}

/* The next place to look at beyond `last`, on the way from `good` to `end`, which it is where
 * there is none.  Turns are enough for all that is worked out of ways and places; what a shop's
 * own formula makes of a number nobody knows, so that others are looked at as well. */
static double next_place(const struct search *search, double good, double last, double end)
{
    int direction = end > good ? 1 : -1;
    double next = end;
    for (size_t i = 0; i < search->turns.count; i++) {
        double turn = search->turns.items[i];
        if (is_beyond(turn, last, direction) && is_beyond(next, turn, direction))
            next = turn;
    }
    for (int i = 1; i <= INSIDE; i++) {
        double place = good + (end - good) * i / (INSIDE + 1);
        if (is_beyond(place, last, direction) && is_beyond(next, place, direction))
            next = place;
    }
    return next;
}

/* Looks between `good` and an end that was found, and shortens it where something fails. */
static void look_between(struct search *search, double good, struct search_end *out)
{
    struct instance worst;
    double last = good, next = next_place(search, good, last, out->at);
    for (; next != out->at; next = next_place(search, good, last, out->at)) {
        if (search_worst(search, next, &worst, NULL)) {
            out->by = worst;
            narrow(search, last, next, out);
            return;
        }
        last = next;
    }
}

void search_grow(struct search *search, double good, int direction, struct search_end *out)
{
    double limit = limit_of(search, direction), last = good, at;
    *out = (struct search_end){.at = limit};
    if (!is_beyond(limit, good, direction)) {
        out->at = good;
        return;
    }
    for (double distance = search->step;; distance *= GROWTH) {
        at = good + direction * distance;
        if (!is_beyond(limit, at, direction))
            at = limit;
        if (search_worst(search, at, &out->by, NULL))
            break;
        last = at;
        if (at == limit)
            break;
    }
    if (last != limit)
        narrow(search, last, at, out);
    look_between(search, good, out);
}

bool search_march(struct search *search, double x, int direction, double *to,
                  struct instance *by)
{
    for (int pass = 0; pass < PASSES; pass++) {
        *to = x;
        if (!search_worst(search, x, by, NULL))
            return true;
        if (!search_next_good(search, by, x, direction, &x))
            return false;
    }
    return false;
}
