/* The bounds of random formulas against MPFI, a library of interval arithmetic with outward
 * rounding.
 *
 * Source: MPFI 1.5 (Debian package libmpfi-dev), on MPFR.  Two questions, of a hundred thousand
 * formulas as they are written, compiled and evaluated: are the bounds ever wider than MPFI's
 * plain interval of 53 bits, and do they hold the value that MPFI gives at 200 bits for
 * deviations drawn within their widths?
 */
#include <math.h>
#include <stdio.h>

#include "random_run.h"
#include "tree_mpfi.h"

enum { FORMULAS = 100000, A_PROGRAM = 250, SAMPLES = 4, EXACT_BITS = 200 };

struct tally {
    mpfi_t plain, truth;
    long compared, samples, narrower, wrong;
};

static double low_of(mpfi_srcptr x)
{
    return mpfr_get_d(&x->left, MPFR_RNDD);
}

static double high_of(mpfi_srcptr x)
{
    return mpfr_get_d(&x->right, MPFR_RNDU);
}

static void complain(struct tally *tally, const struct asked_formula *asked, mpfi_srcptr other,
                     const char *what)
{
    tally->wrong++;
    printf("%s: %s: bounds %.17g..%.17g, MPFI %.17g..%.17g\n", asked->text, what,
           asked->form.low, asked->form.high, low_of(other), high_of(other));
}

static void look(void *user, const struct asked_formula *asked)
{
    struct tally *tally = user;
    bool undefined = false;
    struct way way = {.mode = AS_INTERVAL,
                      .definitions = asked->definitions,
                      .records = {RUN_CUTTER, 0},
                      .count = 1,
                      .undefined = &undefined};
    mpfi_ptr plain = tally->plain;
    tree_enclose(plain, &way, asked->tree);
    if (undefined || !mpfi_bounded_p(plain))
        return;
    const struct form *form = &asked->form;
    tally->compared++;
    if (!asked->known) {
        complain(tally, asked, plain, "not known");
        return;
    }
    /* Bounds are doubles rounded to nearest, MPFI's are rounded outward. */
    double least = low_of(plain), most = high_of(plain);
    double room = 1e-14 * (form->scale + fmax(fabs(least), fabs(most)));
    if (form->low < least - room || form->high > most + room)
        complain(tally, asked, plain, "wider than the plain interval");
    tally->narrower += form->low > least + room || form->high < most - room;
    way.mode = AS_SAMPLED;
    for (way.sample = 1; way.sample <= SAMPLES; way.sample++) {
        tree_enclose(tally->truth, &way, asked->tree);
        tally->samples++;
        if (low_of(tally->truth) > form->high + room ||
            high_of(tally->truth) < form->low - room)
            complain(tally, asked, tally->truth, "does not hold a true value");
    }
}

int main(void)
{
    struct tally tally = {0};
    mpfi_init2(tally.plain, 53);
    mpfi_init2(tally.truth, EXACT_BITS);
    for (int done = 0; done < FORMULAS && tally.wrong < 10; done += A_PROGRAM)
        random_run(A_PROGRAM, look, &tally);
    mpfi_clear(tally.plain);
    mpfi_clear(tally.truth);
    mpfr_free_cache();
    printf(
        "%d formulas: %ld compared, %ld narrower than plain intervals; %ld samples; %ld wrong\n",
        FORMULAS, tally.compared, tally.narrower, tally.samples, tally.wrong);
    return tally.wrong > 0 || tally.compared < FORMULAS / 2;
}
