/* Affine forms on random expressions: what is true lies within them, and they are never wider
 * than plain intervals.
 *
 * Expressions are built as trees over a few unknowns.  Each is worked out three ways: as a
 * form, as a plain interval by the textbook, and for several choices of the unknowns as plain
 * numbers: the sampled truth, among which the nominal values and corners.
 */
#include <criterion/criterion.h>

#include <math.h>
#include <stdint.h>

#include "quantity/form.h"

enum { EXPRESSIONS = 150000, UNKNOWNS = 16, SAMPLES = 12, DEPTH = 5 };

static uint64_t state = 0x9E3779B97F4A7C15u;

static uint64_t draw(uint64_t below)
{
    state ^= state << 13, state ^= state >> 7, state ^= state << 17;
    return (state >> 11) % below;
}

static double between(double low, double high)
{
    return low + (high - low) * (double)draw(1u << 30) / (double)(1u << 30);
}

/* An unknown deviates by e in -1..1; sample 0 is the nominal one. */
static double unknowns[SAMPLES][UNKNOWNS];

struct interval {
    double low, high;
};

/* One expression, worked out in all ways.  `noise` bounds what rounding may have done to it. */
struct worked {
    struct form form;
    struct interval plain;
    double truth[SAMPLES];
    double noise;
};

static struct worked leaf(void)
{
    struct worked w;
    double mid = draw(4) ? between(-10, 10) : (double)draw(7) - 3;
    double width = draw(3) ? between(0, draw(2) ? 0.5 : 5) : 0;
    size_t unknown = draw(UNKNOWNS);
    form_with(&w.form, mid, 100 + unknown, width);
    w.plain = (struct interval){mid - width, mid + width};
    for (int i = 0; i < SAMPLES; i++)
        w.truth[i] = mid + width * unknowns[i][unknown];
    w.noise = 1e-15 * (fabs(mid) + width);
    return w;
}

static double least(double a, double b, double c, double d)
{
    return fmin(fmin(a, b), fmin(c, d));
}

static double most(double a, double b, double c, double d)
{
    return fmax(fmax(a, b), fmax(c, d));
}

static double size(struct interval x)
{
    return fmax(fabs(x.low), fabs(x.high));
}

static struct interval times(struct interval x, struct interval y)
{
    double p = x.low * y.low, q = x.low * y.high, r = x.high * y.low, s = x.high * y.high;
    return (struct interval){least(p, q, r, s), most(p, q, r, s)};
}

/* The least and greatest |x|. */
static struct interval magnitudes(struct interval x)
{
    double low = x.low <= 0 && x.high >= 0 ? 0 : fmin(fabs(x.low), fabs(x.high));
    return (struct interval){low, size(x)};
}

static struct interval raised(struct interval x, int power)
{
    if (power % 2 == 0)
        x = magnitudes(x);
    return (struct interval){pow(x.low, power), pow(x.high, power)};
}

enum operation {
    ADD,
    SUBTRACT,
    MULTIPLY,
    DIVIDE,
    MAXIMUM,
    MINIMUM,
    HYPOT,
    NEGATE,
    ABSOLUTE,
    ROOT,
    POWER,
    SCALE,
    OPERATIONS
};

static double apply(enum operation what, double x, double y, int n)
{
    switch (what) {
    case ADD:
        return x + y;
    case SUBTRACT:
        return x - y;
    case MULTIPLY:
        return x * y;
    case DIVIDE:
        return x / y;
    case MAXIMUM:
        return fmax(x, y);
    case MINIMUM:
        return fmin(x, y);
    case HYPOT:
        return hypot(x, y);
    case NEGATE:
        return -x;
    case ABSOLUTE:
        return fabs(x);
    case ROOT:
        return sqrt(fmax(x, 0));
    case POWER:
        return pow(x, n);
    case SCALE:
        return x * n;
    default:
        return NAN;
    }
}

/* The plain interval, and how much an error of x and y can grow. */
static struct interval plainly(enum operation what, const struct worked *x,
                               const struct worked *y, int n, double *noise)
{
    struct interval a = x->plain, b = y->plain, ma = magnitudes(a), mb = magnitudes(b);
    *noise = x->noise + y->noise;
    switch (what) {
    case ADD:
        return (struct interval){a.low + b.low, a.high + b.high};
    case SUBTRACT:
        return (struct interval){a.low - b.high, a.high - b.low};
    case MULTIPLY:
        *noise = x->noise * size(b) + y->noise * size(a);
        return times(a, b);
    case DIVIDE:
        *noise = (x->noise + y->noise * size(a) / mb.low) / mb.low;
        return times(a, (struct interval){1 / b.high, 1 / b.low});
    case MAXIMUM:
        return (struct interval){fmax(a.low, b.low), fmax(a.high, b.high)};
    case MINIMUM:
        return (struct interval){fmin(a.low, b.low), fmin(a.high, b.high)};
    case HYPOT:
        return (struct interval){hypot(ma.low, mb.low), hypot(ma.high, mb.high)};
    case NEGATE:
        *noise = x->noise;
        return (struct interval){-a.high, -a.low};
    case ABSOLUTE:
        *noise = x->noise;
        return ma;
    case ROOT:
        *noise = sqrt(x->noise);
        if (a.low > 0)
            *noise = x->noise / sqrt(a.low);
        return (struct interval){sqrt(fmax(a.low, 0)), sqrt(fmax(a.high, 0))};
    case POWER:
        *noise = x->noise * n * pow(size(a), n - 1);
        return raised(a, n);
    default:
        *noise = x->noise * n;
        return (struct interval){n * a.low, n * a.high};
    }
}

static bool as_form(enum operation what, struct form *out, const struct form *x,
                    const struct form *y, int n)
{
    switch (what) {
    case ADD:
        form_add(out, x, y);
        return true;
    case SUBTRACT:
        form_subtract(out, x, y);
        return true;
    case MULTIPLY:
        form_multiply(out, x, y);
        return true;
    case DIVIDE:
        return form_divide(out, x, y);
    case MAXIMUM:
        form_maximum(out, x, y);
        return true;
    case MINIMUM:
        form_minimum(out, x, y);
        return true;
    case HYPOT:
        form_hypot(out, x, y);
        return true;
    case NEGATE:
        form_negate(out, x);
        return true;
    case ABSOLUTE:
        form_absolute(out, x);
        return true;
    case ROOT:
        return form_root(out, x);
    case POWER:
        return form_power(out, x, n);
    default:
        form_scale(out, x, n);
        return true;
    }
}

static bool tame(const struct worked *w)
{
    return form_is_finite(&w->form) && size(w->plain) < 1e6 && w->noise < 1e-4;
}

/* False where the operation does not apply, or numbers grow so that rounding hides everything.
 */
static bool work(enum operation what, struct worked *out, const struct worked *x,
                 const struct worked *y)
{
    int n = 2 + (int)draw(3);
    /* Where plain intervals know nothing there is nothing to compare with. */
    if (what == DIVIDE && magnitudes(y->plain).low < 0.01)
        return false;
    if (what == ROOT && x->plain.low < 0)
        return false;
    struct worked w;
    if (!as_form(what, &w.form, &x->form, &y->form, n))
        cr_assert_fail("operation %d refused", what);
    w.plain = plainly(what, x, y, n, &w.noise);
    for (int i = 0; i < SAMPLES; i++)
        w.truth[i] = apply(what, x->truth[i], y->truth[i], n);
    w.noise += 4e-15 * size(w.plain);
    if (!tame(&w))
        return false;
    *out = w;
    return true;
}

static struct worked expression(int depth)
{
    if (depth == 0 || draw(8) == 0)
        return leaf();
    struct worked x = expression(depth - 1), y;
    /* Often an operand again: what is correlated is what matters. */
    if (draw(4) == 0)
        y = x;
    else
        y = expression(depth - 1);
    struct worked out;
    while (!work((enum operation)draw(OPERATIONS), &out, &x, &y)) {
    }
    return out;
}

static void look(const struct worked *w, int number)
{
    const struct form *f = &w->form;
    cr_assert(f->low <= f->mid && f->mid <= f->high, "%d: %.17g %.17g %.17g", number, f->low,
              f->mid, f->high);
    cr_assert(f->count > 0 || f->rest > 0 || (f->low == f->mid && f->high == f->mid), "%d",
              number);
    cr_assert(f->low >= w->plain.low - w->noise && f->high <= w->plain.high + w->noise,
              "%d: form %.17g..%.17g, plain %.17g..%.17g", number, f->low, f->high,
              w->plain.low, w->plain.high);
    cr_assert(fabs(f->mid - w->truth[0]) <= w->noise, "%d: nominal %.17g, not %.17g", number,
              f->mid, w->truth[0]);
    for (int i = 0; i < SAMPLES; i++) {
        double t = w->truth[i];
        cr_assert(t >= f->low - w->noise && t <= f->high + w->noise,
                  "%d: %.17g is outside %.17g..%.17g (sample %d)", number, t, f->low, f->high,
                  i);
        /* The terms themselves must reach it too, since sums go on from them. */
        double line = f->mid;
        for (uint32_t k = 0; k < f->count; k++)
            line += f->terms[k].width * unknowns[i][f->terms[k].name - 100];
        cr_assert(fabs(t - line) <= f->rest + w->noise,
                  "%d: %.17g, line %.17g, rest %.17g (%d)", number, t, line, f->rest, i);
    }
    cr_assert(form_least(f, true) >= f->low && form_greatest(f, true) <= f->high);
}

static void choose_unknowns(void)
{
    for (int i = 0; i < SAMPLES; i++)
        for (int k = 0; k < UNKNOWNS; k++)
            unknowns[i][k] = i == 0 ? 0 : i < 6 ? (draw(2) ? 1 : -1) : between(-1, 1);
}

Test(form, random_expressions)
{
    int narrower = 0;
    for (int number = 0; number < EXPRESSIONS; number++) {
        choose_unknowns();
        struct worked w = expression(1 + (int)draw(DEPTH));
        look(&w, number);
        double own = w.form.high - w.form.low, plain = w.plain.high - w.plain.low;
        narrower += own < 0.99 * plain;
    }
    cr_expect(narrower > EXPRESSIONS / 20, "%d narrower than intervals", narrower);
}
