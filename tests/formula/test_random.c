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
#include <stdio.h>

#include "formula/compile.h"
#include "formula/evaluate.h"
#include "quantity/number.h"
#include "random_tree.h"
#include "world.h"

enum { FORMULAS = 100000, A_PROGRAM = 250, SAMPLES = 8, DEPTH = 5 };

/* Comparing. */

static void set_field(struct world *world, const char *path, double values[2])
{
    char text[80], width[40];
    struct arena *arena = world->arena;
    int mid = 1 + random_pick(800), tolerance = random_pick(3) ? random_pick(64) : 0;
    if (random_pick(4) == 0)
        mid = -mid;
    snprintf(width, sizeof width, "%s", number_exact(arena, tolerance / 64.0));
    snprintf(text, sizeof text, "%s mm +/- %s mm", number_exact(arena, mid / 16.0), width);
    const char *trouble = world_set(world, view_of(path), view_of(text));
    cr_assert_null(trouble, "%s: %s", path, trouble);
    values[0] = mid / 16.0 * 0.001;
    values[1] = tolerance / 64.0 * 0.001;
}

static void set_world(struct world *world)
{
    for (int i = 0; i < ROOT_FIELDS; i++)
        set_field(world, root_fields[i], root_values[i]);
    for (int i = 0; i < CUTTERS; i++)
        for (int k = 0; k < CUTTER_FIELDS; k++)
            set_field(world, arena_format(world->arena, "cutters[%d].%s", i, cutter_fields[k]),
                      cutter_values[i][k]);
}

static void no_report(void *user, uint32_t origin, uint32_t start, uint32_t end,
                      const char *message)
{
    (void)origin;
    cr_assert_fail("%s at %u..%u: %s", (const char *)user, start, end, message);
}

/* How many formulas had a value, so that the test is known to test. */
static size_t compared;

static void check(const struct tree *t, const struct form *form, bool known,
                  const struct tree *const *definitions, const char *text)
{
    bool undefined = false;
    struct way way = {.mode = AS_TYPED,
                      .definitions = definitions,
                      .records = {1, 0},
                      .count = 1,
                      .undefined = &undefined};
    double nominal = tree_value(&way, t).low;
    way.mode = AS_INTERVAL;
    struct range plain = tree_value(&way, t);
    if (undefined || !isfinite(plain.low) || !isfinite(plain.high))
        return;
    cr_assert(known, "not known: %s", text);
    compared++;
    double slack = 1e-9 * (form->scale + fabs(plain.low) + fabs(plain.high)) + 1e-12;
    cr_assert(fabs(form->mid - nominal) <= slack, "%s: %g, not %g", text, form->mid, nominal);
    cr_assert(form->low >= plain.low - slack && form->high <= plain.high + slack,
              "%s: %g..%g is wider than %g..%g", text, form->low, form->high, plain.low,
              plain.high);
    way.mode = AS_SAMPLED;
    for (way.sample = 1; way.sample <= SAMPLES; way.sample++) {
        double x = tree_value(&way, t).low;
        cr_assert(x >= form->low - slack && x <= form->high + slack,
                  "%s: %g lies outside %g..%g", text, x, form->low, form->high);
    }
}

static void define_all(struct formula_builder *builder, struct arena *arena,
                       const struct tree *definitions[DEFINITIONS])
{
    struct place place = {.arena = arena, .cutter = true};
    for (int i = 0; i < DEFINITIONS; i++) {
        struct buffer body;
        buffer_init(&body, arena);
        definitions[i] = tree_make(&place, 1, DEPTH - 2);
        tree_write(&body, definitions[i], "k");
        formula_define(builder, view_of(arena_format(arena, "d%d(k)", i)), 0,
                       buffer_view(&body), 0);
    }
}

/* One program of many formulas against one world; returns how many were compared. */
static void run_program(int count)
{
    struct arena arena;
    arena_init(&arena, NULL);
    struct world world;
    world_init(&world, &arena);
    set_world(&world);
    char now[4096] = "a definition";
    struct formula_builder *builder = formula_begin(&arena, &world_environment, no_report, now);
    const struct tree *definitions[DEFINITIONS];
    define_all(builder, &arena, definitions);
    struct formula_scope scope;
    cr_assert(formula_each(builder, view_of("cutter in cutters"), 0, &scope));
    uint32_t anything = formula_requirement(builder, &scope, view_of("yes"), 0);
    struct place place = {.arena = &arena, .cutter = true, .calls = true, .lists = true};
    const struct tree **trees = ARENA_ARRAY(&arena, const struct tree *, (size_t)count);
    const char **texts = ARENA_ARRAY(&arena, const char *, (size_t)count);
    uint32_t *nodes = ARENA_ARRAY(&arena, uint32_t, (size_t)count);
    for (int i = 0; i < count; i++) {
        struct buffer text;
        buffer_init(&text, &arena);
        trees[i] = tree_make(&place, 1, DEPTH);
        tree_write(&text, trees[i], "cutter");
        texts[i] = buffer_string(&text);
        snprintf(now, sizeof now, "%s", texts[i]);
        nodes[i] = formula_shown(builder, &scope, anything, view_of(texts[i]), 0);
    }
    struct program program;
    formula_finish(builder, &program);
    struct environment_values values = world_values(&world);
    struct evaluator *evaluator = evaluator_new(&arena, &program, &values, 0);
    evaluator_bind(evaluator, scope.slot, (struct record_value){KIND_CUTTER, true, 1});
    for (int i = 0; i < count; i++) {
        struct form form = {0};
        bool known = evaluate_quantity(evaluator, nodes[i], &form);
        check(trees[i], &form, known, definitions, texts[i]);
    }
    arena_free(&arena);
}

Test(random, bounds_hold_and_never_say_less_than_intervals)
{
    for (int done = 0; done < FORMULAS; done += A_PROGRAM)
        run_program(A_PROGRAM);
    cr_assert(compared > FORMULAS / 2, "only %zu had a value", compared);
}
