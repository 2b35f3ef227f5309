/* Numbers that may differ by rounding alone. */
#ifndef PROVEOUT_TESTS_MOTION_NEAR_H
#define PROVEOUT_TESTS_MOTION_NEAR_H

#include <math.h>
#include <stdbool.h>

/* Within a few units in the last place of the larger, or of `scale`. */
static inline bool near(double a, double b, double scale)
{
    double size = fmax(scale, fmax(fabs(a), fabs(b)));
    return a == b || fabs(a - b) <= 16 * 0x1p-53 * size;
}

#endif
