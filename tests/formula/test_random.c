/* Formulas made at random, written out, compiled and evaluated: what they come to with every
 * tolerance somewhere within its width never lies outside the bounds, and the bounds never say
 * less than plain intervals do.
 *
 * A formula is a tree here too, evaluated in three plain ways that share nothing with the
 * program: nominal, by intervals, and for sampled deviations.  Written with as few parentheses
 * as precedence allows.
 */
#include <criterion/criterion.h>
#include <math.h>

#include "random_run.h"

enum { FORMULAS = 100000, A_PROGRAM = 250, SAMPLES = 8 };

/* How many formulas had a value, so that the test is known to test. */
static size_t compared;

static void check(void *user, const struct asked_formula *asked)
{
    (void)user;
    bool undefined = false;
    struct way way = {.mode = AS_TYPED,
                      .definitions = asked->definitions,
                      .records = {RUN_CUTTER, 0},
                      .count = 1,
                      .undefined = &undefined};
    const char *text = asked->text;
    const struct form *form = &asked->form;
    double nominal = tree_value(&way, asked->tree).low;
    way.mode = AS_INTERVAL;
    struct range plain = tree_value(&way, asked->tree);
    if (undefined || !isfinite(plain.low) || !isfinite(plain.high))
        return;
    cr_assert(asked->known, "not known: %s", text);
    compared++;
    double slack = 1e-9 * (form->scale + fabs(plain.low) + fabs(plain.high)) + 1e-12;
    cr_assert(fabs(form->mid - nominal) <= slack, "%s: %g, not %g", text, form->mid, nominal);
    cr_assert(form->low >= plain.low - slack && form->high <= plain.high + slack,
              "%s: %g..%g is wider than %g..%g", text, form->low, form->high, plain.low,
              plain.high);
    way.mode = AS_SAMPLED;
    for (way.sample = 1; way.sample <= SAMPLES; way.sample++) {
        double x = tree_value(&way, asked->tree).low;
        cr_assert(x >= form->low - slack && x <= form->high + slack,
                  "%s: %g lies outside %g..%g", text, x, form->low, form->high);
    }
}

Test(random, bounds_hold_and_never_say_less_than_intervals)
{
    for (int done = 0; done < FORMULAS; done += A_PROGRAM)
        random_run(A_PROGRAM, check, NULL);
    cr_assert(compared > FORMULAS / 2, "only %zu had a value", compared);
}
