/* Affine forms: arithmetic on quantities with their tolerances by name.
 *
 * Every operation does three things.  The nominal value is computed from nominal values alone.
 * The named terms follow the tangent at the nominal value (for |x| and max, which have none,
 * the chord), and what the function can differ from that line goes into `rest`.  The range
 * [low, high] is the plain interval result, cut down to what the form allows.
 *
 * Most numbers have no tolerance at all; each operation handles those before anything else.
 *
 * It does not round outward: form_settle decides what is within rounding of nothing.
 */
#include "quantity/form.h"

#include "quantity/exact.h"
#include "quantity/internal.h"

#include <float.h>
#include <math.h>
#include <string.h>

/* Metres, or whatever it is, more than any machine has; and its square is a number still. */
#define WITHOUT_END 1e9

/* A range of values, and of what is left over by a line. */
struct range {
    double low, high;
};

static double larger(double a, double b)
{
    return a > b ? a : b;
}

static double smaller(double a, double b)
{
    return a < b ? a : b;
}

static double magnitude(struct range r)
{
    return larger(fabs(r.low), fabs(r.high));
}

static struct range range_of(const struct form *x)
{
    return (struct range){x->low, x->high};
}

/* Is it a number without any tolerance? */
static bool is_exact(const struct form *x)
{
    return x->count == 0 && x->rest == 0;
}

static void set_exact(struct form *out, double x, double scale)
{
    out->mid = out->low = out->high = x;
    out->rest = 0;
    out->scale = scale;
    out->count = 0;
}

static struct range product(struct range a, struct range b)
{
    double p = a.low * b.low, q = a.low * b.high, r = a.high * b.low, s = a.high * b.high;
    return (struct range){smaller(smaller(p, q), smaller(r, s)),
                          larger(larger(p, q), larger(r, s))};
}

static struct range quotient(struct range a, struct range b)
{
    double p = a.low / b.low, q = a.low / b.high, r = a.high / b.low, s = a.high / b.high;
    return (struct range){smaller(smaller(p, q), smaller(r, s)),
                          larger(larger(p, q), larger(r, s))};
}

static struct range intersect(struct range a, struct range b)
{
    return (struct range){larger(a.low, b.low), smaller(a.high, b.high)};
}

static double widths(const struct form *x)
{
    double sum = 0;
    for (uint32_t i = 0; i < x->count; i++)
        sum += fabs(x->terms[i].width);
    return sum;
}

/* All of `x` but the terms that are not set. */
static void form_copy(struct form *out, const struct form *x)
{
    if (out == x)
        return;
    out->mid = x->mid;
    out->low = x->low;
    out->high = x->high;
    out->rest = x->rest;
    out->scale = x->scale;
    out->count = x->count;
    for (uint32_t i = 0; i < x->count; i++)
        out->terms[i] = x->terms[i];
}

/* Terms. */

/* factor * terms of x, into `out`, which may be x. */
static void form_scale_terms(struct form *out, const struct form *x, double factor)
{
    uint32_t count = 0;
    for (uint32_t i = 0; i < x->count; i++) {
        struct form_term term = {x->terms[i].name, factor * x->terms[i].width};
        if (term.width != 0)
            out->terms[count++] = term;
    }
    out->count = count;
}

/* Takes the smallest term out of a list that is too long; returns its size. */
static double drop_smallest(struct form_term *terms, uint32_t count)
{
    uint32_t least = 0;
    for (uint32_t i = 1; i < count; i++)
        if (fabs(terms[i].width) < fabs(terms[least].width))
            least = i;
    double size = fabs(terms[least].width);
    memmove(terms + least, terms + least + 1, (count - least - 1) * sizeof *terms);
    return size;
}

/* a * terms of x + b * terms of y, joined by name; returns what had no room. */
static double merge_terms(struct form *out, double a, const struct form *x, double b,
                          const struct form *y)
{
    struct form_term all[2 * FORM_TERMS];
    uint32_t i = 0, k = 0, count = 0;
    while (i < x->count || k < y->count) {
        struct form_term term;
        bool left = k == y->count || (i < x->count && x->terms[i].name <= y->terms[k].name);
        bool right = i == x->count || (k < y->count && y->terms[k].name <= x->terms[i].name);
        term.name = left ? x->terms[i].name : y->terms[k].name;
        term.width = left ? a * x->terms[i].width : 0;
        if (right)
            term.width += b * y->terms[k].width;
        i += left;
        k += right;
        if (term.width != 0)
            all[count++] = term;
    }
    double dropped = 0;
    for (; count > FORM_TERMS; count--)
        dropped += drop_smallest(all, count);
    memcpy(out->terms, all, count * sizeof *all);
    out->count = count;
    return dropped;
}

/* The terms and the rest of a*x + b*y, into `out`, which may be either. */
static void form_combine(struct form *out, double a, const struct form *x, double b,
                         const struct form *y)
{
    double rest = 0;
    if (x->rest != 0)
        rest += fabs(a) * x->rest;
    if (y->rest != 0)
        rest += fabs(b) * y->rest;
    if (y->count == 0)
        form_scale_terms(out, x, a);
    else if (x->count == 0)
        form_scale_terms(out, y, b);
    else
        rest += merge_terms(out, a, x, b, y);
    out->rest = rest;
}

/* Finishes `out`, whose terms and rest are those of the line: `left_over` is what the function
 * can differ from it (0 is within), `plain` the interval result. */
static void form_finish(struct form *out, double mid, struct range left_over,
                        struct range plain)
{
    double line = widths(out) + out->rest;
    double low = larger(plain.low, mid - line + left_over.low);
    double high = smaller(plain.high, mid + line + left_over.high);
    out->mid = mid;
    out->low = smaller(low, mid);
    out->high = larger(high, mid);
    out->rest += larger(-left_over.low, left_over.high);
}

/* Making. */

void form_exact(struct form *out, double x)
{
    set_exact(out, x, fabs(x));
}

void form_with(struct form *out, double x, deviation_name name, double width)
{
    set_exact(out, x, fabs(x) + width);
    if (width == 0)
        return;
    out->low = x - width;
    out->high = x + width;
    if (name == 0) {
        out->rest = width;
        return;
    }
    out->count = 1;
    out->terms[0] = (struct form_term){name, width};
}

void form_widen(struct form *out, const struct form *x, deviation_name name,
                const struct form *width)
{
    struct form band;
    form_with(&band, 0, name, magnitude(range_of(width)));
    form_add(out, x, &band);
}

void form_at_least(struct form *out, double least)
{
    set_exact(out, least, fabs(least));
    out->high = least + WITHOUT_END;
    out->rest = WITHOUT_END;
}

void form_either(struct form *out, const struct form *x, const struct form *y)
{
    double low = smaller(x->low, y->low), high = larger(x->high, y->high);
    set_exact(out, low + (high - low) / 2, larger(x->scale, y->scale));
    out->low = low;
    out->high = high;
    out->rest = larger(high - out->mid, out->mid - low);
}

/* How far the range goes on either side, as the last term has it. */
static double range_width(const struct form *x)
{
    const struct form_term *last = &x->terms[x->count - (x->count > 0)];
    return x->count && last->name == DEVIATION_RANGE ? last->width : 0;
}

void form_nominal(struct form *out, const struct form *x)
{
    set_exact(out, x->mid, x->scale);
}

void form_nominal_range(struct form *out, const struct form *x)
{
    const struct form all = *x;
    double width = range_width(x), reach = fabs(width) + x->rest;
    set_exact(out, all.mid, all.scale);
    out->low = larger(all.low, all.mid - reach);
    out->high = smaller(all.high, all.mid + reach);
    out->rest = all.rest;
    out->count = width != 0;
    out->terms[0] = (struct form_term){DEVIATION_RANGE, width};
}

/* Sums. */

void form_negate(struct form *out, const struct form *x)
{
    double low = x->low, high = x->high;
    out->mid = -x->mid;
    out->low = -high;
    out->high = -low;
    out->rest = x->rest;
    out->scale = x->scale;
    form_scale_terms(out, x, -1);
}

void form_add(struct form *out, const struct form *x, const struct form *y)
{
    double mid = x->mid + y->mid;
    double scale = larger(larger(x->scale, y->scale), fabs(mid));
    if (is_exact(x) && is_exact(y)) {
        set_exact(out, mid, scale);
        return;
    }
    struct range plain = {x->low + y->low, x->high + y->high};
    form_combine(out, 1, x, 1, y);
    out->scale = scale;
    form_finish(out, mid, (struct range){0, 0}, plain);
}

void form_subtract(struct form *out, const struct form *x, const struct form *y)
{
    double mid = x->mid - y->mid;
    double scale = larger(larger(x->scale, y->scale), fabs(mid));
    if (is_exact(x) && is_exact(y)) {
        set_exact(out, mid, scale);
        return;
    }
    struct range plain = {x->low - y->high, x->high - y->low};
    form_combine(out, 1, x, -1, y);
    out->scale = scale;
    form_finish(out, mid, (struct range){0, 0}, plain);
}

void form_scale(struct form *out, const struct form *x, double factor)
{
    double one = factor * x->low, other = factor * x->high;
    out->scale = fabs(factor) * x->scale;
    out->mid = factor * x->mid;
    out->low = smaller(one, other);
    out->high = larger(one, other);
    out->rest = x->rest != 0 ? fabs(factor) * x->rest : 0;
    form_scale_terms(out, x, factor);
}

/* Products. */

/* The product of what x and y deviate from their nominal values.  A name that both have adds
 * its square, which has one sign; everything else either sign. */
static struct range deviation_product(const struct form *x, const struct form *y)
{
    double shared = 0, up = 0, down = 0;
    for (uint32_t i = 0, k = 0; i < x->count && k < y->count;) {
        if (x->terms[i].name == y->terms[k].name) {
            double square = x->terms[i].width * y->terms[k].width;
            shared += fabs(square);
            *(square > 0 ? &up : &down) += square;
            i++, k++;
        } else if (x->terms[i].name < y->terms[k].name)
            i++;
        else
            k++;
    }
    double other = (widths(x) + x->rest) * (widths(y) + y->rest) - shared;
    other = larger(other, 0);
    struct range from_terms = {down - other, up + other};
    struct range dx = {x->low - x->mid, x->high - x->mid};
    struct range dy = {y->low - y->mid, y->high - y->mid};
    return intersect(from_terms, product(dx, dy));
}

void form_multiply(struct form *out, const struct form *x, const struct form *y)
{
    double scale = x->scale * y->scale;
    if (is_exact(y)) {
        form_scale(out, x, y->mid);
        out->scale = scale;
        return;
    }
    if (is_exact(x)) {
        form_scale(out, y, x->mid);
        out->scale = scale;
        return;
    }
    double mid_x = x->mid, mid_y = y->mid;
    struct range plain = product(range_of(x), range_of(y));
    struct range left_over = deviation_product(x, y);
    form_combine(out, mid_y, x, mid_x, y);
    out->scale = scale;
    form_finish(out, mid_x * mid_y, left_over, plain);
}

/* Can it be nothing, as far as rounding lets us know? */
static bool form_may_be_zero(const struct form *y)
{
    return form_settle(y, y->low) <= 0 && form_settle(y, y->high) >= 0;
}

/* x / y with an exact y. */
static void divide_exactly(struct form *out, const struct form *x, double y)
{
    double one = x->low / y, other = x->high / y;
    out->mid = x->mid / y;
    out->low = smaller(one, other);
    out->high = larger(one, other);
    out->rest = x->rest / fabs(y);
    uint32_t count = 0;
    for (uint32_t i = 0; i < x->count; i++) {
        struct form_term term = {x->terms[i].name, x->terms[i].width / y};
        if (term.width != 0)
            out->terms[count++] = term;
    }
    out->count = count;
}

bool form_divide(struct form *out, const struct form *x, const struct form *y)
{
    if (form_may_be_zero(y))
        return false;
    double least = smaller(fabs(y->low), fabs(y->high));
    double mid = x->mid / y->mid;
    double scale = larger(x->scale, fabs(mid) * y->scale) / least;
    if (is_exact(y)) {
        divide_exactly(out, x, y->mid);
        out->scale = scale;
        return true;
    }
    /* x/y = mid + z/y, where z = x - mid*y has no nominal value and keeps what x and y share:
     * x/x is exactly 1.  1/y is 1/y.mid and a little. */
    struct form z;
    form_combine(&z, 1, x, -mid, y);
    double wide = widths(&z) + z.rest;
    struct range dx = {x->low - x->mid, x->high - x->mid};
    struct range dy = {y->low - y->mid, y->high - y->mid};
    struct range slope = {-mid, -mid}, moved = product(slope, dy);
    struct range z_range = intersect((struct range){-wide, wide},
                                     (struct range){dx.low + moved.low, dx.high + moved.high});
    struct range inverse = {1 / y->high - 1 / y->mid, 1 / y->low - 1 / y->mid};
    struct range left_over = product(z_range, inverse);
    struct range plain = quotient(range_of(x), range_of(y));
    struct range whole = quotient(z_range, range_of(y));
    plain = intersect(plain, (struct range){mid + whole.low, mid + whole.high});
    form_combine(out, 1 / y->mid, &z, 0, &z);
    out->scale = scale;
    form_finish(out, mid, left_over, plain);
    return true;
}

/* Judging. */

/* What the tolerances come to together: in full, or statistically; a range is none. */
static double tolerances(const struct form *x, bool statistical)
{
    double sum = 0, squares = 0;
    uint32_t count = x->count - (range_width(x) != 0);
    for (uint32_t i = 0; i < count; i++) {
        sum += fabs(x->terms[i].width);
        squares += x->terms[i].width * x->terms[i].width;
    }
    return statistical ? sqrt(squares) : sum;
}

double form_least(const struct form *x, bool statistical)
{
    if (!statistical)
        return x->low;
    return larger(x->low, x->mid - tolerances(x, true) - fabs(range_width(x)) - x->rest);
}

double form_greatest(const struct form *x, bool statistical)
{
    if (!statistical)
        return x->high;
    return smaller(x->high, x->mid + tolerances(x, true) + fabs(range_width(x)) + x->rest);
}

double form_best(const struct form *x, bool statistical)
{
    return x->mid + fabs(range_width(x)) + x->rest - tolerances(x, statistical);
}

double form_settle(const struct form *x, double margin)
{
    /* A unit in the last place is between scale * epsilon / 2 and scale * epsilon. */
    if (fabs(margin) > 8 * DBL_EPSILON * x->scale)
        return margin;
    int exponent;
    frexp(x->scale, &exponent);
    return fabs(margin) <= 8 * ldexp(1, exponent - DBL_MANT_DIG) ? 0 : margin;
}

bool form_is_finite(const struct form *x)
{
    return isfinite(x->mid) && isfinite(x->low) && isfinite(x->high) && isfinite(x->rest) &&
           isfinite(x->scale);
}

/* --- functions that are not sums, products or quotients ---
 *
 * Each replaces the function by a line and encloses what it can differ from that line over the
 * range of its operand.  Where the function bends one way only, that is greatest at an end.
 */

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
