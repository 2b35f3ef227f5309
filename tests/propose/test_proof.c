/* What is proved to have no solution, and what must not be. */
#include <criterion/criterion.h>

#include "propose/seek.h"
#include "shop.h"

static bool is_proved(const char *const *formulas, size_t count)
{
    struct shop shop;
    const struct stake *all[8];
    open_shop(&shop, formulas, count);
    cr_assert_leq(count, 8);
    for (size_t i = 0; i < count; i++)
        all[i] = &shop.margins.stakes[i];
    bool proved = proof_stands(&shop.margins, all, count, (const double[]){0.012, 0.020});
    close_shop(&shop);
    return proved;
}

#define PROVED(...)                                                                            \
    is_proved((const char *const[]){__VA_ARGS__},                                              \
              sizeof((const char *const[]){__VA_ARGS__}) / sizeof(char *))

Test(proof, sums)
{
    cr_expect(PROVED(A " <= 10 mm", A " >= 20 mm"));
    cr_expect(PROVED(A " + " B " <= 40 mm", A " >= 19 mm", B " - 1 mm >= 21 mm"));
    cr_expect(PROVED("2 * " A " - " B " / 4 >= 50 mm", A " <= 20 mm", B " >= 0 mm"));
    cr_expect(PROVED(A " ± 1 mm <= 10 mm", A " >= 9.5 mm"), "only with its tolerance");
    cr_expect(PROVED("if change.approach is fixed then " A " <= 10 mm else " A " <= 9 mm",
                     A " >= 20 mm"));
}

/* One alone, that its range keeps from holding. */
Test(proof, ranges_count)
{
    cr_expect(PROVED(A " <= -1 mm"));
    cr_expect(!PROVED(A " <= 1 mm"));
}

/* What has a solution is not proved to have none: not by a hair. */
Test(proof, what_can_hold)
{
    cr_expect(!PROVED(A " <= 10 mm", A " >= 10 mm"));
    cr_expect(!PROVED(A " <= 10 mm", A " >= 9 mm", B " >= 3 mm"));
    cr_expect(!PROVED(A " + " B " <= 40 mm", A " >= 19 mm", B " >= 21 mm"));
    cr_expect(!PROVED(A " ± 1 mm <= 10 mm", A " >= 9 mm"));
}

/* The least of several margins is seen from one side at a time. */
Test(proof, least_of_several)
{
    cr_expect(PROVED(A " inside 20 mm .. 30 mm", A " <= 19 mm"));
    cr_expect(PROVED(A " inside 20 mm .. 30 mm", B " inside 5 mm .. 15 mm",
                     A " + " B " inside 46 mm .. 80 mm"));
    cr_expect(PROVED(A " >= 20 mm and " B " >= 30 mm", A " + " B " <= 49 mm"));
    cr_expect(!PROVED(A " >= 20 mm and " B " >= 30 mm", A " + " B " <= 51 mm"));
    cr_expect(PROVED("every " A " >= c.stickout for c in cutters", A " <= 30 mm"));
}

/* Where a margin bends, nothing is proved by what continues it, though none of these can hold.
 */
Test(proof, what_bends)
{
    cr_expect(!PROVED("abs(" A " - 20 mm) >= 5 mm", A " inside 18 mm .. 22 mm"));
    cr_expect(!PROVED("max(" A ", 15 mm) >= 16 mm", A " <= 10 mm"));
    cr_expect(!PROVED("combined(" A ", " B ") <= 10 mm", A " >= 20 mm"));
    cr_expect(!PROVED(A " * " B " / (1 mm) >= 900 mm", A " <= 20 mm", B " <= 20 mm"));
    cr_expect(!PROVED(A " >= 20 mm or " B " >= 50 mm", A " <= 10 mm", B " <= 10 mm"));
    cr_expect(
        !PROVED("if " A " >= 15 mm then " A " >= 40 mm else " A " >= 20 mm", A " <= 30 mm"));
    cr_expect(!PROVED("1 mm * (" B " / " A ") >= 30 mm", B " <= 10 mm", A " >= 5 mm"));
    cr_expect(!PROVED("not " A " inside 10 mm .. 30 mm", A " inside 15 mm .. 25 mm"));
    cr_expect(!PROVED("1 m <= 2 * (largest " A " + c.stickout for c in cutters)", A " <= 10 mm"));
}

/* A factor that has a tolerance makes one that moves: it is left alone. */
Test(proof, factors_with_tolerances)
{
    cr_expect(PROVED("1.5 * " A " >= 30 mm", A " <= 19 mm"));
    cr_expect(!PROVED("(1.5 ± 0.1) * " A " >= 30 mm", A " <= 19 mm"));
    cr_expect(PROVED("nominal (1.5 ± 0.1) * " A " >= 30 mm", A " <= 19 mm"));
}
