/* That a group of rules cannot hold together, proved. */
#ifndef PROVEOUT_PROPOSE_PROOF_H
#define PROVEOUT_PROPOSE_PROOF_H

#include "propose/margins.h"

/* Do these stakes exclude each other wherever the numbers are within their limits?  About `x`,
 * where they come nearest to holding.  Only yes is certain; what was asked of the stakes last
 * is then of another place. */
bool proof_stands(struct margins *margins, const struct stake *const *stakes, size_t count,
                  const double *x);

#endif
