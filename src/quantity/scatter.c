/* The scatter of repeated readings. */
#include "quantity/scatter.h"

#include "base/bug.h"

#include <math.h>

struct row {
    size_t count;
    double factor, critical;
};

static const struct row rows[] = {
#define ROW(count, factor, critical) {count, factor, critical},
#include "quantity/scatter.inc"
};

enum { ROWS = sizeof rows / sizeof *rows };

/* The row of so many readings, or of the next fewer. */
static const struct row *row_of(size_t count)
{
    size_t i = 0;
    BUG_UNLESS(count >= rows[0].count);
    while (i + 1 < ROWS && rows[i + 1].count <= count)
        i++;
    return &rows[i];
}

double scatter_factor(size_t count)
{
    return row_of(count)->factor;
}

/* Relative to the first and to their range, so that no square is too large or too small. */
bool scatter_of(const double *readings, size_t count, struct scatter *out)
{
    double low = readings[0], high = readings[0], sum = 0, squares = 0;
    for (size_t i = 1; i < count; i++) {
        low = fmin(low, readings[i]);
        high = fmax(high, readings[i]);
    }
    double range = high - low;
    *out = (struct scatter){.count = count, .mean = readings[0]};
    if (range == 0)
        return true;
    if (!isfinite(range))
        return false;
    for (size_t i = 0; i < count; i++)
        sum += (readings[i] - low) / range;
    double mean = sum / (double)count, farthest = -1;
    for (size_t i = 0; i < count; i++) {
        double from_mean = (readings[i] - low) / range - mean;
        squares += from_mean * from_mean;
        if (fabs(from_mean) > farthest) {
            farthest = fabs(from_mean);
            out->farthest = i;
        }
    }
    out->mean = low + range * mean;
    out->deviation = range * sqrt(squares / (double)(count - 1));
    return true;
}

/* Rounding to a step adds a twelfth of its square to the square of the deviation. */
bool scatter_has_outlier(const struct scatter *scatter, const double *readings, double step)
{
    if (scatter->count < SCATTER_ENOUGH || scatter->deviation == 0)
        return false;
    double part = step / scatter->deviation;
    double deviation = scatter->deviation * sqrt(1 + part * part / 12);
    double off = fabs(readings[scatter->farthest] - scatter->mean);
    return off / deviation > row_of(scatter->count)->critical;
}
