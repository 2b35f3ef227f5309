/* What speaks against a change, by reports made up for it. */
#include <criterion/criterion.h>

#include "rules/check.h"

/* A report of findings that stand in an array. */
static struct file_report report_of(struct finding *findings, size_t count)
{
    return (struct file_report){.path = "m.yaml", .findings = findings, .count = count};
}

static struct finding failed(const char *rule, const char *field)
{
    return (struct finding){.rule = rule,
                            .level = LEVEL_ERROR,
                            .outcome = OUTCOME_FAILED,
                            .at = {.field = field},
                            .message = rule};
}

static struct finding held(const char *rule, double margin)
{
    return (struct finding){.rule = rule,
                            .level = LEVEL_ERROR,
                            .outcome = OUTCOME_HELD,
                            .has_margin = true,
                            .margin = margin,
                            .message = rule};
}

Test(mended, the_gravest_counts_first)
{
    struct finding two_notes[] = {failed("a", "change.standoff"), failed("b", NULL)};
    struct finding error[] = {failed("c", NULL)};
    two_notes[0].level = two_notes[1].level = LEVEL_NOTE;
    struct file_report notes = report_of(two_notes, 2), one = report_of(error, 1);
    cr_expect(report_is_better(&notes, &one));
    cr_expect_not(report_is_better(&one, &notes));
    cr_expect_not(report_is_better(&one, &one), "as much is not less");
}

Test(mended, what_is_not_listed_counts)
{
    struct finding error[] = {failed("a", NULL)};
    struct finding_more more = {.rule = "a", .level = LEVEL_ERROR, .failed = 3};
    struct file_report few = report_of(error, 1), many = report_of(error, 1);
    many.more = &more;
    many.more_count = 1;
    cr_expect(report_is_better(&few, &many));
}

Test(mended, one_number_behind_others_is_none_by_itself)
{
    struct finding findings[] = {failed("a", NULL), failed("number-out-of-line", NULL)};
    struct file_report both = report_of(findings, 2), one = report_of(findings, 1);
    cr_expect_not(report_is_better(&one, &both));
    cr_expect_not(report_is_better(&both, &one));
}

Test(mended, parts_of_a_pair_are_the_pair)
{
    const struct finding_spot related[] = {{.field = "axes.z.travel.high"},
                                           {.field = "cutters[12].stickout"}};
    struct finding finding = failed("a", "change.standoff");
    finding.related = related;
    finding.related_count = 2;
    cr_expect(finding_rests_on(&finding, "change.standoff"));
    cr_expect(finding_rests_on(&finding, "axes.z.travel"));
    cr_expect(finding_rests_on(&finding, "cutters[12].stickout"));
    cr_expect_not(finding_rests_on(&finding, "axes.z.travel.low"));
    cr_expect_not(finding_rests_on(&finding, "cutters[1].stickout"));
    cr_expect_not(finding_rests_on(&finding, "change.stand"));
}

Test(mended, only_numbers_are_measured)
{
    struct finding finding = failed("a", "setter.nose_contact");
    cr_expect(finding_is_measured(&finding));
    finding.at.field = "change.standoff";
    cr_expect_not(finding_is_measured(&finding));
    finding.at.field = "setter.tested_before_use";
    cr_expect_not(finding_is_measured(&finding));
    finding.at.field = NULL;
    cr_expect_not(finding_is_measured(&finding));
}

/* Before: `rule` fails over the standoff and the setter's nose contact. */
struct setting {
    struct arena arena;
    struct finding_spot contact;
    struct finding before[3], after[3];
};

static void set_up(struct setting *setting)
{
    *setting = (struct setting){.contact = {.field = "setter.nose_contact"}};
    arena_init(&setting->arena, NULL);
    setting->before[0] = failed("a", "change.standoff");
    setting->before[0].related = &setting->contact;
    setting->before[0].related_count = 1;
    setting->after[0] = held("a", 0.001);
}

static struct against against(struct setting *setting, size_t before, size_t after)
{
    struct file_report old = report_of(setting->before, before);
    struct file_report new = report_of(setting->after, after);
    struct against found;
    against_find(&setting->arena, &old, &new, &found);
    return found;
}

Test(mended, nothing_speaks_against_a_number_that_only_mends)
{
    struct setting setting;
    set_up(&setting);
    struct against found = against(&setting, 1, 1);
    cr_expect(!found.doubt && !found.people && !found.measured);
    arena_free(&setting.arena);
}

Test(mended, what_rests_on_a_doubtful_number_is_not_suited_to_it)
{
    struct setting setting;
    set_up(&setting);
    /* The reader finds it implausible before and after. */
    setting.before[1] = setting.after[1] = failed("implausible", "setter.nose_contact");
    setting.before[1].level = setting.after[1].level = LEVEL_WARNING;
    setting.before[1].from_reader = setting.after[1].from_reader = true;
    cr_expect_str_eq(against(&setting, 2, 2).doubt->rule, "implausible");
    /* A note is no doubt. */
    setting.before[1].level = setting.after[1].level = LEVEL_NOTE;
    cr_expect_null(against(&setting, 2, 2).doubt);
    /* A rule that points at it counts only where it still fails. */
    setting.before[1] = failed("b", "setter.nose_contact");
    setting.after[1] = held("b", 0.001);
    cr_expect_null(against(&setting, 2, 2).doubt);
    setting.after[1] = failed("b", "setter.nose_contact");
    cr_expect_str_eq(against(&setting, 2, 2).doubt->rule, "b");
    arena_free(&setting.arena);
}

Test(mended, what_is_measured_is_not_made_right_by_choosing)
{
    struct setting setting;
    set_up(&setting);
    setting.before[0].at.field = "setter.nose_contact";
    cr_expect_str_eq(against(&setting, 1, 1).measured->rule, "a");
    /* But where a chosen number was implausible, that was to blame. */
    const struct finding_spot standoff = {.field = "change.standoff"};
    setting.before[0].related = &standoff;
    setting.before[1] = failed("implausible", "change.standoff");
    setting.before[1].from_reader = true;
    cr_expect_null(against(&setting, 2, 1).measured);
    arena_free(&setting.arena);
}

Test(mended, less_room_for_people_is_told)
{
    struct setting setting;
    set_up(&setting);
    setting.before[1] = held("wait", 4);
    setting.after[1] = held("wait", 3);
    cr_expect_null(against(&setting, 2, 2).people);
    setting.before[1].hurts = setting.after[1].hurts = HURTS_PERSON;
    cr_expect_str_eq(against(&setting, 2, 2).people->rule, "wait");
    setting.after[1].margin = 5;
    cr_expect_null(against(&setting, 2, 2).people);
    setting.after[1].outcome = OUTCOME_UNCHECKED;
    cr_expect_str_eq(against(&setting, 2, 2).people->rule, "wait");
    arena_free(&setting.arena);
}
