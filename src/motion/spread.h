/* A value with its bounds: as typed, and the lowest and highest that the tolerances allow.
 *
 * Enough for what motion computes, where each tolerance enters once; what has to cancel stays
 * with the forms of `quantity`.
 */
#ifndef PROVEOUT_MOTION_SPREAD_H
#define PROVEOUT_MOTION_SPREAD_H

#include <math.h>

struct spread {
    double nominal;   /* from the numbers as typed */
    double low, high; /* low <= nominal <= high */
};

static inline struct spread spread_with(double x, double tolerance)
{
    return (struct spread){x, x - tolerance, x + tolerance};
}

static inline struct spread spread_exact(double x)
{
    return (struct spread){x, x, x};
}

static inline struct spread spread_add(struct spread a, struct spread b)
{
    return (struct spread){a.nominal + b.nominal, a.low + b.low, a.high + b.high};
}

/* a - b, the tolerances of the two independent of each other. */
static inline struct spread spread_subtract(struct spread a, struct spread b)
{
    return (struct spread){a.nominal - b.nominal, a.low - b.high, a.high - b.low};
}

/* `factor` at least 0. */
static inline struct spread spread_scale(struct spread a, double factor)
{
    return (struct spread){a.nominal * factor, a.low * factor, a.high * factor};
}

/* Coordinates bring more rounding with them than the small number that is left of them: to a
 * picometre, so that what should be exactly nothing, or exactly an allowance, is.  Infinite stays
 * so. */
static inline double spread_settled(double metres)
{
    return isfinite(metres) ? round(metres * 1e12) / 1e12 + 0.0 : metres;
}

#endif
