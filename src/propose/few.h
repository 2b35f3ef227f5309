/* Of a long list of cutters only a few decide: those that are tightest somewhere.  A search
 * that begins at many places asks these alone, and all of them where it has found something.
 */
#ifndef PROVEOUT_PROPOSE_FEW_H
#define PROVEOUT_PROPOSE_FEW_H

#include "propose/margins.h"

/* Finds what is asked of many records, of which none is among the few yet.  False: of nothing,
 * and there is nothing to save. */
MUST_USE bool few_begin(struct margins *margins);

/* Asks everything at x; what is tightest there of each long list joins the few. */
void few_gather(struct margins *margins, const double *x);

#endif
