#include "shop.h"

#include <criterion/criterion.h>

#include "propose/seek.h"

const struct field_place shop_sideways[SHOP_PLACES] = {{FIELD_CHANGE_PARK_X, 0, 0},
                                                       {FIELD_CHANGE_PARK_Y, 0, 0}};

const struct field_place shop_places[SHOP_PLACES] = {{FIELD_CHANGE_STANDOFF, 0, 0},
                                                     {FIELD_CHANGE_PROBE_STROKE, 0, 0}};

static const char *rule_text(struct arena *arena, size_t number, const char *formula)
{
    return arena_format(
        arena,
        "  house-%zu:\n    level: error\n    hurts: work\n    require: %s\n"
        "    says: no\n    why: so\n    put_right: turn it\n    source: a test\n    examples:\n"
        "      holds: [{change.standoff: 1 mm}, {change.standoff: 2 mm}]\n"
        "      fails: [{change.standoff: 3 mm, margin: -1 mm}, {change.standoff: 4 mm}]\n",
        number, formula);
}

/* The machine of the rules' examples. */
static void read_machine(struct shop *shop)
{
    for (size_t i = 0; i < builtin_text_count; i++)
        if (strcmp(builtin_texts[i].name, "rules/base-machine.yaml") == 0)
            source_init(&shop->source, &shop->arena, view_of("machine.yaml"),
                        (struct view){builtin_texts[i].bytes, builtin_texts[i].size});
    sink_init(&shop->sink, &shop->arena, &shop->source);
    tree_read(&shop->tree, &shop->arena, &shop->source, &shop->sink);
    machine_read(&shop->machine, &shop->arena, &shop->tree, &shop->sink);
}

void read_shop(struct shop *shop, const char *const *formulas, size_t count)
{
    *shop = (struct shop){0};
    arena_init(&shop->arena, NULL);
    read_machine(shop);
    const char *text = "rulebook: 1\ntitle: shop\nrules:\n";
    for (size_t i = 0; i < count; i++)
        text =
            arena_format(&shop->arena, "%s%s", text, rule_text(&shop->arena, i, formulas[i]));
    const struct rulebook_text texts[] = {{"shop.yaml", text, strlen(text)}};
    struct rulebook_mistakes mistakes = {.arena = &shop->arena};
    cr_assert(rulebook_load(&mistakes, texts, 1, NULL, 0, &shop->book), "%s\n%s",
              mistakes.list.count ? mistakes.list.items[0].message : "?", text);
    const struct rulebook *books[] = {&shop->book};
    runner_init(&shop->runner, &shop->arena, books, 1);
}

void open_shop(struct shop *shop, const char *const *formulas, size_t count)
{
    open_shop_of(shop, shop_places, formulas, count);
}

void open_shop_of(struct shop *shop, const struct field_place *places,
                  const char *const *formulas, size_t count)
{
    read_shop(shop, formulas, count);
    const struct margins_of of = {&shop->runner, &shop->arena, &shop->machine, NULL};
    margins_open(&of, places, SHOP_PLACES, &shop->margins);
    cr_assert_eq(shop->margins.stake_count, count);
    const struct knob *knobs = shop->margins.knobs;
    seek_ask(&shop->margins, (const double[]){knobs[0].now, knobs[1].now});
    margins_remember(&shop->margins);
}

void close_shop(struct shop *shop)
{
    arena_free(&shop->arena);
}
