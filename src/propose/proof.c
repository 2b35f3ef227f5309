/* Cutting planes: a margin that is the least of straight ones lies nowhere above what continues
 * it from a place where it is smooth.  Where numbers have no solution under enough of such
 * continuations, they have none.  That they have none is shown by multipliers: no less than 0,
 * with which the sum of the continuations is below 0 wherever the numbers are.  How these were
 * found does not matter, since the sum is worked out once more.
 *
 * Sources: Kelley, The cutting-plane method for solving convex programs, Journal of SIAM 8
 * (1960); Farkas, Theorie der einfachen Ungleichungen, Journal fuer die reine und angewandte
 * Mathematik 124 (1902).
 */
#include "propose/seek.h"

#include <math.h>

#include "propose/linear.h"
#include "rules/bind.h"

enum { ROUNDS = 12 };

/* What rounding may come to, as a part of what is added up. */
#define ROUNDING 1e-9

/* A margin that bends by less than this is smooth, by its scale. */
#define SMOOTH 1e-11

/* So far below 0 the sum has to be. */
#define SHORT 1e-5

/* slopes[k] * x[k] by its reach, and rest: no margin of one stake is above it. */
struct plane {
    double *slopes, rest;
};

struct proof {
    struct margins *margins;
    const struct stake *const *stakes;
    size_t count;
    VECTOR(struct plane) planes;
};

/* Which leaves may have a tolerance, and which are worked out of others. */
static void know_leaves(const struct machine *machine, bool *wide, bool *bent)
{
    for (uint32_t leaf = 0; leaf < LEAF_COUNT; leaf++) {
        wide[leaf] = bent[leaf] = leaf_is_derived((uint16_t)leaf);
        if (bent[leaf])
            continue;
        enum field_id field = (enum field_id)leaf;
        bool single =
            field_table[leaf].kind == KIND_QUANTITY || field_table[leaf].kind == KIND_POSITION;
        wide[leaf] = !single;
        for (uint32_t i = 0; i < machine->groups[field_table[leaf].group].count && single; i++)
            wide[leaf] |= machine_field(machine, field, i)->tolerance != 0;
    }
}

/* Are all margins of the group least ones of straight ones, and asked wherever numbers are? */
static bool is_straight(const struct proof *proof)
{
    const struct margins *margins = proof->margins;
    struct arena *arena = margins->arena;
    bool *wide = ARENA_ARRAY(arena, bool, LEAF_COUNT),
         *bent = ARENA_ARRAY(arena, bool, LEAF_COUNT);
    bool *moved = ARENA_ARRAY(arena, bool, LEAF_COUNT);
    const struct formula_leaves leaves = {wide, bent};
    know_leaves(margins->machine, wide, bent);
    for (size_t k = 0; k < margins->knob_count; k++) {
        moved[margins->knobs[k].place.field] = true;
        derived_dependents(margins->machine, margins->knobs[k].place.field, moved);
    }
    for (size_t i = 0; i < proof->count; i++) {
        const struct instance *instance = &proof->stakes[i]->instance;
        const struct rule_entry *entry = &margins->runner->rules[instance->rule];
        struct formula_change change;
        formula_change_find(&change, arena, &entry->book->program, moved);
        if (formula_changes(&change, entry->rule->when) ||
            !formula_is_straight(arena, &change, &leaves,
                                 runner_requirement(margins->runner, instance)->node))
            return false;
    }
    return true;
}

/* The margins of the group by their scales; NAN where one has none. */
static void ask(const struct proof *proof, const double *x, double *parts)
{
    margins_ask(proof->margins, x);
    for (size_t i = 0; i < proof->count; i++) {
        const struct stake *stake = proof->stakes[i];
        parts[i] = stake->counts && stake->scale > 0 ? stake->margin / stake->scale : NAN;
    }
}

/* Adds what continues each margin that is smooth at x; how many do. */
static size_t add_planes(struct proof *proof, const double *x)
{
    struct margins *margins = proof->margins;
    struct arena *arena = margins->arena;
    size_t count = proof->count, knobs = margins->knob_count, added = 0;
    double *here = ARENA_ARRAY(arena, double, count),
           *at = ARENA_ARRAY(arena, double, knobs + 1);
    double *above = ARENA_ARRAY(arena, double, count),
           *below = ARENA_ARRAY(arena, double, count);
    struct plane *planes = ARENA_ARRAY(arena, struct plane, count);
    memcpy(at, x, knobs * sizeof *at);
    ask(proof, x, here);
    for (size_t i = 0; i < count; i++)
        planes[i] = (struct plane){ARENA_ARRAY(arena, double, knobs + 1), here[i]};
    for (size_t k = 0; k < knobs; k++) {
        const struct knob *knob = &margins->knobs[k];
        at[k] = x[k] + knob->step, ask(proof, at, above);
        at[k] = x[k] - knob->step, ask(proof, at, below);
        at[k] = x[k];
        for (size_t i = 0; i < count; i++) {
            bool smooth =
                fabs(above[i] + below[i] - 2 * here[i]) <= SMOOTH * fmax(1, fabs(here[i]));
            planes[i].slopes[k] = (above[i] - below[i]) / (2 * knob->step) * knob->reach;
            planes[i].rest =
                smooth ? planes[i].rest - planes[i].slopes[k] * x[k] / knob->reach : NAN;
        }
    }
    for (size_t i = 0; i < count; i++) {
        if (isnan(planes[i].rest))
            continue;
        VECTOR_ADD(arena, &proof->planes, planes[i]);
        added++;
    }
    return added;
}

/* Where the least of all planes is greatest; false where that is not known. */
static bool find_best(const struct proof *proof, double *x, double *least)
{
    struct margins *margins = proof->margins;
    size_t knobs = margins->knob_count;
    struct linear problem;
    arena_reset(margins->scratch);
    linear_begin(&problem, margins->scratch, knobs + 1);
    for (size_t k = 0; k < knobs; k++) {
        problem.low[k] = margins->knobs[k].low / margins->knobs[k].reach;
        problem.high[k] = margins->knobs[k].high / margins->knobs[k].reach;
    }
    problem.low[knobs] = -HUGE_VAL, problem.high[knobs] = 1, problem.objective[knobs] = 1;
    for (size_t i = 0; i < proof->planes.count; i++) {
        const struct plane *plane = &proof->planes.items[i];
        double *row = linear_add(&problem, margins->scratch, -plane->rest);
        memcpy(row, plane->slopes, knobs * sizeof *row);
        row[knobs] = -1;
    }
    double *found = ARENA_ARRAY(margins->scratch, double, knobs + 1);
    if (linear_solve(margins->scratch, &problem, found) != LINEAR_FOUND)
        return false;
    for (size_t k = 0; k < knobs; k++)
        x[k] = found[k] * margins->knobs[k].reach;
    *least = found[knobs];
    return true;
}

/* Multipliers whose sum is 1, with which the greatest that the sum of all planes comes to is
 * least: a variable for each, and one for what each number brings at most. */
static bool find_multipliers(const struct proof *proof, double *multipliers)
{
    struct margins *margins = proof->margins;
    size_t knobs = margins->knob_count, planes = proof->planes.count;
    struct linear problem;
    arena_reset(margins->scratch);
    linear_begin(&problem, margins->scratch, planes + knobs);
    for (int side = -1; side <= 1; side += 2) {
        double *sum = linear_add(&problem, margins->scratch, side);
        for (size_t i = 0; i < planes; i++)
            sum[i] = side;
    }
    for (size_t i = 0; i < planes; i++) {
        problem.high[i] = 1;
        problem.objective[i] = -proof->planes.items[i].rest;
    }
    for (size_t k = 0; k < knobs; k++) {
        const struct knob *knob = &margins->knobs[k];
        problem.low[planes + k] = -HUGE_VAL, problem.high[planes + k] = HUGE_VAL;
        problem.objective[planes + k] = -1;
        for (int side = 0; side < 2; side++) {
            double *row = linear_add(&problem, margins->scratch, 0);
            row[planes + k] = 1;
            for (size_t i = 0; i < planes; i++)
                row[i] = -proof->planes.items[i].slopes[k] * (side ? knob->high : knob->low) /
                         knob->reach;
        }
    }
    double *found = ARENA_ARRAY(margins->scratch, double, planes + knobs);
    if (linear_solve(margins->scratch, &problem, found) != LINEAR_FOUND)
        return false;
    memcpy(multipliers, found, planes * sizeof *multipliers);
    return true;
}

/* The greatest that the sum comes to within the limits, and what may be lost in rounding. */
static double sum_at_most(const struct proof *proof, const double *multipliers)
{
    double sum = 0, size = 0;
    for (size_t i = 0; i < proof->planes.count; i++) {
        sum += fmax(0, multipliers[i]) * proof->planes.items[i].rest;
        size += fmax(0, multipliers[i]) * fabs(proof->planes.items[i].rest);
    }
    for (size_t k = 0; k < proof->margins->knob_count; k++) {
        const struct knob *knob = &proof->margins->knobs[k];
        double slope = 0, steep = 0,
               far = fmax(fabs(knob->low), fabs(knob->high)) / knob->reach;
        for (size_t i = 0; i < proof->planes.count; i++) {
            double one = fmax(0, multipliers[i]) * proof->planes.items[i].slopes[k];
            slope += one;
            steep += fabs(one);
        }
        sum += fmax(slope * knob->low, slope * knob->high) / knob->reach;
        size += steep * far;
    }
    return sum + ROUNDING * size;
}

bool proof_stands(struct margins *margins, const struct stake *const *stakes, size_t count,
                  const double *x)
{
    struct proof proof = {margins, stakes, count, {0}};
    struct arena *arena = margins->arena;
    double *at = ARENA_ARRAY(arena, double, margins->knob_count + 1), least = 0;
    if (!is_straight(&proof))
        return false;
    memcpy(at, x, margins->knob_count * sizeof *at);
    for (int round = 0; round < ROUNDS && least > -SHORT; round++)
        if (!add_planes(&proof, at) || !find_best(&proof, at, &least))
            return false;
    double *multipliers = ARENA_ARRAY(arena, double, proof.planes.count + 1);
    return least <= -SHORT && find_multipliers(&proof, multipliers) &&
           sum_at_most(&proof, multipliers) <= -SHORT / 2;
}
