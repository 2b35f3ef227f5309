#include "records.h"

#include <criterion/criterion.h>

static const char file[] = "proveout: 1\n"
                           "change:\n"
                           "  standoff: 10 mm\n"
                           "  probe_stroke: 9 mm   # too little\n"
                           "cutters:\n"
                           "  - number: 3\n"
                           "    stickout: 42 mm\n";

void records_init(struct records *records)
{
    *records = (struct records){0};
    arena_init(&records->arena, NULL);
    source_init(&records->source, &records->arena, view_of("shed.yaml"), view_of(file));
    records->report = (struct file_report){
        .path = "shed.yaml",
        .status = FILE_CHECKED,
        .source = &records->source,
        .findings = records->findings,
    };
}

void records_free(struct records *records)
{
    arena_free(&records->arena);
}

struct finding_spot records_spot(struct records *records, const char *text, const char *field)
{
    const char *found = strstr(records->source.bytes.data, text);
    cr_assert_not_null(found);
    uint32_t start = (uint32_t)(found - records->source.bytes.data);
    return (struct finding_spot){
        .field = field,
        .source = &records->source,
        .span = {start, start + (uint32_t)strlen(text)},
    };
}

struct finding *records_add(struct records *records, const struct finding *finding)
{
    cr_assert_lt(records->report.count, 16);
    records->findings[records->report.count] = *finding;
    return &records->findings[records->report.count++];
}

void records_add_stroke(struct records *records)
{
    static const char *const arithmetic[] = {
        "change.probe_stroke >= gap(cutter 3)",
        "9 mm >= 14.3 mm",
    };
    static const char *const steps[] = {
        "probe stroke 9 mm, to be no less than gap 14.3 mm: short by 5.3 mm",
    };
    static const struct finding_name items[] = {
        {"cutters[0]", "cutters[number=3]", "cutter 3", "cutter 3, flat"},
        {"cutters[1]", "cutters[number=12]", "cutter 12", "cutter 12, V bit"},
    };
    static struct finding_names names = {items, 2, NULL};
    static const struct finding_share shares[] = {
        {"allowances.reseat of cutter 3", 0.00635},
        {"setter.nose_contact", 0.0001},
    };
    struct finding_spot *related = ARENA_ARRAY(&records->arena, struct finding_spot, 1);
    related[0] = records_spot(records, "42 mm", "cutters[0].stickout");
    related[0].text = "cutters[0].stickout is 42 mm";
    related[0].told = "how far it sticks out: 42 mm (cutters[0].stickout)";
    struct finding finding = {
        .rule = "probe-stroke-short",
        .level = LEVEL_ERROR,
        .hurts = HURTS_WORK,
        .subject = "cutter 3",
        .outcome = OUTCOME_FAILED,
        .has_margin = true,
        .margin = -0.0053,
        .dimension = DIMENSION_LENGTH,
        .margin_text = "-5.3 mm",
        .at = records_spot(records, "9 mm", "change.probe_stroke"),
        .related = related,
        .related_count = 1,
        .message = "slow probing stops 5.3 mm before cutter 3 reaches the setter",
        .why =
            "The machine gives up before the cutter has touched anything, in the middle of a "
            "change.\n",
        .put_right = "lengthen the stroke, or list the stick-out of the short cutter",
        .arithmetic = arithmetic,
        .arithmetic_count = 2,
        .steps = steps,
        .step_count = 1,
        .shares = shares,
        .share_count = 2,
        .tolerance = 0.00645,
    };
    records_add(records, &finding);
    finding.subject = "cutter 12";
    finding.margin = -0.0012;
    finding.margin_text = "-1.2 mm";
    records_add(records, &finding);
    finding.subject = "cutter 3";
    finding.rule = "some-follow-on";
    finding.implied_by = "probe-stroke-short";
    finding.has_margin = false;
    records_add(records, &finding);
    records->report.names = &names;
    records->report.rules[OUTCOME_HELD] = 61;
    records->report.rules[OUTCOME_FAILED] = 2;
    records->report.inapplicable = 22;
    records->report.findings_by_level[LEVEL_ERROR] = 1;
}

const char *records_file(struct records *records, const struct report_output *output,
                         const struct report_options *options)
{
    struct buffer out;
    const struct report report = {
        REPORT_FINDINGS, records->report.path, {.findings = &records->report}};
    buffer_init(&out, &records->arena);
    report_file(output, options, &report, &out);
    return buffer_string(&out);
}

const char *records_run(struct records *records, const struct report_output *output,
                        const struct report_options *options)
{
    struct buffer out;
    struct run_totals totals = {0};
    const struct report report = {
        REPORT_FINDINGS, records->report.path, {.findings = &records->report}};
    buffer_init(&out, &records->arena);
    totals_add(&totals, &records->report);
    report_alone(output, options, &report, &totals, &out);
    return buffer_string(&out);
}

void records_expect(const char *given, const char *wanted)
{
    cr_assert_str_eq(given, wanted, "\n-- given --\n%s\n-- wanted --\n%s\n", given, wanted);
}
