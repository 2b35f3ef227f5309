/* Searches under rules of a shop's own, in two numbers: what they come to can be worked out by
 * hand, or by trying every corner. */
#include <criterion/criterion.h>

#include <math.h>

#include "propose/seek.h"
#include "shop.h"

enum { RULES_MAX = 8, SCENES = 300, GRID = 48 };

static const double mm = 1e-3;

static const bool both[2] = {true, true};

static double scale(const struct shop *shop, size_t rule)
{
    return shop->margins.stakes[rule].scale;
}

static struct sought greatest(struct shop *shop, const bool *moves)
{
    struct sought found;
    seek_greatest(&shop->margins, moves, (const double[]){12 * mm, 20 * mm}, &found);
    return found;
}

/* Between two limits, each margin by its own scale. */
Test(seek, between_two_limits)
{
    struct shop shop;
    OPEN(&shop, A " >= 20 mm", A " <= 21 mm");
    struct sought found = greatest(&shop, both);
    double wanted = 1 * mm / (scale(&shop, 0) + scale(&shop, 1));
    cr_expect_float_eq(found.least, wanted, 1e-8);
    cr_expect_float_eq(found.x[0], 20 * mm + wanted * scale(&shop, 0), 1e-10);
    close_shop(&shop);
}

/* What there is to spare is shared out. */
Test(seek, three_share_a_millimetre)
{
    struct shop shop;
    OPEN(&shop, A " + " B " <= 40 mm", A " >= 19 mm", B " >= 20 mm");
    struct sought found = greatest(&shop, both);
    double wanted = 1 * mm / (scale(&shop, 0) + scale(&shop, 1) + scale(&shop, 2));
    cr_expect_float_eq(found.least, wanted, 1e-8);
    cr_expect_float_eq(found.x[0], 19 * mm + wanted * scale(&shop, 1), 1e-10);
    cr_expect_float_eq(found.x[1], 20 * mm + wanted * scale(&shop, 2), 1e-10);
    close_shop(&shop);
}

/* The straight continuation of this margin leads far past the place where it bends. */
Test(seek, comes_to_the_top_of_a_curve)
{
    struct shop shop;
    OPEN(&shop, "hypot(" A " - 17 mm, " B " - 26 mm) <= 0.5 mm");
    struct sought found = greatest(&shop, both);
    cr_expect_float_eq(found.least, 0.5 * mm / scale(&shop, 0), 0.02 * mm / scale(&shop, 0));
    cr_expect_float_eq(found.x[0], 17 * mm, 0.02 * mm);
    cr_expect_float_eq(found.x[1], 26 * mm, 0.02 * mm);
    close_shop(&shop);
}

Test(seek, moves_only_what_it_may)
{
    struct shop shop;
    OPEN(&shop, A " + " B " >= 40 mm", A " <= 21 mm");
    struct sought found = greatest(&shop, (const bool[]){true, false});
    cr_expect_eq(found.x[1], 20 * mm);
    cr_expect_float_eq(found.least, 1 * mm / (scale(&shop, 0) + scale(&shop, 1)), 1e-8);
    close_shop(&shop);
}

/* Nothing that may change moves it, and it holds: that it is tight is no reason for anything.
 */
Test(seek, what_stands_still_is_no_limit)
{
    struct shop shop;
    OPEN(&shop, A " >= 20 mm", A " <= 21 mm", "0 * " A " + 1 mm >= 0.999 mm");
    struct sought found = greatest(&shop, both);
    cr_expect_float_eq(found.least, 1 * mm / (scale(&shop, 0) + scale(&shop, 1)), 1e-8);
    close_shop(&shop);
}

/* A rule without a margin that held before must not come to fail for the sake of others; one
 * that failed holds nothing back. */
Test(seek, without_a_margin)
{
    static const char word[] = "known sqrt((15 mm - " A ") / 1 mm)";
    static const char other[] = "known sqrt((" A " - 100 mm) / 1 mm)";
    struct shop shop;
    OPEN(&shop, A " >= 20 mm", word);
    cr_assert(!shop.margins.stakes[1].fails && !shop.margins.stakes[1].counts);
    cr_expect_eq(seek_ask(&shop.margins, (const double[]){30 * mm, 20 * mm}), -HUGE_VAL);
    cr_expect_lt(greatest(&shop, both).least, 0);
    close_shop(&shop);
    OPEN(&shop, A " >= 20 mm", other);
    cr_assert(shop.margins.stakes[1].fails && !shop.margins.stakes[1].counts);
    cr_expect_gt(greatest(&shop, both).least, 0);
    close_shop(&shop);
}

/* From where one fails that has none, to where it does not; where nothing mends it, it is told.
 */
Test(seek, from_where_something_without_a_margin_fails)
{
    struct shop shop;
    OPEN(&shop, A " <= 11 mm", "known sqrt((30 mm - " B ") / 1 mm)", B " <= 28 mm");
    struct sought found;
    seek_greatest(&shop.margins, both, (const double[]){10 * mm, 40 * mm}, &found);
    cr_expect_gt(found.least, 0);
    cr_expect_leq(found.x[1], 28 * mm);
    seek_greatest(&shop.margins, (const bool[]){true, false},
                  (const double[]){10 * mm, 40 * mm}, &found);
    cr_expect_eq(found.least, -HUGE_VAL);
    close_shop(&shop);
}

Test(seek, nearest_leaves_alone_what_need_not_change)
{
    struct shop shop;
    static const double weights[2] = {1, 1};
    OPEN(&shop, A " >= 18 mm", B " >= 15 mm");
    struct sought found = greatest(&shop, both);
    cr_assert_gt(found.least, 0);
    seek_nearest(&shop.margins, both, weights, 0, &found);
    cr_expect_float_eq(found.x[0], 18 * mm, 1e-8);
    cr_expect_float_eq(found.x[1], 20 * mm, 1e-12);
    cr_expect_float_eq(found.least, 0, 1e-6);
    close_shop(&shop);
}

/* The dearer of two changes that would do is not made. */
Test(seek, nearest_by_weight)
{
    for (size_t dear = 0; dear < 2; dear++) {
        struct shop shop;
        double weights[2] = {1, 1};
        weights[dear] = 50;
        OPEN(&shop, A " + " B " >= 40 mm");
        struct sought found = greatest(&shop, both);
        seek_nearest(&shop.margins, both, weights, 0, &found);
        cr_expect_float_eq(found.x[dear], (dear ? 20 : 12) * mm, 1e-8);
        cr_expect_float_eq(found.x[0] + found.x[1], 40 * mm, 1e-8);
        close_shop(&shop);
    }
}

/* From where all holds, and from the numbers of the file, where two do not. */
Test(seek, least_and_most_of_a_number)
{
    static const double numbers[][2] = {{1, 0}, {-1, 0}, {0, 1}, {0, -1}};
    static const double expected[] = {25, 36, 4, 15};
    for (size_t i = 0; i < 8; i++) {
        struct shop shop;
        const struct goal goal = {.numbers = numbers[i / 2]};
        OPEN(&shop, A " + " B " >= 40 mm", B " <= 15 mm", A " <= 36 mm", B " >= 4 mm");
        struct sought found = {.x = (double[]){12 * mm, 20 * mm}};
        found.least = seek_ask(&shop.margins, found.x);
        cr_assert_lt(found.least, 0);
        if (i % 2)
            found = greatest(&shop, both);
        seek_least(&shop.margins, both, &goal, 0, &found);
        cr_expect_geq(found.least, -1e-6);
        cr_expect_float_eq(found.x[i / 4], expected[i / 2] * mm, 1e-8);
        close_shop(&shop);
    }
}

static double sum_of_inverses(void *user, const double *x)
{
    return *(double *)user * (1 / x[0] + 1 / x[1]);
}

/* Of all pairs with the same sum the equal ones have the least sum of inverses. */
Test(seek, least_of_what_is_worked_out)
{
    struct shop shop;
    double size = 10 * mm;
    const struct goal goal = {.worked_out = sum_of_inverses, .user = &size};
    OPEN(&shop, A " + " B " <= 40 mm", A " >= 1 mm", B " >= 1 mm");
    struct sought found = greatest(&shop, both);
    seek_least(&shop.margins, both, &goal, 0, &found);
    cr_expect_float_eq(seek_value(&shop.margins, &goal, found.x), 1, 1e-4);
    cr_expect_float_eq(found.x[0], 20 * mm, 0.2 * mm);
    cr_expect_float_eq(found.x[1], 20 * mm, 0.2 * mm);
    close_shop(&shop);
}

/* All three parts at once: what the change costs is less than what it brings. */
Test(seek, least_of_a_sum)
{
    struct shop shop;
    static const double changes[2] = {1, 1}, numbers[2] = {2, -0.5};
    const struct goal goal = {.changes = changes, .numbers = numbers};
    OPEN(&shop, A " >= 5 mm", B " <= 30 mm", B " >= 1 mm");
    struct sought found = greatest(&shop, both);
    seek_least(&shop.margins, both, &goal, 0, &found);
    cr_expect_float_eq(found.x[0], 5 * mm, 1e-8);
    cr_expect_float_eq(found.x[1], 20 * mm, 1e-8);
    close_shop(&shop);
}

static bool is_in(const struct stake **group, size_t count, const struct shop *shop,
                  size_t rule)
{
    for (size_t i = 0; i < count; i++)
        if (group[i] == &shop->margins.stakes[rule])
            return true;
    return false;
}

Test(conflict, names_no_bystander)
{
    struct shop shop;
    size_t count;
    OPEN(&shop, A " <= 60 mm", A " >= 30 mm", B " >= 1 mm", A " + " B " <= 45 mm",
         B " >= 20 mm");
    struct sought found = greatest(&shop, both);
    cr_expect_lt(found.least, 0);
    const struct stake **group = conflict_find(&shop.margins, both, found.x, &count);
    cr_expect_eq(count, 3);
    cr_expect(is_in(group, count, &shop, 1) && is_in(group, count, &shop, 3) &&
              is_in(group, count, &shop, 4));
    close_shop(&shop);
}

Test(conflict, is_one_where_there_are_two)
{
    struct shop shop;
    size_t count;
    OPEN(&shop, A " >= 30 mm", A " <= 29 mm", B " >= 31 mm", B " <= 25 mm");
    struct sought found = greatest(&shop, both);
    const struct stake **group = conflict_find(&shop.margins, both, found.x, &count);
    cr_expect_eq(count, 2);
    cr_expect(is_in(group, count, &shop, 2) && is_in(group, count, &shop, 3), "the worse one");
    close_shop(&shop);
}

/* Scenes at random: half planes, whose corners are all tried. */

/* at[0] * A + at[1] * B + rest >= 0 */
struct half_plane {
    double at[2], rest;
};

static uint64_t state;

static int draw(int low, int high)
{
    state = state * 6364136223846793005u + 1442695040888963407u;
    return low + (int)((state >> 33) % (uint64_t)(high - low + 1));
}

static const char *draw_rule(struct arena *arena, struct half_plane *out)
{
    int a, b, rest = draw(-90, 90);
    do {
        a = draw(-3, 3), b = draw(-3, 3);
    } while (!a && !b);
    *out = (struct half_plane){{a, b}, rest * mm};
    return arena_format(arena,
                        "%d * " A " + %d * " B " + %d mm >= %d * " A " + %d * " B " + %d mm",
                        a > 0 ? a : 0, b > 0 ? b : 0, rest > 0 ? rest : 0, a < 0 ? -a : 0,
                        b < 0 ? -b : 0, rest < 0 ? -rest : 0);
}

/* Is there a place, as far as the numbers may go, at which all of those marked hold?  If so, a
 * corner is one. */
static bool is_possible(const struct shop *shop, const struct half_plane *planes, size_t count,
                        const bool *in)
{
    struct half_plane all[RULES_MAX + 4];
    size_t used = 0;
    for (size_t i = 0; i < count; i++)
        if (in[i])
            all[used++] = planes[i];
    for (size_t k = 0; k < 2; k++) {
        all[used++] = (struct half_plane){{k == 0, k == 1}, -shop->margins.knobs[k].low};
        all[used++] = (struct half_plane){{-(k == 0), -(k == 1)}, shop->margins.knobs[k].high};
    }
    for (size_t i = 0; i < used; i++)
        for (size_t j = 0; j < i; j++) {
            const struct half_plane *p = &all[i], *q = &all[j];
            double determinant = p->at[0] * q->at[1] - p->at[1] * q->at[0];
            double x = (p->at[1] * q->rest - q->at[1] * p->rest) / determinant;
            double y = (q->at[0] * p->rest - p->at[0] * q->rest) / determinant;
            bool holds = determinant != 0;
            for (size_t k = 0; k < used && holds; k++)
                holds = all[k].at[0] * x + all[k].at[1] * y + all[k].rest >= -1e-9;
            if (holds)
                return true;
        }
    return false;
}

static size_t possible, impossible;

/* No place of a grid is better. */
static void expect_greatest(struct shop *shop, const struct sought *found, size_t scene)
{
    const struct knob *knobs = shop->margins.knobs;
    for (int i = 0; i <= GRID; i++)
        for (int j = 0; j <= GRID; j++) {
            double x[2] = {knobs[0].low + (knobs[0].high - knobs[0].low) * i / GRID,
                           knobs[1].low + (knobs[1].high - knobs[1].low) * j / GRID};
            double there = fmin(2, seek_ask(&shop->margins, x)); /* twice its scale is enough */
            cr_assert_leq(there, found->least + 1e-5 * fmax(1, fabs(there)),
                          "scene %zu: %g at %g, %g", scene, there, x[0], x[1]);
        }
}

/* As few as will do: with any one of them left out the others can hold. */
static void expect_conflict(struct shop *shop, const struct half_plane *planes, size_t count,
                            const struct sought *found, size_t scene)
{
    bool in[RULES_MAX] = {false};
    size_t size;
    const struct stake **group = conflict_find(&shop->margins, both, found->x, &size);
    for (size_t i = 0; i < size; i++)
        in[group[i] - shop->margins.stakes] = true;
    cr_expect(size > 0 && !is_possible(shop, planes, count, in), "scene %zu: no conflict",
              scene);
    cr_expect(proof_stands(&shop->margins, group, size, found->x) || found->least > -1e-4,
              "scene %zu: not proved, least %g", scene, found->least);
    cr_expect(!proof_stands(&shop->margins, group, size - 1, found->x), "scene %zu: proved",
              scene);
    for (size_t i = 0; i < count; i++) {
        if (!in[i])
            continue;
        in[i] = false;
        cr_expect(is_possible(shop, planes, count, in), "scene %zu: a bystander, %zu", scene,
                  i);
        in[i] = true;
    }
}

Test(seek, half_planes)
{
    static struct shop shop;
    for (size_t scene = 0; scene < SCENES; scene++) {
        struct half_plane planes[RULES_MAX];
        const char *formulas[RULES_MAX];
        bool all[RULES_MAX];
        struct arena space;
        state = scene * 7919 + 11;
        size_t count = (size_t)draw(2, RULES_MAX);
        arena_init(&space, NULL);
        for (size_t i = 0; i < count; i++) {
            formulas[i] = draw_rule(&space, &planes[i]);
            all[i] = true;
        }
        open_shop(&shop, formulas, count);
        struct sought found = greatest(&shop, both);
        bool can = is_possible(&shop, planes, count, all);
        can ? possible++ : impossible++;
        cr_expect_eq(found.least >= SEEK_HOLDS, can, "scene %zu: least %g", scene, found.least);
        if (can || scene % 4 == 0)
            expect_greatest(&shop, &found, scene);
        if (!can)
            expect_conflict(&shop, planes, count, &found, scene);
        close_shop(&shop);
        arena_free(&space);
    }
    cr_expect(possible > SCENES / 8 && impossible > SCENES / 8, "%zu possible, %zu not",
              possible, impossible);
}

/* A bend at the beginning, past which it goes straight on: whoever never looks farther again
 * does not arrive. */
Test(seek, looks_farther_past_a_bend)
{
    struct shop shop;
    OPEN(&shop, A " ± 1 mm >= 70 mm",
         B " - 19.5 mm ± 0.05 mm <= combined(" A " - 12 mm, 0.5 mm) + 0.2 mm",
         B " - 19.3 mm ± 0.05 mm >= combined(" A " - 12 mm, 0.5 mm)");
    struct sought found = greatest(&shop, both);
    cr_expect_gt(found.x[0], 70 * mm, "%g %g %g", found.x[0], found.x[1], found.least);
    close_shop(&shop);
}

/* About a place where only one of two falls shortest, the other has its part in it all the
 * same.
 */
Test(conflict, is_not_only_what_decides)
{
    struct shop shop;
    size_t count;
    OPEN(&shop, A " >= 20 mm", A " <= 10 mm", B " >= 1 mm");
    const struct stake **group =
        conflict_find(&shop.margins, both, (const double[]){12 * mm, 20 * mm}, &count);
    cr_expect_eq(count, 2);
    cr_expect(is_in(group, count, &shop, 0) && is_in(group, count, &shop, 1));
    close_shop(&shop);
}

/* What differs by no more than a search leaves open decides together; what differs by more does
 * not, though it is nearly as bad. */
Test(conflict, decides_together)
{
    for (int nearly = 0; nearly < 2; nearly++) {
        struct shop shop;
        size_t count;
        OPEN(&shop, A " ± 1 mm >= 20 mm", A " ± 1 mm <= 10 mm", B " ± 1 mm >= 30 mm",
             B " ± 1 mm <= 20.00012 mm");
        const double x[] = {15 * mm + nearly * 2e-6 * mm, 25.00006 * mm};
        const struct stake **group = conflict_find(&shop.margins, both, x, &count);
        cr_expect_eq(count, 2);
        cr_expect(is_in(group, count, &shop, 0) && is_in(group, count, &shop, 1));
        close_shop(&shop);
    }
}
