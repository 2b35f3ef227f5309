/* Affine forms: functions that are not sums, products or quotients.
 *
 * Each replaces the function by a line and encloses what it can differ from that line over the
 * range of its operand.  Where the function bends one way only, that is greatest at an end.
 */
#include "quantity/form.h"

#include "quantity/exact.h"
#include "quantity/internal.h"

enum { POWER_MAX = 1000 };

/* Functions of one form. */

static double whole_power(double x, unsigned power)
{
    double result = 1;
    for (; power; power >>= 1, x *= x)
        if (power & 1)
            result *= x;
    return result;
}

static double powered(double x, int power)
{
    double size = whole_power(x, power < 0 ? 0u - (unsigned)power : (unsigned)power);
    return power < 0 ? 1 / size : size;
}

/* Makes `r` hold `value` too. */
static void include(struct range *r, double value)
{
    r->low = smaller(r->low, value);
    r->high = larger(r->high, value);
}

bool form_power(struct form *out, const struct form *x, int power)
{
    if (power < -POWER_MAX || power > POWER_MAX)
        return false;
    if (power == 0) {
        form_exact(out, 1);
        return true;
    }
    if (power == 1) {
        form_copy(out, x);
        return true;
    }
    if (power < 0 && form_may_be_zero(x))
        return false;
    double m = x->mid, mid = powered(m, power);
    double steepest = power < 0 ? smaller(fabs(x->low), fabs(x->high)) : magnitude(range_of(x));
    double scale = larger(fabs(powered(steepest, power - 1)) * x->scale, fabs(mid));
    if (is_exact(x)) {
        set_exact(out, mid, scale);
        return true;
    }
    double slope = power * powered(m, power - 1), low = x->low, high = x->high;
    double at_low = powered(low, power), at_high = powered(high, power);
    struct range plain = {smaller(at_low, at_high), larger(at_low, at_high)};
    if (power > 0 && power % 2 == 0 && low < 0 && high > 0)
        plain.low = 0;
    /* The slope is the same at m and at -m, so the difference from the tangent turns only
     * there. */
    struct range left_over = {0, 0};
    include(&left_over, at_low - mid - slope * (low - m));
    include(&left_over, at_high - mid - slope * (high - m));
    if (low < -m && -m < high)
        include(&left_over, powered(-m, power) - mid + slope * 2 * m);
    out->rest = x->rest * fabs(slope);
    form_scale_terms(out, x, slope);
    out->scale = scale;
    form_finish(out, mid, left_over, plain);
    return true;
}

bool form_root(struct form *out, const struct form *x)
{
    if (form_settle(x, x->low) < 0)
        return false;
    double low = larger(x->low, 0), high = larger(x->high, 0), m = larger(x->mid, 0);
    double mid = sqrt(m);
    struct range plain = {sqrt(low), sqrt(high)};
    double scale = larger(mid > 0 ? x->scale / mid : sqrt(x->scale), plain.high);
    if (is_exact(x)) {
        set_exact(out, mid, scale);
        return true;
    }
    struct range left_over = {0, 0};
    if (mid == 0) {
        /* The root stands upright at 0: no line at all. */
        out->count = 0;
        out->rest = 0;
        left_over.high = plain.high;
    } else {
        double slope = 0.5 / mid;
        include(&left_over, plain.low - mid - slope * (low - m));
        include(&left_over, plain.high - mid - slope * (high - m));
        out->rest = x->rest * slope;
        form_scale_terms(out, x, slope);
    }
    out->scale = scale;
    form_finish(out, mid, left_over, plain);
    return true;
}

void form_absolute(struct form *out, const struct form *x)
{
    if (x->low >= 0) {
        form_copy(out, x);
        return;
    }
    if (x->high <= 0) {
        form_negate(out, x);
        return;
    }
    double m = x->mid, mid = fabs(m), low = x->low, high = x->high;
    double slope = (high + low) / (high - low);
    struct range left_over = {0, 0};
    include(&left_over, -mid + slope * m); /* at 0 */
    include(&left_over, -low - mid - slope * (low - m));
    include(&left_over, high - mid - slope * (high - m));
    out->rest = x->rest * fabs(slope);
    out->scale = x->scale;
    form_scale_terms(out, x, slope);
    form_finish(out, mid, left_over, (struct range){0, larger(-low, high)});
}

/* Functions of two. */

/* The least and greatest size of x. */
static struct range sizes(const struct form *x)
{
    double one = fabs(x->low), other = fabs(x->high);
    bool through = x->low < 0 && x->high > 0;
    return (struct range){through ? 0 : smaller(one, other), larger(one, other)};
}

void form_hypot(struct form *out, const struct form *x, const struct form *y)
{
    double mid = exact_hypot(x->mid, y->mid);
    double scale = larger(larger(x->scale, y->scale), mid);
    if (is_exact(x) && is_exact(y)) {
        set_exact(out, mid, scale);
        return;
    }
    struct range size_x = sizes(x), size_y = sizes(y);
    struct range plain = {exact_hypot(size_x.low, size_y.low),
                          exact_hypot(size_x.high, size_y.high)};
    /* Convex: nowhere below the tangent plane, and farthest above it at a corner. */
    double slope_x = mid > 0 ? x->mid / mid : 0, slope_y = mid > 0 ? y->mid / mid : 0;
    double to_x[2] = {x->low, x->high}, to_y[2] = {y->low, y->high};
    struct range left_over = {0, 0};
    for (int i = 0; i < 4; i++) {
        double at_x = to_x[i & 1], at_y = to_y[i >> 1];
        double line = mid + slope_x * (at_x - x->mid) + slope_y * (at_y - y->mid);
        left_over.high = larger(left_over.high, exact_hypot(at_x, at_y) - line);
    }
    form_combine(out, slope_x, x, slope_y, y);
    out->scale = scale;
    form_finish(out, mid, left_over, plain);
}

void form_maximum(struct form *out, const struct form *x, const struct form *y)
{
    double scale = larger(x->scale, y->scale);
    if (is_exact(x) && is_exact(y)) {
        set_exact(out, larger(x->mid, y->mid), scale);
        return;
    }
    struct form d;
    form_subtract(&d, x, y);
    if (d.low >= 0 || d.high <= 0) {
        form_copy(out, d.low >= 0 ? x : y);
        out->scale = scale;
        return;
    }
    /* max(x, y) = y + max(d, 0), and max(d, 0) lies under the chord over the range of d. */
    double mid = larger(x->mid, y->mid), slope = d.high / (d.high - d.low);
    double above = larger(d.mid, 0);
    struct range left_over = {0, 0};
    include(&left_over, -above + slope * d.mid); /* where d is 0 */
    include(&left_over, -above - slope * (d.low - d.mid));
    struct range plain = {larger(x->low, y->low), larger(x->high, y->high)};
    form_combine(out, slope, x, 1 - slope, y);
    out->scale = scale;
    form_finish(out, mid, left_over, plain);
}

void form_minimum(struct form *out, const struct form *x, const struct form *y)
{
    struct form minus_x, minus_y;
    form_negate(&minus_x, x);
    form_negate(&minus_y, y);
    form_maximum(out, &minus_x, &minus_y);
    form_negate(out, out);
}
