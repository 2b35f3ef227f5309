/* Affine forms: what each operation promises, case by case. */
#include <criterion/criterion.h>

#include <float.h>
#include <math.h>

#include "quantity/form.h"

static struct form exact(double x)
{
    struct form form;
    form_exact(&form, x);
    return form;
}

static struct form with(double x, deviation_name name, double width)
{
    struct form form;
    form_with(&form, x, name, width);
    return form;
}

/* A form from the range of a plain interval, with its middle as the nominal value. */
static struct form within(double low, double high, deviation_name name)
{
    return with((low + high) / 2, name, (high - low) / 2);
}

/* Shorthand for expressions. */
#define BINARY(name)                                                                           \
    static struct form name(struct form x, struct form y)                                      \
    {                                                                                          \
        struct form out;                                                                       \
        form_##name(&out, &x, &y);                                                             \
        return out;                                                                            \
    }
BINARY(add)
BINARY(subtract)
BINARY(multiply)
BINARY(maximum)
BINARY(minimum)

static struct form divide(struct form x, struct form y)
{
    struct form out;
    cr_assert(form_divide(&out, &x, &y));
    return out;
}

static struct form power(struct form x, int n)
{
    struct form out;
    cr_assert(form_power(&out, &x, n));
    return out;
}

static struct form root(struct form x)
{
    struct form out;
    cr_assert(form_root(&out, &x));
    return out;
}

static struct form absolute(struct form x)
{
    struct form out;
    form_absolute(&out, &x);
    return out;
}

static struct form widen(struct form x, deviation_name name, struct form width)
{
    struct form out;
    form_widen(&out, &x, name, &width);
    return out;
}

static void check(struct form x, double low, double mid, double high)
{
    double room = 1e-12 * (1 + fabs(low) + fabs(high));
    cr_expect(
        fabs(x.low - low) <= room && fabs(x.high - high) <= room && fabs(x.mid - mid) <= room,
        "%.12g (%.12g) %.12g, not %.12g (%.12g) %.12g", x.low, x.mid, x.high, low, mid, high);
    cr_expect(x.low <= x.mid && x.mid <= x.high && x.rest >= 0);
    for (unsigned i = 1; i < x.count; i++)
        cr_expect(x.terms[i - 1].name < x.terms[i].name, "names rise");
    for (unsigned i = 0; i < x.count; i++)
        cr_expect(x.terms[i].width != 0);
}

/* To the last bit, and without a term left. */
static void check_exactly(struct form x, double value)
{
    cr_expect(x.low == value && x.mid == value && x.high == value && x.count == 0 &&
                  x.rest == 0,
              "%.17g %.17g %.17g, %u terms", x.low, x.mid, x.high, x.count);
}

enum { A = 1, B, C, D };

Test(form, what_is_the_same_cancels)
{
    struct form a = with(50, A, 0.5), b = with(7, B, 0.25);
    check_exactly(subtract(a, a), 0);
    check_exactly(divide(a, a), 1);
    check(subtract(add(a, b), a), 6.75, 7, 7.25);
    check(subtract(add(a, b), b), 49.5, 50, 50.5);
    check_exactly(subtract(add(a, b), add(b, a)), 0);
    /* Two unknowns of one size do not cancel. */
    check(subtract(a, with(50, B, 0.5)), -1, 0, 1);
    /* Written twice, it is twice as much. */
    check(add(a, a), 99, 100, 101);
}

Test(form, making)
{
    check_exactly(exact(3), 3);
    check_exactly(with(3, A, 0), 3);
    check(with(3, A, 0.5), 2.5, 3, 3.5);
    cr_expect(with(3, 0, 0.5).count == 0 && with(3, 0, 0.5).rest == 0.5, "0 is no name");
    check(subtract(with(3, 0, 0.5), with(3, 0, 0.5)), -1, 0, 1);
    check(widen(exact(3), A, exact(0.5)), 2.5, 3, 3.5);
    check(widen(exact(3), A, exact(-0.5)), 2.5, 3, 3.5);
    check_exactly(widen(exact(3), A, exact(0)), 3);
    check(widen(with(3, A, 0.25), A, exact(0.5)), 2.25, 3, 3.75);
    check(widen(with(3, B, 0.25), A, with(0.5, C, 0.1)), 2.15, 3, 3.85);
    struct form nominal, x = with(3, A, 0.5);
    form_nominal(&nominal, &x);
    check_exactly(nominal, 3);
    cr_expect(nominal.scale == x.scale, "it has gone through the same sums");
}

Test(form, lines)
{
    struct form a = with(50, A, 0.5), b = with(7, B, 0.25), out;
    form_negate(&out, &a);
    check(out, -50.5, -50, -49.5);
    check(add(out, a), 0, 0, 0);
    form_scale(&out, &a, -2);
    check(out, -101, -100, -99);
    check(add(out, add(a, a)), 0, 0, 0);
    form_scale(&out, &a, 0);
    check_exactly(out, 0);
    check(add(a, b), 56.25, 57, 57.75);
    check(subtract(a, b), 42.25, 43, 43.75);
    check(multiply(a, exact(-2)), -101, -100, -99);
    check(multiply(exact(-2), a), -101, -100, -99);
    check(divide(a, exact(-2)), -25.25, -25, -24.75);
    check_exactly(multiply(exact(3), exact(4)), 12);
    check_exactly(divide(exact(3), exact(4)), 0.75);
}

Test(form, max_trap)
{
    /* The wider of two must not be added to the higher. */
    struct form x = with(50, A, 0.5), y = with(49.8, B, 0.4);
    struct form most = maximum(x, y);
    check(most, 49.5, 50, 50.5);
    cr_expect(most.high == 50.5);
    check(minimum(x, y), 49.4, 49.8, 50.2);
    check(maximum(y, x), 49.5, 50, 50.5);
    /* Where one is higher for certain it is that one, with its names. */
    check_exactly(subtract(maximum(x, exact(40)), x), 0);
    check_exactly(subtract(maximum(exact(40), x), x), 0);
    check_exactly(subtract(minimum(x, exact(60)), x), 0);
    check_exactly(subtract(maximum(x, exact(49.4)), x), 0);
    check_exactly(subtract(maximum(exact(49.4), x), x), 0);
    check(maximum(with(0, A, 2), exact(1)), 1, 1, 2);
    check_exactly(maximum(exact(1), exact(2)), 2);
    check_exactly(minimum(exact(1), exact(2)), 1);
    check_exactly(subtract(maximum(x, x), x), 0);
}

Test(form, bent_functions)
{
    check(power(with(0, A, 1), 2), 0, 0, 1);
    check(power(with(3, A, 1), 2), 4, 9, 16);
    check(power(with(-3, A, 1), 2), 4, 9, 16);
    check(power(with(0, A, 2), 3), -8, 0, 8);
    check(power(with(-1.5, A, 0.5), 3), -8, -3.375, -1);
    check(power(with(1, A, 3), 3), -8, 1, 64);
    check(power(with(2, A, 1), -1), 1.0 / 3, 0.5, 1);
    check(power(with(2, A, 1), -2), 1.0 / 9, 0.25, 1);
    check(power(with(-2, A, 1), -1), -1, -0.5, -1.0 / 3);
    check(power(with(2, A, 1), 1), 1, 2, 3);
    check_exactly(power(with(2, A, 1), 0), 1);
    check_exactly(power(exact(2), 10), 1024);
    check_exactly(power(exact(2), -2), 0.25);
    check(root(with(4, A, 1)), sqrt(3), 2, sqrt(5));
    check(root(within(0, 4, A)), 0, sqrt(2), 2);
    check_exactly(root(exact(2.25)), 1.5);
    check(absolute(with(0.1, A, 1)), 0, 0.1, 1.1);
    check(absolute(with(-5, A, 1)), 4, 5, 6);
    check(absolute(with(5, A, 1)), 4, 5, 6);
    check_exactly(absolute(exact(-5)), 5);
    struct form x = with(3, A, 0.3), y = with(4, B, 0.4), out;
    form_hypot(&out, &x, &y);
    check(out, 4.5, 5, 5.5);
    struct form zero = with(0, A, 0.3), other = with(0, B, 0.4);
    form_hypot(&out, &zero, &other);
    check(out, 0, 0, 0.5);
    struct form three = exact(3), four = exact(4);
    form_hypot(&out, &three, &four);
    check_exactly(out, 5);
    /* The cube turns against its tangent where the slope is the same again: at -1, by 4. */
    struct form bent = {.mid = 1, .low = -1.2, .high = 1.05, .scale = 1, .count = 1};
    bent.terms[0] = (struct form_term){A, 2.2};
    cr_expect(fabs(power(bent, 3).rest - 4) < 1e-12);
    /* Tangents keep names: a product knows its parts. */
    struct form twice = multiply(with(10, A, 0.1), with(20, B, 0.1));
    cr_expect(twice.count == 2 && twice.terms[0].width == 2 && twice.terms[1].width == 1);
}

/* How far each function can leave its line, worked out by hand: where names cancel afterwards,
 * the interval no longer hides a line that is too far off. */
Test(form, what_bends)
{
    const struct {
        struct form bent;
        double slope, rest;
    } cases[] = {
        {power(with(2, A, 1), 2), 4, 1},
        {power(with(2, A, 1), -1), -0.25, 0.25},
        {root(with(4, A, 1)), 0.25, 1.75 - sqrt(3)},
        {absolute(with(1, A, 2)), 0.5, 1},
        {absolute(with(-1, A, 2)), -0.5, 1},
        {maximum(with(1, A, 2), exact(0)), 0.75, 0.5},
        {maximum(exact(0), with(-1, A, 2)), 0.25, 0.5},
        {minimum(with(1, A, 2), exact(0)), 0.25, 0.5},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const struct form *bent = &cases[i].bent;
        double width = i < 3 ? 1 : 2;
        cr_expect(bent->count == 1 &&
                      fabs(bent->terms[0].width - cases[i].slope * width) < 1e-12,
                  "%zu: %g", i, bent->terms[0].width);
        cr_expect(fabs(bent->rest - cases[i].rest) < 1e-12, "%zu: %g", i, bent->rest);
    }
    struct form x = with(3, A, 0.3), y = with(4, B, 0.4), slant;
    form_hypot(&slant, &x, &y);
    cr_expect(fabs(slant.terms[0].width - 0.18) < 1e-12 &&
              fabs(slant.terms[1].width - 0.32) < 1e-12);
    cr_expect(fabs(slant.rest - (sqrt(23.85) - 4.86)) < 1e-12, "%g", slant.rest);
}

Test(form, refusals)
{
    struct form out = exact(-77), x = with(1, A, 0.5);
    struct form zero = exact(0), through = with(0.5, A, 1), touch = with(1, A, 1);
    struct form noise = subtract(add(exact(0.1), exact(0.2)), exact(0.3));
    cr_assert(noise.mid != 0);
    cr_expect(!form_divide(&out, &x, &zero));
    cr_expect(!form_divide(&out, &x, &through));
    cr_expect(!form_divide(&out, &x, &touch));
    cr_expect(!form_divide(&out, &x, &noise), "nothing but rounding");
    cr_expect(!form_power(&out, &through, -1));
    cr_expect(!form_power(&out, &zero, -2));
    cr_expect(!form_power(&out, &x, 1001));
    cr_expect(!form_power(&out, &x, -2147483647 - 1));
    cr_expect(!form_root(&out, &through));
    struct form below = exact(-1e-9);
    cr_expect(!form_root(&out, &below));
    cr_expect(out.mid == -77, "not written");
    struct form minus_noise = exact(0);
    form_negate(&minus_noise, &noise);
    cr_expect(form_root(&out, &minus_noise) && out.mid == 0, "rounding is no negative number");
}

Test(form, may_be_written_over_an_operand)
{
    struct form a = with(50, A, 0.5), b = with(7, B, 0.25), x;
#define OVER(call, over)                                                                       \
    {                                                                                          \
        struct form p = a, q = b, r;                                                           \
        struct form *out = &r;                                                                 \
        (void)&q;                                                                              \
        (void)(call);                                                                          \
        x = r;                                                                                 \
        out = &over;                                                                           \
        (void)(call);                                                                          \
        cr_expect(x.low == over.low && x.mid == over.mid && x.high == over.high &&             \
                      x.rest == over.rest && x.count == over.count && x.scale == over.scale,   \
                  #call " over " #over);                                                       \
        for (unsigned i = 0; i < x.count; i++)                                                 \
            cr_expect(x.terms[i].name == over.terms[i].name &&                                 \
                      x.terms[i].width == over.terms[i].width);                                \
    }
#define OVER_BOTH(call) OVER(call, p) OVER(call, q)
    OVER_BOTH((form_add(out, &p, &q), 0))
    OVER_BOTH((form_subtract(out, &p, &q), 0))
    OVER_BOTH((form_multiply(out, &p, &q), 0))
    OVER_BOTH(form_divide(out, &p, &q))
    OVER_BOTH((form_hypot(out, &p, &q), 0))
    OVER_BOTH((form_maximum(out, &p, &q), 0))
    OVER_BOTH((form_minimum(out, &p, &q), 0))
    OVER_BOTH((form_widen(out, &p, C, &q), 0))
    OVER((form_negate(out, &p), 0), p)
    OVER((form_scale(out, &p, -3), 0), p)
    OVER(form_power(out, &p, 3), p)
    OVER(form_root(out, &p), p)
    OVER((form_absolute(out, &p), 0), p)
    OVER((form_nominal(out, &p), 0), p)
    b = exact(7);
    OVER_BOTH((form_add(out, &p, &q), 0))
    OVER_BOTH((form_multiply(out, &p, &q), 0))
    OVER_BOTH(form_divide(out, &p, &q))
    a = exact(3);
    b = with(7, B, 0.25);
    OVER_BOTH((form_subtract(out, &p, &q), 0))
    OVER_BOTH((form_multiply(out, &p, &q), 0))
    OVER_BOTH(form_divide(out, &p, &q))
    a = with(0, A, 1);
    OVER_BOTH((form_maximum(out, &p, &q), 0))
    OVER((form_absolute(out, &p), 0), p)
}

/* More names than there is room for: the smallest go into the rest, and nothing is lost. */
Test(form, many_names)
{
    struct form sum = exact(0);
    double width = 0;
    for (deviation_name name = 1; name <= 40; name++) {
        double own = 1 + (double)(name * 7 % 40);
        sum = add(sum, with(1, name, own));
        width += own;
    }
    check(sum, 40 - width, 40, 40 + width);
    cr_expect(sum.count == FORM_TERMS);
    for (unsigned i = 0; i < sum.count; i++)
        cr_expect(sum.terms[i].width > 40 - FORM_TERMS, "the largest stay");
    cr_expect(form_greatest(&sum, true) < form_greatest(&sum, false));
    struct form twice = add(sum, sum);
    check(twice, 2 * (40 - width), 80, 2 * (40 + width));
}

Test(form, statistical)
{
    struct form x = add(add(with(1, A, 3), with(1, B, 4)), exact(8));
    cr_expect(form_least(&x, false) == 3 && form_greatest(&x, false) == 17);
    cr_expect(form_least(&x, true) == 5 && form_greatest(&x, true) == 15);
    /* One name has nothing to average with; and it is never wider than the worst case. */
    struct form y = with(1, A, 3);
    cr_expect(form_least(&y, true) == -2 && form_greatest(&y, true) == 4);
    struct form z = power(with(0, A, 1), 2);
    cr_expect(form_least(&z, true) == 0 && form_greatest(&z, true) == 1);
    /* Remainders come after the root. */
    struct form rest = add(x, with(0, 0, 1));
    cr_expect(form_least(&rest, true) == 4 && form_greatest(&rest, true) == 16);
}

static void near(double is, double wanted)
{
    cr_assert(fabs(is - wanted) < 1e-12, "%.17g, not %.17g", is, wanted);
}

/* What a range promises: it adds in full where tolerances add statistically, nominal values
 * move with it, and the best that may come of it leaves out nothing but the tolerances. */
Test(form, a_range_is_no_tolerance)
{
    struct form x = add(add(with(10, 1, 0.3), with(0, 2, 0.4)), with(0, DEVIATION_RANGE, 2));
    near(form_least(&x, false), 10 - 0.7 - 2);
    near(form_greatest(&x, false), 10 + 0.7 + 2);
    near(form_least(&x, true), 10 - 0.5 - 2);
    near(form_greatest(&x, true), 10 + 0.5 + 2);
    near(form_best(&x, false), 10 - 0.7 + 2);
    near(form_best(&x, true), 10 - 0.5 + 2);
    struct form nominal;
    form_nominal_range(&nominal, &x);
    near(nominal.low, 8);
    near(nominal.high, 12);
    cr_assert_eq(nominal.count, 1);
    near(form_least(&nominal, true), 8);
    struct form same = subtract(nominal, nominal);
    near(same.high - same.low, 0);
    form_nominal(&nominal, &x);
    near(nominal.low, 10);
    struct form plain = with(10, 1, 0.3);
    near(form_best(&plain, false), 9.7);
    form_nominal_range(&plain, &plain);
    near(plain.high - plain.low, 0);
}

/* For each number of the range the least margin lies between those of the whole. */
Test(form, a_range_encloses_each_of_its_numbers)
{
    for (int i = -50; i <= 50; i++) {
        double at = i / 50.0;
        struct form range = add(with(1, DEVIATION_RANGE, 1), with(0, 1, 0.1));
        struct form one = with(1 + at, 1, 0.1), y = with(0.5, 2, 0.2);
        struct form whole[] = {subtract(multiply(range, range), y), maximum(range, y),
                               absolute(subtract(range, y)),
                               minimum(multiply(range, y), range)};
        struct form each[] = {subtract(multiply(one, one), y), maximum(one, y),
                              absolute(subtract(one, y)), minimum(multiply(one, y), one)};
        for (size_t k = 0; k < sizeof whole / sizeof *whole; k++) {
            double least = form_least(&each[k], false);
            cr_assert_leq(form_least(&whole[k], false), least + 1e-12, "%zu at %g", k, at);
            cr_assert_geq(form_best(&whole[k], false) + 1e-12, least, "%zu at %g", k, at);
        }
    }
}

Test(form, what_may_be_one_of_two_or_more)
{
    struct form x = with(2, 1, 0.5), y = with(7, 2, 1), out;
    form_either(&out, &x, &y);
    near(out.low, 1.5);
    near(out.high, 8);
    near(out.rest, 3.25);
    cr_assert_eq(out.count, 0);
    form_either(&out, &y, &x);
    near(out.low, 1.5);
    near(out.high, 8);
    form_at_least(&out, 3);
    near(out.low, 3);
    near(form_least(&out, true), 3);
    cr_assert_gt(form_best(&out, false), 1e6);
    cr_assert_gt(form_greatest(&out, false), 1e6);
    cr_assert(form_is_finite(&out));
}

Test(form, settles_rounding)
{
    /* 16.03 mm against 10 mm + 6 mm + 0.03 mm, in metres. */
    struct form sum = add(add(exact(0.010), exact(0.006)), exact(0.00003));
    struct form spare = subtract(exact(0.01603), sum);
    cr_expect(form_settle(&spare, spare.low) == 0);
    spare = subtract(sum, exact(0.01603));
    cr_expect(form_settle(&spare, spare.low) == 0);
    /* The same with tolerances: 0.05 - 0.02 against 0.03. */
    spare = subtract(with(0.05, A, 0.02), exact(0.03));
    cr_expect(form_settle(&spare, spare.low) == 0);
    /* One digit less than a thousandth of a micrometre is still there. */
    spare = subtract(exact(0.01603), add(exact(0.01), exact(0.0060300001)));
    cr_expect(form_settle(&spare, spare.low) == spare.low && spare.low < 0);
    /* 8 units in the last place are nothing, 9 are something. */
    struct form one = exact(1.5);
    cr_expect(form_settle(&one, 8 * DBL_EPSILON) == 0);
    cr_expect(form_settle(&one, -8 * DBL_EPSILON) == 0);
    cr_expect(form_settle(&one, 9 * DBL_EPSILON) == 9 * DBL_EPSILON);
    cr_expect(form_settle(&one, -9 * DBL_EPSILON) == -9 * DBL_EPSILON);
    one = exact(1.999999);
    cr_expect(form_settle(&one, 8 * DBL_EPSILON) == 0);
    cr_expect(form_settle(&one, 9 * DBL_EPSILON) != 0);
    one = exact(2);
    cr_expect(form_settle(&one, 16 * DBL_EPSILON) == 0);
    one = exact(0);
    cr_expect(form_settle(&one, 1e-300) == 1e-300 && form_settle(&one, 0) == 0);
}

Test(form, scale_remembers_what_cancelled)
{
    /* 1000.1 - 1000 is 0.1 and the noise of thousands; so is its product with 2. */
    struct form small = subtract(exact(1000.1), exact(1000));
    cr_expect(small.scale == 1000.1);
    cr_expect(multiply(small, exact(2)).scale == 2000.2);
    cr_expect(divide(small, exact(2)).scale == 500.05);
    struct form spare = subtract(multiply(small, exact(2)), exact(0.2));
    cr_assert(spare.mid != 0);
    cr_expect(form_settle(&spare, spare.mid) == 0);
    /* A product of two plain numbers is as large as it is. */
    cr_expect(multiply(exact(3), exact(-4)).scale == 12);
    cr_expect(divide(exact(3), exact(-4)).scale == 0.75);
}

Test(form, finite)
{
    struct form x = exact(1e200), y;
    cr_expect(form_is_finite(&x));
    y = multiply(x, x);
    cr_expect(!form_is_finite(&y));
    y = subtract(y, y);
    cr_expect(!form_is_finite(&y));
    y = multiply(with(1e200, A, 1e199), with(1e200, B, 1e199));
    cr_expect(!form_is_finite(&y));
    y = divide(exact(1e200), exact(1e-200));
    cr_expect(!form_is_finite(&y));
    y = exact(NAN);
    cr_expect(!form_is_finite(&y));
    y = with(0, A, INFINITY);
    cr_expect(!form_is_finite(&y));
}

/* The trade's own: what is commanded is nominal, what is true has its tolerance. */
Test(form, a_gap_keeps_its_tolerance)
{
    struct form contact = with(-0.06, A, 0.0005), stickout = with(0.04, B, 0.00635), said,
                known;
    form_nominal(&said, &contact);
    form_nominal(&known, &stickout);
    struct form approach = add(add(said, known), exact(0.019));
    struct form gap = subtract(approach, add(contact, stickout));
    check(gap, 0.019 - 0.00685, 0.019, 0.019 + 0.00685);
}
