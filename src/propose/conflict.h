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

#endif
