/* What follows from what the reader finds, from records made by hand. */
#include <criterion/criterion.h>

#include "finding/sink.h"
#include "rules/internal.h"

/* Of one file that is never read: only places in it count. */
static struct source file, other_file;

static struct arena arena;

static void open_arena(void)
{
    arena_init(&arena, NULL);
}

static void close_arena(void)
{
    arena_free(&arena);
}

TestSuite(cause, .init = open_arena, .fini = close_arena);

static struct finding_spot spot(const char *field, uint32_t start, uint32_t end)
{
    return (struct finding_spot){.field = field, .source = &file, .span = {start, end}};
}

static struct finding of_reader(enum reader_finding name, struct finding_spot at)
{
    return (struct finding){.rule = reader_finding_name(name),
                            .level = reader_finding_level(name),
                            .outcome = OUTCOME_FAILED,
                            .from_reader = true,
                            .at = at};
}

static struct finding of_rule(const char *rule, enum finding_level level,
                              struct finding_spot at, const struct finding_spot *related,
                              size_t count)
{
    return (struct finding){.rule = rule,
                            .level = level,
                            .outcome = OUTCOME_FAILED,
                            .at = at,
                            .related = related,
                            .related_count = count};
}

static void follows(const struct finding *finding, const char *from)
{
    if (from)
        cr_expect(finding->implied_by && strcmp(finding->implied_by, from) == 0,
                  "%s follows from %s, not from %s", finding->rule,
                  finding->implied_by ? finding->implied_by : "nothing", from);
    else
        cr_expect_null(finding->implied_by, "%s follows from %s", finding->rule,
                       finding->implied_by);
}

/* An error that reads the number says more than the remark on it. */
Test(cause, remark_follows_from_an_error)
{
    struct finding_spot number = spot("change.standoff", 10, 15);
    struct finding findings[] = {
        of_reader(READER_IMPLAUSIBLE, number),
        of_rule("over-this", LEVEL_ERROR, spot("change.retract", 30, 35), &number, 1),
        of_rule("over-that", LEVEL_ERROR, number, NULL, 0),
        of_rule("elsewhere", LEVEL_ERROR, spot("change.lift", 50, 55), NULL, 0),
    };
    causes_join(&arena, findings, 4);
    follows(&findings[0], "over-that");
    for (int i = 1; i < 4; i++)
        follows(&findings[i], NULL);
    cr_expect_eq(findings[2].related_count, 0);
}

/* One that points elsewhere tells the remark before the other places that it names. */
Test(cause, error_elsewhere_tells_the_remark)
{
    struct finding_spot number = spot("change.probe_feed", 10, 15);
    struct finding_spot related[] = {spot("setter.release", 20, 24), number};
    related[0].text = "setter.release is 1 mm";
    related[1].text = "change.probe_feed is 5 m/min";
    struct finding findings[] = {
        of_reader(READER_IMPLAUSIBLE, number),
        of_rule("over-this", LEVEL_ERROR, spot("change.retract", 30, 35), related, 2),
    };
    findings[0].message = "5 m/min looks like 5 cm/min";
    causes_join(&arena, findings, 2);
    follows(&findings[0], "over-this");
    follows(&findings[1], NULL);
    cr_assert_eq(findings[1].related_count, 2);
    cr_expect_str_eq(findings[1].related[0].field, "change.probe_feed");
    cr_expect_str_eq(findings[1].related[0].text, "5 m/min looks like 5 cm/min");
    cr_expect_eq(findings[1].related[0].span.start, 10);
    cr_expect_str_eq(findings[1].related[1].text, "setter.release is 1 mm");
}

/* What is less than an error follows from the remark, wherever it has read the number. */
Test(cause, warnings_follow_from_the_remark)
{
    static const enum reader_finding remarks[] = {READER_IMPLAUSIBLE, READER_LOOKS_LIKE_INCHES,
                                                  READER_LOOKS_LIKE_SECONDS};
    for (size_t i = 0; i < sizeof remarks / sizeof remarks[0]; i++) {
        struct finding_spot number = spot("spindle.run_down", 10, 15);
        struct finding findings[] = {
            of_rule("before", LEVEL_WARNING, spot("change.lift", 2, 5), &number, 1),
            of_reader(remarks[i], number),
            of_rule("after", LEVEL_NOTE, spot("spindle.run_down", 12, 20), NULL, 0),
            of_rule("beside", LEVEL_NOTE, spot("spindle.run_up", 15, 20), NULL, 0),
        };
        causes_join(&arena, findings, 4);
        follows(&findings[0], findings[1].rule);
        follows(&findings[1], NULL);
        follows(&findings[2], findings[1].rule);
        follows(&findings[3], NULL);
    }
}

/* What is waived, held, told already or in another file explains nothing and needs no reason.
 */
Test(cause, only_open_findings_are_joined)
{
    struct finding_spot number = spot("change.standoff", 10, 15);
    struct finding findings[] = {
        of_reader(READER_IMPLAUSIBLE, number),
        of_rule("waived", LEVEL_ERROR, number, NULL, 0),
        of_rule("held", LEVEL_WARNING, number, NULL, 0),
        of_rule("told", LEVEL_WARNING, number, NULL, 0),
        of_rule("other-file", LEVEL_WARNING, number, NULL, 0),
        of_reader(READER_NOT_A_NUMBER, spot("change.lift", 40, 45)),
        of_rule("over-the-number", LEVEL_WARNING, spot("change.lift", 40, 45), NULL, 0),
    };
    findings[1].outcome = OUTCOME_WAIVED;
    findings[2].outcome = OUTCOME_HELD;
    findings[3].implied_by = "another";
    findings[4].at.source = &other_file;
    causes_join(&arena, findings, 7);
    follows(&findings[0], NULL);
    follows(&findings[1], NULL);
    follows(&findings[2], NULL);
    follows(&findings[3], "another");
    for (int i = 4; i < 7; i++)
        follows(&findings[i], NULL);

    struct finding waived[] = {of_reader(READER_IMPLAUSIBLE, number),
                               of_rule("warned", LEVEL_WARNING, number, NULL, 0)};
    waived[0].outcome = OUTCOME_WAIVED;
    causes_join(&arena, waived, 2);
    follows(&waived[1], NULL);
}

/* A key that is missing because another value is: warnings about that value say the same. */
Test(cause, missing_key_and_its_reason)
{
    struct finding_spot reason = spot("cutters[1].stickout", 90, 99);
    struct finding missing =
        of_reader(READER_MISSING_KEY, spot("change.assumed_stickout", 10, 15));
    missing.related = &reason;
    missing.related_count = 1;
    struct finding findings[] = {
        missing,
        of_rule("cutter-stickout-missing", LEVEL_WARNING, reason, NULL, 0),
        of_rule("same-place", LEVEL_WARNING, spot("cutters[1].speed", 90, 99), NULL, 0),
        of_rule("graver", LEVEL_ERROR, reason, NULL, 0),
        of_rule("next-cutter", LEVEL_WARNING, spot("cutters[2].stickout", 120, 129), NULL, 0),
    };
    causes_join(&arena, findings, 5);
    follows(&findings[0], NULL);
    follows(&findings[1], "missing-key");
    for (int i = 2; i < 5; i++)
        follows(&findings[i], NULL);
}

/* An error that wants the value itself says more than what else is wanted without it. */
Test(cause, missing_key_and_the_error_that_wants_its_reason)
{
    struct finding_spot reason = spot("cutters[1].stickout", 90, 99);
    struct finding missing =
        of_reader(READER_MISSING_KEY, spot("change.assumed_stickout", 10, 15));
    missing.related = &reason;
    missing.related_count = 1;
    struct finding findings[] = {
        missing,
        of_rule("warns", LEVEL_WARNING, reason, NULL, 0),
        of_rule("wants-it", LEVEL_ERROR, reason, NULL, 0),
    };
    findings[2].blames_absent = true;
    causes_join(&arena, findings, 3);
    follows(&findings[0], "wants-it");
    follows(&findings[1], "missing-key");
    follows(&findings[2], NULL);
    struct finding waived[] = {missing, findings[2]};
    waived[1].outcome = OUTCOME_WAIVED;
    causes_join(&arena, waived, 2);
    follows(&waived[0], NULL);
}
