/* Linear programmes whose answers stand in books, or can be seen at a glance. */
#include "propose/linear.h"

#include <criterion/criterion.h>
#include <math.h>

enum { MOST = 8 };

static struct arena arena;
static struct linear problem;
static double x[MOST];

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(linear, .init = begin, .fini = end);

/* Variables of no less than 0, and what to make greatest of them. */
static void greatest(size_t variables, const double *objective)
{
    linear_begin(&problem, &arena, variables);
    for (size_t j = 0; j < variables; j++) {
        problem.objective[j] = objective[j];
        problem.high[j] = HUGE_VAL;
    }
}

#define GREATEST(...)                                                                          \
    greatest(sizeof((double[]){__VA_ARGS__}) / sizeof(double), (const double[]){__VA_ARGS__})

static void at_least(double least, const double *coefficients)
{
    double *row = linear_add(&problem, &arena, least);
    for (size_t j = 0; j < problem.variables; j++)
        row[j] = coefficients[j];
}

#define AT_LEAST(least, ...) at_least((least), (const double[]){__VA_ARGS__})

static void at_most(double most, const double *coefficients)
{
    double *row = linear_add(&problem, &arena, -most);
    for (size_t j = 0; j < problem.variables; j++)
        row[j] = -coefficients[j];
}

#define AT_MOST(most, ...) at_most((most), (const double[]){__VA_ARGS__})

static enum linear_result solved(void)
{
    for (size_t j = 0; j < MOST; j++)
        x[j] = 99; /* whoever writes too far, or not at all, is seen */
    return linear_solve(&arena, &problem, x);
}

static void found(const double *expected)
{
    cr_assert_eq(solved(), LINEAR_FOUND);
    for (size_t j = 0; j < problem.variables; j++)
        cr_expect_float_eq(x[j], expected[j], 1e-9 * fmax(1, fabs(expected[j])),
                           "x[%zu] %.17g, not %g", j, x[j], expected[j]);
    for (size_t j = problem.variables; j < MOST; j++)
        cr_expect_eq(x[j], 99);
}

#define FOUND(...) found((const double[]){__VA_ARGS__})

static void not_found(enum linear_result why)
{
    cr_expect_eq(solved(), why);
    for (size_t j = 0; j < MOST; j++)
        cr_expect_eq(x[j], 99, "x[%zu] was written", j);
}

/* Hillier and Lieberman, Introduction to Operations Research, section 3.1: the Wyndor Glass
 * Co., batches of two products in three plants. */
Test(linear, product_mix)
{
    GREATEST(3, 5);
    AT_MOST(4, 1, 0);
    AT_MOST(12, 0, 2);
    AT_MOST(18, 3, 2);
    FOUND(2, 6);
    cr_expect_float_eq(3 * x[0] + 5 * x[1], 36, 1e-9);
}

/* The same book, section 3.4: the least dose to healthy tissue, 5.25, with a tumour that gets
 * exactly 6 and its centre no less than that. */
Test(linear, equal_and_at_least)
{
    GREATEST(-0.4, -0.5);
    AT_MOST(2.7, 0.3, 0.1);
    AT_LEAST(6, 0.5, 0.5);
    AT_MOST(6, 0.5, 0.5);
    AT_LEAST(6, 0.6, 0.4);
    FOUND(7.5, 4.5);
    cr_expect_float_eq(0.4 * x[0] + 0.5 * x[1], 5.25, 1e-9);
}

/* The dual of the product mix, chapter 6 there: what another hour in each plant is worth. */
Test(linear, dual_has_the_same_value)
{
    GREATEST(-4, -12, -18);
    AT_LEAST(3, 1, 0, 3);
    AT_LEAST(5, 0, 2, 2);
    FOUND(0, 1.5, 1);
    cr_expect_float_eq(4 * x[0] + 12 * x[1] + 18 * x[2], 36, 1e-9);
}

/* Beale, Naval Research Logistics Quarterly 2 (1955): a simplex method that takes the first
 * of equals goes round for ever. */
Test(linear, degenerate)
{
    GREATEST(0.75, -20, 0.5, -6);
    AT_MOST(0, 0.25, -8, -1, 9);
    AT_MOST(0, 0.5, -12, -0.5, 3);
    AT_MOST(1, 0, 0, 1, 0);
    FOUND(1, 0, 1, 0);
}

Test(linear, bounds_alone)
{
    GREATEST(1, -1, 0.5);
    problem.low[0] = -3, problem.high[0] = -2;
    problem.low[1] = -7, problem.high[1] = 4;
    problem.low[2] = problem.high[2] = 0.125;
    FOUND(-2, -7, 0.125);
}

Test(linear, free_variables)
{
    GREATEST(-1, -1);
    problem.low[0] = problem.low[1] = -HUGE_VAL;
    AT_LEAST(-10, 1, 2);
    AT_LEAST(-11, 2, 1);
    FOUND(-4, -3);
}

/* The shape that proposals have: the least of several margins as a variable of its own. */
Test(linear, greatest_least)
{
    GREATEST(0, 1);
    problem.low[0] = problem.low[1] = -HUGE_VAL;
    AT_LEAST(-3, 1, -1);  /* x + 3 >= t */
    AT_LEAST(-5, -1, -1); /* 5 - x >= t */
    AT_LEAST(-9, 0, -1);  /* 9 >= t, no matter what x is */
    FOUND(1, 4);
    AT_LEAST(1, 0, -1); /* -1 >= t: less than nothing is an answer too */
    cr_assert_eq(solved(), LINEAR_FOUND);
    cr_expect_float_eq(x[1], -1, 1e-9);
}

Test(linear, rows_exclude_each_other)
{
    GREATEST(1, 1);
    AT_MOST(1, 1, 1);
    AT_LEAST(2, 1, 1);
    not_found(LINEAR_NONE);
}

Test(linear, rows_exclude_bounds)
{
    GREATEST(1, 0);
    problem.high[0] = 1;
    AT_LEAST(1.001, 1, 0);
    not_found(LINEAR_NONE);
}

Test(linear, row_that_nothing_moves)
{
    GREATEST(1);
    problem.high[0] = 1;
    AT_LEAST(-0.5, 0);
    FOUND(1);
    AT_LEAST(0.5, 0);
    not_found(LINEAR_NONE);
}

Test(linear, no_greatest_value)
{
    GREATEST(1, 1);
    AT_LEAST(1, 1, -1);
    not_found(LINEAR_NOT_SO);
}

Test(linear, nothing_bounds_it_at_all)
{
    GREATEST(1);
    not_found(LINEAR_NOT_SO);
}

/* Micrometres beside metres and seconds beside revolutions: rows that lie far apart. */
Test(linear, rows_of_different_scale)
{
    GREATEST(1, 1);
    AT_MOST(4e-6, 1e-6, 0);
    AT_MOST(6e5, 0, 1e5);
    AT_MOST(18e-3, 3e-3, 2e-3);
    FOUND(2, 6);
}

Test(linear, a_hair_decides)
{
    GREATEST(1);
    AT_MOST(1, 1);
    AT_LEAST(1, 1);
    FOUND(1);
    AT_LEAST(1 + 1e-6, 1);
    not_found(LINEAR_NONE);
}

/* One row after another, as many as a machine with every cutter has: a polygon about a circle
 * of radius 1, whose corners lie on no bound. */
Test(linear, many_rows)
{
    enum { SIDES = 4000 };
    GREATEST(1, 0);
    problem.low[0] = problem.low[1] = -HUGE_VAL;
    double turn = 2 * acos(-1) / SIDES;
    for (int i = 0; i < SIDES; i++)
        AT_MOST(1, cos((i + 0.5) * turn), sin((i + 0.5) * turn));
    cr_assert_eq(solved(), LINEAR_FOUND);
    cr_expect_float_eq(x[0], 1 / cos(turn / 2), 1e-9);
    cr_expect_float_eq(x[1], 0, 1e-6);
}

Test(linear, solving_changes_nothing_in_it)
{
    GREATEST(3, 5);
    AT_MOST(4, 1, 0);
    AT_MOST(12, 0, 2);
    AT_MOST(18, 3, 2);
    FOUND(2, 6);
    double first[2] = {x[0], x[1]};
    FOUND(2, 6);
    cr_expect(first[0] == x[0] && first[1] == x[1], "the same to the last bit");
    cr_expect_eq(problem.rows.count, 3);
    cr_expect_eq(problem.rows.items[2].least, -18);
}

Test(linear, begins_empty)
{
    linear_begin(&problem, &arena, 2);
    FOUND(0, 0);
    const double *row = linear_add(&problem, &arena, -1);
    cr_expect(row[0] == 0 && row[1] == 0);
    FOUND(0, 0);
}

/* Bounds that exclude each other, as a number has that lies outside its own. */
Test(linear, bounds_exclude_each_other)
{
    GREATEST(1, 1);
    problem.low[0] = 2, problem.high[0] = 1;
    problem.high[1] = 1;
    not_found(LINEAR_NONE);
}
