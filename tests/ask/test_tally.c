/* Readings as they are taken down. */
#include <criterion/criterion.h>

#include <string.h>

#include "ask/tally.h"

static struct arena arena;
static struct tally tally;
static struct answer_context with;

static void begin(void)
{
    arena_init(&arena, NULL);
    with = (struct answer_context){.arena = &arena};
    tally_begin(&tally, &arena, FIELD_SETTER_NOSE_CONTACT);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(tally, .init = begin, .fini = end);

static const char *add(const char *typed)
{
    return tally_add(&tally, &with, view_of(typed));
}

static void expect_text(const char *wanted)
{
    const char *text = tally_text(&tally);
    cr_expect_str_eq(text, wanted, "%s, not %s", text, wanted);
}

/* The mean of three is a third of their sum; 9.789 deviations of 0.01 mm either side. */
Test(tally, one_after_another)
{
    cr_expect_str_eq(tally_says(&tally), "no reading yet");
    cr_assert_null(add("-92.00"));
    cr_assert(tally.has_value);
    cr_expect_eq(tally.value.tolerance, 0);
    cr_assert_null(add("-92.01 mm"));
    cr_assert_null(add("-92.02"));
    cr_expect_float_eq(tally.value.si, -92.01e-3, 1e-9);
    cr_expect_float_eq(tally.value.tolerance, 0.09789e-3, 1e-7);
    expect_text("{readings: [-92.00 mm, -92.01 mm, -92.02 mm]}");
    cr_expect(strstr(tally_says(&tally), "10 that scatter so would leave ± 0.034 mm"));
}

Test(tally, several_in_a_line)
{
    cr_assert_null(add("-92.00, -92.01, -92.02 in"));
    expect_text("{readings: [-92.00 in, -92.01 in, -92.02 in]}");
    cr_assert_null(add("-3 5/8\""));
    expect_text("{readings: [-92.00 in, -92.01 in, -92.02 in, -3 5/8 in]}");
}

Test(tally, what_is_no_reading_changes_nothing)
{
    static const char *const wrong[] = {"-92,01",
                                        "mm",
                                        "-92.01 mm ± 0.1 mm",
                                        "-92 s",
                                        "-92.01 mmm",
                                        "1e400",
                                        "-92.01, , -92",
                                        "-92 mm], with: [x",
                                        "-92 mm # calliper",
                                        "\x1b[2J",
                                        "-92.01 mm}",
                                        "&a 5 mm",
                                        "*a",
                                        "~",
                                        "-92.01, x"};
    cr_assert_null(add("-92.01"));
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++)
        cr_expect(add(wrong[i]), "%s is taken", wrong[i]);
    expect_text("{readings: [-92.01 mm]}");
    cr_expect(tally.has_value);
}

Test(tally, too_many)
{
    struct buffer line;
    buffer_init(&line, &arena);
    for (int i = 0; i < TALLY_LINE_MAX; i++)
        buffer_text(&line, i ? ", 1" : "1");
    for (int i = 0; i < TALLY_MAX / TALLY_LINE_MAX; i++)
        cr_assert_null(add(buffer_string(&line)));
    cr_expect(add(buffer_string(&line)));
    buffer_text(&line, ", 1");
    cr_expect(add(buffer_string(&line)));
    cr_expect_eq(tally.readings.count, (TALLY_MAX / TALLY_LINE_MAX) * TALLY_LINE_MAX);
}

/* Nothing goes by itself. */
Test(tally, one_far_off)
{
    cr_assert_null(add("-92.00, -92.01, -92.02, -92.01"));
    cr_expect_eq(tally_off(&tally), 4);
    cr_assert_null(add("-95"));
    cr_expect_eq(tally_off(&tally), 4);
    cr_expect_eq(tally.readings.count, 5);
    tally.readings.items[4].is_kept = true;
    cr_expect_eq(tally_off(&tally), 5);
    tally_take_out(&tally, 4);
    cr_expect_eq(tally.taken_out.count, 1);
    expect_text("{readings: [-92.00 mm, -92.01 mm, -92.02 mm, -92.01 mm]}");
    cr_expect_eq(tally_off(&tally), 4);
    tally_take_back(&tally);
    expect_text("{readings: [-92.00 mm, -92.01 mm, -92.02 mm]}");
    cr_expect_eq(tally.taken_out.count, 1);
}

Test(tally, a_scatter_wants_two)
{
    tally_begin(&tally, &arena, FIELD_SETTER_REPEATABILITY);
    cr_assert_null(add("-92.01"));
    cr_expect_not(tally.has_value);
    cr_assert_null(add("-92.02"));
    cr_expect(tally.has_value);
    tally_take_back(&tally);
    cr_expect_not(tally.has_value);
}

Test(tally, notes_beside)
{
    cr_assert_null(add("-92.01"));
    tally.with = view_of("rod: the blank one");
    tally.by = view_of("~");
    tally.on = view_of("2026-10-10");
    cr_expect(tally_set_error(&tally, view_of("-1 mm")));
    cr_expect(tally_set_error(&tally, view_of("x")));
    cr_assert_null(tally_set_error(&tally, view_of("0.02 mm")));
    cr_expect_float_eq(tally.value.tolerance, 0.02e-3, 1e-12);
    expect_text("{readings: [-92.01 mm], with: \"rod: the blank one\", by: \"~\", "
                "on: 2026-10-10, instrument_error: 0.02 mm}");
}
