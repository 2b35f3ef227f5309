/* Windows under rules of a shop's own: whatever they make of a number, a window has no holes.
 *
 * Formulas are drawn at random with narrow places where they hold or fail; what a window says
 * of them is held against asking the rule at thousands of places.
 */
#include <criterion/criterion.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "rules/rulebook.h"
#include "rules/search.h"

enum { FORMULAS = 400, PLACES = 3000, DEPTH = 3 };

/* Numbers at random, the same in every run. */
static uint64_t state;

static uint32_t draw(uint32_t below)
{
    state = state * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)((state >> 33) % below);
}

static double draw_between(double low, double high)
{
    return low + (high - low) * draw(1000001) / 1e6;
}

struct shop {
    struct arena arena, run;
    struct machine machine;
    struct rulebook book;
    struct runner runner;
    struct window_question asking;
};

static struct view builtin_file(const char *name)
{
    for (size_t i = 0; i < builtin_text_count; i++)
        if (strcmp(builtin_texts[i].name, name) == 0)
            return (struct view){builtin_texts[i].bytes, builtin_texts[i].size};
    cr_assert_fail("%s is not there", name);
    return (struct view){NULL, 0};
}

/* The machine of the examples under one rule: `rest` has its formula, and what else belongs
 * before `says`. */
static void open_shop(struct shop *shop, const char *rest)
{
    static struct source source;
    static struct finding_sink sink;
    static struct tree tree;
    arena_init(&shop->arena, NULL);
    arena_init(&shop->run, NULL);
    source_init(&source, &shop->arena, view_of("machine.yaml"),
                builtin_file("rules/base-machine.yaml"));
    sink_init(&sink, &shop->arena, &source);
    tree_read(&tree, &shop->arena, &source, &sink);
    machine_read(&shop->machine, &shop->arena, &tree, &sink);
    const char *text = arena_format(
        &shop->arena,
        "rulebook: 1\ntitle: shop\nrules:\n  house:\n"
        "    level: error\n    hurts: work\n%s"
        "    says: no\n    why: so\n    put_right: turn it\n"
        "    source: a test\n    examples:\n"
        "      holds: [{change.standoff: 1 mm}, {change.standoff: 2 mm}]\n"
        "      fails: [{change.standoff: 3 mm, margin: -1 mm}, {change.standoff: 4 mm}]\n",
        rest);
    const struct rulebook_text texts[] = {{"shop.yaml", text, strlen(text)}};
    struct rulebook_mistakes mistakes = {.arena = &shop->arena};
    bool loaded = rulebook_load(&mistakes, texts, 1, NULL, 0, &shop->book);
    cr_assert(loaded, "%s: %s", rest,
              mistakes.list.count ? mistakes.list.items[0].message : "?");
    const struct rulebook *books[] = {&shop->book};
    runner_init(&shop->runner, &shop->arena, books, 1);
    shop->asking = (struct window_question){&shop->runner, &shop->arena, &shop->machine, NULL};
}

static void close_shop(struct shop *shop)
{
    arena_free(&shop->run);
    arena_free(&shop->arena);
}

static struct field_value *value_of(struct shop *shop, enum field_id field)
{
    return machine_field_put(&shop->machine, field, 0);
}

static bool fails(struct shop *shop, enum field_id field, double x)
{
    struct field_value *value = value_of(shop, field);
    const struct field_value kept = *value;
    value->si = x;
    arena_reset(&shop->run);
    runner_run(&shop->runner, &shop->run, &shop->machine, false);
    *value = kept;
    return shop->runner.results[0].failed > 0;
}

/* The ends of a window, or how far it was looked. */
static void find_reach(const struct shop *shop, const struct window *window, double reach[2])
{
    struct usual_range usual =
        machine_usual_range(&shop->machine, window->field, window->record, window->part);
    reach[0] =
        window->low.bounded && !window->empty ? window->low.si : fmin(usual.low, window->value);
    reach[1] = window->high.bounded && !window->empty ? window->high.si
                                                      : fmax(usual.high, window->value);
}

static size_t windows, empties, holes, unproved;

/* Does the rule fail just beyond an end?  It may be in a single place that it does.  Halving
 * comes as near to 0 as one likes, and never there. */
static void check_end(struct shop *shop, const struct window *window,
                      const struct window_end *end, int outward, const char *formula)
{
    bool failing = window->empty || !end->bounded || fabs(end->exact) < 1e-18 ||
                   fails(shop, window->field, nextafter(end->exact, outward * HUGE_VAL));
    for (double little = 1e-18; !failing && little < 1e-5; little *= 1.5)
        failing = fails(shop, window->field, end->exact + outward * little);
    cr_expect(failing, "holds beyond %s, %.17g: %s", end->text, end->exact, formula);
}

/* Is anything said of the window that is not so? */
static void check(struct shop *shop, const struct window *window, const char *formula)
{
    double reach[2];
    find_reach(shop, window, reach);
    windows++;
    empties += window->empty;
    unproved += !window->proved;
    for (int i = 0; i <= PLACES; i++) {
        double at = i == PLACES ? reach[1] : reach[0] + (reach[1] - reach[0]) * i / PLACES;
        bool failing = fails(shop, window->field, at);
        if (failing == window->empty || !window->proved)
            continue;
        holes++;
        cr_expect(false, "%s: %s at %.17g", formula, failing ? "fails" : "holds", at);
        return;
    }
    check_end(shop, window, &window->low, -1, formula);
    check_end(shop, window, &window->high, 1, formula);
}

static const char *draw_truth(struct arena *arena, unsigned depth);

/* A length, mostly with the number in it. */
static const char *draw_length(struct arena *arena, unsigned depth)
{
    static const char *const leaves[] = {"change.standoff", "nominal change.standoff",
                                         "change.standoff", "change.retract", "(4 mm ± 1 mm)"};
    static const char *const pairs[] = {
        "min(%s, %s)",
        "max(%s, %s)",
        "hypot(%s, %s)",
        "abs(%s - %s)",
        "(%s + %s)",
        "(%s - %s) / 2",
        "(%s * (%s) / 20 mm)",
        "(20 mm * (%s) / (%s))",
        "abs(%s - %s)",
        "(%s ± abs(%s) / 40)",
        "sqrt((%s) ^ 2 + 3 mm * (%s))",
        "nominal max(%s, %s)",
        "((20 mm) ^ 3 / (%s) ^ 2 - %s)",
        "((%s) / (%s) * 5 mm otherwise 7 mm)",
    };
    if (!depth || draw(5) == 0)
        return draw(3) ? leaves[draw(sizeof leaves / sizeof *leaves)]
                       : arena_format(arena, "%.*f mm", (int)draw(4), draw_between(1, 40));
    const char *one = draw_length(arena, depth - 1), *other = draw_length(arena, depth - 1);
    if (draw(8) == 0)
        return arena_format(arena, "(if %s then %s else %s)", draw_truth(arena, depth - 1), one,
                            other);
    if (draw(8) == 0) {
        uint32_t k = draw(1u << 24); /* names are not used twice */
        return arena_format(
            arena,
            "(largest k%u.stickout ± allowances.reseat for k%u in cutters where "
            "k%u.stickout > (%s) otherwise %s)",
            k, k, k, one, other);
    }
    return arena_format(arena, pairs[draw(sizeof pairs / sizeof *pairs)], one, other);
}

static const char *draw_truth(struct arena *arena, unsigned depth)
{
    static const char *const compares[] = {
        "(%s) >= (%s)",
        "(%s) <= (%s)",
        "(%s) > (%s)",
        "(not (%s) inside (%s) .. (%s) + 1 mm)",
        "(%s) inside (%s) .. (%s) + 6 mm",
        "abs((%s) - (%s)) >= 0.2 mm",
        "abs((%s) - (%s)) <= 0.4 mm",
        "((%s) - 3 mm) * ((%s) - 3.2 mm) / 1 mm >= 0 mm",
        "(known ((%s) / (%s)) or change.retract > 1 mm)",
        "(not (%s) == (%s))",
    };
    if (depth > 1 && draw(4) == 0)
        return arena_format(arena, draw(2) ? "(%s or %s)" : "(%s and %s)",
                            draw_truth(arena, depth - 1), draw_truth(arena, depth - 1));
    const char *one = draw_length(arena, depth), *other = draw_length(arena, depth);
    if (draw(8) == 0) {
        uint32_t k = draw(1u << 24);
        return arena_format(
            arena,
            "(every (k%u.stickout > (%s) or k%u.stickout < (%s) - 1 mm) for k%u in cutters)", k,
            one, k, other, k);
    }
    return arena_format(arena, compares[draw(sizeof compares / sizeof *compares)], one, other,
                        other);
}

static void check_formula(unsigned number)
{
    struct arena space;
    struct shop shop;
    struct window window;
    state = number * 7919 + 11;
    arena_init(&space, NULL);
    const char *formula = draw_truth(&space, DEPTH);
    const char *when =
        draw(4) ? "" : arena_format(&space, "    when: >\n      %s\n", draw_truth(&space, 1));
    if (!strstr(formula, "change.standoff"))
        formula = "change.standoff >= 2 mm";
    open_shop(&shop, arena_format(&space, "%s%s    require: >\n      %s\n",
                                  draw(3) ? "" : "    stack: chosen\n", when, formula));
    struct field_value *value = value_of(&shop, FIELD_CHANGE_STANDOFF);
    value->tolerance = draw(2) ? 0 : 0.0003;
    if (draw(2))
        value->si = draw_between(0.001, 0.04);
    if (draw(2))
        value_of(&shop, FIELD_ALLOWANCES_STACK)->choice =
            1 - value_of(&shop, FIELD_ALLOWANCES_STACK)->choice;
    cr_assert(window_find(&shop.asking, FIELD_CHANGE_STANDOFF, 0, 0, &window));
    check(&shop, &window, formula);
    close_shop(&shop);
    arena_free(&space);
}

Test(house_window, has_no_holes)
{
    const char *wanted = getenv("SCENES"); /* more of them where somebody has the time */
    unsigned count = wanted ? (unsigned)strtoul(wanted, NULL, 10) * 10 : FORMULAS;
    for (unsigned number = 0; number < count; number++)
        check_formula(number);
    cr_log_info("%zu windows, %zu empty, %zu wrong, %zu not proved", windows, empties, holes,
                unproved);
    cr_expect(empties > count / 40, "only %zu empty", empties);
    cr_expect(unproved < count / 6, "%zu not proved", unproved);
}

/* What the window of a field, with `start` in it, is under one formula. */
static void expect_window(enum field_id field, double start, const char *formula,
                          const char *wanted)
{
    struct shop shop;
    struct window window;
    char text[512], rest[1024];
    snprintf(rest, sizeof rest, "    require: >\n      %s\n", formula);
    open_shop(&shop, rest);
    value_of(&shop, field)->si = start;
    cr_assert(window_find(&shop.asking, field, 0, 0, &window));
    if (window.empty)
        snprintf(text, sizeof text, "none");
    else
        snprintf(text, sizeof text, "%s .. %s", window.low.bounded ? window.low.text : "",
                 window.high.bounded ? window.high.text : "");
    cr_expect_str_eq(text, wanted, "%s: %s, not %s", formula, text, wanted);
    cr_expect(window.proved, "%s: not proved", formula);
    close_shop(&shop);
}

/* A hundredth of a millimetre is found in a range of a hundred, whatever the rule has around
 * it. */
Test(house_window, narrow_holes_end_it)
{
    static const char *const cases[][2] = {
        {"abs(change.standoff - 31.234 mm) >= 0.004 mm", " .. 31.2 mm"},
        {"not change.standoff inside 3.01 mm .. 3.02 mm", "3.1 mm .. "},
        {"(change.standoff - 31.231 mm) * (change.standoff - 31.239 mm) / 1 mm >= 0 mm",
         " .. 31.2 mm"},
        {"hypot(change.standoff - 31.23 mm, change.retract - 3 mm) >= 0.01 mm", " .. 31.2 mm"},
        {"change.standoff >= if change.standoff inside 31.23 mm .. 31.24 mm then 1 m else 1 mm",
         "1 mm .. 31.2 mm"},
        {"max(31.23 mm - change.standoff, change.standoff - 31.24 mm) >= 0 mm", " .. 31.2 mm"},
        {"(change.standoff - 31.234 mm) ^ 2 / 1 mm >= 0.0001 mm", " .. 31.2 mm"},
        {"not change.standoff == 31.7 mm", " .. 31.6 mm"},
        /* touches nothing, and has no hole */
        {"(change.standoff - 31.234 mm) ^ 2 / 1 mm >= 0 mm", " .. "},
        {"abs(change.standoff - 31.234 mm) >= 0 mm", " .. "},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        expect_window(FIELD_CHANGE_STANDOFF, 0.012, cases[i][0], cases[i][1]);
}

/* The only values that would do are found, where no margin leads to them. */
Test(house_window, narrow_gaps_are_found)
{
    static const char *const cases[][2] = {
        {"change.standoff inside 31.23 mm .. 31.34 mm", "31.23 mm .. 31.34 mm"},
        {"change.standoff >= if change.standoff inside 61.23 mm .. 61.28 mm then 1 mm else 1 m",
         "61.23 mm .. 61.28 mm"},
        {"change.standoff == 31.7 mm", "31.7 mm .. 31.7 mm"},
        {"change.standoff >= 20 mm and change.standoff <= 19.99 mm", "none"},
        {"hypot(change.standoff - 31 mm, 1 mm) <= 0.99 mm", "none"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        expect_window(FIELD_CHANGE_STANDOFF, 0.012, cases[i][0], cases[i][1]);
}

/* What nothing can be proved of is said to be so, and a hole in it may be missed. */
Test(house_window, says_what_it_cannot_prove)
{
    static const char *const formulas[] = {
        "(change.standoff + 1 mm) ^ 3 / (change.standoff + 1 mm) ^ 2 == change.standoff + 1 mm",
        "(change.standoff + 1 mm) ^ 3 / (change.standoff + 1 mm) ^ 2 > change.standoff + 1 mm",
    };
    for (int i = 0; i < 2; i++) {
        struct shop shop;
        struct window window;
        char rest[256];
        snprintf(rest, sizeof rest, "    require: %s\n", formulas[i]);
        open_shop(&shop, rest);
        cr_assert(window_find(&shop.asking, FIELD_CHANGE_STANDOFF, 0, 0, &window));
        cr_expect_eq(window.empty, i == 1);
        cr_expect_not(window.proved);
        if (i == 0)
            cr_expect_str_eq(window.open, "house");
        close_shop(&shop);
    }
}

/* Of whole numbers there is nothing between. */
Test(house_window, of_whole_numbers)
{
    static const char *const formula =
        "not (axes.x.drive.microsteps * 1 mm == 37 mm or axes.x.drive.microsteps * 1 mm == 3 mm)";
    expect_window(FIELD_AXIS_DRIVE_MICROSTEPS, 16, formula, "4 .. 36");
}
