/* Measured values that stand as readings. */
#include "world.h"

#include <criterion/criterion.h>

#include <math.h>

#define CONTACT        "nose_contact: -90 mm ± 0.2 mm"
#define FIELD          "setter.nose_contact"
#define FINE           "-90.02 mm, -90.00 mm, -90.03 mm"
#define OF(...)        "nose_contact: {readings: [" __VA_ARGS__ "]}"
#define BESIDE(beside) "nose_contact: {readings: [" FINE "], " beside "}"

static const struct change changes[] = {
    {CONTACT, OF(FINE), NULL, NULL, NULL, NULL},
    {CONTACT, BESIDE("with: \"calliper, old\", by: us, on: 2026-05-04, instrument_error: 0"),
     "unit-missing", FIELD, "0", NULL},
    {CONTACT, BESIDE("with: \"calliper, old\", by: 7, on: 2026-05-04, instrument_error: 0 mm"),
     NULL, NULL, NULL, NULL},
    /* Of other places and keys. */
    {"standoff: 11 mm", "standoff: {readings: [11 mm, 12 mm, 11 mm]}", "wrong-kind",
     "change.standoff", "{readings: [11 mm, 12 mm, 11 mm]}", "change.standoff is not measured"},
    {"reseat: 2 mm", "reseat: {readings: [2 mm]}", "wrong-kind", "allowances.reseat",
     "{readings: [2 mm]}", "is not measured"},
    {"travel: [-110 mm, 0 mm]", "travel: {readings: [1 mm]}", "wrong-kind", "axes.z.travel",
     "{readings: [1 mm]}", "readings stand here"},
    {CONTACT, BESIDE("wiht: calliper"), "unknown-key", FIELD ".wiht", "wiht",
     "has no key 'wiht'; with is the nearest"},
    {CONTACT, "nose_contact: {with: calliper}", "wrong-kind", FIELD, "{with: calliper}",
     "no readings stand here"},
    {CONTACT, "nose_contact: {a: 1}", "wrong-kind", FIELD, "{a: 1}", "a section stands here"},
    {CONTACT, BESIDE("readings: [-90 mm]"), "duplicate-key", FIELD ".readings", "readings",
     NULL},
    /* What stands beside them. */
    {CONTACT, BESIDE("on: 4.5.2026"), "wrong-kind", FIELD, "4.5.2026",
     "'4.5.2026' is no date; on of setter.nose_contact wants a date"},
    {CONTACT, BESIDE("on: 2026-02-30"), "wrong-kind", FIELD, "2026-02-30",
     "is not in the calendar"},
    {CONTACT, BESIDE("on: "), "wrong-kind", FIELD, "on", "nothing is written"},
    {CONTACT, BESIDE("by: [a, b]"), "wrong-kind", FIELD, "[a, b]", "a list stands here"},
    {CONTACT, BESIDE("with: ~"), "wrong-kind", FIELD, "~", "nothing is written"},
    {CONTACT, BESIDE("instrument_error: -0.1 mm"), "wrong-kind", FIELD, "-0.1 mm",
     "it is negative"},
    {CONTACT, BESIDE("instrument_error: 0.1 mm ± 0.1 mm"), "wrong-kind", FIELD,
     "0.1 mm ± 0.1 mm", "a tolerance itself"},
    {CONTACT, BESIDE("instrument_error: 0.1 s"), "wrong-dimension", FIELD, "0.1 s", NULL},
    {CONTACT, BESIDE("instrument_error: [0.1 mm]"), "wrong-kind", FIELD, "[0.1 mm]", "a list"},
    {CONTACT, BESIDE("instrument_error: nan"), "not-a-number", FIELD, "nan", NULL},
    /* The readings. */
    {CONTACT, OF(), "wrong-kind", FIELD, "[]", "the list is empty"},
    {CONTACT, "nose_contact: {readings: -90 mm}", "wrong-kind", FIELD, "-90 mm",
     "a single value stands here"},
    {CONTACT, OF("[-90 mm]"), "wrong-kind", FIELD, "[-90 mm]", "a list stands here"},
    {CONTACT, OF("-90 mm, ~, -90 mm"), "not-a-number", FIELD, "~", "no value is written"},
    {CONTACT, OF("-90.02, -90.00, -90.03"), "unit-missing", FIELD, "-90.02", NULL},
    {CONTACT, OF("-90.02 mm, -90.00 s, -90.03 mm"), "wrong-dimension", FIELD, "-90.00 s", NULL},
    {CONTACT, OF("-90,02 mm, -90,00 mm, -90,03 mm"), "not-a-number", FIELD, "-90,02 mm",
     "has a comma in its number"},
    {CONTACT, OF("-90 mm, nan, -90.1 mm"), "not-a-number", FIELD, "nan", NULL},
    {CONTACT, OF("-90 mm, 1e400 mm, -90.1 mm"), "not-a-number", FIELD, "1e400 mm", NULL},
    {CONTACT, OF("-90 mm ± 0.1 mm, -90.1 mm, -90.2 mm"), "wrong-kind", FIELD, "-90 mm ± 0.1 mm",
     "a tolerance of its own"},
    {"overtravel: 5 mm", "overtravel: {readings: [5 mm, -5.1 mm, 5 mm]}", "wrong-kind",
     "setter.overtravel", "-5.1 mm", "is negative"},
    {CONTACT, OF("-90 in, -90.01 in, -90.02 in"), "looks-like-inches", FIELD, "-90 in", NULL},
    /* How many, how old, how far apart. */
    {CONTACT, OF("-90 mm"), "readings-few", FIELD, "readings",
     "one reading of setter.nose_contact tells nothing"},
    {CONTACT, OF("-90 mm, -90.01 mm"), "readings-few", FIELD, "readings", "2 readings"},
    {CONTACT, OF("-90 mm, -90 mm, -90 mm"), "readings-alike", FIELD, "readings",
     "the 3 readings of setter.nose_contact are all alike"},
    {CONTACT, OF(FINE ", -90.01 mm, -92.01 mm"), "reading-off", FIELD, "-92.01 mm",
     "reading 5 of setter.nose_contact, -92.01 mm, lies far off the rest"},
    {CONTACT, OF("-90.02 mm, -90.02 mm, -90.00 mm"), NULL, NULL, NULL, NULL},
    {CONTACT, BESIDE("on: 2026-05-03"), "readings-old", FIELD, "2026-05-03",
     "of 2026-05-03 are older than the last work on the machine"},
    /* How far they scatter. */
    {"overtravel: 5 mm", "overtravel: 5 mm\n  repeatability: {readings: [" FINE "]}", NULL,
     NULL, NULL, NULL},
    {"overtravel: 5 mm", "overtravel: 5 mm\n  repeatability: {readings: [1 mm]}", "wrong-kind",
     "setter.repeatability", "[1 mm]", "one reading has no scatter"},
    {"overtravel: 5 mm", "overtravel: 5 mm\n  repeatability: {readings: [1 mm, 2 mm, 3 mm]}",
     "implausible", "setter.repeatability", "[1 mm, 2 mm, 3 mm]", NULL},
};

static struct arena arena;
static struct world world;

static void end(void)
{
    if (world.tree.root)
        world_free(&world);
    arena_free(&arena);
}

static void begin(void)
{
    arena_init(&arena, NULL);
}

TestSuite(readings, .init = begin, .fini = end);

Test(readings, mistakes_and_remarks)
{
    check_changes(changes, sizeof changes / sizeof changes[0]);
}

/* The value that one change gives a field, as a file would write it. */
static const char *comes_to(const char *old, const char *now, enum field_id id)
{
    if (world.tree.root)
        world_free(&world);
    world_read(&world, changed(&arena, old, now));
    return field_value_text(&world.arena, id, machine_field(&world.machine, id, 0));
}

/* Mean -90.01667, deviation 0.015275, times 9.7888: 0.14953.  Kept to a hundredth of a tenth,
 * and the tolerance rounded up with the third of a step that the mean lost. */
Test(readings, a_position_is_the_mean)
{
    cr_expect_str_eq(comes_to(CONTACT, OF(FINE), FIELD_SETTER_NOSE_CONTACT),
                     "-90.017 mm ± 0.15 mm");
    const struct field_value *value =
        machine_field(&world.machine, FIELD_SETTER_NOSE_CONTACT, 0);
    cr_expect_eq(value->si, -0.090017);
    const struct readings *from =
        machine_readings(&world.machine, FIELD_SETTER_NOSE_CONTACT, value);
    cr_assert(from);
    cr_expect_eq(from->count, 3);
    cr_expect_float_eq(from->mean, -0.09001666666666667, 1e-15);
    cr_expect_float_eq(from->deviation, 0.00001527525231652, 1e-15);
    cr_expect_str_eq(readings_text(&world.arena, from), "mean of 3 readings");
    cr_expect_null(
        machine_readings(&world.machine, FIELD_TABLE_NOSE_CONTACT,
                         machine_field(&world.machine, FIELD_TABLE_NOSE_CONTACT, 0)));
}

Test(readings, the_instrument_s_error_is_added)
{
    cr_expect_str_eq(
        comes_to(CONTACT,
                 BESIDE("instrument_error: 0.05 mm, with: calliper, on: 2026-05-06, by: us"),
                 FIELD_SETTER_NOSE_CONTACT),
        "-90.017 mm ± 0.2 mm");
    cr_expect_str_eq(readings_text(&world.arena, &world.machine.readings.items[0]),
                     "mean of 3 readings, with calliper, by us, on 2026-05-06");
    cr_expect_str_eq(comes_to(CONTACT,
                              "nose_contact: {readings: [-90 mm], instrument_error: 0.05 mm}",
                              FIELD_SETTER_NOSE_CONTACT),
                     "-90 mm ± 0.05 mm");
}

Test(readings, units_may_differ_and_the_first_is_kept)
{
    cr_expect_str_eq(
        comes_to(CONTACT, OF("-90.02 mm, -9 cm, -90.03 mm"), FIELD_SETTER_NOSE_CONTACT),
        "-90.017 mm ± 0.15 mm");
    cr_expect_str_eq(
        comes_to(CONTACT, OF("-3.540 in, -3.541 in, -3.542 in"), FIELD_SETTER_NOSE_CONTACT),
        "-3.541 in ± 0.00979 in");
    cr_expect_str_eq(comes_to("run_down: 8 s", "run_down: {readings: [8 s, 9 s, 8.5 s]}",
                              FIELD_SPINDLE_RUN_DOWN),
                     "8.5 s ± 4.9 s");
}

/* Of what is a scatter itself the half-width is the value, of readings of any sign. */
Test(readings, a_repeatability_is_their_scatter)
{
    const char *value = comes_to("overtravel: 5 mm",
                                 "overtravel: 5 mm\n  repeatability: {readings: [" FINE "]}",
                                 FIELD_SETTER_REPEATABILITY);
    cr_expect_str_eq(value, "0.15 mm");
    cr_expect_str_eq(readings_text(&world.arena, &world.machine.readings.items[0]),
                     "scatter of 3 readings");
}

/* Far apart, or far too many. */
Test(readings, hostile)
{
    struct buffer many;
    buffer_init(&many, &arena);
    cr_expect_str_eq(
        comes_to("overtravel: 5 mm",
                 "overtravel: 5 mm\n  repeatability: {readings: [-1e308 m, 1e308 m]}",
                 FIELD_SETTER_REPEATABILITY),
        "");
    buffer_text(&many, "nose_contact: {readings: [");
    for (int i = 0; i < 1001; i++)
        buffer_format(&many, "%s-90.%d mm", i ? ", " : "", i % 10);
    buffer_text(&many, "]}");
    cr_expect_str_eq(comes_to(CONTACT, buffer_string(&many), FIELD_SETTER_NOSE_CONTACT), "");
    cr_assert_eq(world.sink.findings.count, 1);
    cr_expect_str_eq(world.sink.findings.items[0].rule, "too-long");
}

static const struct {
    enum field_id id;
    const char *text, *comes_to, *says; /* one of the two */
} texts[] = {
    {FIELD_SETTER_NOSE_CONTACT, "{readings: [" FINE "], with: \"a, b\", on: 2026-05-06}",
     "-90.017 mm ± 0.15 mm", NULL},
    {FIELD_CUTTER_STICKOUT, " {readings: [1.001 in, 1.002 in, 1.003 in]} ",
     "1.002 in ± 0.00979 in", NULL},
    {FIELD_SETTER_REPEATABILITY, "{readings: [" FINE "]}", "0.15 mm", NULL},
    {FIELD_SETTER_NOSE_CONTACT, "{readings: [-9000 mm, -9001 mm, -9000 mm]}",
     "-9000.33 mm ± 5.66 mm", NULL}, /* odd, and no mistake */
    {FIELD_SETTER_NOSE_CONTACT, "{", NULL, "readings are written as"},
    {FIELD_SETTER_NOSE_CONTACT, "{a: 1}", NULL, "readings are written as"},
    {FIELD_SETTER_NOSE_CONTACT, "{readings: [-90 mm]}\nproveout: 1", NULL,
     "readings are written"},
    {FIELD_SETTER_NOSE_CONTACT, "{readings: [-90 m m]}", NULL, "'m m' is no unit"},
    {FIELD_SETTER_NOSE_CONTACT, "{readings: [-90 mm], wiht: us}", NULL, "has no key 'wiht'"},
    {FIELD_SETTER_NOSE_CONTACT, "{with: us}", NULL, "no readings stand here"},
    {FIELD_SETTER_NOSE_CONTACT, "{readings: [-90 mm], readings: [-90 mm]}", NULL, "twice"},
    {FIELD_SETTER_REPEATABILITY, "{readings: [-90 mm]}", NULL, "one reading has no scatter"},
    {FIELD_CHANGE_STANDOFF, "{readings: [11 mm, 12 mm, 11 mm]}", NULL, "is no number"},
};

Test(readings, texts_alone)
{
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        struct field_value value;
        const char *wrong =
            field_read_text(&arena, texts[i].id, view_of(texts[i].text), &value);
        cr_assert_eq(!wrong, !texts[i].says, "\"%s\": %s", texts[i].text, wrong ? wrong : "");
        if (wrong)
            cr_expect(strstr(wrong, texts[i].says), "\"%s\": %s", texts[i].text, wrong);
        else
            cr_expect_str_eq(field_value_text(&arena, texts[i].id, &value), texts[i].comes_to);
        cr_expect(wrong || (!value.node && !value.index));
    }
}

/* A text is read without the machine it is for, whatever the field is of. */
Test(readings, a_text_of_any_field)
{
    size_t read = 0;
    for (unsigned id = 0; id < FIELD_COUNT; id++) {
        struct field_value value;
        struct readings from;
        const char *unit = field_table[id].unit;
        if (!field_takes_readings((enum field_id)id))
            continue;
        const char *alike = arena_format(&arena, "{readings: [1e9 %s, 1e9 %s]}", unit, unit);
        cr_expect_null(
            readings_read_text(&arena, (enum field_id)id, view_of(alike), &value, &from));
        cr_expect_eq(from.count, 2);
        const char *wrong = arena_format(&arena, "{readings: [1 %s, x], wth: y}", unit);
        cr_expect(readings_read_text(&arena, (enum field_id)id, view_of(wrong), &value, &from));
        read++;
    }
    cr_expect(read > 50);
}
