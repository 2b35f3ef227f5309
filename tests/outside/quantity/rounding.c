/* The arithmetic of quantity/exact.h against MPFR, which rounds correctly.
 *
 * Source: MPFR 4.2 (Debian package libmpfr-dev).  Bit by bit, over random numbers of all sizes
 * and over such as come next to the middle between two doubles.
 */
#include <math.h>
#include <mpfr.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "quantity/exact.h"

enum { ROUNDS = 300000 };

static uint64_t state = 0x9E3779B97F4A7C15u;

static uint64_t draw(void)
{
    state ^= state << 13, state ^= state >> 7, state ^= state << 17;
    return state;
}

/* A double of either sign whose exponent is within `spread` of `around`, some of few digits. */
static double number(int around, int spread)
{
    uint64_t digits = draw() >> 11;
    if (draw() % 3 == 0)
        digits &= ~(uint64_t)0 << (draw() % 52);
    double size = ldexp((double)(digits | (uint64_t)1 << 52), around - 52);
    size = ldexp(size, (int)(draw() % (unsigned)(2 * spread + 1)) - spread);
    return draw() & 1 ? -size : size;
}

static int differ(double ours, double theirs, const char *what, double x, double y, double z)
{
    if (memcmp(&ours, &theirs, sizeof ours) == 0)
        return 0;
    if (fabs(theirs) < 0x1p-1022 && fabs(ours - theirs) <= 0x1p-1074)
        return 0; /* rounded twice, as the header says */
    printf("%s %a %a %a: %a, MPFR says %a\n", what, x, y, z, ours, theirs);
    return 1;
}

static int fma_differs(mpfr_t *of, double x, double y, double z)
{
    mpfr_set_d(of[0], x, MPFR_RNDN);
    mpfr_set_d(of[1], y, MPFR_RNDN);
    mpfr_set_d(of[2], z, MPFR_RNDN);
    mpfr_fma(of[3], of[0], of[1], of[2], MPFR_RNDN);
    return differ(exact_fma(x, y, z), mpfr_get_d(of[3], MPFR_RNDN), "fma", x, y, z);
}

static int hypot_differs(mpfr_t *of, double x, double y)
{
    mpfr_set_d(of[0], x, MPFR_RNDN);
    mpfr_set_d(of[1], y, MPFR_RNDN);
    mpfr_hypot(of[3], of[0], of[1], MPFR_RNDN);
    return differ(exact_hypot(x, y), mpfr_get_d(of[3], MPFR_RNDN), "hypot", x, y, 0);
}

/* Legs of a triangle whose third side ends in half a last digit: 2mn, m^2 - n^2, m^2 + n^2. */
static int tie_differs(mpfr_t *of)
{
    for (;;) {
        uint64_t m = draw() % ((uint64_t)1 << 27), n = draw() % ((uint64_t)1 << 27);
        uint64_t side = m * m + n * n, leg = m > n ? m * m - n * n : n * n - m * m;
        if (!(side >> 53) || !(side & 1) || leg >> 53 || (2 * m * n) >> 54)
            continue;
        return hypot_differs(of, (double)leg, (double)(2 * m * n));
    }
}

int main(void)
{
    int wrong = 0;
    mpfr_t of[4];
    for (int i = 0; i < 4; i++)
        mpfr_init2(of[i], 53);
    for (int i = 0; i < ROUNDS && wrong < 20; i++) {
        wrong += fma_differs(of, number(0, 3), number(0, 3), number(0, 60));
        wrong += fma_differs(of, number(0, 400), number(0, 400), number(0, 900));
        double x = number(0, 2), y = number(0, 2);
        wrong += fma_differs(of, x, y, -(x * y));
        wrong += fma_differs(of, x, y, ldexp(x * y, draw() & 1 ? 53 : -53));
        wrong += hypot_differs(of, number(0, 2), number(0, 2));
        wrong += hypot_differs(of, number(0, 20), number(0, 30));
        wrong += hypot_differs(of, number(0, 1000), number(0, 1000));
        wrong += hypot_differs(of, number(-1000, 20), number(-1000, 20));
        wrong += hypot_differs(of, number(1000, 20), number(1000, 20));
        wrong += tie_differs(of);
    }
    for (int i = 0; i < 4; i++)
        mpfr_clear(of[i]);
    return wrong != 0;
}
