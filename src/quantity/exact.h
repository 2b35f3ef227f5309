/* Arithmetic that comes to the same bits with every C library.
 *
 * The four operations and sqrt are exactly defined, and so are ldexp, floor, round and their
 * like. hypot, fma, pow and log10 are not, or not everywhere kept: a report would change in its
 * last digits from machine to machine.  What stands here takes their place; tests/layers keeps
 * the others out.  A result below the smallest normal number may be rounded twice.
 */
#ifndef PROVEOUT_QUANTITY_EXACT_H
#define PROVEOUT_QUANTITY_EXACT_H

#include <stdbool.h>

/* x * y + z, rounded once. */
double exact_fma(double x, double y, double z);

/* The length of (x, y), rounded once. */
double exact_hypot(double x, double y);

/* Is that length certain to be `limit` or more?  Takes no root; says no where only the root
 * would tell. */
static inline bool exact_hypot_reaches(double x, double y, double limit)
{
    double square = x * x + y * y; /* with its two roundings, where it is neither huge nor tiny */
    return limit <= 0 || (square > 0x1p-1000 && square < 0x1p1000 &&
                          square * (1 - 0x1p-50) >= limit * limit);
}

/* `x` to a power between 0 and 1 (it excluded), for x of 0 or more: the same everywhere, not
 * always rounded to the nearest. */
double exact_root(double x, double power);

#endif
