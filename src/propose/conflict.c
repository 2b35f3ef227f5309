/* The deletion filter: what can be left out and still leaves the rest without a solution is
 * left out.  Source: Chinneck and Dravnieks, Locating minimal infeasible constraint sets in
 * linear programs, ORSA Journal on Computing 3(2), 1991.
 */
#include "propose/seek.h"

#include <math.h>
#include <stdlib.h>


enum { GROUP_MAX = 12 };

/* Nearer to the least margin than this part of it: one of those that decide. */
#define NEAR 1e-6

/* Leaves out what does not decide at x; what is left has no solution either where the margins
 * are straight. */
static void keep_deciding(struct margins *margins, bool *left_out)
{
    const struct stake *worst;
    double least = margins_least(margins, &worst);
    for (size_t i = 0; i < margins->stake_count; i++) {
        struct stake *stake = &margins->stakes[i];
        left_out[i] = !stake->counts || stake->ignored ||
                      stake_part(stake) > least + NEAR * fmax(1, fabs(least));
    }
}

/* Where margins bend, their straight continuation may have a solution: the worst is a
 * beginning.
 */
static void keep_worst(struct margins *margins, bool *left_out)
{
    const struct stake *worst;
    margins_least(margins, &worst);
    for (size_t i = 0; i < margins->stake_count; i++)
        left_out[i] = &margins->stakes[i] != worst;
}

static double foretell_without(struct margins *margins, const bool *moves, const double *x,
                               double *slopes, const bool *left_out)
{
    bool *kept = ARENA_ARRAY(margins->arena, bool, margins->stake_count + 1);
    for (size_t i = 0; i < margins->stake_count; i++) {
        kept[i] = margins->stakes[i].ignored;
        margins->stakes[i].ignored |= left_out[i];
    }
    double least = seek_foretell(margins, moves, x, slopes);
    for (size_t i = 0; i < margins->stake_count; i++)
        margins->stakes[i].ignored = kept[i];
    return least;
}

const struct stake **conflict_find(struct margins *margins, const bool *moves, const double *x,
                                   size_t *count)
{
    struct arena *arena = margins->arena;
    size_t stakes = margins->stake_count;
    double *slopes = ARENA_ARRAY(arena, double, stakes * margins->knob_count + 1);
    bool *left_out = ARENA_ARRAY(arena, bool, stakes + 1);
    margins_slopes(margins, moves, x, slopes);
    keep_deciding(margins, left_out);
    if (foretell_without(margins, moves, x, slopes, left_out) >= SEEK_HOLDS)
        memset(left_out, 0, stakes * sizeof *left_out); /* others have their part in it */
    if (foretell_without(margins, moves, x, slopes, left_out) >= SEEK_HOLDS)
        keep_worst(margins, left_out);
    for (size_t i = 0; i < stakes; i++) {
        const struct stake *stake = &margins->stakes[i];
        if (left_out[i] || !stake->counts || stake->ignored)
            continue;
        left_out[i] = true;
        left_out[i] = foretell_without(margins, moves, x, slopes, left_out) < SEEK_HOLDS;
    }
    VECTOR(const struct stake *) found = {0};
    for (size_t i = 0; i < stakes; i++)
        if (!left_out[i] && margins->stakes[i].counts && !margins->stakes[i].ignored)
            VECTOR_ADD(arena, &found, &margins->stakes[i]);
    *count = found.count;
    return found.items;
}

/* What fails worst at x and is not in the group; NULL: nothing does. */
static const struct stake *find_other(struct margins *margins, const double *x,
                                      const struct conflict *group)
{
    const struct stake *worst = NULL;
    margins_ask(margins, x);
    for (size_t i = 0; i < margins->stake_count; i++) {
        const struct stake *stake = &margins->stakes[i];
        bool in = !stake->counts || !stake->fails || stake->ignored;
        for (size_t k = 0; k < group->count; k++)
            in |= group->items[k] == stake;
        if (!in && (!worst || stake_part(stake) < stake_part(worst)))
            worst = stake;
    }
    return worst;
}

static bool can_hold(struct margins *margins, const bool *moves, const struct conflict *group,
                     struct sought *found)
{
    const struct cases_of of = {group->items, group->count, true};
    return cases_hold(margins, moves, &of, found);
}

/* Adds what fails where the group can hold, until it cannot. */
static bool grow(struct margins *margins, const bool *moves, struct conflict *group)
{
    struct sought found;
    while (can_hold(margins, moves, group, &found)) {
        const struct stake *other =
            group->count < GROUP_MAX ? find_other(margins, found.x, group) : NULL;
        if (!other)
            return false;
        group->items[group->count++] = other;
    }
    return true;
}

/* Leaves out what the others do without.  For what is kept there is then a set for the rest. */
static void shrink(struct margins *margins, const bool *moves, struct conflict *group)
{
    struct sought found;
    for (size_t i = 0; i < group->count;) {
        const struct stake *one = group->items[i], *last = group->items[group->count - 1];
        group->items[i] = last;
        group->count--;
        if (!can_hold(margins, moves, group, &found))
            continue;
        group->items[group->count++] = last;
        group->items[i++] = one;
    }
}

static int compare_stakes(const void *a, const void *b)
{
    const struct stake *const *x = a, *const *y = b;
    return (*x > *y) - (*x < *y);
}

void conflict_settle(struct margins *margins, const bool *moves, const double *x,
                     struct conflict *out)
{
    size_t count;
    const struct stake **straight = conflict_find(margins, moves, x, &count);
    *out = (struct conflict){.items = straight, .count = count};
    struct conflict group = {.count = count};
    group.items = ARENA_ARRAY(margins->arena, const struct stake *, count + GROUP_MAX);
    if (count)
        memcpy(group.items, straight, count * sizeof *straight);
    if (!grow(margins, moves, &group))
        return;
    shrink(margins, moves, &group);
    qsort(group.items, group.count, sizeof *group.items, compare_stakes);
    group.stands = true;
    group.proved = proof_stands(margins, group.items, group.count, x);
    *out = group;
}
