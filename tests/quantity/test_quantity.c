/* Quantities as people write them, and as they are shown. */
#include <criterion/criterion.h>

#include <locale.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>

#include "quantity/quantity.h"

static struct arena arena;

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

#define NUMBER_                                                                                \
    {                                                                                          \
        0, 0, 0, 0, 0                                                                          \
    }
#define LENGTH                                                                                 \
    {                                                                                          \
        1, 0, 0, 0, 0                                                                          \
    }
#define TIME                                                                                   \
    {                                                                                          \
        0, 0, 1, 0, 0                                                                          \
    }
#define SPEED                                                                                  \
    {                                                                                          \
        1, 0, -1, 0, 0                                                                         \
    }
#define ACCEL                                                                                  \
    {                                                                                          \
        1, 0, -2, 0, 0                                                                         \
    }
#define TURNING                                                                                \
    {                                                                                          \
        0, 0, -1, 1, 0                                                                         \
    }
#define RATE                                                                                   \
    {                                                                                          \
        0, 0, -1, 0, 1                                                                         \
    }
#define STEPS                                                                                  \
    {                                                                                          \
        -1, 0, 0, 0, 1                                                                         \
    }
#define PERTURN                                                                                \
    {                                                                                          \
        0, 0, 0, -1, 1                                                                         \
    }
#define TEETH                                                                                  \
    {                                                                                          \
        0, 0, 0, -1, 0                                                                         \
    }
#define LEAD                                                                                   \
    {                                                                                          \
        1, 0, 0, -1, 0                                                                         \
    }
#define INERTIA                                                                                \
    {                                                                                          \
        2, 1, 0, -2, 0                                                                         \
    }
#define TORQUE                                                                                 \
    {                                                                                          \
        2, 1, -2, -1, 0                                                                        \
    }

static const struct {
    const char *text;
    struct dimension wanted;
    double si, tolerance;
    const char *unit;
} good[] = {
    {"42 mm", LENGTH, 0.042, 0, "mm"},
    {"42mm", LENGTH, 0.042, 0, "mm"},
    {"  42  mm  ", LENGTH, 0.042, 0, "mm"},
    {"42\tmm", LENGTH, 0.042, 0, "mm"},
    {"42\xC2\xA0mm", LENGTH, 0.042, 0, "mm"},
    {"42\xE2\x80\xAFmm\xC2\xA0", LENGTH, 0.042, 0, "mm"},
    {"\xE2\x80\x89"
     "42 mm",
     LENGTH, 0.042, 0, "mm"},
    {"-155.2mm", LENGTH, -0.1552, 0, "mm"},
    {"-155.2 mm", LENGTH, -0.1552, 0, "mm"},
    {"\xE2\x88\x92"
     "155.2 mm",
     LENGTH, -0.1552, 0, "mm"},
    {"+155.2 mm", LENGTH, 0.1552, 0, "mm"},
    {"-15.52 cm", LENGTH, -0.1552, 0, "cm"},
    {"-155200 um", LENGTH, -0.1552, 0, "um"},
    {"-0.1552 m", LENGTH, -0.1552, 0, "m"},
    {"6 1/8 in", LENGTH, 0.155575, 0, "in"},
    {"6-1/8 in", LENGTH, 0.155575, 0, "in"},
    {"6-1/8\"", LENGTH, 0.155575, 0, "in"},
    {"6.125 in", LENGTH, 0.155575, 0, "in"},
    {"6.125\"", LENGTH, 0.155575, 0, "in"},
    {"-6 1/8 in", LENGTH, -0.155575, 0, "in"},
    {"-6-1/8in", LENGTH, -0.155575, 0, "in"},
    {"1/4\"", LENGTH, 0.00635, 0, "in"},
    {"1/4 \"", LENGTH, 0.00635, 0, "in"},
    {"1/4\xE2\x80\xB3", LENGTH, 0.00635, 0, "in"},
    {"1/4\xE2\x80\x9D", LENGTH, 0.00635, 0, "in"},
    {"1/3 in", LENGTH, 127.0 / 15000, 0, "in"},
    {"2 in", LENGTH, 0.0508, 0, "in"},
    {"0.75 in", LENGTH, 0.01905, 0, "in"},
    {".75in", LENGTH, 0.01905, 0, "in"},
    {"1 thou", LENGTH, 0.0000254, 0, "thou"},
    {"1.5 THOU", LENGTH, 0.0000381, 0, "thou"},
    {"2 ft", LENGTH, 0.6096, 0, "ft"},
    {"50 um", LENGTH, 0.00005, 0, "um"},
    {"50 \xC2\xB5m", LENGTH, 0.00005, 0, "um"},
    {"50 \xCE\xBCm", LENGTH, 0.00005, 0, "um"},
    {"1.5e-3 m", LENGTH, 0.0015, 0, "m"},
    {"1.5E-3m", LENGTH, 0.0015, 0, "m"},
    {"1e3mm", LENGTH, 1, 0, "mm"},
    {"0 mm", LENGTH, 0, 0, "mm"},
    {"-0 mm", LENGTH, 0, 0, "mm"},
    {"5. mm", LENGTH, 0.005, 0, "mm"},
    {"10 s", TIME, 10, 0, "s"},
    {"10000 ms", TIME, 10, 0, "ms"},
    {"5 ms", TIME, 0.005, 0, "ms"},
    {"5 \xC2\xB5s", TIME, 0.000005, 0, "us"},
    {"500 us", TIME, 0.0005, 0, "us"},
    {"1.5 min", TIME, 90, 0, "min"},
    {"1/2 min", TIME, 30, 0, "min"},
    {"1 day", TIME, 86400, 0, "days"},
    {"-2.5 days", TIME, -216000, 0, "days"},
    {"5 in/min", SPEED, 0.127 / 60, 0, "in/min"},
    {"100 in/min", SPEED, 2.54 / 60, 0, "in/min"},
    {"100\"/min", SPEED, 2.54 / 60, 0, "in/min"},
    {"600 mm/min", SPEED, 0.01, 0, "mm/min"},
    {"600mm/min", SPEED, 0.01, 0, "mm/min"},
    {"10 mm/s", SPEED, 0.01, 0, "mm/s"},
    {"10 mm / s", SPEED, 0.01, 0, "mm/s"},
    {"6 m/min", SPEED, 0.1, 0, "m/min"},
    {"1 ft/min", SPEED, 0.00508, 0, "ft/min"},
    {"1 um/ms", SPEED, 0.001, 0, "um/ms"},
    {"400 mm/s^2", ACCEL, 0.4, 0, "mm/s^2"},
    {"400 mm/s2", ACCEL, 0.4, 0, "mm/s^2"},
    {"400 mm/s\xC2\xB2", ACCEL, 0.4, 0, "mm/s^2"},
    {"400 mm/s/s", ACCEL, 0.4, 0, "mm/s^2"},
    {"0.4 m/s^2", ACCEL, 0.4, 0, "m/s^2"},
    {"20 in/s^2", ACCEL, 0.508, 0, "in/s^2"},
    {"3600 mm/min^2", ACCEL, 0.001, 0, "mm/min^2"},
    {"18000 rpm", TURNING, 1884.9555921538758, 0, "rpm"},
    {"18000 RPM", TURNING, 1884.9555921538758, 0, "rpm"},
    {"18000 rev/min", TURNING, 1884.9555921538758, 0, "rpm"},
    {"300 rev/s", TURNING, 1884.9555921538758, 0, "rev/s"},
    {"100 rad/s", TURNING, 100, 0, "rad/s"},
    {"180 deg/s", TURNING, 3.141592653589793, 0, "deg/s"},
    {"25 kHz", RATE, 25000, 0, "kHz"},
    {"25kHz", RATE, 25000, 0, "kHz"},
    {"25000 Hz", RATE, 25000, 0, "Hz"},
    {"0.025 MHz", RATE, 25000, 0, "MHz"},
    {"25000 steps/s", RATE, 25000, 0, "steps/s"},
    {"80 steps/mm", STEPS, 80000, 0, "steps/mm"},
    {"80 step/mm", STEPS, 80000, 0, "steps/mm"},
    {"2032 steps/in", STEPS, 80000, 0, "steps/in"},
    {"254.648 steps/mm", STEPS, 254648, 0, "steps/mm"},
    {"200", PERTURN, 31.830988618379067, 0, ""},
    {"400", PERTURN, 63.66197723675813, 0, ""},
    {"20", TEETH, 3.1830988618379067, 0, ""},
    {"8 mm", LEAD, 0.0012732395447351628, 0, "mm"},
    {"0.2 in", LEAD, 0.0008085071109068284, 0, "in"},
    {"0.0004 kg*m^2", INERTIA, 0.0004, 0, "kg*m^2"},
    {"4 kg*cm^2", INERTIA, 0.0004, 0, "kg*cm^2"},
    {"4000 g*cm^2", INERTIA, 0.0004, 0, "g*cm^2"},
    {"4 kg\xC2\xB7"
     "cm\xC2\xB2",
     INERTIA, 0.0004, 0, "kg*cm^2"},
    {"100 lb*ft^2", INERTIA, 4.21401100938048, 0, "lb*ft^2"},
    {"1 lb*in^2", INERTIA, 0.0002926396534292, 0, "lb*in^2"},
    {"0.3 N*m", TORQUE, 0.3, 0, "N*m"},
    {"30 N*cm", TORQUE, 0.3, 0, "N*cm"},
    {"50 lbf*ft", TORQUE, 67.79089741657002, 0, "lbf*ft"},
    {"1 ozf*in", TORQUE, 0.0070615518142260437, 0, "ozf*in"},
    {"3", NUMBER_, 3, 0, ""},
    {"1.2", NUMBER_, 1.2, 0, ""},
    {"120 %", NUMBER_, 1.2, 0, "%"},
    {"120%", NUMBER_, 1.2, 0, "%"},
    {"0.3 mm/m", NUMBER_, 0.0003, 0, "mm/m"},
    {"3/4", NUMBER_, 0.75, 0, ""},
    /* Tolerances. */
    {"42 mm \xC2\xB1 0.5 mm", LENGTH, 0.042, 0.0005, "mm"},
    {"42mm\xC2\xB1"
     "0.5mm",
     LENGTH, 0.042, 0.0005, "mm"},
    {"42 mm +/- 0.5 mm", LENGTH, 0.042, 0.0005, "mm"},
    {"42+/-0.5mm", LENGTH, 0.042, 0.0005, "mm"},
    {"42 \xC2\xB1 0.5 mm", LENGTH, 0.042, 0.0005, "mm"},
    {"42 mm \xC2\xB1 0.5", LENGTH, 0.042, 0.0005, "mm"},
    {"42 mm \xC2\xB1 1/4 in", LENGTH, 0.042, 0.00635, "mm"},
    {"2 \xC2\xB1 1/16 in", LENGTH, 0.0508, 0.0015875, "in"},
    {"2\" \xC2\xB1 1 mm", LENGTH, 0.0508, 0.001, "in"},
    {"-6 1/8 +/- 1/8 in", LENGTH, -0.155575, 0.003175, "in"},
    {"42 mm \xC2\xB1 0 mm", LENGTH, 0.042, 0, "mm"},
    {"42 mm \xC2\xB1 -0 mm", LENGTH, 0.042, 0, "mm"},
    {"42 mm +/- +0.5 mm", LENGTH, 0.042, 0.0005, "mm"},
    {"10 \xC2\xB1 1 s", TIME, 10, 1, "s"},
    {"18000 \xC2\xB1 300 rpm", TURNING, 1884.9555921538758, 31.41592653589793, "rpm"},
    {"100 \xC2\xB1 5 %", NUMBER_, 1, 0.05, "%"},
    {"3 \xC2\xB1 0.1", NUMBER_, 3, 0.1, ""},
    /* Per cent of a ratio: of itself, unless that is in per cent. */
    {"0.2 mm/m \xC2\xB1 10 %", NUMBER_, 0.0002, 0.00002, "mm/m"},
    {"-0.2 mm/m +/- 10%", NUMBER_, -0.0002, 0.00002, "mm/m"},
    {"1/8 mm/m \xC2\xB1 1/2 %", NUMBER_, 0.000125, 0.000000625, "mm/m"},
    {"0 mm/m \xC2\xB1 10 %", NUMBER_, 0, 0, "mm/m"},
    {"0.2 mm/m \xC2\xB1 0.02 mm/m", NUMBER_, 0.0002, 0.00002, "mm/m"},
    {"0.2 \xC2\xB1 0.02 mm/m", NUMBER_, 0.0002, 0.00002, "mm/m"},
    {"120 % \xC2\xB1 10 %", NUMBER_, 1.2, 0.1, "%"},
    {"120 % \xC2\xB1 10", NUMBER_, 1.2, 0.1, "%"},
    {"2 % \xC2\xB1 1 mm/m", NUMBER_, 0.02, 0.001, "%"},
};

Test(quantity, percent_of_what_is_not_in_percent)
{
    static const struct {
        const char *text, *usual;
        double si, tolerance;
    } ratios[] = {
        {"3 \xC2\xB1 1 %", "", 3, 0.03},
        {"60 \xC2\xB1 1 %", "", 60, 0.6},
        {"0.0002 \xC2\xB1 10 %", "mm/m", 0.0002, 0.00002},
        {"120 \xC2\xB1 10 %", "%", 1.2, 0.1},
        {"3 \xC2\xB1 0.1", "", 3, 0.1},
        {"120 % \xC2\xB1 10 %", "", 1.2, 0.1},
    };
    for (size_t i = 0; i < sizeof ratios / sizeof *ratios; i++) {
        unit_id usual = *ratios[i].usual ? unit_read(view_of(ratios[i].usual)) : UNIT_BARE;
        struct quantity q;
        struct quantity_trouble trouble;
        cr_assert(quantity_read_usual(view_of(ratios[i].text), DIMENSION_NONE, usual, &q,
                                      &trouble) == QUANTITY_OK);
        cr_expect(q.si == ratios[i].si, "`%s`: %.17g", ratios[i].text, q.si);
        cr_expect(fabs(q.tolerance - ratios[i].tolerance) <= 1e-15, "`%s`: %.17g",
                  ratios[i].text, q.tolerance);
    }
}

Test(quantity, good)
{
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        struct quantity q = {-77, -77, UNIT_UNKNOWN};
        struct quantity_trouble trouble = {NUMBER_OK, 99, 99, 99};
        enum quantity_status status =
            quantity_read(view_of(good[i].text), good[i].wanted, &q, &trouble);
        cr_expect(status == QUANTITY_OK, "`%s`: status %d", good[i].text, status);
        cr_expect(q.si == good[i].si, "`%s`: %.17g, not %.17g", good[i].text, q.si, good[i].si);
        cr_expect(!signbit(q.tolerance) && q.tolerance == good[i].tolerance,
                  "`%s`: tolerance %.17g, not %.17g", good[i].text, q.tolerance,
                  good[i].tolerance);
        cr_expect_str_eq(unit_text(q.unit), good[i].unit, "`%s`", good[i].text);
        cr_expect(trouble.start == 99, "`%s`: trouble written", good[i].text);
    }
}

static const struct {
    const char *text;
    struct dimension wanted;
    enum quantity_status status;
    enum number_status number;
    const char *part; /* what the trouble points at */
} bad[] = {
    {"", LENGTH, QUANTITY_NOT_A_NUMBER, NUMBER_NONE, ""},
    {"   ", LENGTH, QUANTITY_NOT_A_NUMBER, NUMBER_NONE, ""},
    {"mm", LENGTH, QUANTITY_NOT_A_NUMBER, NUMBER_NONE, "mm"},
    {" about 42 mm ", LENGTH, QUANTITY_NOT_A_NUMBER, NUMBER_NONE, "about 42 mm"},
    {"- 5 mm", LENGTH, QUANTITY_NOT_A_NUMBER, NUMBER_NONE, "- 5 mm"},
    {"yes", NUMBER_, QUANTITY_NOT_A_NUMBER, NUMBER_NONE, "yes"},
    {"~", NUMBER_, QUANTITY_NOT_A_NUMBER, NUMBER_NONE, "~"},
    {"\xC2\xB1 0.5 mm", LENGTH, QUANTITY_NOT_A_NUMBER, NUMBER_NONE, ""},
    {"x \xC2\xB1 0.5 mm", LENGTH, QUANTITY_NOT_A_NUMBER, NUMBER_NONE, "x"},
    {"1,5 mm", LENGTH, QUANTITY_NOT_A_NUMBER, NUMBER_COMMA, "1,5"},
    {" 1,500 mm", LENGTH, QUANTITY_NOT_A_NUMBER, NUMBER_COMMA, "1,500"},
    {",5 mm", LENGTH, QUANTITY_NOT_A_NUMBER, NUMBER_COMMA, ",5"},
    {".inf", LENGTH, QUANTITY_NOT_A_NUMBER, NUMBER_INFINITE, ".inf"},
    {".nan mm", LENGTH, QUANTITY_NOT_A_NUMBER, NUMBER_INFINITE, ".nan"},
    {"1e999 mm", LENGTH, QUANTITY_NOT_A_NUMBER, NUMBER_INFINITE, "1e999"},
    {"1e308 ft/us^2", ACCEL, QUANTITY_NOT_A_NUMBER, NUMBER_INFINITE, "1e308"},
    {"1/0 in", LENGTH, QUANTITY_NOT_A_NUMBER, NUMBER_ZERO_DIV, "1/0"},
    {"007 mm", LENGTH, QUANTITY_NOT_A_NUMBER, NUMBER_FORM, "007"},
    {"1_000 mm", LENGTH, QUANTITY_NOT_A_NUMBER, NUMBER_FORM, "1_000"},
    {"0x1F", NUMBER_, QUANTITY_NOT_A_NUMBER, NUMBER_FORM, "0x1F"},
    {"1:30", TIME, QUANTITY_NOT_A_NUMBER, NUMBER_FORM, "1:30"},
    {"6-8 mm", LENGTH, QUANTITY_NOT_A_NUMBER, NUMBER_FORM, "6-8"},
    {"42", LENGTH, QUANTITY_UNIT_MISSING, NUMBER_OK, "42"},
    {" 42 ", LENGTH, QUANTITY_UNIT_MISSING, NUMBER_OK, "42"},
    {"-0.5", TIME, QUANTITY_UNIT_MISSING, NUMBER_OK, "-0.5"},
    {"0", LENGTH, QUANTITY_UNIT_MISSING, NUMBER_OK, "0"},
    {"18000", TURNING, QUANTITY_UNIT_MISSING, NUMBER_OK, "18000"},
    {"6 1/8", LENGTH, QUANTITY_UNIT_MISSING, NUMBER_OK, "6 1/8"},
    {"8", LEAD, QUANTITY_UNIT_MISSING, NUMBER_OK, "8"},
    {"42 \xC2\xB1 0.5", LENGTH, QUANTITY_UNIT_MISSING, NUMBER_OK, "42"},
    {"42 furlongs", LENGTH, QUANTITY_UNIT_UNKNOWN, NUMBER_OK, "furlongs"},
    {"42 mmm ", LENGTH, QUANTITY_UNIT_UNKNOWN, NUMBER_OK, "mmm"},
    {"42 MM", LENGTH, QUANTITY_UNIT_UNKNOWN, NUMBER_OK, "MM"},
    {"42 mm 5", LENGTH, QUANTITY_UNIT_UNKNOWN, NUMBER_OK, "mm 5"},
    {"42 mm, 43 mm", LENGTH, QUANTITY_UNIT_UNKNOWN, NUMBER_OK, "mm, 43 mm"},
    {"42, mm", LENGTH, QUANTITY_UNIT_UNKNOWN, NUMBER_OK, ", mm"},
    {"5 ipm", SPEED, QUANTITY_UNIT_UNKNOWN, NUMBER_OK, "ipm"},
    {"3''", LENGTH, QUANTITY_UNIT_UNKNOWN, NUMBER_OK, "''"},
    {"3 pcs", NUMBER_, QUANTITY_UNIT_UNKNOWN, NUMBER_OK, "pcs"},
    {"1 / 4 in", LENGTH, QUANTITY_UNIT_UNKNOWN, NUMBER_OK, "/ 4 in"},
    {"42 mm + 1 mm", LENGTH, QUANTITY_UNIT_UNKNOWN, NUMBER_OK, "mm + 1 mm"},
    {"42 mm +- 1 mm", LENGTH, QUANTITY_UNIT_UNKNOWN, NUMBER_OK, "mm +- 1 mm"},
    {"42 s", LENGTH, QUANTITY_WRONG_DIMENSION, NUMBER_OK, "s"},
    {"42 mm/s", LENGTH, QUANTITY_WRONG_DIMENSION, NUMBER_OK, "mm/s"},
    {"10 mm", SPEED, QUANTITY_WRONG_DIMENSION, NUMBER_OK, "mm"},
    {"10 mm/s", ACCEL, QUANTITY_WRONG_DIMENSION, NUMBER_OK, "mm/s"},
    {"10 Hz", TURNING, QUANTITY_WRONG_DIMENSION, NUMBER_OK, "Hz"},
    {"10 rpm", RATE, QUANTITY_WRONG_DIMENSION, NUMBER_OK, "rpm"},
    {"3 mm", NUMBER_, QUANTITY_WRONG_DIMENSION, NUMBER_OK, "mm"},
    {"20 mm", TEETH, QUANTITY_WRONG_DIMENSION, NUMBER_OK, "mm"},
    {"20 %", PERTURN, QUANTITY_WRONG_DIMENSION, NUMBER_OK, "%"},
    {"5 %", LENGTH, QUANTITY_WRONG_DIMENSION, NUMBER_OK, "%"},
    {"0.3 N*m", INERTIA, QUANTITY_WRONG_DIMENSION, NUMBER_OK, "N*m"},
    {"0.3 kg*m^2", TORQUE, QUANTITY_WRONG_DIMENSION, NUMBER_OK, "kg*m^2"},
    {"42 \xC2\xB1 0.5 s", LENGTH, QUANTITY_WRONG_DIMENSION, NUMBER_OK, "s"},
    {"42 s \xC2\xB1 0.5 mm", LENGTH, QUANTITY_WRONG_DIMENSION, NUMBER_OK, "s"},
    {"42 mm \xC2\xB1", LENGTH, QUANTITY_TOLERANCE, NUMBER_NONE, "\xC2\xB1"},
    {"42 mm +/- ", LENGTH, QUANTITY_TOLERANCE, NUMBER_NONE, "+/-"},
    {"42 mm \xC2\xB1 mm", LENGTH, QUANTITY_TOLERANCE, NUMBER_NONE, "mm"},
    {"42 mm \xC2\xB1 -0.5 mm", LENGTH, QUANTITY_TOLERANCE, NUMBER_OK, "-0.5 mm"},
    {"42 mm \xC2\xB1 0,5 mm", LENGTH, QUANTITY_TOLERANCE, NUMBER_COMMA, "0,5"},
    {"42 mm \xC2\xB1 0.5 s", LENGTH, QUANTITY_TOLERANCE, NUMBER_OK, "s"},
    {"42 mm \xC2\xB1 1 %", LENGTH, QUANTITY_TOLERANCE, NUMBER_OK, "%"},
    {"42 mm \xC2\xB1 0.5 mmm", LENGTH, QUANTITY_TOLERANCE, NUMBER_OK, "mmm"},
    {"42 mm \xC2\xB1 1 mm \xC2\xB1 2 mm", LENGTH, QUANTITY_TOLERANCE, NUMBER_OK,
     "\xC2\xB1 2 mm"},
    {"42 \xC2\xB1\xC2\xB1 1 mm", LENGTH, QUANTITY_TOLERANCE, NUMBER_OK, "\xC2\xB1 1 mm"},
    {"42 mm \xC2\xB1 1e999 mm", LENGTH, QUANTITY_TOLERANCE, NUMBER_INFINITE, "1e999"},
    {"42 mm \xC2\xB1 1e308 ft", LENGTH, QUANTITY_TOLERANCE, NUMBER_INFINITE, "1e308"},
    {"0 mm/us^2 \xC2\xB1 1e308 ft/us^2", ACCEL, QUANTITY_TOLERANCE, NUMBER_INFINITE, "1e308"},
};

static void check_bad(void)
{
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        const char *text = bad[i].text;
        struct quantity q = {-77, -77, UNIT_UNKNOWN};
        struct quantity_trouble trouble = {NUMBER_OK, 99, 99, 99};
        enum quantity_status status = quantity_read(view_of(text), bad[i].wanted, &q, &trouble);
        cr_assert(status == bad[i].status, "`%s`: status %d, not %d", text, status,
                  bad[i].status);
        cr_expect(q.si == -77, "`%s`: value written", text);
        cr_expect(trouble.number == bad[i].number, "`%s`: number %d", text, trouble.number);
        cr_assert(trouble.start <= trouble.end && trouble.end <= strlen(text), "`%s`: %zu..%zu",
                  text, trouble.start, trouble.end);
        struct view part = {text + trouble.start, trouble.end - trouble.start};
        cr_expect(view_is(part, bad[i].part), "`%s`: points at `%.*s`", text, VIEW(part));
    }
}

Test(quantity, bad)
{
    check_bad();
}

Test(quantity, names_the_unit_that_does_not_fit)
{
    struct quantity q;
    struct quantity_trouble trouble;
    cr_expect(quantity_read(view_of("10 rpm"), (struct dimension)RATE, &q, &trouble) ==
              QUANTITY_WRONG_DIMENSION);
    cr_expect_str_eq(unit_text(trouble.unit), "rpm");
    cr_expect(quantity_read((struct view){NULL, 0}, (struct dimension)RATE, &q, &trouble) ==
              QUANTITY_NOT_A_NUMBER);
}

static const struct {
    double si;
    struct dimension dimension;
    const char *unit; /* "" for none */
    const char *text, *with_sign;
} shown[] = {
    {0.042, LENGTH, "mm", "42 mm", "+42 mm"},
    {-0.0053, LENGTH, "mm", "-5.3 mm", "-5.3 mm"},
    {0.155575, LENGTH, "in", "6.125 in", "+6.125 in"},
    {0.155575, LENGTH, "mm", "155.575 mm", "+155.575 mm"},
    {0, LENGTH, "mm", "0 mm", "+0 mm"},
    {-0.0, LENGTH, "mm", "0 mm", "+0 mm"},
    {0.042, LENGTH, "", "42 mm", "+42 mm"},
    {0.042, LENGTH, "s", "42 mm", "+42 mm"},
    {0.042 / 7, LENGTH, "mm", "6 mm", "+6 mm"},
    {0.043 / 7, LENGTH, "mm", "6.143 mm", "+6.143 mm"},
    {0.043 / 7, LENGTH, "in", "0.2418 in", "+0.2418 in"},
    {0.043 / 7, LENGTH, "m", "0.006143 m", "+0.006143 m"},
    {43.0 / 7, LENGTH, "mm", "6142.86 mm", "+6142.86 mm"},
    {43000.0 / 7, LENGTH, "mm", "6142860 mm", "+6142860 mm"},
    {0.00000043 / 7, LENGTH, "mm", "6.1e-05 mm", "+6.1e-05 mm"},
    {1e-18 / 7, LENGTH, "mm", "1.4e-16 mm", "+1.4e-16 mm"},
    {0.0000254, LENGTH, "mm", "0.0254 mm", "+0.0254 mm"},
    {2.6 + 1.0 / 3, TIME, "s", "2.933 s", "+2.933 s"},
    {0.0123456789, TIME, "ms", "12 ms", "+12 ms"},
    {0.0004, TIME, "ms", "0.4 ms", "+0.4 ms"},
    {86400, TIME, "days", "1 day", "+1 day"},
    {-86400, TIME, "day", "-1 day", "-1 day"},
    {129600, TIME, "days", "1.5 days", "+1.5 days"},
    {0, TIME, "days", "0 days", "+0 days"},
    {1884.9555921538758, TURNING, "rpm", "18000 rpm", "+18000 rpm"},
    {1884.9, TURNING, "rpm", "17999 rpm", "+17999 rpm"},
    {25000, RATE, "kHz", "25 kHz", "+25 kHz"},
    {80000, STEPS, "steps/mm", "80 steps/mm", "+80 steps/mm"},
    {80000, STEPS, "steps/in", "2032 steps/in", "+2032 steps/in"},
    {80000, STEPS, "", "80 steps/mm", "+80 steps/mm"},
    {31.830988618379067, PERTURN, "", "200", "+200"},
    {3.1830988618379067, TEETH, "mm", "20", "+20"},
    {0.0012732395447351628, LEAD, "mm", "8 mm", "+8 mm"},
    {0.12, NUMBER_, "%", "12 %", "+12 %"},
    {0.12, NUMBER_, "", "0.12", "+0.12"},
    {1.0 / 3, NUMBER_, "%", "33.33 %", "+33.33 %"},
    {12345678, NUMBER_, "", "12345700", "+12345700"},
    {0.0004, INERTIA, "kg*m^2", "0.0004 kg*m^2", "+0.0004 kg*m^2"},
    {12.5, {2, 1, -3, 0, 0}, "mm", "12.5 kg*m^2/s^3", "+12.5 kg*m^2/s^3"},
    {0.5, {0, 0, -1, 0, 0}, "", "0.5 1/s", "+0.5 1/s"},
    {INFINITY, LENGTH, "mm", "1e999 mm", "+1e999 mm"},
};

static void check_shown(void)
{
    for (size_t i = 0; i < sizeof shown / sizeof shown[0]; i++) {
        unit_id unit = shown[i].unit[0] ? unit_read(view_of(shown[i].unit)) : UNIT_BARE;
        cr_expect_str_eq(quantity_text(&arena, shown[i].si, shown[i].dimension, unit),
                         shown[i].text);
        cr_expect_str_eq(quantity_text_signed(&arena, shown[i].si, shown[i].dimension, unit),
                         shown[i].with_sign);
    }
}

Test(quantity, shows, .init = begin, .fini = end)
{
    check_shown();
}

/* A text as it is written, and as it comes back with all its digits. */
static const struct {
    const char *text;
    struct dimension dimension;
    const char *back;
} repeated[] = {
    {"42 mm \xC2\xB1 0.5 mm", LENGTH, "42 mm \xC2\xB1 0.5 mm"},
    {"42 \xC2\xB1 0.5 mm", LENGTH, "42 mm \xC2\xB1 0.5 mm"},
    {"2 in +/- 1/16 in", LENGTH, "2 in \xC2\xB1 0.0625 in"},
    {"42 mm +/- 0 mm", LENGTH, "42 mm"},
    {"-6 1/8\"", LENGTH, "-6.125 in"},
    {"-155.234567 mm", LENGTH, "-155.234567 mm"},
    {"254.647909 steps/mm", STEPS, "254.647909 steps/mm"},
    {"18000 \xC2\xB1 0.1 rpm", TURNING, "18000 rpm \xC2\xB1 0.1 rpm"},
    {"200", PERTURN, "200"},
    {"5.08 mm", LEAD, "5.08 mm"},
    {"100 \xC2\xB1 5 %", NUMBER_, "100 % \xC2\xB1 5 %"},
    {"0.25 \xC2\xB1 0.01", NUMBER_, "0.25 \xC2\xB1 0.01"},
    {"1/3 in", LENGTH, "0.3333 in"},
};

static void check_repeated(void)
{
    for (size_t i = 0; i < sizeof repeated / sizeof repeated[0]; i++) {
        struct quantity q;
        struct quantity_trouble trouble;
        cr_assert(quantity_read(view_of(repeated[i].text), repeated[i].dimension, &q,
                                &trouble) == QUANTITY_OK);
        cr_expect_str_eq(
            quantity_text_with(&arena, q.si, q.tolerance, repeated[i].dimension, q.unit),
            repeated[i].back);
    }
}

Test(quantity, repeats_what_was_typed, .init = begin, .fini = end)
{
    check_repeated();
}

/* What a person types in any unit, up to 9 digits, comes back digit for digit. */
Test(quantity, repeats_any_decimal, .init = begin, .fini = end)
{
    uint64_t state = 1181783497276652981u;
    for (int i = 0; i < 200000; i++) {
        state ^= state << 13, state ^= state >> 7, state ^= state << 17;
        unit_id unit = (unit_id)(1 + state % 99);
        int places = (int)(state >> 10 & 3);
        char text[64];
        snprintf(text, sizeof text, "%d.%0*d", (int)(state >> 20 & 0xFFFF), places + 1,
                 (int)(state >> 36) % 1000 % (places ? 1000 : 10));
        const char *number = number_exact(&arena, strtod(text, NULL));
        snprintf(text, sizeof text, "%s %s", number, unit_text(unit));
        struct dimension d = unit_dimension(unit);
        struct quantity q;
        struct quantity_trouble trouble;
        cr_assert(quantity_read(view_of(text), d, &q, &trouble) == QUANTITY_OK, "%s", text);
        const char *back = quantity_text_with(&arena, q.si, 0, d, q.unit);
        cr_assert_str_eq(back, text, "%s, not %s", back, text);
        if (i % 1000 == 0)
            arena_reset(&arena);
    }
}

Test(quantity, knows_no_locale, .init = begin, .fini = end)
{
    if (!setlocale(LC_ALL, "de_DE.UTF-8"))
        cr_skip_test("the locale de_DE.UTF-8 is not there");
    check_shown();
    check_repeated();
    check_bad();
}
