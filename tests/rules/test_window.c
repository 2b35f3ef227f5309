/* Windows, held against the whole check: thousands of ends on machines that differ at random.
 */
#include <criterion/criterion.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../share.h"
#include "quantity/quantity.h"
#include "rules/search.h"

enum {
    MACHINES = 150,
    CHANGES = 6,
    PROBES = 12,
    EMPTY_PROBES = 60,
    NEEDS_MACHINES = 80,
    LONG_LISTS = 30,
    SCENES = 40
};

/* Numbers at random, the same in every run. */
static uint64_t state;

static uint32_t draw(uint32_t below)
{
    state = state * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)((state >> 33) % below);
}

static double draw_share(void)
{
    return draw(1000001) / 1e6;
}

/* The base machine of the rules' examples, with changes. */
struct world {
    struct arena arena;
    struct source source;
    struct finding_sink sink;
    struct tree tree;
    struct machine machine;
    struct runner runner;
    bool *reads;      /* of each rule: does it read the field at hand? */
    struct arena run; /* what the last whole check came to */
};

/* Whole machines to begin with: that of the rules' examples, and the samples that pass. */
static const char *const samples[] = {NULL, "workshop-router.yaml",
                                      "inch-router-with-plate.yaml", "belt-router-high-z.yaml",
                                      "router-without-homing.yaml",
                                      "setter-on-the-gantry.yaml"};

enum { SAMPLES = sizeof samples / sizeof *samples };

static struct view sample_text(struct arena *space, unsigned number)
{
    const char *name = samples[number % SAMPLES];
    for (size_t i = 0; i < builtin_text_count && !name; i++)
        if (strcmp(builtin_texts[i].name, "rules/base-machine.yaml") == 0)
            return (struct view){builtin_texts[i].bytes, builtin_texts[i].size};
    enum { ROOM = 65536 };
    char *bytes = arena_alloc(space, ROOM);
    FILE *file = fopen(arena_format(space, "%s/%s", SAMPLE_FOLDER, name), "rb");
    cr_assert(file, "%s is not there", name);
    size_t size = fread(bytes, 1, ROOM, file);
    fclose(file);
    cr_assert(size < ROOM);
    return (struct view){bytes, size};
}

/* Puts a value as a file would have it.  A change that does not fit into a sample (a second
 * cutter, an input) is left out. */
static void put(struct world *world, struct tree_node *root, const char *path, const char *text)
{
    struct source source;
    struct finding_sink sink;
    struct tree tree;
    const char *file = arena_format(&world->arena, "value: %s", text);
    source_init(&source, &world->arena, view_of("value"), view_of(file));
    sink_init(&sink, &world->arena, &source);
    tree_read(&tree, &world->arena, &source, &sink);
    cr_assert(tree.status == TREE_WHOLE && tree.root->first, "%s", text);
    (void)!tree_put(&world->arena, root, view_of(path), tree.root->first);
}

/* A number of the file becomes another one, often in another unit. */
static void change_number(struct world *world, struct tree_node *root,
                          const struct machine *machine)
{
    enum field_id id;
    uint32_t record;
    const struct field_value *value = NULL;
    do {
        id = draw(FIELD_COUNT);
        enum field_group group = field_table[id].group;
        record = machine->groups[group].count ? draw(machine->groups[group].count) : 0;
        if (record < machine->groups[group].count)
            value = machine_field(machine, id, record);
    } while ((field_table[id].kind != KIND_QUANTITY && field_table[id].kind != KIND_POSITION) ||
             record >= machine->groups[field_table[id].group].count ||
             value->state != VALUE_GIVEN);
    double si = value->si * (0.4 + 1.4 * draw_share());
    if (field_table[id].kind == KIND_POSITION)
        si = value->si + 0.04 * (draw_share() - 0.5);
    unit_id unit = value->unit;
    if (dimension_equal(field_table[id].dimension, DIMENSION_LENGTH) && draw(3) == 0)
        unit = unit_read(view_of(draw(2) ? "in" : "cm"));
    const char *text = quantity_text(&world->arena, si, field_table[id].dimension, unit);
    put(world, root, machine_path(&world->arena, machine, id, record, 0), text);
}

static void change_word(struct world *world, struct tree_node *root)
{
    static const char *const words[][2] = {
        {"change.measures_with", "plate"},
        {"change.approach", "fixed"},
        {"change.approach_guarded", "no"},
        {"change.stickout_from", "assumed"},
        {"setter.tested_before_use", "no"},
        {"homing.order", "none"},
        {"spindle.switched_by", "hand"},
        {"allowances.stack", "statistical"},
        {"inputs.setter-in.contact", "normally_open"},
        {"spindle.shoe.removed", "no"},
        {"change.touches_old", "no"},
        {"homing.z.shares_limit", "no"},
        {"cutters[1].stickout", "~"},
        {"setter.release", "~"},
        {"homing.z.repeatability", "~"},
        {"spindle.coast_down", "~"},
    };
    size_t at = draw(sizeof words / sizeof *words);
    put(world, root, words[at][0], words[at][1]);
}

static void begin(struct world *world, struct view bytes)
{
    arena_init(&world->run, NULL);
    source_init(&world->source, &world->arena, view_of("machine.yaml"), bytes);
    sink_init(&world->sink, &world->arena, &world->source);
    tree_read(&world->tree, &world->arena, &world->source, &world->sink);
    machine_read(&world->machine, &world->arena, &world->tree, &world->sink);
}

/* Reads the machine anew from a changed tree. */
static void finish(struct world *world, struct tree_node *root)
{
    static const struct rulebook *const books[] = {&builtin_rulebook};
    world->tree.root = root;
    machine_read(&world->machine, &world->arena, &world->tree, &world->sink);
    runner_init(&world->runner, &world->arena, books, 1);
    world->reads = ARENA_ARRAY(&world->arena, bool, world->runner.rule_count);
}

static void leave(struct world *world)
{
    arena_free(&world->run);
    arena_free(&world->arena);
}

static void make(struct world *world, unsigned number)
{
    arena_init(&world->arena, NULL);
    begin(world, sample_text(&world->arena, number));
    struct tree_node *root = tree_copy(&world->arena, world->tree.root);
    if (number >= SAMPLES && draw(3) == 0) { /* something to go around */
        put(world, root, "obstacles[0].y", draw(2) ? "[100 mm, 180 mm]" : "[20 mm, 60 mm]");
        put(world, root, "obstacles[0].x", draw(2) ? "[200 mm, 260 mm]" : "[420 mm, 450 mm]");
        put(world, root, "obstacles[0].top", draw(2) ? "90 mm" : "140 mm");
    }
    for (unsigned i = number >= SAMPLES ? 1 + draw(CHANGES) : 0; i; i--)
        if (draw(4))
            change_number(world, root, &world->machine);
        else
            change_word(world, root);
    finish(world, root);
}

static struct field_value *value_at(struct world *world, enum field_id field, uint32_t record,
                                    uint8_t part)
{
    struct field_value *value = machine_field_put(&world->machine, field, record);
    return part ? &value->pair[part - 1] : value;
}

/* All that a derived leaf comes to, in one number. */
static uint64_t outcome(struct derived *derived, uint16_t leaf, uint32_t count)
{
    uint64_t sum = 0;
    for (uint32_t record = 0; record < count; record++) {
        struct env_value value;
        uint64_t number, tolerance;
        derived_read(derived, leaf, record, &value);
        memcpy(&number, &value.number, sizeof number);
        memcpy(&tolerance, &value.tolerance, sizeof tolerance);
        const uint64_t parts[] = {value.state, number, tolerance, value.text.size};
        for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
            sum = (sum ^ parts[i]) * 1099511628211u;
        for (size_t i = 0; i < value.text.size; i++)
            sum = (sum ^ (unsigned char)value.text.data[i]) * 1099511628211u;
    }
    return sum;
}

static void read_derived(const struct world *world, uint64_t out[LEAF_COUNT])
{
    static struct derived derived;
    derived_reset(&derived, &world->machine);
    for (uint16_t leaf = DERIVED_FIRST; leaf < LEAF_COUNT; leaf++)
        out[leaf] = outcome(&derived, leaf, world->machine.groups[derived_group(leaf)].count);
}

/* Which rules read the field?  Of what is worked out, that counts which comes out otherwise
 * with another number in it: what the program itself says it looks at is not believed. */
static void find_readers(struct world *world, const struct window *window)
{
    enum { NUMBERS = 8 };
    bool leaves[LEAF_COUNT] = {false};
    uint64_t before[LEAF_COUNT], after[LEAF_COUNT];
    struct formula_change change;
    struct field_value *value = value_at(world, window->field, window->record, window->part);
    const struct field_value kept = *value;
    read_derived(world, before);
    for (int i = 0; i < NUMBERS; i++) {
        value->si = window->value * 2 * draw_share() + 0.4 * (draw_share() - 0.5);
        value->tolerance = window->given ? kept.tolerance : 0;
        value->state = VALUE_GIVEN;
        read_derived(world, after);
        for (uint16_t leaf = DERIVED_FIRST; leaf < LEAF_COUNT; leaf++)
            leaves[leaf] |= before[leaf] != after[leaf];
    }
    *value = kept;
    leaves[window->field] = true;
    formula_change_find(&change, &world->arena, &builtin_rulebook.program, leaves);
    for (uint32_t i = 0; i < world->runner.rule_count; i++) {
        const struct rule *rule = world->runner.rules[i].rule;
        world->reads[i] = formula_changes(&change, rule->when);
        for (uint32_t k = 0; k < rule->requirement_count; k++)
            world->reads[i] |= formula_changes(
                &change, builtin_rulebook.requirements[rule->first_requirement + k].node);
    }
}

/* The whole check with x in the field. */
static void check_with(struct world *world, const struct window *window, double x)
{
    struct field_value *value = value_at(world, window->field, window->record, window->part);
    const struct field_value kept = *value;
    value->state = VALUE_GIVEN;
    if (kept.state != VALUE_GIVEN && kept.state != VALUE_DEFAULTED)
        value->tolerance = 0;
    value->si = x;
    arena_reset(&world->run);
    runner_run(&world->runner, &world->run, &world->machine, false);
    *value = kept;
}

/* Does it find that a rule fails which reads the field? */
static bool fails(struct world *world, const struct window *window, double x)
{
    check_with(world, window, x);
    for (uint32_t i = 0; i < world->runner.rule_count; i++)
        if (world->reads[i] && world->runner.results[i].failed)
            return true;
    return false;
}

static bool anything_fails(struct world *world, const struct window *window, double x)
{
    check_with(world, window, x);
    for (uint32_t i = 0; i < world->runner.rule_count; i++)
        if (world->runner.results[i].failed)
            return true;
    return false;
}

/* Is this what failed when the whole check was last asked? */
static bool was_failing(struct world *world, const char *rule, const char *subject)
{
    uint32_t i = 0;
    while (strcmp(world->runner.rules[i].rule->name, rule) != 0)
        i++;
    const struct rule_result *result = &world->runner.results[i];
    for (size_t k = 0; k < result->failures.count; k++) {
        const char *name = machine_record_name(&world->arena, &world->machine,
                                               world->runner.rules[i].rule->domain,
                                               result->failures.items[k].record);
        if (!subject || (name && strcmp(name, subject) == 0))
            return true;
    }
    return false;
}

static size_t ends, empties, windows;

static void check_end(struct world *world, const struct window *window,
                      const struct window_end *end, int outward)
{
    if (!end->bounded)
        return;
    ends++;
    const char *name = window->path;
    struct dimension dimension = field_table[window->field].dimension;
    cr_expect_not(fails(world, window, end->si), "%s fails at its end %s", name, end->text);
    cr_expect_not(fails(world, window, end->exact), "%s fails at its exact end", name);
    double little = 1e-9 * fmax(fabs(end->exact), 0.01); /* clearances are settled to 1 pm */
    if (field_table[window->field].kind == KIND_COUNT)
        little = 1; /* there is nothing between */
    check_with(world, window, end->exact + outward * little);
    cr_expect(was_failing(world, end->rule, end->subject),
              "%s: %s%s%s is named at the end %s and holds beyond", name, end->rule,
              end->subject ? ", " : "", end->subject ? end->subject : "", end->text);
    double inward = (end->exact - end->si) * outward;
    cr_expect(inward >= -little, "%s: its end %s lies outside", name, end->text);
    double step =
        unit_to_si(window->unit, dimension,
                   window_step(window->unit, unit_from_si(window->unit, dimension, end->si)));
    cr_expect(inward <= 2 * fabs(step), "%s: its end %s is rounded too far", name, end->text);
    struct quantity read;
    struct quantity_trouble trouble;
    cr_assert(quantity_read(view_of(end->text), dimension, &read, &trouble) == QUANTITY_OK,
              "%s: %s is no quantity", name, end->text);
    cr_expect(read.si == end->si, "%s: %s does not read as what it stands for", name,
              end->text);
    cr_expect_not_null(end->rule);
    struct usual_range usual =
        machine_usual_range(&world->machine, window->field, window->record, window->part);
    cr_expect(!(end->si < fmin(usual.low, window->value)) &&
                  !(end->si > fmax(usual.high, window->value)),
              "%s: nobody would look for its end at %s", name, end->text);
}

/* How far a window reaches on one side. */
static double reach(struct world *world, const struct window *window, int side)
{
    const struct window_end *end = side > 0 ? &window->high : &window->low;
    struct usual_range usual =
        machine_usual_range(&world->machine, window->field, window->record, window->part);
    double limit = side > 0 ? fmax(usual.high, window->value) : fmin(usual.low, window->value);
    if (!end->bounded && isnan(side > 0 ? usual.high : usual.low))
        return window->value;
    return end->bounded ? end->si : limit;
}

/* Nothing else can be written in the field of a count. */
static double whole(const struct window *window, double value)
{
    return field_table[window->field].kind == KIND_COUNT ? round(value) : value;
}

static void check_inside(struct world *world, const struct window *window)
{
    double low = reach(world, window, -1), high = reach(world, window, 1);
    if (window->given && window->holds) {
        cr_expect(window->value >= low && window->value <= high, "%s: %s is not in its window",
                  window->path, window->value_text);
    } else if (low > high) {
        return;
    }
    for (int i = 0; i < PROBES; i++) {
        double at = whole(window, low + (high - low) * draw_share());
        cr_expect_not(fails(world, window, at), "%s fails within its window, at %.17g",
                      window->path, at);
    }
}

static void check_empty(struct world *world, const struct window *window)
{
    struct usual_range usual =
        machine_usual_range(&world->machine, window->field, window->record, window->part);
    double low = usual.low, high = usual.high;
    empties++;
    cr_expect_not_null(window->between[0]);
    cr_expect_not_null(window->between[1]);
    cr_expect(!window->wants[0] || window->overlap >= 0);
    for (int i = 0; i < EMPTY_PROBES; i++) {
        double share = draw_share();
        double skewed = i % 2 ? share : share * share * share * share;
        double at = whole(window, low + (high - low) * skewed);
        cr_expect(anything_fails(world, window, at), "%s is not empty: %.17g would do",
                  window->path, at);
    }
}

static void check_window(struct world *world, enum field_id id, uint32_t record, uint8_t part)
{
    struct window window;
    const struct window_question asking = {&world->runner, &world->arena, &world->machine,
                                           NULL};
    const struct field_value before = *machine_field(&world->machine, id, record);
    if (!window_find(&asking, id, record, part, &window))
        return;
    windows++;
    cr_assert(memcmp(&before, machine_field(&world->machine, id, record), sizeof before) == 0);
    find_readers(world, &window);
    if (window.given)
        cr_expect(window.holds ? !fails(world, &window, window.value)
                               : anything_fails(world, &window, window.value),
                  "%s", window.path);
    if (window.empty) {
        check_empty(world, &window);
        return;
    }
    check_end(world, &window, &window.low, -1);
    check_end(world, &window, &window.high, 1);
    check_inside(world, &window);
    double si;
    const char *text;
    if (window_propose(&world->arena, &window, &si, &text))
        cr_expect_not(fails(world, &window, si), "%s: %s is proposed and fails", window.path,
                      text);
}

static void check_machines(unsigned first, unsigned end, bool chosen)
{
    for (unsigned number = first; number < end; number++) {
        struct world world;
        state = number * 7919 + 1;
        make(&world, number);
        for (unsigned id = 0; id < FIELD_COUNT; id++) {
            if ((field_table[id].nature == NATURE_CHOSEN) != chosen)
                continue;
            uint32_t count = world.machine.groups[field_table[id].group].count;
            for (uint32_t record = 0; record < count; record++)
                for (uint8_t part = 0; part <= 2; part++)
                    check_window(&world, id, record, part);
        }
        leave(&world);
    }
}

Test(window, chosen_fields)
{
    check_machines(0, share_of(MACHINES), true);
    cr_log_info("%zu windows, %zu ends, %zu empty", windows, ends, empties);
    cr_expect(ends > share_of(2000), "only %zu ends", ends);
    cr_expect(empties > share_of(20), "only %zu empty", empties);
}

Test(window, other_fields)
{
    check_machines(0, share_of(MACHINES / 6), false);
    cr_log_info("%zu windows, %zu ends, %zu empty", windows, ends, empties);
    cr_expect(ends > share_of(500), "only %zu ends", ends);
}

/* Of a long list only those cutters are asked that decide somewhere; the whole check asks all.
 * Some of them are longer or shorter than the others by little, so that it is one here and
 * another there. */
static void make_long_list(struct world *world, unsigned number)
{
    state = number * 15485863 + 7;
    arena_init(&world->arena, NULL);
    begin(world, sample_text(&world->arena, 0));
    struct tree_node *root = tree_copy(&world->arena, world->tree.root);
    unsigned count = 13 + draw(12);
    for (unsigned i = 0; i < count; i++) {
        static const struct {
            const char *key, *unit;
            double low, high;
        } numbers[] = {{"stickout", "mm", 28, 46}, {"diameter", "mm", 2, 12}};
        struct arena *arena = &world->arena;
        put(world, root, arena_format(arena, "cutters[%u].number", i),
            arena_format(arena, "%u", i + 1));
        put(world, root, arena_format(arena, "cutters[%u].description", i),
            arena_format(arena, "cutter %u", i + 1));
        for (size_t k = 0; k < sizeof numbers / sizeof *numbers; k++)
            if (i >= 3 || draw(2))
                put(world, root, arena_format(arena, "cutters[%u].%s", i, numbers[k].key),
                    arena_format(arena, "%.2f %s",
                                 numbers[k].low +
                                     (numbers[k].high - numbers[k].low) * draw_share(),
                                 numbers[k].unit));
    }
    for (unsigned i = draw(3); i; i--)
        change_number(world, root, &world->machine);
    finish(world, root);
}

Test(window, of_a_long_list)
{
    windows = ends = empties = 0;
    unsigned count = share_of(LONG_LISTS);
    for (unsigned number = 0; number < count; number++) {
        struct world world;
        make_long_list(&world, number);
        cr_assert(world.machine.groups[GROUP_CUTTER].count > 12);
        for (unsigned id = 0; id < FIELD_COUNT; id++)
            if (field_table[id].nature == NATURE_CHOSEN && field_table[id].group == GROUP_ROOT)
                check_window(&world, id, 0, 0);
        leave(&world);
    }
    cr_log_info("%zu windows, %zu ends, %zu empty", windows, ends, empties);
    cr_expect(ends > 5 * count, "only %zu ends", ends);
}

static bool is_told[LEAF_COUNT][FIELD_COUNT], is_seen[LEAF_COUNT][FIELD_COUNT];

/* Puts other numbers there: no leaf comes out otherwise that is not said to depend on it. */
static void check_needs(struct world *world, enum field_id id, uint32_t record, uint8_t part)
{
    enum { TRIES = 6 };
    bool told[LEAF_COUNT] = {false};
    uint64_t before[LEAF_COUNT], after[LEAF_COUNT];
    struct field_value *value = value_at(world, id, record, part);
    const struct field_value kept = *value;
    derived_dependents(&world->machine, id, told);
    read_derived(world, before);
    for (int i = 0; i < TRIES; i++) {
        double si = kept.state == VALUE_GIVEN ? kept.si : 0;
        value->si = i % 2 ? si * 3 * draw_share() : si + 0.4 * (draw_share() - 0.5);
        value->tolerance = kept.state == VALUE_GIVEN ? kept.tolerance : 0;
        value->state = VALUE_GIVEN;
        read_derived(world, after);
        for (uint16_t leaf = DERIVED_FIRST; leaf < LEAF_COUNT; leaf++) {
            is_told[leaf][id] |= told[leaf];
            is_seen[leaf][id] |= before[leaf] != after[leaf];
            cr_expect(told[leaf] || before[leaf] == after[leaf], "%s is moved by %s",
                      derived_key(leaf), field_table[id].key);
        }
    }
    *value = kept;
}

/* Whatever moves a derived leaf is said to, and most of what is said to was seen to. */
Test(window, needs_of_derived_leaves)
{
    for (unsigned number = 0; number < NEEDS_MACHINES; number++) {
        struct world world;
        state = number * 104729 + 5;
        make(&world, number);
        for (unsigned id = 0; id < FIELD_COUNT; id++) {
            uint32_t count = world.machine.groups[field_table[id].group].count;
            for (uint32_t record = 0; record < count && record < 3; record++)
                for (uint8_t part = 0; part <= 2; part++)
                    if (window_is_possible(&world.machine, id, record, part))
                        check_needs(&world, id, record, part);
        }
        leave(&world);
    }
    size_t told = 0, seen = 0;
    for (uint16_t leaf = DERIVED_FIRST; leaf < LEAF_COUNT; leaf++)
        for (unsigned id = 0; id < FIELD_COUNT; id++) {
            told += is_told[leaf][id];
            seen += is_seen[leaf][id];
        }
    cr_log_info("%zu of %zu seen", seen, told);
    cr_expect(seen > 170, "only %zu pairs", seen);
}

static struct instance instance_of(const struct world *world, const char *rule)
{
    struct instance instance = {.rule = 0};
    while (strcmp(world->runner.rules[instance.rule].rule->name, rule) != 0)
        instance.rule++;
    return instance;
}

/* A millimetre more of stroke is a millimetre more to spare; of feed it is not so simple. */
Test(window, margins_of_one_rule)
{
    struct world world;
    make(&world, 0);
    const struct window_question asking = {&world.runner, &world.arena, &world.machine, NULL};
    const double strokes[] = {0.018, 0.019, 0.020}, feeds[] = {0.01, 0.02, 0.03};
    double margins[3];
    struct instance short_stroke = instance_of(&world, "probe-stroke-short");
    for (int i = 0; i < 3; i++)
        margins[i] =
            window_margin(&asking, FIELD_CHANGE_PROBE_STROKE, 0, &short_stroke, strokes[i]);
    cr_expect_float_eq(margins[1] - margins[0], 0.001, 1e-12);
    cr_expect_float_eq(margins[2] - margins[1], 0.001, 1e-12);
    struct instance overrun = instance_of(&world, "probe-overrun");
    for (int i = 0; i < 3; i++)
        margins[i] = window_margin(&asking, FIELD_CHANGE_PROBE_FEED, 0, &overrun, feeds[i]);
    cr_expect_lt(margins[2] - margins[1], margins[1] - margins[0]);
    cr_expect_eq(machine_field(&world.machine, FIELD_CHANGE_PROBE_STROKE, 0)->si, 0.02);
    leave(&world);
}

static void check_step(const char *unit, double like, double step)
{
    cr_expect_float_eq(window_step(unit_read(view_of(unit)), like), step, 1e-12, "%s", unit);
}

Test(window, steps_that_people_set)
{
    check_step("mm", 14.3, 0.1);
    check_step("in", 6, 1.0 / 64);
    check_step("s", 10, 0.1);
    check_step("mm/min", 900, 1);
    check_step("kHz", 100, 1);
    check_step("steps/mm", 320, 1);
    check_step("kg*m^2", 0.0005, 0.000001);
}

/* Every sentence about a window, whichever of its ends there are. */
Test(window, words)
{
    static const struct {
        struct window window;
        const char *words;
    } cases[] = {
        {{.proved = true, .path = "a.b"}, NULL},
        {{.proved = true, .path = "a.b", .low = {.bounded = true, .si = 1, .text = "1 m"}},
         "a.b of 1 m or more would do"},
        {{.proved = true, .path = "a.b", .high = {.bounded = true, .si = 2, .text = "2 m"}},
         "a.b of 2 m or less would do"},
        {{.proved = true,
          .path = "a.b",
          .low = {.bounded = true, .si = 1, .text = "1 m"},
          .high = {.bounded = true, .si = 2, .text = "2 m"}},
         "a.b between 1 m and 2 m would do"},
        {{.proved = true,
          .path = "a.b",
          .low = {.bounded = true, .si = 1, .text = "1 m"},
          .high = {.bounded = true, .si = 1, .text = "1 m"}},
         "a.b of 1 m would do"},
        {{.proved = true, .path = "a.b", .empty = true, .between = {"first", "first"}},
         "no usual value of a.b alone will do: first fails at any"},
        {{.proved = true,
          .path = "a.b",
          .empty = true,
          .between = {"first", "second"},
          .between_subject = {NULL, "cutter 3"},
          .wants = {"2 m", "1 m"}},
         "no value of a.b alone will do: first wants 2 m or more, second for cutter 3 1 m or less"},
        {{.path = "a.b", .low = {.bounded = true, .si = 1, .text = "1 m"}},
         "where it was looked, a.b of 1 m or more would do"},
        {{.path = "a.b", .empty = true, .between = {"first", "first"}},
         "where it was looked, no usual value of a.b alone will do: first fails at any"},
    };
    struct arena arena;
    arena_init(&arena, NULL);
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const char *words = window_words(&arena, &cases[i].window);
        if (cases[i].words)
            cr_expect_str_eq(words, cases[i].words);
        else
            cr_expect(!words);
    }
    arena_free(&arena);
}

/* In inches the ends are fractions, which read back. */
Test(window, inches)
{
    struct world world;
    make(&world, 0);
    struct field_value *stroke =
        machine_field_put(&world.machine, FIELD_CHANGE_PROBE_STROKE, 0);
    stroke->unit = unit_read(view_of("in"));
    const struct window_question asking = {&world.runner, &world.arena, &world.machine, NULL};
    struct window window;
    cr_assert(window_find(&asking, FIELD_CHANGE_PROBE_STROKE, 0, 0, &window));
    cr_expect_str_eq(window.low.text, "43/64 in");
    cr_expect_str_eq(window.high.text, "1 11/16 in");
    cr_expect_str_eq(window_words(&world.arena, &window),
                     "change.probe_stroke between 43/64 in and 1 11/16 in would do");
    leave(&world);
}

/* Long tables with small things on them.  What fails with a number that did not fail before
 * fails because of it: nothing needs to be known of what depends on what. */

struct failures {
    size_t count;
    struct instance items[256];
};

static void list_failures(const struct world *world, struct failures *out)
{
    out->count = 0;
    for (uint32_t i = 0; i < world->runner.rule_count; i++)
        for (size_t k = 0; k < world->runner.results[i].failures.count; k++) {
            cr_assert(out->count < sizeof out->items / sizeof *out->items);
            out->items[out->count++] = world->runner.results[i].failures.items[k];
        }
}

static bool fails_anew(struct world *world, const struct window *window, double x,
                       const struct failures *before)
{
    struct failures now;
    check_with(world, window, x);
    list_failures(world, &now);
    for (size_t i = 0; i < now.count; i++) {
        const struct instance *a = &now.items[i];
        bool old = false;
        for (size_t k = 0; k < before->count && !old; k++) {
            const struct instance *b = &before->items[k];
            old = a->rule == b->rule && a->requirement == b->requirement &&
                  a->record == b->record;
        }
        if (!old)
            return true;
    }
    return false;
}

static const char *pair_text(struct world *world, double low, double high)
{
    return arena_format(&world->arena, "[%.2f mm, %.2f mm]", low, high);
}

static void put_number(struct world *world, struct tree_node *root, const char *path,
                       double number, const char *unit)
{
    put(world, root, path, arena_format(&world->arena, "%.3f %s", number, unit));
}

/* Somewhere between two lengths, mm. */
static double draw_between(double low, double high)
{
    return low + (high - low) * draw_share();
}

/* Where things are on a scene's table, mm: along x and along y. */
struct layout {
    double size[2], setter[2], park[2], work[2]; /* `work`: its low corner */
};

static void put_table(struct world *world, struct tree_node *root, const struct layout *layout)
{
    struct arena *arena = &world->arena;
    for (int i = 0; i < 2; i++) {
        const char *axis = i ? "y" : "x";
        double size = layout->size[i], low = layout->work[i];
        double part = draw_between(0.02, draw(2) ? 0.05 : 0.3);
        put(world, root, arena_format(arena, "axes.%s.travel", axis),
            pair_text(world, -20, size + 20));
        put(world, root, arena_format(arena, "table.%s", axis), pair_text(world, 0, size));
        put(world, root, arena_format(arena, "work.%s", axis),
            pair_text(world, low, low + part * size));
        put_number(world, root, arena_format(arena, "setter.at.%s", axis), layout->setter[i],
                   "mm");
        put_number(world, root, arena_format(arena, "change.park.%s", axis), layout->park[i],
                   "mm");
    }
}

/* Mostly on the way to where the setter or the park position may be moved, and not far from
 * there: few of the places that it can be moved to are then in the post's shadow, and those
 * need not be beside it. */
static void put_post(struct world *world, struct tree_node *root, unsigned i,
                     const struct layout *layout)
{
    struct arena *arena = &world->arena;
    const double *place = draw(2) ? layout->setter : layout->park;
    uint32_t moved = draw(2);
    double at[2], share = draw(4) ? draw_between(0.7, 0.97) : draw_share();
    for (uint32_t k = 0; k < 2; k++) {
        double to = k == moved ? draw_between(0, layout->size[k]) : place[k];
        at[k] = layout->work[k] + share * (to - layout->work[k]);
    }
    put(world, root, arena_format(arena, "obstacles[%u].name", i),
        arena_format(arena, "post %u", i));
    put(world, root, arena_format(arena, "obstacles[%u].x", i),
        pair_text(world, at[0], at[0] + draw_between(1, 6)));
    put(world, root, arena_format(arena, "obstacles[%u].y", i),
        pair_text(world, at[1], at[1] + draw_between(1, 6)));
    put_number(world, root, arena_format(arena, "obstacles[%u].top", i),
               draw_between(draw(4) ? 115 : 20, 150), "mm");
}

static void put_attachment(struct world *world, struct tree_node *root, unsigned i)
{
    struct arena *arena = &world->arena;
    put(world, root, arena_format(arena, "attachments[%u].name", i),
        arena_format(arena, "camera %u", i));
    put_number(world, root, arena_format(arena, "attachments[%u].x", i), draw_between(-90, 90),
               "mm");
    put_number(world, root, arena_format(arena, "attachments[%u].y", i), draw_between(-90, 90),
               "mm");
    put_number(world, root, arena_format(arena, "attachments[%u].diameter", i),
               draw_between(5, 60), "mm");
    put_number(world, root, arena_format(arena, "attachments[%u].above_nose", i),
               draw_between(-20, 40), "mm");
}

static void make_scene(struct world *world, unsigned number)
{
    state = number * 6700417 + 3;
    arena_init(&world->arena, NULL);
    begin(world, sample_text(&world->arena, 0));
    struct tree_node *root = tree_copy(&world->arena, world->tree.root);
    struct layout layout;
    for (int i = 0; i < 2; i++) {
        layout.size[i] = draw_between(draw(3) ? 1800 : 600, 2600);
        layout.setter[i] = draw_between(30, layout.size[i] - 30);
        layout.park[i] = draw_between(30, layout.size[i] - 30);
        layout.work[i] = draw_between(0.1, 0.6) * layout.size[i];
    }
    put_table(world, root, &layout);
    for (unsigned i = 0, count = 1 + draw(2); i < count; i++)
        put_post(world, root, i, &layout);
    for (unsigned i = 0, count = draw(2) ? draw(3) : 0; i < count; i++)
        put_attachment(world, root, i);
    if (draw(4)) { /* slim ones meet things here, and pass them a little further on */
        put(world, root, "cutters[0].diameter", "2 mm");
        put(world, root, "cutters[1].diameter", "2 mm");
        put(world, root, "cutters[2].diameter", "3 mm");
        put(world, root, "cutters[2].shank", "3 mm");
        put(world, root, "allowances.clearance", "0.2 mm");
    }
    if (draw(3) == 0)
        put(world, root, "change.touches_old", "no");
    if (draw(4) == 0)
        put(world, root, "change.returns_to_start", "no");
    if (draw(4) == 0)
        put(world, root, "spindle.shoe.removed", "no");
    put_number(world, root, "change.probe_feed", draw_between(60, 300), "mm/min");
    put_number(world, root, "change.approach_feed", draw_between(600, 6000), "mm/min");
    put_number(world, root, "change.traverse_z", draw_between(-25, -3), "mm");
    finish(world, root);
}

static size_t scene_windows, bad_windows;

static void expect_scene(bool right, const char *path, unsigned scene, double at)
{
    cr_expect(right, "scene %u: the window of %s is wrong at %.9g", scene, path, at);
    bad_windows += !right;
}

/* Holds everywhere within, and not just beyond. */
static bool check_scene_window(struct world *world, const struct window *window, unsigned scene)
{
    bool in_plan = field_table[window->field].group == GROUP_ROOT &&
                   field_table[window->field].kind == KIND_POSITION;
    int steps = in_plan ? 600 : 60; /* the shadows are some millimetres wide */
    struct failures before;
    double low = reach(world, window, -1), high = reach(world, window, 1), bad = NAN;
    (void)fails_anew(world, window, window->value, &(struct failures){0});
    list_failures(world, &before);
    for (int i = 0; i <= steps && isnan(bad); i++) {
        double at = i == steps ? high : low + (high - low) * i / steps;
        if (fails_anew(world, window, at, &before))
            bad = at;
    }
    for (int side = -1; side <= 1 && isnan(bad); side += 2) {
        const struct window_end *end = side > 0 ? &window->high : &window->low;
        double beyond = end->exact + side * 1e-9 * fmax(fabs(end->exact), 0.01);
        if (end->bounded && !fails_anew(world, window, beyond, &before))
            bad = beyond;
    }
    scene_windows++;
    expect_scene(isnan(bad), window->path, scene, bad);
    return isnan(bad);
}

static bool check_scene(unsigned number)
{
    static const struct field_place fields[] = {
        {FIELD_SETTER_AT_X, 0, 0},
        {FIELD_SETTER_AT_Y, 0, 0},
        {FIELD_CHANGE_PARK_X, 0, 0},
        {FIELD_CHANGE_PARK_Y, 0, 0},
        {FIELD_ATTACHMENT_X, 0, 0},
        {FIELD_ATTACHMENT_Y, 0, 0},
        {FIELD_WORK_X, 0, 1},
        {FIELD_WORK_Y, 0, 2},
        {FIELD_OBSTACLE_X, 0, 1},
        {FIELD_OBSTACLE_Y, 0, 2},
        {FIELD_CHANGE_PROBE_FEED, 0, 0},
        {FIELD_CHANGE_APPROACH_FEED, 0, 0},
        {FIELD_CHANGE_TRAVERSE_Z, 0, 0},
        {FIELD_CUTTER_DIAMETER, 2, 0},
    };
    struct world world;
    bool right = true;
    make_scene(&world, number);
    for (size_t i = 0; i < sizeof fields / sizeof *fields; i++) {
        const struct window_question asking = {&world.runner, &world.arena, &world.machine,
                                               NULL};
        struct window window;
        if (window_find(&asking, fields[i].field, fields[i].record, fields[i].part, &window) &&
            window.given && window.holds)
            right = check_scene_window(&world, &window, number) && right;
    }
    leave(&world);
    return right;
}

Test(window, small_things_on_long_tables)
{
    const char *wanted = getenv("SCENES"); /* more of them where somebody has the time */
    unsigned usual = share_of(SCENES), wrong = 0;
    unsigned count = wanted ? (unsigned)strtoul(wanted, NULL, 10) : usual;
    for (unsigned number = 0; number < count; number++)
        wrong += !check_scene(number);
    cr_log_info("%zu windows of %u scenes: %zu wrong, in %u scenes", scene_windows, count,
                bad_windows, wrong);
    cr_expect(scene_windows > 4 * count, "only %zu windows", scene_windows);
}
