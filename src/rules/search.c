#include "rules/search.h"

#include <math.h>

#include "motion/turns.h"
#include "quantity/exact.h"

enum {
    SPARSE_FROM = 12, /* cutters: fewer are all asked */
    HALVINGS = 110,   /* more than a double has bits to settle */
    PASSES = 64,      /* instances that may bound one end one after another */
    SCAN_STEPS = 400, /* of one instance, out to the limit */
    NEWTON_STEPS = 20,
    /* How much is asked to prove that nothing fails in a range, beyond asking all of it: of
     * each instance that is open then, and of all. */
    PROOFS_EACH = 128,
    PROOFS = 2048,
    GAPS = 256,    /* places at which all is asked to find one where nothing fails */
    HINTS_MAX = 8, /* of what fails there */
};

/* What is narrower than this part of a step, or of a narrow window, does not matter: nobody
 * types numbers in it.  That window itself is not looked into where it is no more than a number
 * with its rounding. */
#define TOO_NARROW 1e-3
#define ONE_NUMBER 1e-9

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

bool instance_is_listed(const struct instance_list *list, const struct instance *instance)
{
    for (size_t i = 0; list && i < list->items.count; i++) {
        const struct instance *other = &list->items.items[i];
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
        instance_is_listed(inquiry->search->ignored, instance))
        return;
    inquiry->failed = true;
    inquiry->badness = tight;
    inquiry->worst = *instance;
}

/* Is nothing against the value, or against all of a range?  Not known: it differs within the
 * range, or took too long.  A rule that does not apply, and what cannot be checked whatever
 * stands here, is nothing against it; `*verdict` is unknown then. */
static enum truth stands(struct search *search, const struct instance *instance,
                         struct verdict *verdict)
{
    struct runner *runner = search->runner;
    const struct rule *rule = runner->rules[instance->rule].rule;
    struct evaluator *evaluator = runner_bind(runner, instance);
    bool may_apply = false;
    if (rule->when != NODE_NONE) {
        evaluate_requirement(evaluator, rule->when, false, verdict);
        may_apply = verdict->open;
        if (!may_apply && verdict->truth != TRUTH_TRUE) {
            *verdict = (struct verdict){.truth = TRUTH_UNKNOWN};
            return evaluator_exhausted(evaluator) ? TRUTH_UNKNOWN : TRUTH_TRUE;
        }
    }
    evaluate_requirement(evaluator, runner_requirement(runner, instance)->node,
                         runner_statistical(runner, rule), verdict);
    bool fails = verdict->truth == TRUTH_FALSE;
    if (verdict->open || (fails && may_apply) || evaluator_exhausted(evaluator))
        return TRUTH_UNKNOWN;
    return fails ? TRUTH_FALSE : TRUTH_TRUE;
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
            struct verdict verdict;
            instance.record = sparse && !inquiry->gathers ? search->few.items[i] : i;
            (void)stands(search, &instance, &verdict);
            note_verdict(inquiry, &instance, &verdict);
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
    struct verdict verdict;
    put(search, x);
    bool fails = stands(search, instance, &verdict) == TRUTH_FALSE;
    if (margin)
        *margin = verdict.has_margin && verdict.truth != TRUTH_UNKNOWN ? verdict.margin : NAN;
    return fails;
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

void search_find_turns(struct search *search, const struct field_place *place)
{
    search->place = *place;
    turns_find(search->machine, place->field, place->record, add_turn, search);
}

/* Proving.  What is open about a range is asked about a part of it and the rest. */

struct piece {
    double from, to;
    size_t first, count; /* of the instances that are open */
};

struct proof {
    struct search *search;
    VECTOR(struct instance) instances;
    VECTOR(struct piece) pieces;
    double narrow; /* too narrow to matter */
    long left;     /* of what may be asked */
};

/* The turn nearest to the middle of a range, within it; NAN where there is none. */
static double turn_within(const struct search *search, double from, double to)
{
    double middle = from + (to - from) / 2, low = fmin(from, to), high = fmax(from, to);
    double nearest = NAN;
    for (size_t i = 0; i < search->turns.count; i++) {
        double turn = search->turns.items[i];
        if (turn > low && turn < high && !(fabs(turn - middle) >= fabs(nearest - middle)))
            nearest = turn;
    }
    return nearest;
}

/* All values between two, and these, from here on. */
static void put_range(struct search *search, double from, double to, bool failing)
{
    put(search, from + (to - from) / 2);
    search->range = (struct binding_range){
        .value = search->value,
        .ends = {fmin(from, to), fmax(from, to)},
        .has_turn = !isnan(turn_within(search, from, to)),
        .failing = failing,
    };
    runner_range(search->runner, search->changes, &search->place, &search->range);
}

/* Where to part a range: at a turn, else near the middle at the roundest number, so that what
 * people type is asked itself.  NAN where the range is too narrow. */
static double parting(const struct search *search, double from, double to, double narrow)
{
    double width = fabs(to - from), middle = from + (to - from) / 2;
    double turn = turn_within(search, from, to), grid = search->step;
    if (!isnan(turn))
        return turn;
    if (search->whole)
        return width < 2 ? NAN : round(middle);
    if (!(width > narrow))
        return NAN;
    while (grid > width / 2)
        grid /= 10;
    double round_one = round(middle / grid) * grid;
    bool inside = round_one > fmin(from, to) && round_one < fmax(from, to);
    return inside ? round_one : middle;
}

/* Adds the range with those of `count` instances that are open about it, where any are. */
static void add_piece(struct proof *proof, double from, double to, size_t first, size_t count)
{
    struct search *search = proof->search;
    struct piece piece = {.from = from, .to = to, .first = proof->instances.count};
    struct verdict verdict;
    if (isnan(parting(search, from, to, proof->narrow)))
        return;
    put_range(search, from, to, false);
    proof->left -= (long)count;
    for (size_t i = first; i < first + count; i++) {
        const struct instance instance = proof->instances.items[i];
        if (stands(search, &instance, &verdict) != TRUTH_TRUE)
            VECTOR_ADD(search->arena, &proof->instances, instance);
    }
    piece.count = proof->instances.count - piece.first;
    if (piece.count)
        VECTOR_ADD(search->arena, &proof->pieces, piece);
}

/* Asks all that depends on the value about all of a range, of a long list every cutter. */
static void add_whole(struct proof *proof, double from, double to)
{
    struct search *search = proof->search;
    struct verdict verdict;
    put_range(search, from, to, false);
    for (size_t i = 0; i < search->dependent_count; i++) {
        struct instance instance = {.rule = search->dependents[i], .implied_by = RULE_NONE};
        const struct rule *rule = search->runner->rules[instance.rule].rule;
        const struct machine_group *group = &search->machine->groups[rule->domain];
        uint32_t count = !rule->domain ? 1 : group->wrong ? 0 : group->count;
        for (; instance.requirement < rule->requirement_count; instance.requirement++)
            for (instance.record = 0; instance.record < count; instance.record++)
                if (stands(search, &instance, &verdict) != TRUTH_TRUE &&
                    !instance_is_listed(search->ignored, &instance))
                    VECTOR_ADD(search->arena, &proof->instances, instance);
    }
    struct piece piece = {from, to, 0, proof->instances.count};
    if (piece.count)
        VECTOR_ADD(search->arena, &proof->pieces, piece);
}

/* Does any of the open ones fail here? */
static bool piece_fails(struct proof *proof, const struct piece *piece, double at)
{
    struct search *search = proof->search;
    struct verdict verdict;
    put(search, at);
    for (size_t i = piece->first; i < piece->first + piece->count; i++) {
        const struct instance *instance = &proof->instances.items[i];
        proof->left--;
        if (stands(search, instance, &verdict) != TRUTH_FALSE)
            continue;
        if (search->sparse &&
            search->runner->rules[instance->rule].rule->domain == GROUP_CUTTER)
            join_few(search, instance->record);
        return true;
    }
    return false;
}

/* Proves that nothing fails between `good` and an end that was found, and shortens it where
 * something does.  Of each length all pieces are asked before shorter ones, so that where it
 * ends unproved all of the range has been looked at as closely. */
static void prove(struct search *search, double good, struct search_end *out)
{
    double width = fabs(out->at - good);
    struct proof proof = {
        .search = search,
        .narrow = fmax(fmin(search->step, width) * TOO_NARROW, search->step * ONE_NUMBER),
    };
    if (isnan(parting(search, good, out->at, proof.narrow)))
        return;
    add_whole(&proof, good, out->at);
    proof.left = PROOFS + PROOFS_EACH * (long)proof.instances.count;
    for (size_t next = 0; next < proof.pieces.count; next++) {
        const struct piece piece = proof.pieces.items[next];
        int direction = out->at > good ? 1 : -1;
        if (!is_beyond(out->at, piece.from, direction))
            continue; /* cut off since */
        double to = is_beyond(piece.to, out->at, direction) ? out->at : piece.to;
        double at = parting(search, piece.from, to, proof.narrow);
        if (isnan(at))
            continue;
        if (proof.left < 0) {
            out->unproved = true;
            out->open = proof.instances.items[piece.first];
            return;
        }
        if (piece_fails(&proof, &piece, at) && search_worst(search, at, &out->by, NULL)) {
            narrow(search, piece.from, at, out);
            to = at = out->at;
        }
        add_piece(&proof, piece.from, at, piece.first, piece.count);
        if (at != to)
            add_piece(&proof, at, to, piece.first, piece.count);
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
    prove(search, good, out);
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

/* Instances that were found to fail, the last ones. */
struct hints {
    struct instance items[HINTS_MAX];
    size_t count;
};

/* True where something fails at x, which is a hint then. */
static bool fails_at(struct search *search, double x, struct hints *hints)
{
    return search_gather(search, x, &hints->items[hints->count++ % HINTS_MAX], NULL);
}

/* Does one of the hints fail throughout? */
static bool is_taken(struct search *search, const struct hints *hints,
                     const struct piece *piece)
{
    struct verdict verdict;
    put_range(search, piece->from, piece->to, true);
    for (size_t i = 0; i < hints->count && i < HINTS_MAX; i++)
        if (stands(search, &hints->items[i], &verdict) == TRUTH_FALSE)
            return true;
    return false;
}

bool search_gap(struct search *search, double *good, bool *proved)
{
    struct hints hints = {.count = 0};
    VECTOR(struct piece) pieces = {0};
    struct piece piece = {search->floor, search->ceiling, 0, 0};
    double at = search->floor;
    bool fails = fails_at(search, at, &hints);
    if (fails) {
        at = search->ceiling;
        fails = fails_at(search, at, &hints);
    }
    VECTOR_ADD(search->arena, &pieces, piece);
    for (size_t next = 0; fails && next < pieces.count && hints.count < GAPS; next++) {
        piece = pieces.items[next];
        at = parting(search, piece.from, piece.to, search->step * TOO_NARROW);
        if (isnan(at) || is_taken(search, &hints, &piece))
            continue;
        fails = fails_at(search, at, &hints);
        VECTOR_ADD(search->arena, &pieces, (struct piece){piece.from, at, 0, 0});
        VECTOR_ADD(search->arena, &pieces, (struct piece){at, piece.to, 0, 0});
    }
    *proved = fails && hints.count < GAPS;
    *good = at;
    return !fails;
}
