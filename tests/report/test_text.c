/* report: what people read. */
#include <criterion/criterion.h>

#include "records.h"
#include "rules/check.h"

static const struct report_options plain = {.width = 80, .unicode = true};

static const struct report_output *text(void)
{
    return report_output(REPORT_FINDINGS, 0);
}

#define CAUTION                                                                                \
    "  Numbers on paper: the first run is still made in air, with a hand on the stop.\n"

Test(text, tells_a_finding_whole)
{
    struct records records;
    records_init(&records);
    records_add_stroke(&records);
    records_expect(
        records_file(&records, text(), &plain),
        "shed.yaml:4:17: error: slow probing stops 5.3 mm before cutter 3 reaches the setter "
        "[probe-stroke-short]\n"
        "    4 |   probe_stroke: 9 mm   # too little\n"
        "      |                 ^^^^\n"
        "  put right: lengthen the stroke, or list the stick-out of the short cutter\n"
        "  why: The machine gives up before the cutter has touched anything, in the\n"
        "    middle of a change.\n"
        "  also cutter 12, V bit (-1.2 mm); and the cause of 1 further finding\n"
        "  probe stroke 9 mm, to be no less than gap 14.3 mm: short by 5.3 mm\n"
        "  \xc2\xb1 6.45 mm: allowances.reseat 6.35 mm, setter.nose_contact 0.1 mm\n"
        "  line 7: cutters[number=3].stickout is 42 mm\n"
        "\n"
        "shed.yaml: 1 error, 1 further finding follows; 61 rules held, 2 failed, 22 do\n"
        "  not apply.\n" CAUTION "\n");
    records_free(&records);
}

Test(text, keeps_within_a_narrow_terminal)
{
    struct records records;
    records_init(&records);
    records_add_stroke(&records);
    const struct report_options narrow = {.width = 20, .unicode = true}; /* taken as 40 */
    records_expect(
        records_file(&records, text(), &narrow),
        "shed.yaml:4:17: error: slow probing stops 5.3 mm before cutter 3 reaches the setter "
        "[probe-stroke-short]\n"
        "    4 | ...e_stroke: 9 mm   # too little\n"
        "      |              ^^^^\n"
        "  put right: lengthen the stroke, or\n"
        "    list the stick-out of the short\n"
        "    cutter\n"
        "  why: The machine gives up before the\n"
        "    cutter has touched anything, in the\n"
        "    middle of a change.\n"
        "  also cutter 12, V bit (-1.2 mm); and\n"
        "    the cause of 1 further finding\n"
        "  probe stroke 9 mm, to be no less than\n"
        "    gap 14.3 mm: short by 5.3 mm\n"
        "  \xc2\xb1 6.45 mm: allowances.reseat 6.35 mm,\n"
        "    setter.nose_contact 0.1 mm\n"
        "  line 7: cutters[number=3].stickout is\n"
        "    42 mm\n"
        "\n"
        "shed.yaml: 1 error, 1 further finding\n"
        "  follows; 61 rules held, 2 failed, 22\n"
        "  do not apply.\n"
        "  Numbers on paper: the first run is\n"
        "    still made in air, with a hand on\n"
        "    the stop.\n"
        "\n");
    records_free(&records);
}

/* People at a terminal read the sentence first; no program takes the place off the line. */
Test(text, begins_with_the_sentence_at_a_terminal)
{
    struct records records;
    records_init(&records);
    records_add_stroke(&records);
    const struct report_options terminal = {.width = 40, .unicode = true, .at_terminal = true};
    const char *said = records_file(&records, text(), &terminal);
    static const char wanted[] = "error: slow probing stops 5.3 mm before\n"
                                 "  cutter 3 reaches the setter\n"
                                 "  shed.yaml:4:17 [probe-stroke-short]\n"
                                 "    4 | ...e_stroke: 9 mm   # too little\n";
    cr_expect(strncmp(said, wanted, strlen(wanted)) == 0, "%s", said);
    records_free(&records);
}

Test(text, derives_the_margin_in_full_when_asked)
{
    struct records records;
    records_init(&records);
    records_add_stroke(&records);
    const struct report_options full = {.width = 80, .unicode = true, .arithmetic_full = true};
    const char *said = records_file(&records, text(), &full);
    cr_expect(strstr(said, "  change.probe_stroke >= gap(cutter 3)\n"
                           "  9 mm >= 14.3 mm\n"
                           "  margin -5.3 mm\n"
                           "  tolerances in it: 6.35 mm from"),
              "%s", said);
    cr_expect_not(strstr(said, "to be no less than"), "%s", said);
    records_free(&records);
}

/* What a step or the tolerance tells with its line is not told again; what is not listed is
 * counted. */
Test(text, tells_each_place_once_and_counts_the_rest)
{
    static const struct finding_share shares[] = {
        {"allowances.reseat of cutter 3", 0.006},
        {"setter.nose_contact", 0.0004},
        {"homing.z.repeatability", 0.0003},
        {"setter.repeatability", 0.0002},
        {"change.scan", 0.0001},
    };
    static const char *const steps[] = {"stick-out 42 mm (line 7), to be more"};
    struct records records;
    records_init(&records);
    records_add_stroke(&records);
    struct finding *finding = &records.findings[0];
    struct finding_spot *spots = ARENA_ARRAY(&records.arena, struct finding_spot, 3);
    spots[0] = finding->related[0];
    spots[0].in_steps = true;
    spots[1] = records_spot(&records, "10 mm", "allowances.reseat");
    spots[1].text = "allowances.reseat is 6 mm";
    spots[2] = records_spot(&records, "number: 3", "cutters[0].number");
    spots[2].text = "cutters[0].number is 3";
    finding->related = spots;
    finding->related_count = 3;
    finding->related_left = 188;
    finding->steps = steps;
    finding->shares = shares;
    finding->share_count = 5;
    finding->tolerance = 0.0075;
    const char *said = records_file(&records, text(), &plain);
    static const char wanted[] =
        "  stick-out 42 mm (line 7), to be more\n"
        "  \xc2\xb1 7.5 mm: allowances.reseat 6 mm (line 3), setter.nose_contact 0.4 mm,\n"
        "    homing.z.repeatability 0.3 mm, setter.repeatability 0.2 mm, and 1 smaller\n"
        "    (--arithmetic full names them), and 0.5 mm of more than can be told apart\n"
        "  line 6: cutters[number=3].number is 3; and 188 more places of this kind\n";
    cr_expect(strstr(said, wanted), "%s", said);
    finding->as_squares = true;
    said = records_file(&records, text(), &plain);
    cr_expect(
        strstr(said, "\xc2\xb1 7.5 mm, the root of the sum of squares: allowances.reseat"),
        "%s", said);
    records_free(&records);
}

Test(text, says_in_one_line_that_nothing_was_found)
{
    static const char *wanted[] = {"axes.*.rapid", "axes.*.acceleration", "spindle.run_up",
                                   "work.height"};
    struct records records;
    records_init(&records);
    records.report.rules[OUTCOME_HELD] = 1;
    records_expect(records_file(&records, text(), &plain),
                   "shed.yaml: nothing found; 1 rule held\n");
    records.report.rules[OUTCOME_HELD] = 60;
    records.report.rules[OUTCOME_UNCHECKED] = 5;
    records.report.inapplicable = 1;
    records.report.wanted = wanted;
    records.report.wanted_count = 4;
    records.report.tightest[0] = (struct finding_margin){"park-near-limit",
                                                         "axis x",
                                                         0.0005,
                                                         DIMENSION_LENGTH,
                                                         unit_default(DIMENSION_LENGTH),
                                                         0.1};
    records.report.tightest_count = 1;
    records_expect(
        records_file(&records, text(), &plain),
        "shed.yaml: nothing found; 60 rules held, 1 does not apply, 5 not checked for "
        "want of axes.*.rapid, axes.*.acceleration, spindle.run_up and 1 more; "
        "tightest margin 0.5 mm in park-near-limit (axis x)\n");
    const struct report_options quiet = {.width = 80, .unicode = true, .quiet = true};
    records_expect(records_file(&records, text(), &quiet), "");
    const struct report_options narrow = {.width = 40, .unicode = true, .at_terminal = true};
    records_expect(records_file(&records, text(), &narrow),
                   "shed.yaml: nothing found; 60 rules held,\n"
                   "  1 does not apply, 5 not checked for\n"
                   "  want of axes.*.rapid,\n"
                   "  axes.*.acceleration, spindle.run_up\n"
                   "  and 1 more; tightest margin 0.5 mm in\n"
                   "  park-near-limit (axis x)\n");
    records_free(&records);
}

Test(text, ends_in_what_was_not_looked_at)
{
    static const char *wanted[] = {"axes.*.rapid", "axes.*.acceleration", "spindle.run_up",
                                   "work.height"};
    struct finding_more more = {"flutes-in-collet", LEVEL_WARNING, 98000, 98000, false};
    struct records records;
    records_init(&records);
    records.report.rules[OUTCOME_HELD] = 60;
    records.report.rules[OUTCOME_UNCHECKED] = 5;
    records.report.wanted = wanted;
    records.report.wanted_count = 4;
    records.report.more = &more;
    records.report.more_count = 1;
    records.report.status = FILE_PARTIAL;
    records.report.findings_by_level[LEVEL_WARNING] = 99000;
    records.report.findings_by_level[LEVEL_NOTE] = 1;
    records.report.tightest[0] = (struct finding_margin){"park-near-limit",
                                                         "axis x",
                                                         0.0005,
                                                         DIMENSION_LENGTH,
                                                         unit_default(DIMENSION_LENGTH),
                                                         0.1};
    records.report.tightest[1] = (struct finding_margin){
        "dwell-stop-tight", NULL, 0.2, DIMENSION_TIME, unit_default(DIMENSION_TIME), 0.2};
    records.report.tightest_count = 2;
    records_expect(
        records_file(&records, text(), &plain),
        "shed.yaml: 99000 warnings, 1 note; 60 rules held, 5 not checked. The file breaks\n"
        "  off; only what stands before that was looked at.\n"
        "  98000 more of flutes-in-collet are not listed.\n"
        "  Not checked for want of axes.*.rapid, axes.*.acceleration, spindle.run_up,\n"
        "    work.height.\n"
        "  Tightest margins of what held: 0.5 mm in park-near-limit (axis x); 0.2 s in\n"
        "    dwell-stop-tight.\n" CAUTION "\n");
    records_free(&records);
}

Test(text, shows_what_is_waived)
{
    struct records records;
    records_init(&records);
    records_add_stroke(&records);
    for (size_t i = 0; i < 2; i++) {
        records.findings[i].outcome = OUTCOME_WAIVED;
        records.findings[i].waived_reason = "new spring ordered";
        records.findings[i].waived_until = "2027-03-31";
        records.findings[i].waived_by = "the shop's owner";
    }
    records.report.findings_by_level[LEVEL_ERROR] = 0;
    records.report.waived_by_level[LEVEL_ERROR] = 1;
    records.report.rules[OUTCOME_FAILED] = 0;
    records.report.rules[OUTCOME_WAIVED] = 1;
    records_expect(
        records_file(&records, text(), &plain),
        "shed.yaml:4:17: waived error: slow probing stops 5.3 mm before cutter 3 reaches the "
        "setter [probe-stroke-short]\n"
        "  probe stroke 9 mm, to be no less than gap 14.3 mm: short by 5.3 mm\n"
        "  \xc2\xb1 6.45 mm: allowances.reseat 6.35 mm, setter.nose_contact 0.1 mm\n"
        "  also cutter 12, V bit (-1.2 mm)\n"
        "  waived by the shop's owner until 2027-03-31: new spring ordered\n"
        "\n"
        "shed.yaml: nothing found, 1 error waived; 61 rules held, 1 waived, 22 do not\n"
        "  apply.\n" CAUTION "\n");
    records_free(&records);
}

Test(text, lists_everything_when_asked)
{
    static const char *const missing[] = {"setter.release"};
    struct records records;
    records_init(&records);
    records_add_stroke(&records);
    records.findings[0] = records.findings[2]; /* what follows, alone */
    records.report.count = 1;
    records.report.findings_by_level[LEVEL_ERROR] = 0;
    records_add(&records, &(struct finding){.rule = "probe-floor",
                                            .subject = "cutter 3",
                                            .outcome = OUTCOME_HELD,
                                            .has_margin = true,
                                            .margin = 0.002,
                                            .dimension = DIMENSION_LENGTH,
                                            .margin_text = "2 mm",
                                            .at = records_spot(&records, "42 mm", "x"),
                                            .message = "holds"});
    records_add(&records, &(struct finding){.rule = "no-contact-continues",
                                            .outcome = OUTCOME_HELD,
                                            .message = "holds"});
    records_add(&records,
                &(struct finding){.rule = "retract-still-tripped",
                                  .outcome = OUTCOME_UNCHECKED,
                                  .message = "not checked, for want of setter.release",
                                  .missing = missing,
                                  .missing_count = 1});
    const struct report_options all = {.width = 80, .unicode = true, .show = SHOW_ALL};
    records_expect(
        records_file(&records, text(), &all),
        "shed.yaml:4:17: follows from probe-stroke-short: slow probing stops 5.3 mm "
        "before cutter 3 reaches the setter (cutter 3) [some-follow-on]\n"
        "shed.yaml:7:15: held, to spare 2 mm (cutter 3) [probe-floor]\n"
        "shed.yaml: held [no-contact-continues]\n"
        "shed.yaml: not checked, for want of setter.release [retract-still-tripped]\n"
        "\n"
        "shed.yaml: nothing found; 61 rules held, 2 failed, 22 do not apply\n");
    records_expect(records_file(&records, text(), &plain),
                   "shed.yaml: nothing found; 61 rules held, 2 failed, 22 do not apply\n");
    records_free(&records);
}

Test(text, says_nothing_of_a_file_that_could_not_be_opened)
{
    struct records records;
    records_init(&records);
    records.report = (struct file_report){.path = "away.yaml", .status = FILE_UNREADABLE};
    records_expect(records_file(&records, text(), &plain), "");
    records_free(&records);
}

Test(text, lets_nothing_hostile_reach_the_terminal)
{
    struct records records;
    records_init(&records);
    records.report.path = "sh\x1b[31med.yaml";
    records.source.name = view_of(records.report.path);
    records_add(&records, &(struct finding){.rule = "unknown\x07key",
                                            .level = LEVEL_ERROR,
                                            .outcome = OUTCOME_FAILED,
                                            .subject = "cutter \xe2\x80\xae",
                                            .at = records_spot(&records, "9 mm", "x"),
                                            .message = "there is no key a\xff\nb\x9b",
                                            .why = "w\x1b]0;title\x07",
                                            .put_right = "p\xc2\x9bq"});
    records.report.findings_by_level[LEVEL_ERROR] = 1;
    records_expect(
        records_file(&records, text(), &plain),
        "sh\\x1b[31med.yaml:4:17: error: there is no key a\\xff\\nb\\x9b [unknown\\x07key]\n"
        "    4 |   probe_stroke: 9 mm   # too little\n"
        "      |                 ^^^^\n"
        "  put right: p\\u009bq\n"
        "  why: w\\x1b]0;title\\x07\n"
        "\n"
        "sh\\x1b[31med.yaml: 1 error; 0 rules held.\n" CAUTION "\n");
    records_free(&records);
}

Test(text, colours_only_what_words_say_too)
{
    struct records records;
    records_init(&records);
    records_add(&records, &(struct finding){.rule = "steps-off",
                                            .level = LEVEL_WARNING,
                                            .outcome = OUTCOME_FAILED,
                                            .message = "steps are off"});
    records.report.findings_by_level[LEVEL_WARNING] = 1;
    const struct report_options colored = {.width = 80, .unicode = true, .color = true};
    records_expect(
        records_file(&records, text(), &colored),
        "\x1b[1mshed.yaml\x1b[0m: \x1b[1;35mwarning\x1b[0m: steps are off [steps-off]\n"
        "\n"
        "shed.yaml: 1 warning; 0 rules held.\n" CAUTION "\n");
    records_free(&records);
}

Test(text, does_without_more_than_ascii_where_that_is_all_there_is)
{
    struct records records;
    records_init(&records);
    records_add(&records,
                &(struct finding){.rule = "steps-off",
                                  .level = LEVEL_NOTE,
                                  .outcome = OUTCOME_FAILED,
                                  .message = "42 mm ± 0.5 mm in m/s², größer 刀 \x80"});
    records.report.findings_by_level[LEVEL_NOTE] = 1;
    const struct report_options ascii = {.width = 80};
    records_expect(records_file(&records, text(), &ascii),
                   "shed.yaml: note: 42 mm +/- 0.5 mm in m/s^2, gr??er ?? \\x80 [steps-off]\n"
                   "\n"
                   "shed.yaml: 1 note; 0 rules held.\n" CAUTION "\n");
    records_free(&records);
}

Test(text, sums_up_only_several_files)
{
    static const struct {
        struct run_totals totals;
        bool quiet;
        const char *wanted;
    } cases[] = {
        {{.files = 1}, false, ""},
        {{.files = 2}, false, "2 files: nothing found\n"},
        {{.files = 2}, true, ""},
        {{.files = 2, .waived_by_level = {0, 1, 2}},
         true,
         "2 files: nothing found, 2 errors, 1 warning waived\n"},
        {{.by_level = {3, 0, 1}, .files = 3, .unreadable = 1},
         true,
         "3 files: 1 error, 3 notes; 1 could not be read\n"},
        {{.files = 1, .passed_over = 4},
         false,
         "1 file: nothing found; 4 passed over, being no machine files\n"},
        {{.files = 1, .passed_over = 1},
         false,
         "1 file: nothing found; 1 passed over, being no machine file\n"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct arena arena;
        arena_init(&arena, NULL);
        struct buffer out;
        buffer_init(&out, &arena);
        const struct report_options options = {.unicode = true, .quiet = cases[i].quiet};
        report_end(text(), &options, &cases[i].totals, &out);
        records_expect(buffer_string(&out), cases[i].wanted);
        arena_free(&arena);
    }
}
