/* What repeated readings come to. */
#include "quantity/scatter.h"

#include <criterion/criterion.h>
#include <math.h>

static struct scatter of(const double *readings, size_t count)
{
    struct scatter scatter;
    cr_assert(scatter_of(readings, count, &scatter));
    return scatter;
}

#define OF(...)                                                                                \
    of((const double[]){__VA_ARGS__}, sizeof((double[]){__VA_ARGS__}) / sizeof(double))

Test(scatter, mean_and_deviation)
{
    struct scatter scatter = OF(2, 4, 4, 4, 5, 5, 7, 9); /* squares of 32 in all */
    cr_expect_eq(scatter.count, 8);
    cr_expect_float_eq(scatter.mean, 5, 1e-15);
    cr_expect_float_eq(scatter.deviation, sqrt(32.0 / 7), 1e-15);
    cr_expect_eq(scatter.farthest, 7);
    cr_expect_eq(OF(-3, -1, -2, -20, -2).farthest, 3);
}

Test(scatter, of_one_reading_or_of_equal_ones_there_is_none)
{
    struct scatter one = OF(-0.153), alike = OF(-0.153, -0.153, -0.153);
    cr_expect_eq(one.deviation, 0);
    cr_expect_eq(one.mean, -0.153);
    cr_expect_eq(alike.deviation, 0);
    cr_expect_eq(alike.mean, -0.153);
}

Test(scatter, is_not_lost_beside_a_large_mean)
{
    struct scatter scatter = OF(1e9 + 1, 1e9 + 2, 1e9 + 3);
    cr_expect_float_eq(scatter.deviation, 1, 1e-15);
}

Test(scatter, no_number_is_too_large_to_be_squared)
{
    struct scatter scatter = OF(1e305, 2e305, 3e305), tiny = OF(1e-305, 2e-305, 3e-305);
    cr_expect_float_eq(scatter.deviation / 1e305, 1, 1e-12);
    cr_expect_float_eq(scatter.mean / 1e305, 2, 1e-12);
    cr_expect_float_eq(tiny.deviation / 1e-305, 1, 1e-12);
    cr_expect(!scatter_of((const double[]){-1.7e308, 1.7e308}, 2, &scatter));
}

Test(scatter, factors_fall_and_are_never_too_small)
{
    cr_expect_eq(scatter_factor(5), 5.0769);
    cr_expect_eq(scatter_factor(50), 2.3816);
    cr_expect_eq(scatter_factor(59), 2.3816); /* the table has 60 next */
    cr_expect_eq(scatter_factor(60), 2.3351);
    cr_expect_eq(scatter_factor(SCATTER_FACTORS), 2.0362);
    cr_expect_eq(scatter_factor(1000000), 2.0362);
    for (size_t count = 3; count <= SCATTER_FACTORS; count++)
        cr_expect_leq(scatter_factor(count), scatter_factor(count - 1));
}

static bool has(const double *readings, size_t count, double step)
{
    struct scatter scatter = of(readings, count);
    return scatter_has_outlier(&scatter, readings, step);
}

/* Eight measurements of a uranium isotope, from the paper of Tietjen and Moore, by which the
 * NIST/SEMATECH handbook shows the test (1.3.5.17.1): one of them lies off. */
Test(scatter, the_handbook_s_outlier)
{
    const double isotope[] = {199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57};
    struct scatter scatter = of(isotope, 8);
    cr_expect_eq(scatter.farthest, 7);
    cr_expect_float_eq((245.57 - scatter.mean) / scatter.deviation, 2.4687, 0.0001);
    cr_expect(has(isotope, 8, 0));
    cr_expect(!has(isotope, 7, 0));
}

Test(scatter, either_side_and_either_side_of_the_critical_value)
{
    const double high[] = {0, 1, 2, 1, 6.4}, below[] = {0, 1, 2, 1, 6.3};
    const double low[] = {0, -1, -2, -1, -6.4};
    cr_expect_eq(of(high, 5).farthest, 4);
    cr_expect(has(high, 5, 0));
    cr_expect(has(low, 5, 0));
    cr_expect(!has(below, 5, 0));
}

/* Two of three alike is what rounding makes of them, and no reason to suspect the third. */
Test(scatter, rounding_makes_no_outlier)
{
    const double rounded[] = {-153.02, -153.02, -153.00}, slip[] = {-153.02, -153.02, -135.0};
    cr_expect(has(rounded, 3, 0));
    cr_expect(!has(rounded, 3, 0.01));
    cr_expect(has(slip, 3, 0.01));
    cr_expect(!has((const double[]){5, 7}, 2, 0));
    cr_expect(!has((const double[]){5, 5, 5}, 3, 0));
}
