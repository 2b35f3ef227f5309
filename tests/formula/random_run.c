#include "random_run.h"

#include <stdio.h>

#include "base/bug.h"
#include "formula/compile.h"
#include "quantity/number.h"
#include "world.h"

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
    if (trouble)
        BUG("%s: %s", path, trouble);
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
    BUG("%s at %u..%u: %s", (const char *)user, start, end, message);
}

static void define_all(struct formula_builder *builder, struct arena *arena,
                       const struct tree *definitions[DEFINITIONS])
{
    struct place place = {.arena = arena, .cutter = true};
    for (int i = 0; i < DEFINITIONS; i++) {
        struct buffer body;
        buffer_init(&body, arena);
        definitions[i] = tree_make(&place, 1, RUN_DEPTH - 2);
        tree_write(&body, definitions[i], "k");
        formula_define(builder, view_of(arena_format(arena, "d%d(k)", i)), 0,
                       buffer_view(&body), 0);
    }
}

void random_run(int count, void (*look)(void *user, const struct asked_formula *asked),
                void *user)
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
    BUG_UNLESS(formula_each(builder, view_of("cutter in cutters"), 0, &scope));
    uint32_t anything = formula_requirement(builder, &scope, view_of("yes"), 0);
    struct place place = {.arena = &arena, .cutter = true, .calls = true, .lists = true};
    struct asked_formula *asked = ARENA_ARRAY(&arena, struct asked_formula, (size_t)count);
    uint32_t *nodes = ARENA_ARRAY(&arena, uint32_t, (size_t)count);
    for (int i = 0; i < count; i++) {
        struct buffer text;
        buffer_init(&text, &arena);
        asked[i].tree = tree_make(&place, 1, RUN_DEPTH);
        asked[i].definitions = definitions;
        tree_write(&text, asked[i].tree, "cutter");
        asked[i].text = buffer_string(&text);
        snprintf(now, sizeof now, "%s", asked[i].text);
        nodes[i] = formula_shown(builder, &scope, anything, view_of(asked[i].text), 0);
    }
    struct program program;
    formula_finish(builder, &program);
    struct environment_values values = world_values(&world);
    struct evaluator *evaluator = evaluator_new(&arena, &program, &values, 0);
    evaluator_bind(evaluator, scope.slot, (struct record_value){KIND_CUTTER, true, RUN_CUTTER});
    for (int i = 0; i < count; i++) {
        asked[i].known = evaluate_quantity(evaluator, nodes[i], &asked[i].form);
        look(user, &asked[i]);
    }
    arena_free(&arena);
}
