/* Searching from several places, where one search comes to no end: what is in the way can be
 * passed on either side, and a linear programme sees one of them only. */
#ifndef PROVEOUT_PROPOSE_CASES_H
#define PROVEOUT_PROPOSE_CASES_H

#include "propose/seek.h"

/* The greatest least margin from what the file has and, until one holds, from places for
 * changing cutters all over the table. */
void cases_greatest(struct margins *margins, const bool *moves, struct sought *out);

/* The same with all left out but these stakes.  What is asked of the rest stays as it was. */
void cases_greatest_of(struct margins *margins, const bool *moves,
                       const struct stake *const *stakes, size_t count, struct sought *out);

#endif
