/* Order and groups: what every output shows first, and together. */
#include <criterion/criterion.h>

#include "finding/sink.h"

static struct arena arena;
static struct source machine, rulebook;

static void begin(void)
{
    arena_init(&arena, NULL);
    source_init(&machine, &arena, view_of("machine.yaml"), view_of("a: 1\nb: 2\nc: 3\n"));
    source_init(&rulebook, &arena, view_of("rules.yaml"), view_of("a: 1\n"));
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(order, .init = begin, .fini = end);

/* A failed record; `at` -1: without a place. */
static struct finding failed(const char *rule, const char *subject, int at)
{
    struct finding finding = {.rule = rule,
                              .subject = subject,
                              .level = LEVEL_ERROR,
                              .outcome = OUTCOME_FAILED,
                              .message = ""};
    if (at >= 0) {
        finding.at.source = &machine;
        finding.at.span = (struct span){(uint32_t)at, (uint32_t)at + 1};
    }
    return finding;
}

static void expect_order(struct finding *findings, size_t count, const size_t *wanted)
{
    const char *messages[16] = {"0", "1", "2", "3", "4", "5", "6", "7", "8", "9"};
    for (size_t i = 0; i < count; i++)
        findings[i].message = messages[i];
    findings_sort(findings, count);
    for (size_t i = 0; i < count; i++)
        cr_expect(findings[i].message == messages[wanted[i]], "place %zu holds %s", i,
                  findings[i].message);
}

Test(order, place_rule_subject)
{
    struct finding findings[] = {
        failed("z-rule", "cutter 1", -1), /* 0: no place */
        failed("b-rule", "cutter 10", 3), /* 1 */
        failed("b-rule", "cutter 3", 3),  /* 2: 3 before 10 */
        failed("b-rule", NULL, 3),        /* 3: the whole file before its parts */
        failed("a-rule", "cutter 3", 8),  /* 4 */
        failed("a-rule", "cutter 9", 3),  /* 5 */
        failed("a-rule", NULL, -1),       /* 6 */
        failed("c-rule", NULL, 0),        /* 7 */
    };
    expect_order(findings, 8, (const size_t[]){7, 5, 3, 2, 1, 4, 6, 0});
}

Test(order, equal_ones_stay)
{
    struct finding findings[] = {failed("a", "x", 3), failed("a", "x", 0), failed("a", "x", 3),
                                 failed("a", "x", 0), failed("a", "x", 3), failed("a", "x", 3)};
    expect_order(findings, 6, (const size_t[]){1, 3, 0, 2, 4, 5});
    findings_sort(NULL, 0);
}

Test(order, files_by_name)
{
    struct finding findings[] = {failed("a", NULL, 2), failed("a", NULL, 3),
                                 failed("a", NULL, 0)};
    findings[0].at.source = &rulebook;
    expect_order(findings, 3, (const size_t[]){2, 1, 0});
}

Test(order, numbers_in_subjects)
{
    static const char *const subjects[] = {
        "cutter 2", "cutter 02", "cutter 10", "cutter 10 b", "cutter 100", "cutter x", "d"};
    struct finding findings[7];
    for (size_t i = 0; i < 7; i++)
        findings[i] = failed("a", subjects[6 - i], 3);
    findings_sort(findings, 7);
    /* 2 and 02 are the same number: by their letters then. */
    cr_expect_str_eq(findings[0].subject, "cutter 02");
    cr_expect_str_eq(findings[1].subject, "cutter 2");
    for (size_t i = 2; i < 7; i++)
        cr_expect_str_eq(findings[i].subject, subjects[i]);
}

static struct finding with_margin(struct finding finding, double margin)
{
    finding.has_margin = true;
    finding.margin = margin;
    return finding;
}

static struct finding implied(struct finding finding, const char *by)
{
    finding.implied_by = by;
    return finding;
}

Test(order, groups)
{
    struct finding held = failed("a-rule", "cutter 9", 3);
    held.outcome = OUTCOME_HELD;
    struct finding findings[] = {
        with_margin(failed("a-rule", "cutter 1", 3), -0.001),
        with_margin(failed("a-rule", "cutter 2", 3), -0.004),
        with_margin(failed("a-rule", "cutter 3", 3), -0.002),
        held,
        failed("b-rule", "cutter 1", 3),
        failed("a-rule", "cutter 4", 8),
        implied(failed("c-rule", "cutter 4", 8), "a-rule"),
        implied(failed("c-rule", "cutter 2", 8), "a-rule"),
        implied(failed("d-rule", "cutter 4", 8), "c-rule"),
        implied(failed("e-rule", NULL, 8), "nowhere"),
        failed("f-rule", "cutter 1", -1),
        failed("f-rule", "cutter 2", -1),
    };
    size_t count = sizeof findings / sizeof *findings, group_count;
    findings_sort(findings, count);
    struct finding_group *groups = findings_group(&arena, findings, count, &group_count);
    cr_assert_eq(group_count, 4);
    cr_expect_str_eq(groups[0].worst->subject, "cutter 2");
    cr_assert_eq(groups[0].other_count, 2);
    cr_expect_str_eq(groups[0].others[0]->subject, "cutter 1");
    cr_expect_str_eq(groups[0].others[1]->subject, "cutter 3");
    cr_expect_eq(groups[0].implied, 1); /* cutter 2's */
    cr_expect_str_eq(groups[1].worst->rule, "b-rule");
    cr_expect_eq(groups[1].implied, 0);
    cr_expect_str_eq(groups[2].worst->subject, "cutter 4");
    cr_expect_eq(groups[2].implied, 2); /* its own, and what that one explains */
    cr_expect_str_eq(groups[3].worst->rule, "f-rule");
    cr_expect_eq(groups[3].other_count, 1);
}

/* An alias makes one text serve two fields; two keys are missing from one section. */
Test(order, fields_at_one_place)
{
    struct finding findings[] = {failed("a-rule", "axis x", 3), failed("a-rule", "axis y", 3),
                                 failed("missing-key", NULL, 5),
                                 failed("missing-key", NULL, 5)};
    findings[0].at.field = "axes.x.drive.steps";
    findings[1].at.field = "axes.y.drive.steps";
    findings[2].at.field = "change.lift";
    findings[3].at.field = "change.retract";
    size_t group_count;
    struct finding_group *groups = findings_group(&arena, findings, 4, &group_count);
    cr_assert_eq(group_count, 3);
    cr_expect_eq(groups[0].other_count, 1);
    cr_expect_eq(groups[1].other_count, 0);
    cr_expect_eq(groups[2].other_count, 0);
}

Test(order, explanations_in_a_circle)
{
    struct finding findings[] = {implied(failed("a", NULL, 0), "b"),
                                 implied(failed("b", NULL, 0), "a")};
    size_t group_count;
    findings_group(&arena, findings, 2, &group_count);
    cr_expect_eq(group_count, 0);
    findings_group(&arena, NULL, 0, &group_count);
    cr_expect_eq(group_count, 0);
}
