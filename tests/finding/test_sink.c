/* The sink: what is reported, kept, counted. */
#include <criterion/criterion.h>

#include "finding/sink.h"

static struct arena arena;
static struct source source;
static struct finding_sink sink;

static void begin(void)
{
    arena_init(&arena, NULL);
    source_init(&source, &arena, view_of("test.yaml"), view_of("a: 1\nb: 2\n"));
    sink_init(&sink, &arena, &source);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(sink, .init = begin, .fini = end);

Test(sink, report_is_complete)
{
    char field[] = "b";
    struct finding *finding = sink_report(&sink, READER_WRONG_KIND, (struct span){8, 9}, field,
                                          "found %d, and %s is wanted", 2, "a text");
    field[0] = 'x'; /* what was passed may go */
    finding->put_right = "write a text";
    finding_relate(&sink, finding, (struct span){0, 1}, "a", "as here");
    finding_relate(&sink, finding, (struct span){3, 4}, NULL, NULL);
    cr_assert_eq(sink.findings.count, 1);
    finding = &sink.findings.items[0];
    cr_expect_str_eq(finding->rule, "wrong-kind");
    cr_expect_str_eq(finding->message, "found 2, and a text is wanted");
    cr_expect_str_eq(finding->at.field, "b");
    cr_expect_eq(finding->at.source, &source);
    cr_expect_eq(finding->at.span.start, 8);
    cr_expect_eq(finding->level, LEVEL_ERROR);
    cr_expect_eq(finding->outcome, OUTCOME_FAILED);
    cr_expect(finding->from_reader && !finding->has_margin && !finding->subject);
    cr_assert_eq(finding->related_count, 2);
    cr_expect_str_eq(finding->related[0].text, "as here");
    cr_expect_str_eq(finding->related[0].field, "a");
    cr_expect_null(finding->related[1].text);
    cr_expect_eq(finding->related[1].span.start, 3);
}

Test(sink, the_rest_is_counted)
{
    for (size_t i = 0; i < FINDINGS_A_NAME + 10; i++) {
        struct finding *finding =
            sink_report(&sink, READER_UNKNOWN_KEY, (struct span){0, 1}, NULL, "x");
        cr_expect((finding != NULL) == (i < FINDINGS_A_NAME));
        finding_relate(&sink, finding, (struct span){0, 1}, NULL, NULL);
    }
    cr_expect_not_null(sink_report(&sink, READER_IMPLAUSIBLE, (struct span){0, 1}, NULL, "x"));
    cr_expect_eq(sink.findings.count, FINDINGS_A_NAME + 1);
    cr_expect_eq(sink.counts[READER_UNKNOWN_KEY], FINDINGS_A_NAME + 10);
    cr_expect_eq(sink.counts[READER_IMPLAUSIBLE], 1);
}

static int gathered;

static void gather(struct finding_names *names)
{
    static const struct finding_name items[] = {
        {"cutters[0]", "cutters[number=7]", "cutter 7", "cutter 7, flat"}};
    names->items = items;
    names->count = 1;
    gathered++;
}

/* Names of records are gathered once, and not before a text has one. */
Test(sink, names_of_records)
{
    struct finding_names names = {.gather = gather};
    const struct file_report report = {.names = &names}, bare = {.names = NULL};
    static const char *const plain[] = {"", "5 mm", "change.standoff", "cutters[].centre",
                                        "cutters[number=7].centre", "[0]"};
    for (size_t i = 0; i < sizeof plain / sizeof *plain; i++)
        cr_expect_str_eq(finding_told(&arena, &report, plain[i]), plain[i]);
    cr_expect_eq(gathered, 0);
    cr_expect_str_eq(finding_told(&arena, &report, "of cutters[0].shank, cutters[1].shank"),
                     "of cutters[number=7].shank, cutters[1].shank");
    cr_expect_str_eq(finding_told(&arena, &report, "cutters[0]"), "cutters[number=7]");
    cr_expect_eq(gathered, 1);
    cr_expect_str_eq(finding_told(&arena, &bare, "cutters[0]"), "cutters[0]");
}

Test(sink, names)
{
    for (int i = 0; i < READER_COUNT; i++)
        for (int k = 0; k < i; k++)
            cr_expect_str_neq(reader_finding_name((enum reader_finding)i),
                              reader_finding_name((enum reader_finding)k));
    cr_expect_str_eq(reader_finding_name(READER_TAB_INDENT), "tab-indent");
    cr_expect_eq(reader_finding_level(READER_IMPLAUSIBLE), LEVEL_WARNING);
    cr_expect_str_eq(finding_level_name(LEVEL_NOTE), "note");
    cr_expect_str_eq(finding_level_name(LEVEL_WARNING), "warning");
    cr_expect_str_eq(finding_level_name(LEVEL_ERROR), "error");
    cr_expect_str_eq(finding_hurts_name(HURTS_PERSON), "person");
    cr_expect_str_eq(finding_outcome_name(OUTCOME_UNCHECKED), "unchecked");
    cr_expect_str_eq(file_status_name(FILE_PARTIAL), "partial");
}
