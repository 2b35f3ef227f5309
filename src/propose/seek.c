#include "propose/seek.h"

#include <math.h>

#include "propose/linear.h"

enum {
    PROGRAMMES = 40,
    CORRECTIONS = 4 /* of one step along limits that bend */
};

/* A margin that changes by less than this part of its scale with a large change of a number. */
#define STILL 1e-9

/* A gain that is less than this part is none. */
#define GAIN 1e-6

/* So much of what is foretold is given up for a shorter way: what the solver rounds, and more.
 */
#define GIVEN_UP_FOR_LESS 1e-9

/* How far a programme looks at least, as a part of a step. */
#define NARROWEST 1e-2

/* What a programme is made of: the numbers as parts of their reach, about `x`. */
struct programme {
    struct margins *margins;
    const bool *moves;
    const double *x; /* about which slopes are */
    double *slopes;
    double look; /* how far, as a part of what each may go */
};

static void limits(const struct programme *programme, size_t k, double *low, double *high)
{
    const struct knob *knob = &programme->margins->knobs[k];
    double far = (knob->high - knob->low) * programme->look, x = programme->x[k];
    bool moves = programme->moves[k];
    *low = moves ? fmax(knob->low - x, -far) / knob->reach : 0;
    *high = moves ? fmin(knob->high - x, far) / knob->reach : 0;
}

/* What no number that may change moves decides nothing, as long as it holds. */
static void mark_still(const struct programme *programme)
{
    struct margins *margins = programme->margins;
    size_t count = margins->knob_count;
    for (size_t i = 0; i < margins->stake_count; i++) {
        struct stake *stake = &margins->stakes[i];
        stake->still = true;
        for (size_t k = 0; k < count && stake->scale > 0; k++)
            stake->still &= !programme->moves[k] ||
                            fabs(programme->slopes[i * count + k]) * margins->knobs[k].reach <
                                STILL * stake->scale;
    }
}

static double goal_from(const struct margins *margins, const struct goal *goal, size_t k)
{
    return goal->from ? goal->from[k] : margins->knobs[k].now;
}

/* How far a number is from there, by its reach. */
static double goal_change(const struct margins *margins, const struct goal *goal, size_t k,
                          double x)
{
    return fabs(x - goal_from(margins, goal, k)) / margins->knobs[k].reach;
}

/* One row for each margin: what it is, with its slopes, no less than `least` times its scale;
 * with a further variable in the place of `least` where `open` is its column. */
static void add_margins(const struct programme *programme, struct linear *problem, size_t open,
                        double least)
{
    struct margins *margins = programme->margins;
    size_t count = margins->knob_count;
    for (size_t i = 0; i < margins->stake_count; i++) {
        const struct stake *stake = &margins->stakes[i];
        if (!stake_counts(stake))
            continue;
        double *row = linear_add(problem, margins->scratch, least - stake_part(stake));
        for (size_t k = 0; k < count; k++)
            row[k] = programme->slopes[i * count + k] * margins->knobs[k].reach / stake->scale;
        if (open < problem->variables)
            row[open] = -1;
    }
}

/* `*gives`: the value of the objective.  False where there is no solution. */
static bool solve(const struct programme *programme, const struct linear *problem, double *to,
                  double *gives)
{
    const struct margins *margins = programme->margins;
    double *found = ARENA_ARRAY(margins->scratch, double, problem->variables + 1);
    if (linear_solve(margins->scratch, problem, found) != LINEAR_FOUND)
        return false;
    for (size_t k = 0; k < margins->knob_count; k++)
        to[k] = programme->x[k] + found[k] * margins->knobs[k].reach;
    *gives = 0;
    for (size_t j = 0; j < problem->variables; j++)
        *gives += problem->objective[j] * found[j];
    return true;
}

/* The greatest least margin: the last variable. */
static void pose_greatest(const struct programme *programme, struct linear *out)
{
    size_t count = programme->margins->knob_count;
    arena_reset(programme->margins->scratch);
    linear_begin(out, programme->margins->scratch, count + 1);
    for (size_t k = 0; k < count; k++)
        limits(programme, k, &out->low[k], &out->high[k]);
    out->low[count] = -HUGE_VAL;
    out->high[count] = SEEK_ENOUGH;
    out->objective[count] = 1;
    add_margins(programme, out, count, 0);
}

static bool solve_greatest(const struct programme *programme, double *to, double *least)
{
    struct linear problem;
    pose_greatest(programme, &problem);
    return solve(programme, &problem, to, least);
}

/* How what is worked out of all numbers moves with each, by its reach. */
static void goal_slopes(const struct programme *programme, const struct goal *goal,
                        double *slopes)
{
    const struct margins *margins = programme->margins;
    double here = goal->worked_out(goal->user, programme->x);
    double *at = ARENA_ARRAY(margins->scratch, double, margins->knob_count + 1);
    memcpy(at, programme->x, margins->knob_count * sizeof *at);
    for (size_t k = 0; k < margins->knob_count; k++) {
        const struct knob *knob = &margins->knobs[k];
        if (!programme->moves[k])
            continue;
        at[k] += knob_beside(knob, at[k]);
        double there = goal->worked_out(goal->user, at);
        slopes[k] = (there - here) / (at[k] - programme->x[k]) * knob->reach;
        at[k] = programme->x[k];
    }
}

/* A variable for each change, which is no less than the change either way. */
static void pose_changes(const struct programme *programme, const struct goal *goal,
                         struct linear *out)
{
    const struct margins *margins = programme->margins;
    size_t count = margins->knob_count;
    for (size_t k = 0; k < count; k++) {
        const struct knob *knob = &margins->knobs[k];
        double away = (goal_from(margins, goal, k) - programme->x[k]) / knob->reach;
        out->high[count + k] = HUGE_VAL;
        out->objective[count + k] = -goal->changes[k];
        for (int side = -1; side <= 1; side += 2) {
            double *row = linear_add(out, margins->scratch, side * away);
            row[k] = side;
            row[count + k] = 1;
        }
    }
}

/* Where it says that the goal is least with no margin below `least`; `*gain`: by how much less
 * than at x. */
static bool solve_least(const struct programme *programme, const struct goal *goal,
                        double least, double *to, double *gain)
{
    struct linear problem;
    struct margins *margins = programme->margins;
    size_t count = margins->knob_count;
    arena_reset(margins->scratch);
    linear_begin(&problem, margins->scratch, goal->changes ? 2 * count : count);
    for (size_t k = 0; k < count; k++) {
        limits(programme, k, &problem.low[k], &problem.high[k]);
        problem.objective[k] = goal->numbers ? -goal->numbers[k] : 0;
    }
    if (goal->worked_out) {
        double *slopes = ARENA_ARRAY(margins->scratch, double, count + 1);
        goal_slopes(programme, goal, slopes);
        for (size_t k = 0; k < count; k++)
            problem.objective[k] -= slopes[k];
    }
    if (goal->changes)
        pose_changes(programme, goal, &problem);
    add_margins(programme, &problem, problem.variables, least);
    if (!solve(programme, &problem, to, gain))
        return false;
    for (size_t k = 0; goal->changes && k < count; k++)
        *gain += goal->changes[k] * goal_change(margins, goal, k, programme->x[k]);
    return true;
}

double seek_ask(struct margins *margins, const double *x)
{
    const struct stake *worst;
    margins_ask(margins, x);
    for (size_t i = 0; i < margins->stake_count; i++)
        if (stake_breaks(margins, &margins->stakes[i]))
            return -HUGE_VAL;
    return margins_least(margins, &worst);
}

static double *copy(struct arena *arena, const double *x, size_t count)
{
    double *out = ARENA_ARRAY(arena, double, count + 1);
    memcpy(out, x, count * sizeof *x);
    return out;
}

/* Is the narrowest look narrower than what anybody sets? */
static bool is_too_narrow(const struct margins *margins, double look)
{
    for (size_t k = 0; k < margins->knob_count; k++) {
        const struct knob *knob = &margins->knobs[k];
        if ((knob->high - knob->low) * look > knob->step * NARROWEST)
            return false;
    }
    return true;
}

/* Margins at x and, where it is another place than before, their slopes. */
static void look_about(const struct programme *programme, const double *x, bool moved)
{
    if (!moved) {
        margins_ask(programme->margins, x);
        return;
    }
    margins_slopes(programme->margins, programme->moves, x, programme->slopes);
    mark_still(programme);
}

/* What the programme comes to: by the shortest way, since where margins bend no number that
 * need not move is better off somewhere else; where that brings less than half of what is
 * foretold, as the solver has it, if it is better.  The least margin there. */
static double go(const struct programme *programme, double foretold, double before, double *to)
{
    struct margins *margins = programme->margins;
    size_t count = margins->knob_count;
    double *near = copy(margins->arena, to, count), there = -HUGE_VAL, far = -HUGE_VAL, gain;
    double *all = ARENA_ARRAY(margins->arena, double, count + 1);
    for (size_t k = 0; k < count; k++)
        all[k] = 1;
    const struct goal shortest = {.changes = all, .from = programme->x};
    double nearly = foretold - GIVEN_UP_FOR_LESS * fmax(1, fabs(foretold));
    if (solve_least(programme, &shortest, nearly, near, &gain))
        there = seek_ask(margins, near);
    if (there - before < (foretold - before) / 2)
        far = seek_ask(margins, to);
    if (there >= far)
        memcpy(to, near, count * sizeof *to);
    return fmax(there, far);
}

void seek_greatest(struct margins *margins, const bool *moves, const double *from,
                   struct sought *out)
{
    size_t count = margins->knob_count;
    struct arena *arena = margins->arena;
    double *to = ARENA_ARRAY(arena, double, count + 1);
    *out = (struct sought){.x = copy(arena, from, count)};
    out->least = seek_ask(margins, out->x);
    struct programme programme = {margins, moves, out->x, margins->slopes[0], 1};
    bool moved = true;
    const struct stake *worst;
    for (int i = 0; i < PROGRAMMES && !is_too_narrow(margins, programme.look); i++) {
        double foretold;
        look_about(&programme, out->x, moved);
        bool breaks = out->least == -HUGE_VAL;
        if (!breaks)
            out->least = margins_least(margins, &worst); /* now that it is known what moves */
        double gain = breaks ? 0 : GAIN * fmax(1, fabs(out->least));
        if (!solve_greatest(&programme, to, &foretold) || foretold <= out->least + gain)
            return;
        double least = go(&programme, foretold, out->least, to);
        moved = least > out->least + gain;
        if (moved) {
            memcpy(out->x, to, count * sizeof *to);
            out->least = least;
            programme.look = fmin(1, programme.look * 2);
        } else {
            programme.look /= 4;
        }
    }
}

double seek_foretell(struct margins *margins, const bool *moves, const double *x,
                     double *slopes)
{
    const struct programme programme = {margins, moves, x, slopes, 1};
    struct linear problem;
    mark_still(&programme);
    pose_greatest(&programme, &problem);
    double *found = ARENA_ARRAY(margins->scratch, double, problem.variables);
    if (linear_solve(margins->scratch, &problem, found) != LINEAR_FOUND)
        return -HUGE_VAL;
    return found[margins->knob_count];
}

double seek_value(const struct margins *margins, const struct goal *goal, const double *x)
{
    double sum = goal->worked_out ? goal->worked_out(goal->user, x) : 0;
    for (size_t k = 0; k < margins->knob_count; k++) {
        const struct knob *knob = &margins->knobs[k];
        sum += goal->numbers ? goal->numbers[k] * x[k] / knob->reach : 0;
        sum += goal->changes ? goal->changes[k] * goal_change(margins, goal, k, x[k]) : 0;
    }
    return sum;
}

/* Along a limit that bends a step ends beyond it: from there the nearest place is sought at
 * which no margin is below `least`.  Source: second-order correction, Nocedal and Wright,
 * section 18.3. Returns the least margin at `to`. */
static double correct(const struct programme *programme, double least, double slack, double *to,
                      double there)
{
    struct margins *margins = programme->margins;
    size_t count = margins->knob_count;
    struct programme beyond = *programme;
    double *at = copy(margins->arena, to, count), gain;
    double *alike = ARENA_ARRAY(margins->arena, double, count + 1);
    const struct goal nearest = {.changes = alike, .from = at};
    for (size_t k = 0; k < count; k++)
        alike[k] = 1;
    beyond.x = at;
    beyond.slopes = margins->slopes[1];
    for (int i = 0; i < CORRECTIONS && there < least - slack; i++) {
        memcpy(at, to, count * sizeof *at);
        look_about(&beyond, at, true);
        if (!solve_least(&beyond, &nearest, least, to, &gain))
            break;
        there = seek_ask(margins, to);
    }
    return there;
}

void seek_least(struct margins *margins, const bool *moves, const struct goal *goal,
                double least, struct sought *inout)
{
    size_t count = margins->knob_count;
    double *to = ARENA_ARRAY(margins->arena, double, count + 1);
    struct programme programme = {margins, moves, inout->x, margins->slopes[0], 1};
    const double slack = GAIN * fmax(1, fabs(least));
    double value = seek_value(margins, goal, inout->x), gain;
    const double little = fmax(GAIN, goal->little);
    bool moved = true;
    for (int i = 0; i < PROGRAMMES && !is_too_narrow(margins, programme.look); i++) {
        bool short_of_it = inout->least < least - slack;
        look_about(&programme, inout->x, moved);
        if (!solve_least(&programme, goal, least, to, &gain) ||
            (!short_of_it && gain <= little))
            return;
        double there = correct(&programme, least, slack, to, seek_ask(margins, to));
        double value_there = seek_value(margins, goal, to);
        moved = short_of_it ? there > inout->least + GAIN
                            : there >= least - slack && value_there < value - little;
        if (moved) {
            memcpy(inout->x, to, count * sizeof *to);
            inout->least = there;
            value = value_there;
            programme.look = fmin(1, programme.look * 2);
        } else {
            programme.look /= 4;
        }
    }
}

void seek_nearest(struct margins *margins, const bool *moves, const double *weights,
                  double least, struct sought *inout)
{
    const struct goal nearest = {.changes = weights};
    seek_least(margins, moves, &nearest, least, inout);
}
