/* How far repeated readings of one thing scatter, and what that says about further ones.
 *
 * Pure: numbers in, numbers out.  Readings are taken to be spread normally.
 */
#ifndef PROVEOUT_QUANTITY_SCATTER_H
#define PROVEOUT_QUANTITY_SCATTER_H

#include <stdbool.h>
#include <stddef.h>

enum {
    SCATTER_ENOUGH = 3,    /* of fewer readings the scatter is hardly known */
    SCATTER_FACTORS = 1000 /* more readings have the factor of so many */
};

struct scatter {
    size_t count;
    double mean;
    double deviation; /* standard deviation of the readings, by count - 1; 0 of one reading */
    size_t farthest;  /* which reading lies farthest from the mean */
};

/* Works out what `count` finite readings, one at least, come to.  False where they are too far
 * apart for the answer to be a number. */
bool scatter_of(const double *readings, size_t count, struct scatter *out);

/* How many standard deviations either side of the mean hold 95 % of all later readings, with
 * 95 % confidence: the factor k of the two-sided tolerance interval of a normal distribution of
 * which neither mean nor deviation is known (ISO 16269-6; NIST/SEMATECH e-Handbook of
 * Statistical Methods, 7.2.6.3).  Of a count that the table has not, the next larger factor.
 * `count` is 2 or more. */
double scatter_factor(size_t count);

/* Is the farthest reading so far off that it does not belong to the rest?  Grubbs' test for one
 * outlier on either side, at 5 %.  `step`: to what the readings are rounded (0: not known),
 * which is no reason to suspect one of them. */
bool scatter_has_outlier(const struct scatter *scatter, const double *readings, double step);

#endif
