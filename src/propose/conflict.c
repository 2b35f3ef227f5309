/* The deletion filter: what can be left out and still leaves the rest without a solution is
 * left out.  Source: Chinneck and Dravnieks, Locating minimal infeasible constraint sets in
 * linear programs, ORSA Journal on Computing 3(2), 1991.
 */
#include "propose/conflict.h"

#include <math.h>

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
    margins_slopes(margins, x, slopes);
    keep_deciding(margins, left_out);
    if (foretell_without(margins, moves, x, slopes, left_out) >= SEEK_HOLDS)
        memset(left_out, 0, stakes * sizeof *left_out); /* others have their part in it */
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
