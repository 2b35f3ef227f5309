/* report: what programs read. */
#include <criterion/criterion.h>

#include <math.h>

#include "records.h"
#include "report/json_writer.h"

static const struct report_options plain = {.width = 80, .unicode = true};

static const struct report_output *json(void)
{
    return report_output(REPORT_FINDINGS, 1);
}

#define HEAD "{\"format\": \"proveout-findings\", \"version\": 1,\n  \"files\": [\n"

Test(json, lists_every_evaluation_with_all_its_keys)
{
    static const char *const missing[] = {"setter.release"};
    struct records records;
    records_init(&records);
    records_add_stroke(&records);
    records.report.count = 1;
    records_add(&records, &(struct finding){.rule = "retract-still-tripped",
                                            .level = LEVEL_ERROR,
                                            .hurts = HURTS_WORK,
                                            .outcome = OUTCOME_UNCHECKED,
                                            .message = "not checked",
                                            .missing = missing,
                                            .missing_count = 1});
    struct finding_more more = {"flutes-in-collet", LEVEL_WARNING, 98000, 98000, false};
    records.report.more = &more;
    records.report.more_count = 1;
    records_expect(
        records_run(&records, json(), &plain), HEAD
        "    {\"path\": \"shed.yaml\", \"status\": \"checked\",\n"
        "      \"evaluations\": [\n"
        "        {\"rule\": \"probe-stroke-short\", \"level\": \"error\", \"hurts\": \"work\", "
        "\"subject\": \"cutter 3\", \"outcome\": \"failed\", "
        "\"margin\": {\"si\": -0.0053, \"dimension\": \"length\", \"text\": \"-5.3 mm\"}, "
        "\"field\": \"change.probe_stroke\", \"line\": 4, \"column\": 17, "
        "\"end_line\": 4, \"end_column\": 21, "
        "\"related\": [{\"field\": \"cutters[0].stickout\", \"path\": \"shed.yaml\", "
        "\"line\": 7, \"column\": 15, \"end_line\": 7, \"end_column\": 20, "
        "\"text\": \"cutters[0].stickout is 42 mm\"}], "
        "\"message\": \"slow probing stops 5.3 mm before cutter 3 reaches the setter\", "
        "\"put_right\": \"lengthen the stroke, or list the stick-out of the short cutter\", "
        "\"fixes\": [], "
        "\"tolerances\": [{\"name\": \"allowances.reseat of cutter 3\", \"si\": 0.00635}, "
        "{\"name\": \"setter.nose_contact\", \"si\": 0.0001}], "
        "\"missing\": [], \"implied_by\": null, \"waived\": null, \"fingerprint\": null},\n"
        "        {\"rule\": \"retract-still-tripped\", \"level\": \"error\", "
        "\"hurts\": \"work\", \"subject\": null, \"outcome\": \"unchecked\", "
        "\"margin\": null, \"field\": null, \"line\": null, \"column\": null, "
        "\"end_line\": null, \"end_column\": null, \"related\": [], "
        "\"message\": \"not checked\", \"put_right\": null, \"fixes\": [], \"tolerances\": [], "
        "\"missing\": [\"setter.release\"], \"implied_by\": null, \"waived\": null, "
        "\"fingerprint\": null}],\n"
        "      \"more\": [{\"rule\": \"flutes-in-collet\", \"failed\": 98000}],\n"
        "      \"rules\": {\"held\": 61, \"failed\": 2, \"waived\": 0, \"unchecked\": 0, "
        "\"inapplicable\": 22}}],\n"
        "  \"counts\": {\"error\": 1, \"warning\": 0, \"note\": 0, \"files\": 1, "
        "\"unreadable\": 0, \"waived\": {\"error\": 0, \"warning\": 0, \"note\": 0}}}\n");
    records_free(&records);
}

Test(json, gives_the_reason_and_last_day_of_a_waiver)
{
    struct records records;
    records_init(&records);
    records_add(&records, &(struct finding){.rule = "a-b",
                                            .outcome = OUTCOME_WAIVED,
                                            .message = "m",
                                            .waived_reason = "known \"since\" May",
                                            .waived_until = "2027-03-31"});
    const char *given = records_file(&records, json(), &plain);
    cr_assert(strstr(given, "\"outcome\": \"waived\""));
    cr_assert(strstr(given, "\"waived\": {\"reason\": \"known \\\"since\\\" May\", "
                            "\"until\": \"2027-03-31\", \"accepted_by\": null}"),
              "%s", given);
    records.findings[0].waived_until = NULL;
    records.findings[0].waived_by = "V. Owner";
    cr_assert(strstr(records_file(&records, json(), &plain),
                     "\"until\": null, \"accepted_by\": \"V. Owner\"}"));
    records_free(&records);
}

Test(json, keeps_its_shape_without_any_file)
{
    struct arena arena;
    arena_init(&arena, NULL);
    struct buffer out;
    buffer_init(&out, &arena);
    const struct run_totals totals = {.passed_over = 3};
    report_begin(json(), &plain, &out);
    report_end(json(), &plain, &totals, &out);
    records_expect(buffer_string(&out),
                   HEAD "],\n  \"counts\": {\"error\": 0, \"warning\": 0, \"note\": 0, "
                        "\"files\": 0, \"unreadable\": 0, "
                        "\"waived\": {\"error\": 0, \"warning\": 0, \"note\": 0}}}\n");
    arena_free(&arena);
}

static void expect_text(const char *text, size_t size, const char *wanted)
{
    struct arena arena;
    arena_init(&arena, NULL);
    struct buffer out;
    buffer_init(&out, &arena);
    struct json writer = {.out = &out};
    json_view(&writer, (struct view){text, size});
    records_expect(buffer_string(&out), wanted);
    arena_free(&arena);
}

#define TEXT(text, wanted) expect_text(text, sizeof(text) - 1, wanted)

Test(json_writer, escapes_what_must_not_stand_in_a_text)
{
    TEXT("", "\"\"");
    TEXT("plain / text", "\"plain / text\"");
    TEXT("a\"b\\c", "\"a\\\"b\\\\c\"");
    TEXT("\n\t\r\b\f\0\x1f", "\"\\n\\t\\u000d\\u0008\\u000c\\u0000\\u001f\"");
    TEXT("\x7f", "\"\\u007f\"");
    TEXT("\xc2\x9b", "\"\\u009b\"");
    TEXT("\xe2\x80\xae", "\"\\u202e\"");
    TEXT("42 ± 1 µm 刀 😀", "\"42 ± 1 µm 刀 😀\"");
    TEXT("\xf3\xa0\x81\x81", "\"\\udb40\\udc41\""); /* a hidden one above the first plane */
    TEXT("a\xff\xc3", "\"a\xef\xbf\xbd\xef\xbf\xbd\"");
    TEXT("\xed\xa0\x80", "\"\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbd\""); /* a surrogate */
}

static void expect_number(double number, const char *wanted)
{
    struct arena arena;
    arena_init(&arena, NULL);
    struct buffer out;
    buffer_init(&out, &arena);
    struct json writer = {.out = &out};
    json_number(&writer, number);
    records_expect(buffer_string(&out), wanted);
    arena_free(&arena);
}

Test(json_writer, writes_numbers_that_read_back)
{
    expect_number(0.1, "0.1");
    expect_number(-0.0053, "-0.0053");
    expect_number(14, "14");
    expect_number(INFINITY, "null");
    expect_number(NAN, "null");
}

Test(json_writer, sees_to_commas)
{
    struct arena arena;
    arena_init(&arena, NULL);
    struct buffer out;
    buffer_init(&out, &arena);
    struct json writer = {.out = &out};
    json_open(&writer, '{');
    json_key(&writer, "a"), json_open(&writer, '['), json_close(&writer, ']');
    json_key(&writer, "b"), json_bool(&writer, true);
    json_line(&writer, 1);
    json_key(&writer, "c"), json_open(&writer, '[');
    json_count(&writer, 1), json_text(&writer, NULL), json_open(&writer, '{');
    json_close(&writer, '}'), json_line(&writer, 2), json_bool(&writer, false);
    json_close(&writer, ']'), json_close(&writer, '}');
    records_expect(buffer_string(&out),
                   "{\"a\": [], \"b\": true,\n \"c\": [1, null, {},\n  false]}");
    arena_free(&arena);
}
