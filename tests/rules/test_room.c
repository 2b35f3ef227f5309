/* Which margins tell how much room there is, and how close a machine is by them. */
#include <criterion/criterion.h>

#include <string.h>

#include "finding/sink.h"
#include "rules/check.h"

/* Has any requirement of this rule room? */
static bool has_room(const char *name)
{
    for (uint32_t i = 0; i < builtin_rulebook.rule_count; i++) {
        const struct rule *rule = &builtin_rulebook.rules[i];
        bool room = false;
        for (uint32_t k = 0; k < rule->requirement_count; k++)
            room |= builtin_rulebook.requirements[rule->first_requirement + k].has_room;
        if (strcmp(rule->name, name) == 0)
            return room;
    }
    cr_assert_fail("no rule is called %s", name);
    return false;
}

Test(room, facts_and_dates_have_none)
{
    static const char *const with[] = {"probe-stroke-short", "shank-barely-held",
                                       "setter-below-table", "setter-crowded", "long-and-thin"};
    static const char *const without[] = {"shank-not-held", "shank-over-capacity",
                                          "steps-off",      "measured-before-work",
                                          "plate-untested", "cutter-number-twice"};
    for (size_t i = 0; i < sizeof with / sizeof with[0]; i++)
        cr_expect(has_room(with[i]), "%s has room", with[i]);
    for (size_t i = 0; i < sizeof without / sizeof without[0]; i++)
        cr_expect_not(has_room(without[i]), "%s has none", without[i]);
}

/* The base machine holds its shanks to the last digit, and its setter is as high as measured:
 * neither is close. */
Test(room, tightest_of_the_base_machine)
{
    struct arena arena;
    arena_init(&arena, NULL);
    static const struct rulebook *const books[] = {&builtin_rulebook};
    const struct check_options options = {.books = books, .book_count = 1, .words = true};
    struct file_report report = {0};
    for (size_t i = 0; i < builtin_text_count; i++)
        if (strcmp(builtin_texts[i].name, "rules/base-machine.yaml") == 0)
            check_bytes(&arena, &options, view_of("m.yaml"),
                        (struct view){builtin_texts[i].bytes, builtin_texts[i].size}, &report);
    cr_assert_eq(report.tightest_count, TIGHTEST_MARGINS);
    cr_expect_str_eq(report.tightest[0].rule, "probe-stroke-short");
    cr_expect_float_eq(report.tightest[0].margin, 0.00298, 1e-6);
    cr_expect_eq(report.tightest[0].unit, unit_default(DIMENSION_LENGTH));
    for (size_t i = 0; i < report.tightest_count; i++) {
        cr_expect(report.tightest[i].relative > 0);
        cr_expect(i == 0 || report.tightest[i - 1].relative <= report.tightest[i].relative);
        cr_expect_str_neq(report.tightest[i].rule, "setter-height-disagrees");
    }
    arena_free(&arena);
}
