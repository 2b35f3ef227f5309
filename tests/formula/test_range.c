/* One number, all its values at once: what is said to hold does so for each of them, what is
 * said to fail fails for each, and what is neither is open.
 */
#include <criterion/criterion.h>
#include <math.h>

#include "base/bug.h"
#include "formula/compile.h"
#include "world.h"

#define MOVED "change.standoff"

enum { SAMPLES = 41 };

/* The standoff goes from 4 to 8 mm, and has a tolerance of 0.5 mm. */
static const struct {
    const char *formula;
    enum { HOLDS, FAILS, OPEN } comes_to;
} cases[] = {
    {MOVED " > 3 mm", HOLDS},
    {MOVED " > 4.25 mm", OPEN},
    {MOVED " > 3.75 mm", OPEN}, /* of the tolerance */
    {"nominal " MOVED " > 3.75 mm", HOLDS},
    {"nominal " MOVED " > 4.25 mm", OPEN},
    {MOVED " > 9 mm", FAILS},
    {"as_typed(" MOVED ") > 3.75 mm", HOLDS},
    {"as_typed(" MOVED ") > 4.25 mm", OPEN}, /* a name that stands for it moves with it */
    {"as_typed(" MOVED ") < 4.25 mm", OPEN},
    {"as_typed(" MOVED ") < 9 mm", HOLDS},
    {"as_typed(" MOVED ") > 8.25 mm", FAILS},
    {"twice(" MOVED ") > 8.5 mm", OPEN},
    {"twice(" MOVED ") > 6.5 mm", HOLDS},
    {"as_typed(" MOVED ") - nominal " MOVED " < 0.001 mm", HOLDS}, /* the same unknown */
    {"1 mm * " MOVED " / " MOVED " > 0.1 mm", HOLDS},
    {"(if " MOVED " > 6 mm then 1 mm else 2 mm) > 0.5 mm", HOLDS},
    {"(if " MOVED " > 6 mm then 1 mm else 2 mm) > 1.5 mm", OPEN},
    {"max(" MOVED ", 7 mm) > 6 mm", HOLDS},
    {"max(" MOVED ", 7 mm) > 7.25 mm", OPEN},
    {"abs(" MOVED " - 6 mm) < 3 mm", HOLDS},
    {"sqrt(" MOVED " / 1 mm - 6) >= 0", OPEN}, /* there is none for some */
    {MOVED " inside 3 mm .. 9 mm", HOLDS},
    {MOVED " inside 5 mm .. 9 mm", OPEN},
    {MOVED " inside 9 mm .. 12 mm", FAILS},
    {MOVED " > 3 mm and " MOVED " < 6 mm", OPEN},
    {MOVED " > 9 mm and " MOVED " < 6 mm", FAILS},
    {MOVED " > 9 mm or " MOVED " > 3 mm", HOLDS},
    {"change.stroke > 1 mm", HOLDS}, /* not its business */
};

enum { CASES = sizeof cases / sizeof *cases };

static struct arena arena;
static struct world world;
static struct program program;
static uint32_t nodes[CASES];

static void complain(void *user, uint32_t origin, uint32_t start, uint32_t end,
                     const char *message)
{
    (void)user, (void)start, (void)end;
    BUG("%s: %s", cases[origin].formula, message);
}

static void set(const char *path, const char *text)
{
    const char *trouble = world_set(&world, view_of(path), view_of(text));
    cr_assert_null(trouble, "%s: %s", path, trouble);
}

static void begin(void)
{
    arena_init(&arena, NULL);
    world_init(&world, &arena);
    set(MOVED, "6 mm +/- 0.5 mm");
    set("change.stroke", "30 mm");
    struct formula_builder *builder = formula_begin(&arena, &world_environment, complain, NULL);
    formula_define(builder, view_of("as_typed(q)"), 0, view_of("nominal q"), 0);
    formula_define(builder, view_of("twice(q)"), 0, view_of("2 * q"), 0);
    for (uint32_t i = 0; i < CASES; i++)
        nodes[i] = formula_requirement(builder, NULL, view_of(cases[i].formula), i);
    formula_finish(builder, &program);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(range, .init = begin, .fini = end);

static uint16_t moved_leaf(void)
{
    uint16_t leaf = 0;
    while (strcmp(world_path(&arena, leaf, 0, 0), MOVED) != 0)
        leaf++;
    return leaf;
}

static struct evaluator *asked_from(double low, double high)
{
    struct environment_values values = world_values(&world);
    struct evaluator *evaluator = evaluator_new(&arena, &program, &values, 0);
    struct formula_change *change = ARENA_NEW(&arena, struct formula_change);
    bool *leaves = ARENA_ARRAY(&arena, bool, world_leaf_count());
    struct formula_range range = {.leaf = moved_leaf(), .half = (high - low) / 2};
    leaves[range.leaf] = true;
    formula_change_find(change, &arena, &program, leaves);
    evaluator_change(evaluator, change);
    evaluator_range(evaluator, change, &range);
    return evaluator;
}

Test(range, all_values_at_once)
{
    struct evaluator *evaluator = asked_from(0.004, 0.008);
    for (size_t i = 0; i < CASES; i++) {
        struct verdict verdict;
        evaluate_requirement(evaluator, nodes[i], false, &verdict);
        cr_expect_eq(verdict.truth,
                     cases[i].comes_to == HOLDS   ? TRUTH_TRUE
                     : cases[i].comes_to == FAILS ? TRUTH_FALSE
                                                  : TRUTH_UNKNOWN,
                     "%s: %d", cases[i].formula, verdict.truth);
        cr_expect_eq(verdict.open, cases[i].comes_to == OPEN, "%s", cases[i].formula);
    }
}

/* The same value by value: none may come out otherwise than all of them did. */
Test(range, one_value_after_another)
{
    struct world_value *value = world_at(&world, moved_leaf(), 0);
    size_t differ[CASES] = {0}, seen[CASES][3] = {{0}};
    for (int k = 0; k < SAMPLES; k++) {
        value->number = 0.004 + 0.004 * k / (SAMPLES - 1);
        struct environment_values values = world_values(&world);
        struct evaluator *evaluator = evaluator_new(&arena, &program, &values, 0);
        for (size_t i = 0; i < CASES; i++) {
            struct verdict verdict;
            evaluate_requirement(evaluator, nodes[i], false, &verdict);
            seen[i][verdict.truth]++;
            differ[i] += (cases[i].comes_to == HOLDS && verdict.truth != TRUTH_TRUE) ||
                         (cases[i].comes_to == FAILS && verdict.truth != TRUTH_FALSE);
        }
    }
    for (size_t i = 0; i < CASES; i++) {
        bool alike = seen[i][TRUTH_TRUE] == SAMPLES || seen[i][TRUTH_FALSE] == SAMPLES;
        cr_expect_eq(differ[i], 0, "%s: differs at %zu", cases[i].formula, differ[i]);
        cr_expect(cases[i].comes_to != OPEN || !alike, "%s: is the same for all",
                  cases[i].formula);
    }
}
