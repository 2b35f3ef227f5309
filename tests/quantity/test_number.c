/* Numbers as text: reading, and the three ways of writing. */
#include <criterion/criterion.h>

#include <locale.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "quantity/number.h"

static struct arena arena;

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

struct value_reader {
    const char *text;
    enum number_status status;
    double value; /* where it is OK */
    size_t used;  /* bytes taken, or the offset of the trouble */
};

static const struct value_reader readings[] = {
    {"0", NUMBER_OK, 0, 1},
    {"42", NUMBER_OK, 42, 2},
    {"-155.2", NUMBER_OK, -155.2, 6},
    {"+7", NUMBER_OK, 7, 2},
    {"\xE2\x88\x92"
     "5",
     NUMBER_OK, -5, 4},
    {"0.5", NUMBER_OK, 0.5, 3},
    {".5", NUMBER_OK, 0.5, 2},
    {"-.5", NUMBER_OK, -0.5, 3},
    {"5.", NUMBER_OK, 5, 2},
    {"5. mm", NUMBER_OK, 5, 2},
    {"0.", NUMBER_OK, 0, 2},
    {"-0", NUMBER_OK, 0, 2},
    {"0.000", NUMBER_OK, 0, 5},
    {"1.5e-3", NUMBER_OK, 0.0015, 6},
    {"1E3", NUMBER_OK, 1000, 3},
    {"1e+3", NUMBER_OK, 1000, 4},
    {"0e999", NUMBER_OK, 0, 5},
    {"1e", NUMBER_OK, 1, 1},
    {"1e+", NUMBER_OK, 1, 1},
    {"1em", NUMBER_OK, 1, 1},
    {"42 mm", NUMBER_OK, 42, 2},
    {"42mm", NUMBER_OK, 42, 2},
    {"2\"", NUMBER_OK, 2, 1},
    {"25 %", NUMBER_OK, 25, 2},
    {"5..10", NUMBER_OK, 5, 1},
    {"5 .. 10", NUMBER_OK, 5, 1},
    {"42,", NUMBER_OK, 42, 2},
    {"42, 43", NUMBER_OK, 42, 2},
    /* Fractions. */
    {"1/4", NUMBER_OK, 0.25, 3},
    {"-1/4", NUMBER_OK, -0.25, 4},
    {"6 1/8", NUMBER_OK, 6.125, 5},
    {"6-1/8", NUMBER_OK, 6.125, 5},
    {"6  1/8", NUMBER_OK, 6.125, 6},
    {"6\xC2\xA0"
     "1/8",
     NUMBER_OK, 6.125, 6},
    {"-6 1/8", NUMBER_OK, -6.125, 6},
    {"-6-1/8", NUMBER_OK, -6.125, 6},
    {"3/2", NUMBER_OK, 1.5, 3},
    {"0/3", NUMBER_OK, 0, 3},
    {"2/3", NUMBER_OK, 2.0 / 3, 3},
    {"1 2/3", NUMBER_OK, 5.0 / 3, 5},
    {"1/4\"", NUMBER_OK, 0.25, 3},
    {"1/4 in", NUMBER_OK, 0.25, 3},
    {"0 1/8", NUMBER_OK, 0.125, 5},
    {"123456789 1/999999999", NUMBER_OK, 123456789 + 1.0 / 999999999, 21},
    {"1/", NUMBER_OK, 1, 1},
    {"1/x", NUMBER_OK, 1, 1},
    {"1 / 4", NUMBER_OK, 1, 1},
    {"6 -1/8", NUMBER_OK, 6, 1},
    {"1/0", NUMBER_ZERO_DIV, 0, 2},
    {"6 1/0 in", NUMBER_ZERO_DIV, 0, 4},
    {"1/4/2", NUMBER_FORM, 0, 3},
    {"1/4.5", NUMBER_FORM, 0, 3},
    {"1/4e2", NUMBER_FORM, 0, 3},
    {"1/4-5", NUMBER_FORM, 0, 3},
    {"1/4,5", NUMBER_COMMA, 0, 3},
    {"1.5/2", NUMBER_FORM, 0, 3},
    {"1.5 1/2", NUMBER_FORM, 0, 3},
    {"6 9/8", NUMBER_FORM, 0, 2},
    {"6-8/8", NUMBER_FORM, 0, 2},
    {"01/4", NUMBER_FORM, 0, 0},
    {"1/04", NUMBER_FORM, 0, 2},
    {"1/1234567890", NUMBER_FORM, 0, 2},
    {"6 01/8", NUMBER_FORM, 0, 2},
    /* No number. */
    {"", NUMBER_NONE, 0, 0},
    {"-", NUMBER_NONE, 0, 0},
    {"+", NUMBER_NONE, 0, 0},
    {".", NUMBER_NONE, 0, 0},
    {"- 5", NUMBER_NONE, 0, 0},
    {"--5", NUMBER_NONE, 0, 0},
    {"+-5", NUMBER_NONE, 0, 0},
    {" 5", NUMBER_NONE, 0, 0},
    {"abc", NUMBER_NONE, 0, 0},
    {"mm", NUMBER_NONE, 0, 0},
    {"e5", NUMBER_NONE, 0, 0},
    {"inch", NUMBER_NONE, 0, 0},
    {"/4", NUMBER_NONE, 0, 0},
    {"\"2\"", NUMBER_NONE, 0, 0},
    /* Commas. */
    {"1,5", NUMBER_COMMA, 0, 1},
    {"1,500", NUMBER_COMMA, 0, 1},
    {"1,500.5", NUMBER_COMMA, 0, 1},
    {"1.500,5", NUMBER_COMMA, 0, 5},
    {",5", NUMBER_COMMA, 0, 0},
    {"-1,5 mm", NUMBER_COMMA, 0, 2},
    /* Not finite. */
    {".inf", NUMBER_INFINITE, 0, 0},
    {"-.inf", NUMBER_INFINITE, 0, 1},
    {"+.INF", NUMBER_INFINITE, 0, 1},
    {"inf", NUMBER_INFINITE, 0, 0},
    {"Infinity", NUMBER_INFINITE, 0, 0},
    {"nan", NUMBER_INFINITE, 0, 0},
    {".NaN", NUMBER_INFINITE, 0, 0},
    {"1e999", NUMBER_INFINITE, 0, 0},
    {"-1e999", NUMBER_INFINITE, 0, 1},
    {"1e99999999999999999999", NUMBER_INFINITE, 0, 0},
    {"1.8e308", NUMBER_INFINITE, 0, 0},
    {"1.7e308", NUMBER_OK, 1.7e308, 7},
    {"1e-400", NUMBER_OK, 0, 6},
    /* Forms that mean different things to different readers. */
    {"007", NUMBER_FORM, 0, 0},
    {"-05", NUMBER_FORM, 0, 1},
    {"00.5", NUMBER_FORM, 0, 0},
    {"00", NUMBER_FORM, 0, 0},
    {"1_000", NUMBER_FORM, 0, 1},
    {"0x1F", NUMBER_FORM, 0, 0},
    {"0xFF", NUMBER_FORM, 0, 0},
    {"0b1", NUMBER_FORM, 0, 0},
    {"0o17", NUMBER_FORM, 0, 0},
    {"1:30", NUMBER_FORM, 0, 1},
    {"190:20:30.15", NUMBER_FORM, 0, 3},
    {"1 500", NUMBER_FORM, 0, 1},
    {"1  500", NUMBER_FORM, 0, 1},
    {"1 \xE2\x80\xAF 500", NUMBER_FORM, 0, 1},
    {"1\xE2\x80\xAF"
     "500 mm",
     NUMBER_FORM, 0, 1},
    {"1'500", NUMBER_FORM, 0, 1},
    {"1.2.3", NUMBER_FORM, 0, 3},
    {"1.500.000", NUMBER_FORM, 0, 5},
    {"6-8", NUMBER_FORM, 0, 1},
    {"2024-05-01", NUMBER_FORM, 0, 4},
    /* Rounding: halfway cases, the edges of the fast path, the smallest and the longest. */
    {"9007199254740993", NUMBER_OK, 9007199254740992.0, 16},
    {"9007199254740993.00000000000000000000001", NUMBER_OK, 9007199254740994.0, 40},
    {"9007199254740992e22", NUMBER_OK, 9007199254740992e22, 19},
    {"123456789012345678901234567890", NUMBER_OK, 123456789012345678901234567890.0, 30},
    {"0.1", NUMBER_OK, 0.1, 3},
    {"8.41e21", NUMBER_OK, 8.41e21, 7},
    {"9.5e-324", NUMBER_OK, 1e-323, 8},
    {"4.9406564584124654e-324", NUMBER_OK, 4.9406564584124654e-324, 23},
    {"2.2250738585072011e-308", NUMBER_OK, 2.2250738585072011e-308, 23},
    {"1.7976931348623157e308", NUMBER_OK, 1.7976931348623157e308, 22},
    {"0.00000000000000000000000000000000000000001", NUMBER_OK, 1e-41, 43},
};

static void check_readings(void)
{
    for (size_t i = 0; i < sizeof readings / sizeof readings[0]; i++) {
        const struct value_reader *r = &readings[i];
        double value = -77;
        size_t used = 9999;
        enum number_status status = number_read(view_of(r->text), &value, &used);
        cr_expect(status == r->status, "`%s`: status %d, not %d", r->text, status, r->status);
        cr_expect(used == r->used, "`%s`: used %zu, not %zu", r->text, used, r->used);
        double wanted = r->status == NUMBER_OK ? r->value : -77;
        cr_expect(value == wanted, "`%s`: %.17g, not %.17g", r->text, value, wanted);
        cr_expect(!signbit(value) == !signbit(wanted), "`%s`: sign", r->text);
    }
}

Test(number, reads)
{
    check_readings();
}

/* Digits past any that a double has still decide which way a half rounds. */
Test(number, reads_very_long_ones)
{
    static char text[100000];
    memset(text, '0', sizeof text);
    memcpy(text, "1.", 2);
    double value;
    size_t used;
    cr_expect(number_read((struct view){text, sizeof text}, &value, &used) == NUMBER_OK);
    cr_expect(value == 1 && used == sizeof text);
    memcpy(text, "9007199254740993.", 17);
    cr_expect(number_read((struct view){text, sizeof text}, &value, &used) == NUMBER_OK);
    cr_expect(value == 9007199254740992.0);
    text[sizeof text - 1] = '1';
    cr_expect(number_read((struct view){text, sizeof text}, &value, &used) == NUMBER_OK);
    cr_expect(value == 9007199254740994.0);
    memset(text, '9', sizeof text);
    cr_expect(number_read((struct view){text, sizeof text}, &value, &used) == NUMBER_INFINITE);
}

/* The C library's own reading, which is correctly rounded here, on random decimals. */
Test(number, reads_as_the_library_does)
{
    uint64_t state = 88172645463325252u;
    for (int i = 0; i < 200000; i++) {
        state ^= state << 13, state ^= state >> 7, state ^= state << 17;
        char text[64];
        int digits = 1 + (int)(state % 19);
        int exponent = (int)(state >> 20 & 127) - 64;
        snprintf(text, sizeof text, "%d.%0*llue%d", (int)(state >> 8 & 7), digits,
                 (unsigned long long)(state >> 3), exponent);
        double value;
        size_t used;
        cr_assert(number_read(view_of(text), &value, &used) == NUMBER_OK, "%s", text);
        cr_assert(value == strtod(text, NULL), "%s: %.17g", text, value);
        cr_assert(used == strlen(text));
    }
}

struct writing {
    double value;
    const char *text;
};

static const struct writing exact[] = {
    {0, "0"},
    {-0.0, "0"},
    {1, "1"},
    {-1.5, "-1.5"},
    {0.042, "0.042"},
    {0.1 + 0.2, "0.30000000000000004"},
    {1.0 / 3, "0.3333333333333333"},
    {-1.5e-7, "-1.5e-07"},
    {0.0001, "0.0001"},
    {0.00012345, "0.00012345"},
    {0.00001, "1e-05"},
    {1e15, "1000000000000000"},
    {1e17, "1e+17"},
    {12345678901234567.0, "12345678901234568"},
    {1.5e300, "1.5e+300"},
    {4.9406564584124654e-324, "4.94065645841247e-324"},
    {1.7976931348623157e308, "1.7976931348623157e+308"},
    {INFINITY, "1e999"},
    {-INFINITY, "-1e999"},
};

static void check_exact(void)
{
    for (size_t i = 0; i < sizeof exact / sizeof exact[0]; i++) {
        const char *text = number_exact(&arena, exact[i].value);
        cr_expect_str_eq(text, exact[i].text, "%s, not %s", text, exact[i].text);
    }
}

Test(number, writes_exactly, .init = begin, .fini = end)
{
    check_exact();
}

Test(number, reads_back_what_it_wrote, .init = begin, .fini = end)
{
    uint64_t state = 2463534242u;
    for (int i = 0; i < 100000; i++) {
        state ^= state << 13, state ^= state >> 7, state ^= state << 17;
        double value, back;
        memcpy(&value, &state, sizeof value);
        if (!isfinite(value))
            continue;
        size_t used;
        const char *text = number_exact(&arena, value);
        cr_assert(number_read(view_of(text), &back, &used) == NUMBER_OK, "%s", text);
        cr_assert(back == value, "%s: %.17g, not %.17g", text, back, value);
        if (i % 1000 == 0)
            arena_reset(&arena);
    }
}

struct rounding {
    double value;
    int places;
    const char *text;
};

static const struct rounding rounded[] = {
    {9.66, 1, "9.7"},       {-0.05, 2, "-0.05"}, {14, 3, "14"},          {14.0004, 3, "14"},
    {9.96, 1, "10"},        {99.99, 1, "100"},   {-99.96, 1, "-100"},    {0.05, 1, "0.1"},
    {0.04, 1, "0"},         {-0.04, 1, "0"},     {0.005, 0, "0"},        {0.5, 0, "1"},
    {2.675, 2, "2.68"},     {1.0049999, 2, "1"}, {123456, -2, "123500"}, {1e20, 3, "1e+20"},
    {1.0 / 3, 4, "0.3333"}, {0, 2, "0"},
};

Test(number, writes_rounded, .init = begin, .fini = end)
{
    for (size_t i = 0; i < sizeof rounded / sizeof rounded[0]; i++) {
        const struct rounding *r = &rounded[i];
        const char *text = number_rounded(&arena, r->value, r->places);
        cr_expect_str_eq(text, r->text, "%s, not %s", text, r->text);
    }
}

static const struct rounding plain[] = {
    {14.29999, 3, "14.3"}, {0.042, 3, "0.042"},         {12000, 2, "12000"},
    {12345, 2, "12000"},   {123456789, 6, "123457000"}, {0.000123456, 3, "0.000123"},
    {0.00005, 3, "5e-05"}, {-999.9, 3, "-1000"},        {0.09996, 3, "0.1"},
    {0, 6, "0"},           {2e9, 3, "2000000000"},
};

Test(number, writes_plainly, .init = begin, .fini = end)
{
    for (size_t i = 0; i < sizeof plain / sizeof plain[0]; i++) {
        const struct rounding *r = &plain[i];
        const char *text = number_plain(&arena, r->value, r->places);
        cr_expect_str_eq(text, r->text, "%s, not %s", text, r->text);
    }
}

/* A locale that writes 1,5 changes nothing. */
Test(number, knows_no_locale, .init = begin, .fini = end)
{
    if (!setlocale(LC_ALL, "de_DE.UTF-8"))
        cr_skip_test("the locale de_DE.UTF-8 is not there");
    char text[8];
    snprintf(text, sizeof text, "%.1f", 1.5);
    cr_assert_str_eq(text, "1,5", "the locale is in force");
    check_readings();
    check_exact();
    cr_expect_str_eq(number_rounded(&arena, 9.66, 1), "9.7");
    cr_expect_str_eq(number_plain(&arena, 0.042, 2), "0.042");
}
