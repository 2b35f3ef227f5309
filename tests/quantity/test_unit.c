/* Dimensions and units. */
#include <criterion/criterion.h>

#include <math.h>
#include <string.h>

#include "quantity/unit.h"

static struct arena arena;

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

#define TEETH ((struct dimension){0, 0, 0, -1, 0})

static unit_id unit(const char *text)
{
    return unit_read(view_of(text));
}

/* Dimensions. */

Test(dimension, algebra_of_drives)
{
    struct dimension d;
    /* Inertia times rotation speed over torque is a time. */
    cr_assert(dimension_multiply(DIMENSION_INERTIA, DIMENSION_ROTATION, &d));
    cr_assert(dimension_divide(d, DIMENSION_TORQUE, &d));
    cr_expect(dimension_equal(d, DIMENSION_TIME));
    /* Rapid over lead is a rotation speed. */
    cr_assert(dimension_divide(DIMENSION_SPEED, DIMENSION_LEAD, &d));
    cr_expect(dimension_equal(d, DIMENSION_ROTATION));
    /* Steps per turn over a lead are steps per length; times a speed, a rate. */
    cr_assert(dimension_divide(DIMENSION_STEPS_TURN, DIMENSION_LEAD, &d));
    cr_expect(dimension_equal(d, DIMENSION_STEPS_LENGTH));
    cr_assert(dimension_multiply(d, DIMENSION_SPEED, &d));
    cr_expect(dimension_equal(d, DIMENSION_RATE));
    /* Pitch times teeth is a length per turn. */
    cr_assert(dimension_multiply(DIMENSION_LENGTH, TEETH, &d));
    cr_expect(dimension_equal(d, DIMENSION_LEAD));
    /* v^2 / a is a length. */
    cr_assert(dimension_power(DIMENSION_SPEED, 2, &d));
    cr_assert(dimension_divide(d, DIMENSION_ACCELERATION, &d));
    cr_expect(dimension_equal(d, DIMENSION_LENGTH));
    cr_assert(dimension_power(DIMENSION_LENGTH, 2, &d));
    cr_assert(dimension_root(d, &d));
    cr_expect(dimension_equal(d, DIMENSION_LENGTH));
}

Test(dimension, limits)
{
    struct dimension d = DIMENSION_TIME;
    cr_expect(!dimension_root(DIMENSION_SPEED, &d));
    cr_expect(!dimension_power(DIMENSION_LENGTH, 101, &d));
    cr_expect(!dimension_power(DIMENSION_ACCELERATION, 51, &d));
    cr_expect(!dimension_power(DIMENSION_LENGTH, 2147483647, &d));
    cr_expect(!dimension_power(DIMENSION_LENGTH, -2147483647 - 1, &d));
    cr_expect(dimension_equal(d, DIMENSION_TIME), "not written");
    cr_expect(dimension_power(DIMENSION_NONE, 2147483647, &d) && dimension_is_none(d));
    cr_expect(dimension_power(DIMENSION_LENGTH, 100, &d));
    cr_expect(!dimension_multiply(d, DIMENSION_LENGTH, &d) && d.length == 100);
    cr_expect(dimension_power(DIMENSION_LENGTH, -100, &d));
    cr_expect(!dimension_divide(d, DIMENSION_LENGTH, &d));
    cr_expect(dimension_power(DIMENSION_SPEED, 0, &d) && dimension_is_none(d));
}

Test(dimension, names, .init = begin, .fini = end)
{
    static const struct {
        struct dimension dimension;
        const char *name, *symbols;
    } cases[] = {
        {{0, 0, 0, 0, 0}, "number", "1"},
        {{1, 0, 0, 0, 0}, "length", "m"},
        {{2, 0, 0, 0, 0}, "area", "m^2"},
        {{3, 0, 0, 0, 0}, "volume", "m^3"},
        {{0, 1, 0, 0, 0}, "mass", "kg"},
        {{0, 0, 1, 0, 0}, "time", "s"},
        {{0, 0, 0, 1, 0}, "angle", "rad"},
        {{0, 0, 0, 0, 1}, "steps", "step"},
        {{0, 0, -1, 0, 0}, "frequency", "1/s"},
        {{0, 0, -2, 1, 0}, "angular acceleration", "rad/s^2"},
        {{0, 0, 0, -1, 0}, "number per turn", "1/rad"},
        {{1, 0, -1, 0, 0}, "speed", "m/s"},
        {{1, 0, -2, 0, 0}, "acceleration", "m/s^2"},
        {{0, 0, -1, 1, 0}, "rotation speed", "rad/s"},
        {{0, 0, -1, 0, 1}, "step rate", "step/s"},
        {{-1, 0, 0, 0, 1}, "steps per length", "step/m"},
        {{0, 0, 0, -1, 1}, "steps per turn", "step/rad"},
        {{1, 0, 0, -1, 0}, "length per turn", "m/rad"},
        {{2, 1, 0, -2, 0}, "inertia", "kg*m^2/rad^2"},
        {{2, 1, -2, -1, 0}, "torque", "kg*m^2/(rad*s^2)"},
        {{2, 1, -3, 0, 0}, "kg*m^2/s^3", "kg*m^2/s^3"},
        {{-1, 0, -1, 0, 0}, "1/(m*s)", "1/(m*s)"},
        {{0, 0, -3, 0, 0}, "1/s^3", "1/s^3"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        cr_expect_str_eq(dimension_name(cases[i].dimension, &arena), cases[i].name);
        cr_expect_str_eq(dimension_symbols(cases[i].dimension, &arena), cases[i].symbols);
    }
}

/* Units. */

/* Other spellings, and how the unit is written then. */
static const struct {
    const char *text, *unit; /* NULL: none */
} spellings[] = {
    {"mm", "mm"},
    {"\"", "in"},
    {"\xE2\x80\xB3", "in"},
    {"\xE2\x80\x9D", "in"},
    {"\xC2\xB5m", "um"},
    {"\xCE\xBCm", "um"},
    {"\xC2\xB5s", "us"},
    {"um", "um"},
    {"thou", "thou"},
    {"THOU", "thou"},
    {"min", "min"},
    {"Min", "min"},
    {"RPM", "rpm"},
    {"Rpm", "rpm"},
    {"RAD/s", "rad/s"},
    {"Rad/s", "rad/s"},
    {"DAYS", "days"},
    {"rev/min", "rpm"},
    {"rev/s", "rev/s"},
    {"turn/s", "rev/s"},
    {"turn", "rev"},
    {"step", "steps"},
    {"Steps", "steps"},
    {"step/s", "steps/s"},
    {"step/mm", "steps/mm"},
    {"STEPS/in", "steps/in"},
    {"steps/\"", "steps/in"},
    {"steps / mm", "steps/mm"},
    {"in/min", "in/min"},
    {"\"/min", "in/min"},
    {"in/MIN", "in/min"},
    {"mm / s", "mm/s"},
    {"mm/\xC2\xA0s", "mm/s"},
    {"mm/s^2", "mm/s^2"},
    {"mm/s2", "mm/s^2"},
    {"mm/s\xC2\xB2", "mm/s^2"},
    {"mm/s/s", "mm/s^2"},
    {"mm / s / s", "mm/s^2"},
    {"in/min2", "in/min^2"},
    {"in/min/min", "in/min^2"},
    {"\xC2\xB5m/ms\xC2\xB2", "um/ms^2"},
    {"kHz", "kHz"},
    {"MHz", "MHz"},
    {"kg*m^2", "kg*m^2"},
    {"kg*m2", "kg*m^2"},
    {"kg\xC2\xB7m\xC2\xB2", "kg*m^2"},
    {"kg * m^2", "kg*m^2"},
    {"lb*ft2", "lb*ft^2"},
    {"lb*in\xC2\xB2", "lb*in^2"},
    {"N*m", "N*m"},
    {"N\xE2\x8B\x85m", "N*m"},
    {"LBF*in", "lbf*in"},
    {"ozf*\"", "ozf*in"},
    {"OZF*in", "ozf*in"},
    {"oZf*in", "ozf*in"},
    {"%", "%"},
    {"mm/m", "mm/m"},
    {"DEG", "deg"},
    {"", NULL},
    {" ", NULL},
    {"MM", NULL},
    {"IN", NULL},
    {"M", NULL},
    {"S", NULL},
    {"hz", NULL},
    {"mHz", NULL},
    {"KHZ", NULL},
    {"mhz", NULL},
    {"mm ", NULL},
    {" mm", NULL},
    {"m m", NULL},
    {"mm s", NULL},
    {"mm//s", NULL},
    {"mm/", NULL},
    {"/s", NULL},
    {"mm/s^3", NULL},
    {"mm/s/min", NULL},
    {"mm/s^2^2", NULL},
    {"mm/s22", NULL},
    {"mm^2", NULL},
    {"ipm", NULL},
    {"''", NULL},
    {"'", NULL},
    {"inch", NULL},
    {"inches", NULL},
    {"mil", NULL},
    {"hour", NULL},
    {"sec", NULL},
    {"m/mm", NULL},
    {"N", NULL},
    {"lb", NULL},
    {"n*m", NULL},
    {"steps/s^2", NULL},
    {"mm, in", NULL},
    {"2", NULL},
    {"^2", NULL},
    {"aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa", NULL},
    {"aaaaaaaaaaaaaaaaaaaaaaa\"", NULL},
    {"aaaaaaaaaaaaaaaaaaaaaaaa", NULL},
    {"step/aaaaaaaaaaaaaaaaaaa", NULL},
    {"\"\"\"\"\"\"\"\"\"\"\"\"\"", NULL},
    {"\xC2", NULL},
    {"\xFF\xFE", NULL},
};

Test(unit, spellings)
{
    for (size_t i = 0; i < sizeof spellings / sizeof spellings[0]; i++) {
        unit_id read = unit(spellings[i].text);
        if (!spellings[i].unit)
            cr_expect(read == UNIT_UNKNOWN, "`%s` read as %s", spellings[i].text,
                      unit_text(read));
        else
            cr_expect(read != UNIT_UNKNOWN && !strcmp(unit_text(read), spellings[i].unit),
                      "`%s` is not %s", spellings[i].text, spellings[i].unit);
    }
}

/* Every unit is read from its own text as itself, and stays itself over SI and back. */
Test(unit, table)
{
    size_t count = 0;
    for (unit_id id = 1; unit_text(id)[0]; id++, count++) {
        const char *text = unit_text(id);
        struct dimension d = unit_dimension(id);
        cr_expect(unit(text) == id, "%s", text);
        cr_expect(unit_fits(id, d), "%s", text);
        for (double value = -1000; value <= 1000; value += 0.5) {
            double si = unit_to_si(id, d, value);
            cr_expect(unit_from_si(id, d, si) == value, "%g %s", value, text);
        }
        unit_id preferred = unit_default(d);
        cr_expect(unit_fits(preferred, d), "%s", text);
    }
    cr_expect(count == 100, "%zu units", count);
    cr_expect(unit_text(UNIT_UNKNOWN)[0] == '\0');
    cr_expect(!unit_fits(UNIT_UNKNOWN, DIMENSION_NONE));
}

/* One double, however it is written. */
static const struct {
    double value;
    const char *unit;
    struct dimension dimension;
    double si;
} factors[] = {
    {42, "mm", {1, 0, 0, 0, 0}, 0.042},
    {1, "in", {1, 0, 0, 0, 0}, 0.0254},
    {6.125, "in", {1, 0, 0, 0, 0}, 0.155575},
    {1, "thou", {1, 0, 0, 0, 0}, 0.0000254},
    {1, "ft", {1, 0, 0, 0, 0}, 0.3048},
    {7, "um", {1, 0, 0, 0, 0}, 0.000007},
    {3, "cm", {1, 0, 0, 0, 0}, 0.03},
    {1, "min", {0, 0, 1, 0, 0}, 60},
    {10000, "ms", {0, 0, 1, 0, 0}, 10},
    {30, "mm/min", {1, 0, -1, 0, 0}, 0.0005},
    {60, "in/min", {1, 0, -1, 0, 0}, 0.0254},
    {1, "m/ms", {1, 0, -1, 0, 0}, 1000},
    {1, "mm/us", {1, 0, -1, 0, 0}, 1000},
    {1, "ft/s^2", {1, 0, -2, 0, 0}, 0.3048},
    {3600, "in/min^2", {1, 0, -2, 0, 0}, 0.0254},
    {1, "um/us^2", {1, 0, -2, 0, 0}, 1e6},
    {80, "steps/mm", {-1, 0, 0, 0, 1}, 80000},
    {254, "steps/in", {-1, 0, 0, 0, 1}, 10000},
    {30, "rpm", {0, 0, -1, 1, 0}, 3.141592653589793},
    {60, "rpm", {0, 0, -1, 1, 0}, 6.283185307179586},
    {180, "deg", {0, 0, 0, 1, 0}, 3.141592653589793},
    {1, "rev", {0, 0, 0, 1, 0}, 6.283185307179586},
    {25, "kHz", {0, 0, -1, 0, 1}, 25000},
    {1, "g*cm^2", {2, 1, 0, -2, 0}, 1e-7},
    {1, "lb*ft^2", {2, 1, 0, -2, 0}, 0.0421401100938048},
    {1, "lbf*ft", {2, 1, -2, -1, 0}, 1.3558179483314004},
    {16, "ozf*in", {2, 1, -2, -1, 0}, 0.1129848290276167},
    {12, "lbf*in", {2, 1, -2, -1, 0}, 1.3558179483314004},
    {25, "%", {0, 0, 0, 0, 0}, 0.25},
    {0.3, "mm/m", {0, 0, 0, 0, 0}, 0.0003},
    /* The turn that is left unsaid: 200 / (2 pi), 8 mm / (2 pi); digits recomputed with bc. */
    {200, "", {0, 0, 0, -1, 1}, 31.830988618379067},
    {20, "", {0, 0, 0, -1, 0}, 3.1830988618379067},
    {8, "mm", {1, 0, 0, -1, 0}, 0.0012732395447351628},
};

Test(unit, factors)
{
    for (size_t i = 0; i < sizeof factors / sizeof factors[0]; i++) {
        unit_id id = factors[i].unit[0] ? unit(factors[i].unit) : UNIT_BARE;
        double si = unit_to_si(id, factors[i].dimension, factors[i].value);
        cr_expect(si == factors[i].si, "%g %s: %.17g, not %.17g", factors[i].value,
                  factors[i].unit, si, factors[i].si);
        double back = unit_from_si(id, factors[i].dimension, si);
        cr_expect(back == factors[i].value, "%g %s: back %.17g", factors[i].value,
                  factors[i].unit, back);
    }
    cr_expect(isinf(unit_to_si(unit("ft/us^2"), DIMENSION_ACCELERATION, 1e308)));
    cr_expect(isinf(unit_from_si(unit("um"), DIMENSION_LENGTH, 1e308)));
}

static const struct {
    const char *unit;
    struct dimension wanted;
    bool fits;
} fits[] = {
    {"mm", {1, 0, 0, 0, 0}, true},    {"mm", {1, 0, 0, -1, 0}, true},
    {"mm", {0, 0, 0, 0, 0}, false},   {"mm", {1, 0, -1, 0, 0}, false},
    {"s", {1, 0, 0, 0, 0}, false},    {"rpm", {0, 0, -1, 1, 0}, true},
    {"Hz", {0, 0, -1, 0, 1}, true},   {"Hz", {0, 0, -1, 1, 0}, false},
    {"%", {0, 0, 0, 0, 0}, true},     {"%", {1, 0, 0, 0, 0}, false},
    {"%", {0, 0, 0, -1, 1}, false},   {"mm/m", {0, 0, 0, 0, 0}, true},
    {"N*m", {2, 1, -2, -1, 0}, true}, {"kg*m^2", {2, 1, 0, -2, 0}, true},
    {"N*m", {2, 1, 0, -2, 0}, false}, {"", {0, 0, 0, 0, 0}, true},
    {"", {0, 0, 0, -1, 1}, true},     {"", {0, 0, 0, -1, 0}, true},
    {"", {1, 0, 0, 0, 0}, false},     {"mm/s", {1, 0, -1, -1, 0}, false},
};

Test(unit, fits)
{
    for (size_t i = 0; i < sizeof fits / sizeof fits[0]; i++) {
        unit_id id = fits[i].unit[0] ? unit(fits[i].unit) : UNIT_BARE;
        cr_expect(unit_fits(id, fits[i].wanted) == fits[i].fits, "%s, row %zu", fits[i].unit,
                  i);
    }
}

/* The choices of a dimension as one text, at most `room` of them. */
static void check_choices(struct dimension wanted, size_t room, const char *text, size_t total)
{
    unit_id found[64];
    char joined[256] = "";
    size_t count = unit_choices(wanted, found, room);
    for (size_t i = 0; i < count && i < room; i++) {
        strcat(joined, i ? ", " : "");
        strcat(joined, unit_text(found[i]));
    }
    cr_expect_str_eq(joined, text);
    cr_expect(count == total, "%zu, not %zu: %s", count, total, text);
}

Test(unit, choices)
{
    check_choices(DIMENSION_LENGTH, 64, "mm, cm, m, in, thou, ft, um", 7);
    check_choices(DIMENSION_LENGTH, 2, "mm, cm", 7);
    check_choices(DIMENSION_LEAD, 64, "mm, cm, m, in, thou, ft, um", 7);
    check_choices(DIMENSION_TIME, 64, "s, ms, min, us", 4);
    check_choices(DIMENSION_SPEED, 5, "mm/s, mm/min, m/min, in/min, in/s", 28);
    check_choices(DIMENSION_ACCELERATION, 3, "mm/s^2, m/s^2, in/s^2", 28);
    check_choices(DIMENSION_STEPS_LENGTH, 2, "steps/mm, steps/in", 7);
    check_choices(DIMENSION_ROTATION, 64, "rpm, rev/s, rad/s, deg/s", 4);
    check_choices(DIMENSION_RATE, 64, "kHz, Hz, MHz, steps/s", 4);
    check_choices(DIMENSION_INERTIA, 64, "kg*m^2, kg*cm^2, g*cm^2, lb*ft^2, lb*in^2", 5);
    check_choices(DIMENSION_TORQUE, 64, "N*m, N*cm, lbf*ft, lbf*in, ozf*in", 5);
    check_choices(DIMENSION_NONE, 64, "%, mm/m", 2);
    check_choices(DIMENSION_STEPS_TURN, 64, "", 0);
}

Test(unit, defaults)
{
    cr_expect_str_eq(unit_text(unit_default(DIMENSION_LENGTH)), "mm");
    cr_expect_str_eq(unit_text(unit_default(DIMENSION_LEAD)), "mm");
    cr_expect_str_eq(unit_text(unit_default(DIMENSION_TIME)), "s");
    cr_expect_str_eq(unit_text(unit_default(DIMENSION_SPEED)), "mm/s");
    cr_expect_str_eq(unit_text(unit_default(DIMENSION_ACCELERATION)), "mm/s^2");
    cr_expect_str_eq(unit_text(unit_default(DIMENSION_ROTATION)), "rpm");
    cr_expect_str_eq(unit_text(unit_default(DIMENSION_RATE)), "kHz");
    cr_expect_str_eq(unit_text(unit_default(DIMENSION_ANGLE)), "deg");
    cr_expect_str_eq(unit_text(unit_default(DIMENSION_NONE)), "");
    cr_expect_str_eq(unit_text(unit_default(DIMENSION_STEPS_TURN)), "");
}

/* What people turn a number by; of other units, nothing is known. */
Test(unit, steps)
{
    static const struct {
        const char *unit;
        double step;
    } cases[] = {
        {"mm", 0.1},    {"cm", 0.01},  {"m", 1e-4},   {"um", 1},       {"in", 0.015625},
        {"thou", 1},    {"ft", 1e-3},  {"s", 0.1},    {"ms", 1},       {"us", 1},
        {"min", 0.01},  {"mm/s", 0.1}, {"mm/min", 1}, {"m/min", 1e-3}, {"in/min", 0.1},
        {"in/s", 0.01}, {"mm/s^2", 1}, {"rpm", 1},    {"%", 1},        {"mm/m", 0.01},
        {"m/s", 0},     {"cm/min", 0}, {"m/s^2", 0},  {"steps/mm", 0}, {"kHz", 0},
        {"deg", 0},     {"kg*m^2", 0}, {"days", 0},   {"mm/min^2", 0}, {"in/ms", 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        cr_expect(unit_step(unit_read(view_of(cases[i].unit))) == cases[i].step, "%s",
                  cases[i].unit);
    cr_expect(unit_step(UNIT_BARE) == 0 && unit_step(UNIT_UNKNOWN) == 0);
}
