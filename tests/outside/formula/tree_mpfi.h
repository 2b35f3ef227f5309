/* Random formulas evaluated with MPFI: plain intervals, rounded outward. */
#ifndef PROVEOUT_TESTS_OUTSIDE_FORMULA_TREE_MPFI_H
#define PROVEOUT_TESTS_OUTSIDE_FORMULA_TREE_MPFI_H

#include <mpfi.h>

#include "random_tree.h"

/* Encloses the value of `t` in `out`, at the precision of `out`.  AS_INTERVAL: with every
 * tolerance an interval of its own; AS_SAMPLED: for one draw of all deviations; AS_TYPED:
 * nominal. */
void tree_enclose(mpfi_ptr out, const struct way *way, const struct tree *t);

#endif
