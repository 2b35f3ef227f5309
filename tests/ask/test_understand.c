/* Answers as people type them. */
#include <criterion/criterion.h>

#include "base/buffer.h"

#include "ask/understand.h"

struct spelling {
    enum field_id id;
    bool inches;
    const char *typed;
    const char *text; /* NULL: refused */
};

#define LENGTH FIELD_CHANGE_STANDOFF
#define TIME   FIELD_SPINDLE_RUN_DOWN
#define SPEED  FIELD_CHANGE_PROBE_FEED
#define PAIR   FIELD_AXIS_TRAVEL

static const struct spelling spellings[] = {
    {LENGTH, false, "15", "15 mm"},
    {LENGTH, true, "15", "15 in"},
    {LENGTH, true, ".5", "0.5 in"},
    {LENGTH, true, "1/4", "0.25 in"},
    {LENGTH, true, "1 1/8", "1.125 in"},
    {LENGTH, true, "1-1/8", "1.125 in"},
    {LENGTH, false, "1/4\"", "0.25 in"},
    {LENGTH, false, "1 1/8\"", "1.125 in"},
    {LENGTH, false, "1 1/8 in", "1.125 in"},
    {LENGTH, false, "15mm", "15 mm"},
    {LENGTH, false, "  15   mm  ", "15 mm"},
    {LENGTH, false, "1.5 cm", "1.5 cm"},
    {LENGTH, false, "1.5e1 mm", "15 mm"},
    {LENGTH, false, "600 thou", "600 thou"},
    {LENGTH, false, "15 mm +/- 0.5 mm", "15 mm ± 0.5 mm"},
    {LENGTH, false, "15 ± 0.5 mm", "15 mm ± 0.5 mm"},
    {LENGTH, false, "1,500", NULL},
    {LENGTH, false, "1,5", NULL},
    {LENGTH, false, "15, 16", NULL},
    {LENGTH, false, "1.5.2", NULL},
    {LENGTH, false, "15 s", NULL},
    {LENGTH, false, "15 ells", NULL},
    {LENGTH, false, "fifteen", NULL},
    {LENGTH, false, "1/0 in", NULL},
    {LENGTH, false, "nan", NULL},
    {LENGTH, false, "1e999 mm", NULL},
    {FIELD_SETTER_NOSE_CONTACT, false, "-92.01, -92.00, -92.02",
     "{readings: [-92.01 mm, -92.00 mm, -92.02 mm]}"},
    {FIELD_SETTER_NOSE_CONTACT, true, "-3.62, -3.621, -3.62 mm",
     "{readings: [-3.62 mm, -3.621 mm, -3.62 mm]}"},
    {FIELD_SETTER_NOSE_CONTACT, false, "{readings: [-92 mm, -92 mm, -92.1 mm], with: us}",
     "{readings: [-92 mm, -92 mm, -92.1 mm], with: us}"},
    {FIELD_SETTER_NOSE_CONTACT, false, "-92.01, -92.00", NULL}, /* two: a comma for a point? */
    {FIELD_SETTER_NOSE_CONTACT, false, "-92,01, -92,00, -92,02", NULL},
    {FIELD_SETTER_NOSE_CONTACT, false, "-92.01, -92.00, x", NULL},
    {FIELD_CHANGE_STANDOFF, false, "10, 11, 12", NULL},
    {FIELD_SPINDLE_RUN_DOWN, false, "6, 7, 6.5", "{readings: [6 s, 7 s, 6.5 s]}"},
    {FIELD_SETTER_OVERTRAVEL, false, "5, 0.5, 40", NULL},
    {FIELD_SETTER_OVERTRAVEL, false, "{readings: [5 mm, 0.5 mm, 40 mm]}",
     "{readings: [5 mm, 0.5 mm, 40 mm]}"},
    {TIME, false, "8", "8 s"},
    {TIME, true, "8", "8 s"},
    {TIME, false, "8000 ms", "8000 ms"},
    {TIME, false, "0.5 min", "0.5 min"},
    {TIME, false, "8 mm", NULL},
    {SPEED, false, "100", "100 mm/min"},
    {SPEED, true, "5", "5 in/min"},
    {SPEED, false, "2 mm/s", "2 mm/s"},
    {SPEED, false, "0.1 m/min", "0.1 m/min"},
    {PAIR, false, "0 to 800", "[0 mm, 800 mm]"},
    {PAIR, false, "0, 800", "[0 mm, 800 mm]"},
    {PAIR, false, "0..800", "[0 mm, 800 mm]"},
    {PAIR, false, "0..8", "[0 mm, 8 mm]"},
    {PAIR, false, "0 .. 800", "[0 mm, 800 mm]"},
    {PAIR, false, "[0, 800]", "[0 mm, 800 mm]"},
    {PAIR, false, "[0 mm, 800 mm]", "[0 mm, 800 mm]"},
    {PAIR, false, "0, 800 mm", "[0 mm, 800 mm]"},
    {PAIR, false, "0 to 80 cm", "[0 cm, 80 cm]"},
    {PAIR, false, "0 to 31 1/2 in", "[0 in, 31.5 in]"},
    {PAIR, true, "-6 to 0", "[-6 in, 0 in]"},
    {PAIR, false, "800 to 0", NULL},
    {PAIR, false, "0,800", NULL},
    {PAIR, false, "800", NULL},
    {PAIR, false, "", NULL},
    {FIELD_CUTTER_NUMBER, false, "3", "3"},
    {FIELD_CUTTER_NUMBER, false, "3.5", NULL},
    {FIELD_CUTTER_NUMBER, false, "0", NULL},
    {FIELD_CHANGE_NO_CONTACT, false, "1", "stops"},
    {FIELD_CHANGE_NO_CONTACT, false, "Stops", "stops"},
    {FIELD_CHANGE_NO_CONTACT, false, "st", "stops"},
    {FIELD_CHANGE_NO_CONTACT, false, "3", NULL},
    {FIELD_CHANGE_OFFSET_APPLIED, false, "before descent", "before_descent"},
    {FIELD_CHANGE_OFFSET_APPLIED, false, "after-descent", "after_descent"},
    {FIELD_INPUT_CONTACT, false, "nc", "normally_closed"},
    {FIELD_INPUT_CONTACT, false, "NO", "normally_open"},
    {FIELD_INPUT_CONTACT, false, "n", NULL},
    {FIELD_INPUT_CONTACT, false, "ncc", NULL},
    {FIELD_CHANGE_IDLE_CHECKED, false, "y", "yes"},
    {FIELD_CHANGE_IDLE_CHECKED, false, "NO", "no"},
    {FIELD_CHANGE_IDLE_CHECKED, false, "2", "no"},
    {FIELD_CHANGE_IDLE_CHECKED, false, "maybe", NULL},
    {FIELD_CHANGE_ASKS, false, "1, 7", "[spindle_off, setter_clean]"},
    {FIELD_CHANGE_ASKS, false, "none", "[]"},
    {FIELD_CHANGE_ASKS, false, "11, 8, 11", "[plate_off, cutter_in, plate_off]"},
    {FIELD_CHANGE_ASKS, false, "1, 18", NULL},
    {FIELD_HOMING_ORDER, false, "z, xy", "[z, xy]"},
    {FIELD_HOMING_ORDER, false, "[z, xy]", "[z, xy]"},
    {FIELD_HOMING_ORDER, false, "none", "none"},
    {FIELD_HOMING_ORDER, false, "z, w", NULL},
    {FIELD_HOMING_ORDER, false, "z x y", "[z, x, y]"},
    {FIELD_HOMING_ORDER, false, "z xy", "[z, xy]"},
    {FIELD_HOMING_ORDER, false, "Z, then X, then Y.", "[z, x, y]"},
    {FIELD_HOMING_ORDER, false, "Z first, then X and Y together", "[z, xy]"},
    {FIELD_HOMING_ORDER, false, "z first x and y together", "[z, xy]"},
    {FIELD_HOMING_ORDER, false, "first z, then x and y at the same time", "[z, xy]"},
    {FIELD_HOMING_ORDER, false, "x and y together, z last", "[xy, z]"},
    {FIELD_HOMING_ORDER, false, "x, y, z together", "[x, y, z]"},
    {FIELD_HOMING_ORDER, false, "x y z together", "[xyz]"},
    {FIELD_HOMING_ORDER, false, "z, x and y", NULL},
    {FIELD_HOMING_ORDER, false, "z last, x, y", NULL},
    {FIELD_HOMING_ORDER, false, "x, y, z first", NULL},
    {FIELD_HOMING_ORDER, false, "x after z", NULL},
    {FIELD_HOMING_ORDER, false, "z first", NULL},
    {FIELD_HOMING_ORDER, false, "x and y last", NULL},
    {FIELD_HOMING_ORDER, false, "z x z", NULL},
    {FIELD_HOMING_ORDER, false, "it does not home", "none"},
    {FIELD_HOMING_ORDER, false, "no", "none"},
    {FIELD_CHANGE_ASKS, false, "1 7", "[spindle_off, setter_clean]"},
    {FIELD_CHANGE_ASKS, false, "1, 7 and 8", "[spindle_off, setter_clean, cutter_in]"},
    {FIELD_CHANGE_ASKS, false, "spindle off", "[spindle_off]"},
    {FIELD_CHANGE_ASKS, false, "1 99", NULL},
    {FIELD_TABLE_MEASURED_ON, false, "today", "2027-03-31"},
    {FIELD_TABLE_MEASURED_ON, false, "2026-10-10", "2026-10-10"},
    {FIELD_TABLE_MEASURED_ON, false, "10.10.2026", NULL},
    {FIELD_HOMING_INPUT, false, "home-x", "home-x"},
    {FIELD_HOMING_INPUT, false, "home x", NULL},
    {FIELD_SPINDLE_COLLET_SIZES, false, "3, 6, 8 mm", "[3 mm, 6 mm, 8 mm]"},
    {FIELD_MACHINE_NAME, false, "the yellow one", "the yellow one"},
};

static void expect(const struct spelling *spelling)
{
    struct arena arena;
    struct understood out;
    arena_init(&arena, NULL);
    const struct answer_context with = {
        .arena = &arena, .inches = spelling->inches, .today = view_of("2027-03-31")};
    understand(&with, spelling->id, view_of(spelling->typed), &out);
    if (!spelling->text)
        cr_expect_not_null(out.wrong, "`%s` was taken as %.*s", spelling->typed,
                           out.wrong ? 0 : (int)out.text.size, out.text.data);
    else if (out.wrong)
        cr_expect_fail("`%s`: %s", spelling->typed, out.wrong);
    else
        cr_expect(view_is(out.text, spelling->text), "`%s` was taken as %.*s, not %s",
                  spelling->typed, VIEW(out.text), spelling->text);
    arena_free(&arena);
}

Test(understand, spellings)
{
    for (size_t i = 0; i < sizeof spellings / sizeof *spellings; i++)
        expect(&spellings[i]);
}

/* One letter does where it fits one word, and not where it fits two. */
Test(understand, one_letter_of_a_choice)
{
    static const char *const words[] = {"hand", "half_open", "controller", "open"};
    static const struct {
        const char *typed;
        int which;
    } choices[] = {{"c", 2}, {"C", 2}, {"h", -1}, {"o", 3}, {"ho", 1}, {"ha", -1}, {"x", -1}};
    for (size_t i = 0; i < sizeof choices / sizeof *choices; i++)
        cr_expect_eq(understand_choice(view_of(choices[i].typed), words, 4), choices[i].which,
                     "%s", choices[i].typed);
}

/* Initials of two words are nobody's. */
Test(understand, initials_of_two_words)
{
    static const char *const words[] = {"normally_closed", "normally_open", "nearly_closed"};
    cr_expect_eq(understand_choice(view_of("no"), words, 3), 1);
    cr_expect_eq(understand_choice(view_of("nc"), words, 3), -1);
}

/* None of a list is lost: it is taken whole or refused. */
Test(understand, long_lists)
{
    struct arena arena;
    arena_init(&arena, NULL);
    const struct answer_context with = {.arena = &arena};
    for (int count = 63; count <= 66; count++) {
        struct buffer typed;
        struct understood out;
        buffer_init(&typed, &arena);
        for (int i = 1; i <= count; i++)
            buffer_format(&typed, "%s%d", i > 1 ? ", " : "", i % 30 + 1);
        understand(&with, FIELD_SPINDLE_COLLET_SIZES, buffer_view(&typed), &out);
        cr_expect_eq(out.wrong != NULL, count > 64, "%d: %s", count, out.wrong);
    }
    arena_free(&arena);
}

/* Every way of writing one length, in both systems, with and without what may be left out. */
Test(understand, two_hundred_spellings_of_a_length)
{
    static const struct {
        const char *number;
        const char *as;
    } numbers[] = {{"5", "5"},       {"5.0", "5"},     {"5.", "5"},   {"05", NULL},
                   {"+5", "5"},      {"0.5", "0.5"},   {".5", "0.5"}, {"1/2", "0.5"},
                   {"1 1/2", "1.5"}, {"1-1/2", "1.5"}, {"5e0", "5"},  {"1.25e1", "12.5"},
                   {"12", "12"},     {"3/8", "0.375"}, {"5,0", NULL}};
    static const struct {
        const char *unit;
        const char *as;
    } units[] = {{"mm", "mm"},     {"cm", NULL}, {"in", "in"}, {"\"", "in"},
                 {"thou", "thou"}, {"um", "um"}, {"kg", NULL}};
    size_t count = 0;
    struct arena arena;
    arena_init(&arena, NULL);
    for (size_t n = 0; n < sizeof numbers / sizeof *numbers; n++)
        for (size_t u = 0; u < sizeof units / sizeof *units; u++)
            for (int blank = 0; blank < 2; blank++) {
                const char *typed = arena_format(&arena, "%s%s%s", numbers[n].number,
                                                 blank ? " " : "", units[u].unit);
                bool cm = strcmp(units[u].unit, "cm") == 0;
                const char *unit = cm ? "cm" : units[u].as;
                struct spelling spelling = {FIELD_SETTER_HEIGHT, false, typed, NULL};
                if (numbers[n].as && unit)
                    spelling.text = arena_format(&arena, "%s %s", numbers[n].as, unit);
                expect(&spelling);
                count++;
            }
    cr_expect_geq(count, 200);
    arena_free(&arena);
}

/* Several numbers in one line: what comes out, one after another with semicolons between. */
static const struct {
    enum field_id id;
    bool inches;
    const char *typed;
    const char *texts; /* NULL: refused */
} lines[] = {
    {LENGTH, false, "760, 40", "760 mm;40 mm"},
    {LENGTH, false, "760 40", "760 mm;40 mm"},
    {LENGTH, false, "760; 40", "760 mm;40 mm"},
    {LENGTH, false, "760 by 40", "760 mm;40 mm"},
    {LENGTH, false, "760 x 40", "760 mm;40 mm"},
    {LENGTH, false, "760 \xc3\x97 40 in", "760 in;40 in"},
    {LENGTH, false, "760 and 40", "760 mm;40 mm"},
    {LENGTH, false, "3 by", NULL},
    {LENGTH, false, "760", "760 mm"},
    {LENGTH, false, "760 mm, 40", "760 mm;40 mm"},
    {LENGTH, false, "760, 40 in", "760 in;40 in"},
    {LENGTH, true, "1 1/8, 3/4", "1.125 in;0.75 in"},
    {LENGTH, true, "1 1/8", "1.125 in"},
    {LENGTH, false, "1/4\", 5 mm", "0.25 in;5 mm"},
    {LENGTH, false, "760, 40 +/- 0.1 mm", "760 mm;40 mm ± 0.1 mm"},
    {LENGTH, false, "1, 2, 3", "1 mm;2 mm;3 mm"},
    {LENGTH, false, "1, 2, 3, 4", NULL},
    {LENGTH, false, "760,40", NULL},
    {LENGTH, false, "1, two", NULL},
    {LENGTH, false, "1, , 3", NULL},
    {LENGTH, false, ",", NULL},
    {LENGTH, false, ";", NULL},
    {LENGTH, false, "1, 2 s", NULL},
    {PAIR, false, "0 to 800, 0 to 1200, -150 to 0",
     "[0 mm, 800 mm];[0 mm, 1200 mm];[-150 mm, 0 mm]"},
    {PAIR, false, "0 to 800; 0, 1200; -150..0",
     "[0 mm, 800 mm];[0 mm, 1200 mm];[-150 mm, 0 mm]"},
    {PAIR, false, "0, 800, 0, 1200", "[0 mm, 800 mm];[0 mm, 1200 mm]"},
    {PAIR, false, "[0, 800], [0, 1200]", "[0 mm, 800 mm];[0 mm, 1200 mm]"},
    {PAIR, false, "0 to 24, 0 to 36, -4 to 0 in", "[0 in, 24 in];[0 in, 36 in];[-4 in, 0 in]"},
    {PAIR, true, "0 to 31 1/2", "[0 in, 31.5 in]"},
    {PAIR, false, "0 800", "[0 mm, 800 mm]"},
    {PAIR, false, "0 to 800, 1200", NULL},
    {PAIR, false, "0 to 800, 5 to 2", NULL},
    {PAIR, false, "0,800", NULL},
};

Test(understand, several_numbers_in_one_line)
{
    const size_t count = 3;
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        struct arena arena;
        struct buffer texts;
        struct understood out[3] = {0};
        const enum field_id ids[3] = {lines[i].id, lines[i].id, lines[i].id};
        arena_init(&arena, NULL);
        buffer_init(&texts, &arena);
        const struct answer_context with = {.arena = &arena, .inches = lines[i].inches};
        size_t found = understand_several(&with, ids, count, view_of(lines[i].typed), out);
        for (size_t n = 0; n < found; n++)
            buffer_format(&texts, "%s%.*s", n ? ";" : "", VIEW(out[n].text));
        if (lines[i].texts)
            cr_expect_str_eq(buffer_string(&texts), lines[i].texts, "`%s`: %s", lines[i].typed,
                             found ? buffer_string(&texts) : out[0].wrong);
        else
            cr_expect(found == 0 && out[0].wrong, "`%s` was taken as %s", lines[i].typed,
                      buffer_string(&texts));
        arena_free(&arena);
    }
}

static void expect_echo(enum field_id id, bool inches, const char *typed, const char *echo)
{
    struct arena arena;
    struct understood out;
    arena_init(&arena, NULL);
    const struct answer_context with = {
        .arena = &arena, .inches = inches, .today = view_of("2027-03-31")};
    understand(&with, id, view_of(typed), &out);
    cr_expect_str_eq(out.wrong ? out.wrong : out.echo, echo);
    arena_free(&arena);
}

Test(understand, echoes_say_it_in_full)
{
    expect_echo(FIELD_SETTER_AT_X, false, "23 5/8\"", "23 5/8\" = 600.075 mm.");
    expect_echo(FIELD_SETTER_AT_X, false, "600", "600 without a unit is taken in mm: 600 mm.");
    expect_echo(FIELD_SETTER_AT_X, true, "6",
                "6 without a unit is taken in inches: 6 in = 152.4 mm.");
    expect_echo(FIELD_SETTER_AT_X, false, "1,500",
                "is 1,500 meant as 1500 or as 1.500? Type it without a comma");
    expect_echo(FIELD_CHANGE_OFFSET_APPLIED, false, "2", "Taken as: after descent.");
}
