/* Numbers as people set them. */
#ifndef PROVEOUT_PROPOSE_ROUND_H
#define PROVEOUT_PROPOSE_ROUND_H

#include "propose/seek.h"

/* Rounds each number of `inout` that differs from what the file has to whole steps, finer ones
 * where nothing else keeps the least margin at or above 0, and writes their texts: NULL for
 * what does not differ.  False where there are none. */
MUST_USE bool round_numbers(struct margins *margins, struct sought *inout, const char **texts);

/* Rounding one number after another, the rest where the goal is least. */
struct stepwise {
    const struct goal *goal;
    const bool *moves; /* which may give way, those that are rounded among them */
    const bool *which; /* are rounded, where they differ from what the file has */
    double enough;     /* the least margin wanted on the way */
};

/* Rounds each of those: of the whole steps about it, and what the file has, to the one with
 * which the goal is least and there is enough; finer steps where no whole one will do.  Texts
 * as above, of those alone.  False where there are none. */
MUST_USE bool round_stepwise(struct margins *margins, const struct stepwise *how,
                             struct sought *inout, const char **texts);

#endif
