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

#include "quantity/internal.h"

#include <float.h>
#include <math.h>
#include <string.h>

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

void form_copy(struct form *out, const struct form *x)
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

void form_scale_terms(struct form *out, const struct form *x, double factor)
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

void form_combine(struct form *out, double a, const struct form *x, double b,
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
void form_finish(struct form *out, double mid, struct range left_over, struct range plain)
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

void form_nominal(struct form *out, const struct form *x)
{
    set_exact(out, x->mid, x->scale);
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

bool form_may_be_zero(const struct form *y)
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

static double root_sum_square(const struct form *x)
{
    double sum = 0;
    for (uint32_t i = 0; i < x->count; i++)
        sum += x->terms[i].width * x->terms[i].width;
    return sqrt(sum);
}

double form_least(const struct form *x, bool statistical)
{
    if (!statistical)
        return x->low;
    return larger(x->low, x->mid - root_sum_square(x) - x->rest);
}

double form_greatest(const struct form *x, bool statistical)
{
    if (!statistical)
        return x->high;
    return smaller(x->high, x->mid + root_sum_square(x) + x->rest);
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
