/* Why no set of numbers will do. */
#ifndef PROVEOUT_PROPOSE_CONFLICT_H
#define PROVEOUT_PROPOSE_CONFLICT_H

#include "propose/seek.h"

/* The stakes that exclude each other about `x`, where the least margin is greatest and below 0:
 * as few as will do, so that with any one of them left out all others could hold.  At least
 * one;
 * `*count` of them, in `arena` of the margins. */
const struct stake **conflict_find(struct margins *margins, const bool *moves, const double *x,
                                   size_t *count);

/* Rules that exclude each other, as found by searching. */
struct conflict {
    const struct stake **items;
    size_t count;
    bool stands; /* no set was found for them alone; for all but any one there is one */
    bool proved; /* nor is there any */
};

/* The same beyond what is straight: to those that conflict_find gives comes what fails where
 * they can all hold, until they cannot; then those are left out again without which there is
 * still no set.  Where no such group is found it is that of conflict_find, and does not stand.
 */
void conflict_settle(struct margins *margins, const bool *moves, const double *x,
                     struct conflict *out);

#endif
