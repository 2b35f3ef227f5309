/* Values of every kind: what they are read as, and every way in which one can be wrong. */
#include <criterion/criterion.h>

#include <math.h>

#include "world.h"

static struct world world;

static void begin(void)
{
    world_read(&world, whole);
}

static void end(void)
{
    world_free(&world);
}

TestSuite(values, .init = begin, .fini = end);

static const struct field_value *given(enum field_id id, uint32_t record)
{
    const struct field_value *value = machine_field(&world.machine, id, record);
    cr_assert_eq(value->state, VALUE_GIVEN, "%s", field_table[id].key);
    return value;
}

static void check_si(enum field_id id, uint32_t record, double si)
{
    double found = given(id, record)->si;
    cr_expect(fabs(found - si) <= 1e-12 * fabs(si), "%s is %g", field_table[id].key, found);
}

Test(values, whole_file_has_no_finding)
{
    cr_assert_eq(world.sink.findings.count, 0, "%s", world.sink.findings.items[0].message);
}

Test(values, numbers_are_si)
{
    static const double turn = 6.283185307179586;
    check_si(FIELD_PROVEOUT, 0, 1);
    check_si(FIELD_MACHINE_PULSE_LIMIT, 0, 1e5);
    check_si(FIELD_AXIS_RAPID, 0, 5.0 / 60);
    check_si(FIELD_AXIS_ACCELERATION, 2, 0.2);
    check_si(FIELD_AXIS_DRIVE_PITCH, 0, 0.002);
    check_si(FIELD_AXIS_DRIVE_TEETH, 0, 20 / turn);
    check_si(FIELD_AXIS_DRIVE_LEAD, 2, 0.008 / turn);
    check_si(FIELD_AXIS_DRIVE_MOTOR_STEPS, 2, 200 / turn);
    check_si(FIELD_AXIS_DRIVE_MICROSTEPS, 2, 16);
    check_si(FIELD_AXIS_DRIVE_STEPS, 2, 4e5);
    check_si(FIELD_HOMING_REST, 2, -0.003);
    check_si(FIELD_INPUT_SCAN, 1, 0.001);
    check_si(FIELD_TABLE_SLOPE, 0, 0.0003);
    check_si(FIELD_SPINDLE_INERTIA, 0, 4e-4);
    check_si(FIELD_CUTTER_STICKOUT, 1, 0.028575);
    check_si(FIELD_MACHINE_LAST_WORKED_ON, 0, 20577.0 * 86400);
    cr_expect_float_eq(given(FIELD_SETTER_NOSE_CONTACT, 0)->tolerance, 0.0002, 1e-15);
    cr_expect_str_eq(unit_text(given(FIELD_CUTTER_STICKOUT, 1)->unit), "in");
}

Test(values, lists_keep_their_order)
{
    const struct field_value *travel = given(FIELD_AXIS_TRAVEL, 2);
    cr_expect_float_eq(travel->pair[0].si, -0.11, 1e-15);
    cr_expect_float_eq(travel->pair[1].si, 0, 1e-15);
    cr_expect_eq(travel->pair[0].state, VALUE_GIVEN);
    const struct number_list *sizes = given(FIELD_SPINDLE_COLLET_SIZES, 0)->list;
    cr_assert_eq(sizes->count, 2);
    cr_expect_float_eq(sizes->items[1].si, 0.00635, 1e-15);
    const struct word_list *order = given(FIELD_HOMING_ORDER, 0)->words;
    cr_assert_eq(order->count, 3);
    cr_expect(!order->none && order->word[0] == 2 && order->word[1] == 0 &&
              order->word[2] == 1);
    cr_expect(order->rank[0] == 0 && order->rank[1] == 1 && order->rank[2] == 1);
    const struct field_value *asks = given(FIELD_CHANGE_ASKS, 0);
    const struct field *field = &field_table[FIELD_CHANGE_ASKS];
    cr_assert_eq(asks->words->count, 3);
    cr_expect(view_is(field_choice(field, asks->words->word[1]), "cutter_in"));
    cr_expect_eq(asks->words->rank[2], 2);
}

Test(values, words_flags_and_names)
{
    cr_expect(view_is(given(FIELD_MACHINE_NAME, 0)->text, "bench"));
    cr_expect(view_is(given(FIELD_INPUT_TERMINAL, 1)->text, "7"));
    cr_expect(!given(FIELD_CHANGE_TOUCHES_OLD, 0)->flag);
    cr_expect(given(FIELD_CHANGE_IDLE_CHECKED, 0)->flag);
    cr_expect_eq(given(FIELD_CHANGE_SPINDLE_HELD_OFF, 0)->choice, 2);
    cr_expect_eq(given(FIELD_SETTER_INPUT, 0)->index, 1);
    cr_expect_eq(given(FIELD_HOMING_INPUT, 2)->index, 0);
}

Test(values, defaults_have_no_place)
{
    const struct field_value *scan = machine_field(&world.machine, FIELD_INPUT_SCAN, 0);
    cr_expect_eq(scan->state, VALUE_DEFAULTED);
    cr_expect_float_eq(scan->si, 0.005, 1e-15);
    cr_expect_null(scan->node);
    const struct field_value *tested =
        machine_field(&world.machine, FIELD_SETTER_TESTED_BEFORE_USE, 0);
    cr_expect(tested->state == VALUE_DEFAULTED && !tested->flag);
    cr_expect_eq(machine_field(&world.machine, FIELD_ALLOWANCES_Z_STEP, 0)->state,
                 VALUE_ABSENT);
    cr_expect_eq(machine_field(&world.machine, FIELD_CUTTER_SHANK, 0)->state, VALUE_ABSENT);
    cr_expect_eq(machine_field(&world.machine, FIELD_AXIS_DRIVE_REDUCTION, 1)->state,
                 VALUE_DEFAULTED);
}

#define STANDOFF "standoff: 11 mm"

/* Numbers. */
static const struct change numbers[] = {
    {STANDOFF, "standoff: 11", "unit-missing", "change.standoff", "11", "mm, cm, m, in"},
    {STANDOFF, "standoff: 11mm", NULL, NULL, NULL, NULL},
    {STANDOFF, "standoff: '11 mm'", NULL, NULL, NULL, NULL},
    {STANDOFF, "standoff: '7/16\"'", NULL, NULL, NULL, NULL},
    {STANDOFF, "standoff: 11 mm +/- 1 mm", NULL, NULL, NULL, NULL},
    {STANDOFF, "standoff: 11 mn", "unit-unknown", "change.standoff", "11 mn", "'mn'"},
    {STANDOFF, "standoff: 11 millimetre", "unit-unknown", "change.standoff", "11 millimetre",
     NULL},
    {STANDOFF, "standoff: 11 s", "wrong-dimension", "change.standoff", "11 s", "is a time"},
    {STANDOFF, "standoff: 11 mm/s", "wrong-dimension", "change.standoff", "11 mm/s",
     "11 mm/s is a speed; change.standoff wants a length"},
    {STANDOFF, "standoff: 11,5 mm", "not-a-number", "change.standoff", "11,5 mm", "comma"},
    {STANDOFF, "standoff: 1_1 mm", "not-a-number", "change.standoff", "1_1 mm", NULL},
    {STANDOFF, "standoff: 0x11", "not-a-number", "change.standoff", "0x11", NULL},
    {STANDOFF, "standoff: 1:30", "not-a-number", "change.standoff", "1:30", NULL},
    {STANDOFF, "standoff: 011 mm", "not-a-number", "change.standoff", "011 mm", NULL},
    {STANDOFF, "standoff: eleven", "not-a-number", "change.standoff", "eleven", "no number"},
    {STANDOFF, "standoff: .inf", "not-a-number", "change.standoff", ".inf", NULL},
    {STANDOFF, "standoff: 1/0 mm", "not-a-number", "change.standoff", "1/0 mm", NULL},
    {STANDOFF, "standoff:", "not-a-number", "change.standoff", "standoff", "no value"},
    {STANDOFF, "standoff: ~", "not-a-number", "change.standoff", "~", "no value"},
    {STANDOFF, "standoff: 11 mm ± 2 s", "not-a-number", "change.standoff", "11 mm ± 2 s", NULL},
    {STANDOFF, "standoff: [11 mm]", "wrong-kind", "change.standoff", "[11 mm]", "a list"},
    {STANDOFF, "standoff: {a: 1}", "wrong-kind", "change.standoff", "{a: 1}", "a section"},
    {STANDOFF, "standoff: -11 mm", "wrong-kind", "change.standoff", "-11 mm",
     "-11 mm is negative; change.standoff wants 0 mm or more"},
    {"traverse_z: -4 mm", "traverse_z: +4 mm", NULL, NULL, NULL, NULL},
    {"  inertia", "  growth: -0.02 mm\n  inertia", NULL, NULL, NULL, NULL},
    {"inertia: 4 kg*cm^2", "inertia: 4 N*m", "wrong-dimension", "spindle.inertia", "4 N*m",
     NULL},
    {"pulse_limit: 100 kHz", "pulse_limit: 100000 steps/s", NULL, NULL, NULL, NULL},
    {"teeth: 20", "teeth: 20 mm", "wrong-dimension", "axes.x.drive.teeth", "20 mm",
     "wants a plain number"},
    {"slope: 0.3 mm/m", "slope: 0.03 %", NULL, NULL, NULL, NULL},
    {"slope: 0.3 mm/m", "slope: 0.3 mm/m ± 10 %", NULL, NULL, NULL, NULL},
    {"slope: 0.3 mm/m", "slope: 0.3 mm", "wrong-dimension", "table.slope", "0.3 mm", NULL},
    {"number: 4", "number: 4.5", "wrong-kind", "cutters[0].number", "4.5", "whole"},
    {"number: 4", "number: 0", "wrong-kind", "cutters[0].number", "0", "below 1"},
    {"number: 4", "number: 04", "not-a-number", "cutters[0].number", "04", NULL},
    {"number: 4", "number: 4 ± 1", "wrong-kind", "cutters[0].number", "4 ± 1", "whole"},
    {"number: 4", "number: 400 %", "wrong-dimension", "cutters[0].number", "400 %", "ratio"},
    {"number: 4", "number: 4 mm", "wrong-dimension", "cutters[0].number", "4 mm", "length"},
    {"number: 4", "number: 4.0", NULL, NULL, NULL, NULL},
    {"microsteps: 16", "microsteps: yes", "not-a-number", "axes.z.drive.microsteps", "yes",
     NULL},
};

Test(values, numbers_that_are_wrong)
{
    check_changes(numbers, sizeof numbers / sizeof numbers[0]);
}

/* Words. */
static const struct change words[] = {
    {"touches_old: no", "touches_old: No", NULL, NULL, NULL, NULL},
    {"touches_old: no", "touches_old: FALSE", NULL, NULL, NULL, NULL},
    {"touches_old: no", "touches_old: \"no\"", NULL, NULL, NULL, NULL},
    {"touches_old: no", "touches_old: off", "unknown-choice", "change.touches_old", "off",
     "yes or no"},
    {"touches_old: no", "touches_old: n", "unknown-choice", "change.touches_old", "n", NULL},
    {"touches_old: no", "touches_old: 0", "unknown-choice", "change.touches_old", "0", NULL},
    {"touches_old: no", "touches_old: nO", "unknown-choice", "change.touches_old", "nO", NULL},
    {"touches_old: no", "touches_old:", "wrong-kind", "change.touches_old", "touches_old",
     NULL},
    {"touches_old: no", "touches_old: [no]", "wrong-kind", "change.touches_old", "[no]", NULL},
    {"name: bench", "name: yes", NULL, NULL, NULL, NULL},
    {"name: bench", "name: 010", NULL, NULL, NULL, NULL},
    {"name: bench", "name: 1:30", NULL, NULL, NULL, NULL},
    {"name: bench", "name: [bench]", "wrong-kind", "machine.name", "[bench]", "wants text"},
    {"name: bench", "name: \"\"", "wrong-kind", "machine.name", "\"\"", NULL},
    {"name: bench", "name:", "wrong-kind", "machine.name", "name", NULL},
    {"note: of the tests", "note:", NULL, NULL, NULL, NULL},
    {"terminal: A4", "terminal: 010", NULL, NULL, NULL, NULL},
    {"terminal: A4", "terminal: on", NULL, NULL, NULL, NULL},
    {"terminal: A4", "terminal: {}", "wrong-kind", "inputs.top.terminal", "{}", NULL},
    {"held_off: unplugged", "held_off: no", NULL, NULL, NULL, NULL},
    {"held_off: unplugged", "held_off: false", "unknown-choice", "change.spindle_held_off",
     "false", "isolated, interlocked, unplugged or no"},
    {"held_off: unplugged", "held_off: unpluged", "unknown-choice", "change.spindle_held_off",
     "unpluged", NULL},
    {"no_contact: stops", "no_contact: Stops", "unknown-choice", "change.no_contact", "Stops",
     NULL},
    {"proveout: 1", "proveout: '1'", NULL, NULL, NULL, NULL},
    {"proveout: 1", "proveout: 2", "unknown-choice", "proveout", "2", "wants 1"},
    {"on: 2026-05-05", "on: 2024-02-29", NULL, NULL, NULL, NULL},
    {"on: 2026-05-05", "on: 2026-02-29", "wrong-kind", "cutters[0].measured_on", "2026-02-29",
     "calendar"},
    {"on: 2026-05-05", "on: 5.5.2026", "wrong-kind", "cutters[0].measured_on", "5.5.2026",
     "date"},
    {"on: 2026-05-05", "on: 2026-5-5", "wrong-kind", "cutters[0].measured_on", "2026-5-5",
     NULL},
    {"input: puck", "input: pukc", "unknown-name", "setter.input", "pukc",
     "puck is the nearest"},
    {"input: puck", "input: whatever", "unknown-name", "setter.input", "whatever",
     "names no input"},
    {"input: top", "input: tpo", "unknown-name", "homing.z.input", "tpo", NULL},
    {"input: puck", "input: top", NULL, NULL, NULL, NULL},
};

Test(values, words_that_are_wrong)
{
    check_changes(words, sizeof words / sizeof words[0]);
}

#define TRAVEL "travel: [0 mm, 700 mm]"
#define ASKS   "asks: [unplugged, cutter_in, spindle_on]"
#define EIGHT                                                                                  \
    "cutter_in, cutter_in, cutter_in, cutter_in, cutter_in, cutter_in, cutter_in, cutter_in"

static const struct change lists[] = {
    {TRAVEL, "travel: [0 mm, 28 in]", NULL, NULL, NULL, NULL},
    {TRAVEL, "travel: [0 mm ± 1 mm, 700 mm]", NULL, NULL, NULL, NULL},
    {TRAVEL, "travel: [700 mm, 0 mm]", "out-of-order", "axes.x.travel", "[700 mm, 0 mm]",
     "700 mm, lies above"},
    {TRAVEL, "travel: [0 mm, 700]", "unit-missing", "axes.x.travel.high", "700", NULL},
    {TRAVEL, "travel: [0, 700]", "unit-missing", "axes.x.travel.low", "0", NULL},
    {TRAVEL, "travel: [0 mm]", "wrong-kind", "axes.x.travel", "[0 mm]", "1 value stands"},
    {TRAVEL, "travel: [0 mm, 1 mm, 700 mm]", "wrong-kind", "axes.x.travel",
     "[0 mm, 1 mm, 700 mm]", "3 values stand"},
    {TRAVEL, "travel: 700 mm", "wrong-kind", "axes.x.travel", "700 mm", "[low, high]"},
    {TRAVEL, "travel: [0 mm, [700 mm]]", "wrong-kind", "axes.x.travel.high", "[700 mm]", NULL},
    {"speed: [6000 rpm, 24000 rpm]", "speed: [-6000 rpm, 24000 rpm]", "wrong-kind",
     "spindle.speed.low", "-6000 rpm",
     "is negative"},
    {"sizes: [6 mm, 1/4 in]", "sizes: []", NULL, NULL, NULL, NULL},
    {"sizes: [6 mm, 1/4 in]", "sizes: [6 mm, 1/4]", "unit-missing", "spindle.collet_sizes",
     "1/4", NULL},
    {"sizes: [6 mm, 1/4 in]", "sizes: 6 mm", "wrong-kind", "spindle.collet_sizes", "6 mm",
     NULL},
    {ASKS, "asks: []", NULL, NULL, NULL, NULL},
    {ASKS, "asks: [cutter_in, cutter_in]", NULL, NULL, NULL, NULL},
    {ASKS, "asks: [" EIGHT ", " EIGHT ", " EIGHT ", " EIGHT "]", NULL, NULL, NULL, NULL},
    {ASKS, "asks: [" EIGHT ", " EIGHT ", " EIGHT ", " EIGHT ", speed_set]", "too-long",
     "change.asks", "[" EIGHT ", " EIGHT ", " EIGHT ", " EIGHT ", speed_set]", "33 entries"},
    {ASKS, "asks: [cuter_in]", "unknown-choice", "change.asks", "cuter_in", NULL},
    {ASKS, "asks: cutter_in", "wrong-kind", "change.asks", "cutter_in", NULL},
    {ASKS, "asks:", "wrong-kind", "change.asks", "asks", NULL},
    {ASKS, "asks: [cutter_in, ]", NULL, NULL, NULL, NULL},
    {"order: [z, xy]", "order: [Z, Y, X]", NULL, NULL, NULL, NULL},
    {"order: [z, xy]", "order: [z]", NULL, NULL, NULL, NULL},
    {"order: [z, xy]", "order: []", "wrong-kind", "homing.order", "[]", "empty"},
    {"order: [z, xy]", "order: [z, a]", "unknown-choice", "homing.order", "a", NULL},
    {"order: [z, xy]", "order: [z, zx]", "wrong-kind", "homing.order", "zx",
     "axis z stands twice"},
    {"order: [z, xy]", "order: [none]", "unknown-choice", "homing.order", "none", NULL},
    {"order: [z, xy]", "order: zxy", "wrong-kind", "homing.order", "zxy", NULL},
    {"order: [z, xy]", "order: [z, '']", "wrong-kind", "homing.order", "''", NULL},
};

static const char puck[] = "scan: 1 ms";

Test(values, decimal_commas_in_brackets)
{
    static const struct change commas[] = {
        /* In braces the rest of the number looks like a key. */
        {"x: 650 mm, y", "x: 650,5 mm, y", "not-a-number", "setter.at.x", "650,5 mm",
         "650,5 mm has a comma in its number"},
        {"x: 650 mm, y", "x: 1,650,5 mm, y", "not-a-number", "setter.at.x", "1,650,5 mm", NULL},
        {"x: 650 mm, y", "x: 650 mm,y", NULL, NULL, NULL, NULL},
        {"x: 650 mm, y: 40 mm", "x: 650 mm, y: 40,0 mm", "not-a-number", "setter.at.y",
         "40,0 mm", NULL},
        {puck, "scan: 1.0 ms", NULL, NULL, NULL, NULL},
        {puck, "scan: 1,0 ms", "not-a-number", "inputs.puck.scan", "1,0 ms", NULL},
        {"terminal: A4", "terminal: A4,2", "wrong-kind", "inputs.top.terminal", "A4,2",
         "a comma parts 'A4,2'"},
        {"terminal: A4", "terminal: 'A4,2'", NULL, NULL, NULL, NULL},
        /* In a list it looks like one more number. */
        {TRAVEL, "travel: [0,5 mm, 700 mm]", "not-a-number", "axes.x.travel.low", "0,5 mm",
         "comma"},
        {TRAVEL, "travel: [0,0 mm, 700,0 mm]", "not-a-number", "axes.x.travel.low", "0,0 mm",
         NULL},
        {TRAVEL, "travel: [0 mm,700,5 mm]", "not-a-number", "axes.x.travel.high", "700,5 mm",
         NULL},
        {TRAVEL, "travel: [0 mm,700 mm]", NULL, NULL, NULL, NULL},
        {TRAVEL, "travel: [0,700 mm]", "unit-missing", "axes.x.travel.low", "0", NULL},
        {TRAVEL, "travel: [0,5,700 mm]", "wrong-kind", "axes.x.travel", "[0,5,700 mm]",
         "3 values stand"},
        {"sizes: [6 mm, 1/4 in]", "sizes: [6,0 mm, 1/4 in]", "not-a-number",
         "spindle.collet_sizes", "6,0 mm", "comma"},
        {"sizes: [6 mm, 1/4 in]", "sizes: [9,9 mm, 1/4 in]", "not-a-number",
         "spindle.collet_sizes", "9,9 mm", "comma"},
        {"sizes: [6 mm, 1/4 in]", "sizes: [6 mm,1/4 in]", NULL, NULL, NULL, NULL},
    };
    check_changes(commas, sizeof commas / sizeof commas[0]);
}

Test(values, lists_that_are_wrong)
{
    check_changes(lists, sizeof lists / sizeof lists[0]);
}

/* Numbers that are like no machine's, beside twins that are. */
static const struct change odd[] = {
    {TRAVEL, "travel: [0 mm, 48 mm]", "looks-like-inches", "axes.x.travel", "[0 mm, 48 mm]",
     "48 mm from low to high looks like 48 in"},
    {TRAVEL, "travel: [0 in, 700 in]", "looks-like-inches", "axes.x.travel.high", "700 in",
     "700 in looks like 700 mm"},
    {TRAVEL, "travel: [0 in, 48 in]", NULL, NULL, NULL, NULL},
    {TRAVEL, "travel: [-150 mm, 0 mm]", NULL, NULL, NULL, NULL},
    {TRAVEL, "travel: [0 m, 5 m]", NULL, NULL, NULL, NULL},
    {TRAVEL, "travel: [0 mm, 50 m]", "implausible", "axes.x.travel.high", "50 m", NULL},
    {"travel: [-110 mm, 0 mm]", "travel: [-48 mm, 0 mm]", NULL, NULL, NULL, NULL},
    {"travel: [-110 mm, 0 mm]", "travel: [-6 mm, 0 mm]", "looks-like-inches", "axes.z.travel",
     "[-6 mm, 0 mm]", NULL},
    {STANDOFF, "standoff: 11 in", "looks-like-inches", "change.standoff", "11 in", "11 mm"},
    {STANDOFF, "standoff: 3/4 in", NULL, NULL, NULL, NULL},
    {"stickout: 31 mm", "stickout: 2 mm", "looks-like-inches", "cutters[0].stickout", "2 mm",
     NULL},
    {"stickout: 31 mm", "stickout: 31 in", "looks-like-inches", "cutters[0].stickout", "31 in",
     NULL},
    {"steps: 400 steps/mm", "steps: 10160 steps/in", NULL, NULL, NULL, NULL},
    {"dwell_after_stop: 12 s", "dwell_after_stop: 12000 s", "looks-like-seconds",
     "spindle.dwell_after_stop", "12000 s", "12000 ms"},
    {"dwell_after_stop: 12 s", "dwell_after_stop: 12000 ms", NULL, NULL, NULL, NULL},
    {"run_down: 8 s", "run_down: 8 ms", "looks-like-seconds", "spindle.run_down", "8 ms",
     "8 s"},
    {"run_down: 8 s", "run_down: 2 min", NULL, NULL, NULL, NULL},
    {"scan: 1 ms", "scan: 1 s", "looks-like-seconds", "inputs.puck.scan", "1 s", NULL},
    {"rapid: 5000 mm/min", "rapid: 5000 mm/s", "implausible", "axes.x.rapid", "5000 mm/s",
     "looks like 5000 mm/min"},
    {"rapid: 5000 mm/min", "rapid: 5000 in/min", NULL, NULL, NULL, NULL},
    {"probe_feed: 90 mm/min", "probe_feed: 90 mm/s", "implausible", "change.probe_feed",
     "90 mm/s", "90 mm/min"},
    {"probe_feed: 90 mm/min", "probe_feed: 5 in/min", NULL, NULL, NULL, NULL},
    {"slope: 0.3 mm/m", "slope: 0.3", "implausible", "table.slope", "0.3", "0.3 mm/m"},
    {"pulse_limit: 100 kHz", "pulse_limit: 100 Hz", "implausible", "machine.pulse_limit",
     "100 Hz", "100 kHz"},
    {"lead: 8 mm", "lead: 150 mm", "implausible", "axes.z.drive.lead", "150 mm", "unusual"},
    /* what is just usual, read as a hair less */
    {"lead: 8 mm", "lead: 0.3 mm", NULL, NULL, NULL, NULL},
    {"sizes: [6 mm, 1/4 in]", "sizes: [0.25 mm, 1/4 in]", "looks-like-inches",
     "spindle.collet_sizes", "0.25 mm", NULL},
};

Test(values, numbers_that_are_odd)
{
    check_changes(odd, sizeof odd / sizeof odd[0]);
    /* They are used all the same. */
    struct world other;
    world_read(&other, changed(&world.arena, STANDOFF, "standoff: 11 in"));
    cr_expect_eq(machine_field(&other.machine, FIELD_CHANGE_STANDOFF, 0)->state, VALUE_GIVEN);
    world_free(&other);
}

/* What a value of a text alone is, written again. */
static const struct {
    enum field_id id;
    const char *text, *written; /* NULL: refused */
} texts[] = {
    {FIELD_CHANGE_STANDOFF, "11 mm", "11 mm"},
    {FIELD_CHANGE_STANDOFF, " 7/16\" ", "0.4375 in"},
    {FIELD_CHANGE_STANDOFF, "11 ± 0.5 mm", "11 mm ± 0.5 mm"},
    {FIELD_CHANGE_STANDOFF, "11", NULL},
    {FIELD_CHANGE_STANDOFF, "", NULL},
    {FIELD_AXIS_TRAVEL, "[0 mm, 700 mm]", "[0 mm, 700 mm]"},
    {FIELD_AXIS_TRAVEL, "-23 5/8 in, 0 in", "[-23.625 in, 0 in]"},
    {FIELD_AXIS_TRAVEL, "0 mm", NULL},
    {FIELD_AXIS_TRAVEL, "700 mm, 0 mm", NULL},
    {FIELD_AXIS_TRAVEL, "0 mm, 1 mm, 2 mm", NULL},
    {FIELD_AXIS_DRIVE_LEAD, "8 mm", "8 mm"},
    {FIELD_AXIS_DRIVE_MOTOR_STEPS, "200", "200"},
    {FIELD_AXIS_DRIVE_STEPS, "101.859 steps/mm", "101.859 steps/mm"},
    {FIELD_INPUT_SCAN, "2.5 ms", "2.5 ms"},
    {FIELD_SPINDLE_COLLET_SIZES, "6 mm, 1/4 in", "[6 mm, 0.25 in]"},
    {FIELD_SPINDLE_COLLET_SIZES, "[]", "[]"},
    {FIELD_HOMING_ORDER, "[z, xy]", "[z, xy]"},
    {FIELD_HOMING_ORDER, "z, xy", "[z, xy]"},
    {FIELD_HOMING_ORDER, "none", "none"},
    {FIELD_HOMING_ORDER, "", NULL},
    {FIELD_CHANGE_ASKS, "[cutter_in, spindle_on]", "[cutter_in, spindle_on]"},
    {FIELD_CHANGE_ASKS, "cutter_out", NULL},
    {FIELD_CHANGE_TOUCHES_OLD, "Yes", "yes"},
    {FIELD_CHANGE_TOUCHES_OLD, "perhaps", NULL},
    {FIELD_CHANGE_APPROACH, "fixed", "fixed"},
    {FIELD_CHANGE_APPROACH, "fixd", NULL},
    {FIELD_CHANGE_FEED_OVERRIDE_MAX, "120 %", "120 %"},
    {FIELD_CUTTER_NUMBER, "12", "12"},
    {FIELD_CUTTER_NUMBER, "-1", NULL},
    {FIELD_SETTER_MEASURED_ON, "2024-02-29", "2024-02-29"},
    {FIELD_SETTER_MEASURED_ON, "1969-12-31", "1969-12-31"},
    {FIELD_SETTER_MEASURED_ON, "2023-02-29", NULL},
    {FIELD_CUTTER_DESCRIPTION, "6 mm straight", "6 mm straight"},
    {FIELD_CUTTER_DESCRIPTION, "say \"when\": now", "\"say \\\"when\\\": now\""},
    {FIELD_CUTTER_DESCRIPTION, "# 3", "\"# 3\""},
    {FIELD_CUTTER_DESCRIPTION, "null", "\"null\""},
    {FIELD_PROVEOUT, "1", "1"},
    {FIELD_PROVEOUT, "2", NULL},
};

Test(values, texts_alone)
{
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        struct field_value value;
        const char *trouble =
            field_read_text(&world.arena, texts[i].id, view_of(texts[i].text), &value);
        if (!texts[i].written) {
            cr_expect(trouble && *trouble, "\"%s\" is read", texts[i].text);
            continue;
        }
        cr_assert(!trouble, "\"%s\": %s", texts[i].text, trouble);
        const char *written = field_value_text(&world.arena, texts[i].id, &value);
        cr_expect_str_eq(written, texts[i].written);
        /* And what was written reads as the same again, for all that is no text in quotes. */
        struct field_value again;
        if (written[0] != '"')
            cr_expect(!field_read_text(&world.arena, texts[i].id, view_of(written), &again),
                      "%s", written);
    }
    struct field_value absent = {.state = VALUE_ABSENT};
    cr_expect_str_eq(field_value_text(&world.arena, FIELD_CHANGE_STANDOFF, &absent), "");
}

Test(values, every_value_reads_back_from_its_text)
{
    for (enum field_id id = 0; id < FIELD_COUNT; id++) {
        for (uint32_t i = 0; i < world.machine.groups[field_table[id].group].count; i++) {
            const struct field_value *value = machine_field(&world.machine, id, i);
            struct field_value again;
            if (value->state == VALUE_ABSENT)
                continue;
            const char *text = field_value_text(&world.arena, id, value);
            const char *trouble = field_read_text(&world.arena, id, view_of(text), &again);
            cr_expect(!trouble, "%s: %s", field_table[id].key, trouble);
            cr_expect_str_eq(field_value_text(&world.arena, id, &again), text);
        }
    }
}
