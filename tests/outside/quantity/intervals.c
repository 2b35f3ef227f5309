/* Random expressions against MPFI, a library of interval arithmetic with outward rounding.
 *
 * Source: MPFI 1.5 (Debian package libmpfi-dev), on MPFR.  Two questions: is a form ever wider
 * than MPFI's interval of 53 bits for the same expression, and does it hold the value that MPFI
 * gives, at 200 bits, for unknowns chosen within their widths?
 */
#include <math.h>
#include <mpfi.h>
#include <stdint.h>
#include <stdio.h>

#include "quantity/form.h"

enum { EXPRESSIONS = 20000, STEPS = 8, POOL = 4 + STEPS, SAMPLES = 4, UNKNOWNS = 4 };

static uint64_t state = 0xD1B54A32D192ED03u;

static uint64_t draw(uint64_t below)
{
    state ^= state << 13, state ^= state >> 7, state ^= state << 17;
    return (state >> 11) % below;
}

/* Multiples of 2^-10, so that middles, widths and ends are exact. */
static double coarse(double low, double high)
{
    return low + (double)draw((uint64_t)((high - low) * 1024)) / 1024;
}

/* One value, worked out in all ways. */
struct value {
    struct form form;
    mpfi_t plain, truth[SAMPLES];
};

enum operation {
    ADD,
    SUBTRACT,
    MULTIPLY,
    DIVIDE,
    HYPOT,
    NEGATE,
    ABSOLUTE,
    ROOT,
    SQUARE,
    OPERATIONS
};

static int outside(enum operation what, mpfi_ptr out, mpfi_srcptr x, mpfi_srcptr y)
{
    switch (what) {
    case ADD:
        return mpfi_add(out, x, y);
    case SUBTRACT:
        return mpfi_sub(out, x, y);
    case MULTIPLY:
        return mpfi_mul(out, x, y);
    case DIVIDE:
        return mpfi_div(out, x, y);
    case HYPOT:
        return mpfi_hypot(out, x, y);
    case NEGATE:
        return mpfi_neg(out, x);
    case ABSOLUTE:
        return mpfi_abs(out, x);
    case ROOT:
        return mpfi_sqrt(out, x);
    default:
        return mpfi_sqr(out, x);
    }
}

static bool ours(enum operation what, struct form *out, const struct form *x,
                 const struct form *y)
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
    default:
        return form_power(out, x, 2);
    }
}

static double low_of(mpfi_srcptr x)
{
    return mpfr_get_d(&x->left, MPFR_RNDD);
}

static double high_of(mpfi_srcptr x)
{
    return mpfr_get_d(&x->right, MPFR_RNDU);
}

/* Is `what` defined for these, far enough from where it is not? */
static bool defined(enum operation what, struct value *x, struct value *y)
{
    if (what == DIVIDE)
        return low_of(y->plain) > 0.125 || high_of(y->plain) < -0.125;
    return what != ROOT || low_of(x->plain) > 0.125;
}

static bool tame(struct value *x)
{
    return high_of(x->plain) < 1e5 && low_of(x->plain) > -1e5;
}

static int complain(int number, struct value *x, const char *what)
{
    printf("expression %d: %s: form %.17g..%.17g, MPFI %.17g..%.17g\n", number, what,
           x->form.low, x->form.high, low_of(x->plain), high_of(x->plain));
    return 1;
}

/* The rounding that a form is allowed: it does not round outward, MPFI does. */
static int look(int number, struct value *x)
{
    double room = 1e-11 * x->form.scale + 1e-12 * (x->form.high - x->form.low);
    if (x->form.low < low_of(x->plain) - room || x->form.high > high_of(x->plain) + room)
        return complain(number, x, "wider than the interval");
    for (int i = 0; i < SAMPLES; i++)
        if (low_of(x->truth[i]) > x->form.high + room ||
            high_of(x->truth[i]) < x->form.low - room)
            return complain(number, x, "does not hold a true value");
    return 0;
}

static void start(struct value *x, double e[SAMPLES][UNKNOWNS])
{
    double mid = coarse(-8, 8), width = draw(3) ? coarse(0, 2) : 0;
    uint64_t unknown = draw(UNKNOWNS);
    form_with(&x->form, mid, 1 + unknown, width);
    mpfi_interv_d(x->plain, mid - width, mid + width);
    for (int i = 0; i < SAMPLES; i++) {
        mpfi_set_d(x->truth[i], e[i][unknown]);
        mpfi_mul_d(x->truth[i], x->truth[i], width);
        mpfi_add_d(x->truth[i], x->truth[i], mid);
    }
}

/* Fills the pool from the first four on, each from two before it; returns how many were wrong.
 */
static int run(int number, struct value pool[POOL])
{
    double e[SAMPLES][UNKNOWNS];
    for (int i = 0; i < SAMPLES; i++)
        for (int k = 0; k < UNKNOWNS; k++)
            e[i][k] = i == 0 ? 0 : i == 1 ? (draw(2) ? 1 : -1) : coarse(-1, 1);
    int wrong = 0;
    for (int at = 0; at < POOL; at++) {
        struct value *x = &pool[draw((uint64_t)(at ? at : 1))];
        struct value *y = &pool[draw((uint64_t)(at ? at : 1))], *out = &pool[at];
        enum operation what = (enum operation)draw(OPERATIONS);
        if (at < 4 || !defined(what, x, y)) {
            start(out, e);
            continue;
        }
        if (!ours(what, &out->form, &x->form, &y->form))
            return complain(number, x, "an operation refused");
        outside(what, out->plain, x->plain, y->plain);
        for (int i = 0; i < SAMPLES; i++)
            outside(what, out->truth[i], x->truth[i], y->truth[i]);
        if (tame(out))
            wrong += look(number, out);
        else
            start(out, e);
    }
    return wrong;
}

int main(void)
{
    static struct value pool[POOL];
    for (int i = 0; i < POOL; i++) {
        mpfi_init2(pool[i].plain, 53);
        for (int k = 0; k < SAMPLES; k++)
            mpfi_init2(pool[i].truth[k], 200);
    }
    int wrong = 0;
    for (int number = 0; number < EXPRESSIONS && wrong < 10; number++)
        wrong += run(number, pool);
    for (int i = 0; i < POOL; i++) {
        mpfi_clear(pool[i].plain);
        for (int k = 0; k < SAMPLES; k++)
            mpfi_clear(pool[i].truth[k]);
    }
    mpfr_free_cache();
    printf("%d expressions of up to %d steps, %d wrong\n", EXPRESSIONS, STEPS, wrong);
    return wrong > 0;
}
