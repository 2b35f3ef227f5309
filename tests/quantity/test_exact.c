/* Arithmetic that is the same everywhere: bits that were worked out by hand. */
#include <criterion/criterion.h>

#include <math.h>
#include <stdint.h>

#include "quantity/exact.h"
#include "quantity/number.h"

/* 1 + 2^-52 squared is 1 + 2^-51 + 2^-104: the last part shows only if the product is whole. */
Test(exact, fma_rounds_once)
{
    double x = 1 + 0x1p-52;
    cr_expect(exact_fma(x, x, -(1 + 0x1p-51)) == 0x1p-104);
    cr_expect(exact_fma(x, x, 0x1p-53 - 0x1p-104) == 1 + 0x1p-51); /* a tie, to even */
    cr_expect(exact_fma(x, x, 0x1p-53) == 1 + 0x1p-51 + 0x1p-52);  /* just above it */
    cr_expect(exact_fma(0x1p600, 0x1p600, -INFINITY) == -INFINITY);
    cr_expect(exact_fma(0x1p600, 0x1p500, 0) == INFINITY);
    cr_expect(exact_fma(0x1p600, -0x1p500, 0x1p1000) == -INFINITY);
    cr_expect(exact_fma(0x1p-600, 0x1p-600, 1) == 1);
    cr_expect(exact_fma(0x1p-600, -0x1p-600, 0x1p-1000) == 0x1p-1000);
    cr_expect(exact_fma(3, 0, 7) == 7);
    cr_expect(isnan(exact_fma(INFINITY, 0, 7)));
}

Test(exact, hypot_rounds_once)
{
    cr_expect(exact_hypot(3, -4) == 5);
    cr_expect(exact_hypot(0x3p-1000, 0x4p-1000) == 0x5p-1000);
    cr_expect(exact_hypot(0x3p1000, 0x4p1000) == 0x5p1000);
    cr_expect(exact_hypot(1, 0x1p-26) == 1); /* a hair below the tie */
    cr_expect(exact_hypot(1, 0x1p-25) == 1 + 0x1p-51);
    cr_expect(exact_hypot(0, -2) == 2 && exact_hypot(0, 0) == 0);
    cr_expect(exact_hypot(INFINITY, NAN) == INFINITY && isnan(exact_hypot(NAN, 1)));
    cr_expect(exact_hypot(0x1p1023, 0x1p1023) == sqrt(2) * 0x1p1023);
    cr_expect(exact_hypot(0x1.8p1023, 0x1.8p1023) == INFINITY);
}

/* The root of a^2 + b^2 = c^2 + k, where c is half way between two doubles: k decides, and
 * where it is 0, the even one of them. */
Test(exact, hypot_next_to_the_middle_of_two_doubles)
{
    int up = 0, down = 0, ties = 0;
    for (int64_t d = 1; d < 400; d += 2)
        for (int64_t a = 1601000000 + 2 * d; a < 1601002000; a += 2 * d + 1) {
            int64_t k = (a * a - d * d) % (4 * d);
            for (int side = 0; side < 2; side++, k -= 4 * d) {
                int64_t b = (a * a - d * d - k) / (2 * d), c = b + d;
                if (c < 1LL << 53 ||
                    c >= 1LL << 54) /* of which every odd one is such a middle */
                    continue;
                double want = (double)(k > 0 ? c + 1 : k < 0 ? c - 1 : c);
                cr_assert(exact_hypot((double)a, (double)b) == want, "%lld %lld: %lld",
                          (long long)a, (long long)b, (long long)k);
                up += k > 0, down += k < 0, ties += k == 0;
            }
        }
    cr_expect(up > 100 && down > 100 && ties > 0, "%d %d %d", up, down, ties);
}

/* Said to reach a limit only where the root does. */
Test(exact, hypot_reaches)
{
    cr_expect(exact_hypot_reaches(3, -4, 4.999) && !exact_hypot_reaches(3, -4, 5.001));
    cr_expect(exact_hypot_reaches(0, 0, 0) && exact_hypot_reaches(0, 0, -1));
    cr_expect_not(exact_hypot_reaches(1, 1, INFINITY) || exact_hypot_reaches(1, 1, NAN));
    cr_expect_not(exact_hypot_reaches(0x1p600, 0, 0x1p700)); /* their squares are alike */
    cr_expect_not(exact_hypot_reaches(0x1p-600, 0, 0x1p-550));
    uint64_t state = 20270412;
    for (int i = 0; i < 100000; i++) {
        double of[3];
        for (int k = 0; k < 3; k++) {
            state = state * 6364136223846793005u + 1442695040888963407u;
            of[k] = (double)(state >> 11) * 0x1p-53;
        }
        double length = exact_hypot(of[0], of[1]), far = length * (1 - 0x1p-48);
        double limit = length * (1 + (of[2] - 0.5) * 0x1p-49);
        cr_assert(length >= limit || !exact_hypot_reaches(of[0], of[1], limit), "%a %a %a",
                  of[0], of[1], limit);
        cr_assert(exact_hypot_reaches(of[0], of[1], far), "%a %a", of[0], of[1]);
    }
}

Test(exact, roots)
{
    cr_expect(exact_root(2, 0.5) == sqrt(2));
    cr_expect(exact_root(16, 0.75) == 8);
    cr_expect(exact_root(7, 0) == 1);
    cr_expect(fabs(pow(exact_root(1e7, 1.0 / 400), 400) / 1e7 - 1) < 1e-12);
}

Test(exact, decades)
{
    cr_expect(number_decade(314, 0) == 100 && number_decade(314, -2) == 1);
    cr_expect(number_decade(-0.00999, -1) == 1e-4);
    cr_expect(number_decade(1e23, 0) == 1e22); /* the double is less than it says */
    cr_expect(number_decade(0.1, 0) == 0.1 && number_decade(1, 0) == 1);
    cr_expect(number_decade(9.999999999999998, 0) == 1);
}
