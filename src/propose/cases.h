/* Searching from several places, where one search comes to no end: what is in the way can be
 * passed on either side, and a linear programme sees one of them only. */
#ifndef PROVEOUT_PROPOSE_CASES_H
#define PROVEOUT_PROPOSE_CASES_H

#include "propose/seek.h"

/* The greatest least margin from what the file has and, until it is `enough`, from places for
 * changing cutters all over the travel, whose ends are among them. */
void cases_greatest(struct margins *margins, const bool *moves, double enough,
                    struct sought *out);

/* Stakes that are looked at with all others left out. */
struct cases_of {
    const struct stake *const *stakes;
    size_t count;
    bool anywhere; /* from beyond the travel too, else from within */
};

/* Can they hold?  `out` is where, or comes nearest.  What is asked of the rest stays as it was.
 */
MUST_USE bool cases_hold(struct margins *margins, const bool *moves, const struct cases_of *of,
                         struct sought *out);

#endif
