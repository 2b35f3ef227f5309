/* What is proposed for a long list of cutters: as for those of it that decide. */
#include <criterion/criterion.h>

#include <math.h>
#include <string.h>

#include "propose/seek.h"
#include "propose/propose.h"

static struct arena arena;

static void open_arena(void)
{
    arena_init(&arena, NULL);
}

static void close_arena(void)
{
    arena_free(&arena);
}

TestSuite(few, .init = open_arena, .fini = close_arena);

static const char *base_machine(void)
{
    for (size_t i = 0; i < builtin_text_count; i++)
        if (strcmp(builtin_texts[i].name, "rules/base-machine.yaml") == 0)
            return arena_copy(&arena, builtin_texts[i].bytes, builtin_texts[i].size);
    cr_assert_fail("there is no base machine");
    return "";
}

static const char *with(const char *text, const char *old, const char *new)
{
    const char *at = strstr(text, old);
    cr_assert(at, "%s", old);
    return arena_format(&arena, "%.*s%s%s", (int)(at - text), text, new, at + strlen(old));
}

/* The machine of the examples, parked low over its fence, with a stroke too short, and `count`
 * cutters of which the first is the shortest and the last the longest. */
static const struct machine *machine_with(unsigned count)
{
    const char *text = with(base_machine(), "park: {x: 400 mm, y: 20 mm, z: -5 mm}",
                            "park: {x: 300 mm, y: 585 mm, z: -90 mm}");
    text = with(text, "probe_stroke: 20 mm", "probe_stroke: 13 mm");
    const char *list = strstr(text, "cutters:\n"), *rest = strstr(text, "\nallowances:");
    struct buffer whole;
    buffer_init(&whole, &arena);
    buffer_format(&whole, "%.*scutters:\n", (int)(list - text), text);
    for (unsigned i = 0; i < count; i++)
        buffer_format(&whole,
                      "  - {number: %u, description: cutter, stickout: %u mm, diameter: 6 mm, "
                      "shank: 6 mm, length: 70 mm, centre: cutting}\n",
                      i + 1, 30 + 12 * i / (count - 1));
    buffer_text(&whole, rest);
    struct source *source = ARENA_NEW(&arena, struct source);
    struct finding_sink *sink = ARENA_NEW(&arena, struct finding_sink);
    struct tree *tree = ARENA_NEW(&arena, struct tree);
    struct machine *machine = ARENA_NEW(&arena, struct machine);
    source_init(source, &arena, view_of("m.yaml"), buffer_view(&whole));
    sink_init(sink, &arena, source);
    tree_read(tree, &arena, source, sink);
    machine_read(machine, &arena, tree, sink);
    cr_assert_eq(machine->groups[GROUP_CUTTER].count, count);
    return machine;
}

static struct proposal propose(const struct machine *machine)
{
    static const struct rulebook *const books[] = {&builtin_rulebook};
    struct runner *runner = ARENA_NEW(&arena, struct runner);
    struct field_places places = {0};
    struct proposal found;
    runner_init(runner, &arena, books, 1);
    const struct proposal_question question = {
        .runner = runner, .arena = &arena, .machine = machine};
    proposal_choose(&question, false, &places);
    proposal_find(&question, places.items, places.count, &found);
    return found;
}

static const char *set_text(const struct proposed_set *set)
{
    struct buffer out;
    buffer_init(&out, &arena);
    for (size_t i = 0; i < set->count; i++)
        buffer_format(&out, "%s=%s ", set->items[i].path, set->items[i].text);
    return buffer_string(&out);
}

Test(few, decide_of_many)
{
    struct proposal short_list = propose(machine_with(4)),
                    long_list = propose(machine_with(90));
    cr_assert_eq(short_list.state, PROPOSAL_FOUND);
    cr_assert_eq(long_list.state, PROPOSAL_FOUND);
    cr_expect_str_eq(set_text(&long_list.widest), set_text(&short_list.widest));
    cr_expect_str_eq(set_text(&long_list.fewest), set_text(&short_list.fewest));
    cr_expect_float_eq(long_list.exact, short_list.exact, 1e-6);
}

/* Of each rule about cutters the tightest is asked, and no other. */
Test(few, are_the_tightest)
{
    static const struct rulebook *const books[] = {&builtin_rulebook};
    static const struct field_place stroke = {FIELD_CHANGE_PROBE_STROKE, 0, 0};
    struct runner *runner = ARENA_NEW(&arena, struct runner);
    struct margins margins;
    runner_init(runner, &arena, books, 1);
    margins_open(&(struct margins_of){runner, &arena, machine_with(90), NULL}, &stroke, 1,
                 &margins);
    const double x = 0.013;
    cr_assert(few_begin(&margins));
    few_gather(&margins, &x);
    margins.sparse = true;
    margins_ask(&margins, &x);
    size_t asked = 0;
    double least = HUGE_VAL, all = HUGE_VAL;
    for (size_t i = 0; i < margins.stake_count; i++) {
        asked += !stake_rests(&margins, &margins.stakes[i]);
        if (margins.stakes[i].counts)
            least = fmin(least, stake_part(&margins.stakes[i]));
    }
    margins.sparse = false;
    margins_ask(&margins, &x);
    for (size_t i = 0; i < margins.stake_count; i++)
        if (margins.stakes[i].counts)
            all = fmin(all, stake_part(&margins.stakes[i]));
    cr_expect_float_eq(least, all, 1e-12);
    cr_expect(asked < margins.stake_count / 10, "%zu of %zu", asked, margins.stake_count);
}
