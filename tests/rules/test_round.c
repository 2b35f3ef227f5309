/* What is worth measuring, on the base machine. */
#include <criterion/criterion.h>

#include <string.h>

#include "rules/round.h"

static struct arena arena;
static const char *text;
static const struct machine *machine;

static const struct rulebook *const books[] = {&builtin_rulebook};
static const struct check_options options = {.books = books, .book_count = 1};

static void begin(void)
{
    arena_init(&arena, NULL);
    for (size_t i = 0; i < builtin_text_count; i++)
        if (strcmp(builtin_texts[i].name, "rules/base-machine.yaml") == 0)
            text = arena_copy(&arena, builtin_texts[i].bytes, builtin_texts[i].size);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(round, .init = begin, .fini = end);

static void change(const char *old, const char *now)
{
    const char *at = strstr(text, old);
    cr_assert(at, "%s", old);
    text = arena_format(&arena, "%.*s%s%s", (int)(at - text), text, now, at + strlen(old));
}

static void find(struct round_plan *plan)
{
    struct source *source = ARENA_NEW(&arena, struct source);
    struct tree *tree = ARENA_NEW(&arena, struct tree);
    struct machine *read = ARENA_NEW(&arena, struct machine);
    struct finding_sink sink;
    source_init(source, &arena, view_of("m.yaml"), view_of(text));
    sink_init(&sink, &arena, source);
    tree_read(tree, &arena, source, &sink);
    machine_read(read, &arena, tree, &sink);
    machine = read;
    round_find(&arena, &options, machine, plan);
}

static size_t index_of(const struct round_plan *plan, enum field_id id)
{
    for (size_t i = 0; i < plan->items.count; i++)
        if (plan->items.items[i].place.field == id)
            return i;
    return plan->items.count;
}

static const struct round_item *expect(const struct round_plan *plan, enum field_id id,
                                       enum round_reason reason)
{
    size_t index = index_of(plan, id);
    cr_assert(index < plan->items.count, "%s", field_table[id].key);
    cr_expect_eq(plan->items.items[index].reason, reason, "%s", field_table[id].key);
    return &plan->items.items[index];
}

/* Those for the safety of people come first, and what is there is not missing. */
Test(round, what_is_missing)
{
    struct round_plan plan;
    change("nose_contact: -125 mm", "# nose_contact");
    change("run_down: ", "# run_down: ");
    find(&plan);
    const struct round_item *run_down = expect(&plan, FIELD_SPINDLE_RUN_DOWN, ROUND_MISSING);
    const struct round_item *contact = expect(&plan, FIELD_SETTER_NOSE_CONTACT, ROUND_MISSING);
    cr_expect_eq(run_down->wanted->hurts, HURTS_PERSON);
    cr_expect(run_down->rules >= 1);
    cr_expect(contact->rules > 1);
    cr_expect(run_down < contact);
    cr_expect_eq(index_of(&plan, FIELD_TABLE_NOSE_CONTACT), plan.items.count);
    for (size_t i = 1; i < plan.items.count; i++)
        cr_expect(plan.items.items[i - 1].reason <= plan.items.items[i].reason);
}

/* The same day is not before it. */
Test(round, what_is_old)
{
    struct round_plan plan;
    change("last_worked_on: 2026-03-14", "last_worked_on: 2026-03-15");
    find(&plan);
    cr_expect_eq(index_of(&plan, FIELD_TABLE_NOSE_CONTACT), plan.items.count);
    change("last_worked_on: 2026-03-15", "last_worked_on: 2026-03-16");
    find(&plan);
    expect(&plan, FIELD_TABLE_NOSE_CONTACT, ROUND_OLD);
    const struct round_item *contact = expect(&plan, FIELD_SETTER_NOSE_CONTACT, ROUND_OLD);
    expect(&plan, FIELD_SETTER_AT_X, ROUND_OLD);
    cr_expect_float_eq(contact->on, 1773532800.0, 0.5); /* 2026-03-15 */
}

/* A rule about work on one part blames the day of the setter. */
Test(round, what_a_rule_calls_old)
{
    struct round_plan plan;
    change("  x:\n    travel", "  x:\n    last_worked_on: 2026-03-16\n    travel");
    find(&plan);
    expect(&plan, FIELD_SETTER_NOSE_CONTACT, ROUND_OLD);
    cr_expect_eq(index_of(&plan, FIELD_TABLE_NOSE_CONTACT), plan.items.count);
}

/* Readings have a day of their own. */
Test(round, readings_of_a_later_day)
{
    struct round_plan plan;
    change("last_worked_on: 2026-03-14", "last_worked_on: 2026-03-16");
    change("nose_contact: -125 mm",
           "nose_contact: {readings: [-125 mm, -125.01 mm, -125.02 mm], on: 2026-03-16}");
    find(&plan);
    cr_expect_neq(expect(&plan, FIELD_SETTER_AT_X, ROUND_OLD), NULL);
    size_t index = index_of(&plan, FIELD_SETTER_NOSE_CONTACT);
    cr_expect(index == plan.items.count || plan.items.items[index].reason == ROUND_BETTER);
    change("on: 2026-03-16}", "on: 2026-03-15}");
    find(&plan);
    expect(&plan, FIELD_SETTER_NOSE_CONTACT, ROUND_OLD);
}

/* Three readings a millimetre apart leave 10 mm, of which seven more would give back most. */
Test(round, what_more_readings_would_better)
{
    struct round_plan plan;
    find(&plan);
    size_t single = plan.single;
    change("nose_contact: -125 mm",
           "nose_contact: {readings: [-125 mm, -124.6 mm, -125.4 mm], on: 2026-03-16}");
    find(&plan);
    const struct round_item *contact = expect(&plan, FIELD_SETTER_NOSE_CONTACT, ROUND_BETTER);
    cr_assert(contact->worth.tightest);
    cr_expect(worth_pays(&contact->worth));
    cr_expect_eq(plan.single, single - 1);
}

/* What is named is in the round whatever there is to say of it, in the order of the names. */
Test(round, what_is_named)
{
    struct round_plan plan;
    static const struct field_place places[] = {{FIELD_CUTTER_STICKOUT, 1, 0},
                                                {FIELD_SETTER_NOSE_CONTACT, 0, 0}};
    change("nose_contact: -125 mm", "# nose_contact");
    find(&plan);
    round_name(&arena, &options, machine, places, 2, &plan);
    cr_assert_eq(plan.items.count, 2);
    cr_expect_eq(plan.items.items[0].reason, ROUND_NAMED);
    cr_expect_eq(plan.items.items[1].reason, ROUND_MISSING);
}

/* A gain pays where it is a tenth of the margin, whichever side of nothing that is on. */
Test(round, what_pays)
{
    struct finding finding = {.has_margin = true, .margin = 1};
    struct worth worth = {.tightest = &finding, .gain = 0.1};
    cr_expect(worth_pays(&worth));
    worth.gain = 0.099;
    cr_expect_not(worth_pays(&worth));
    finding.margin = -0.99;
    cr_expect(worth_pays(&worth));
    finding.margin = -0.991;
    cr_expect_not(worth_pays(&worth));
    worth.tightest = NULL;
    cr_expect_not(worth_pays(&worth));
}
