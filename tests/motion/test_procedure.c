/* The questions of a change, walked: each list with what is known while each is answered. */
#include <criterion/criterion.h>

#include <stdio.h>
#include <string.h>

#include "base/buffer.h"
#include "motion/procedure.h"
#include "world.h"

static struct world world;

static void begin(void)
{
    world_begin(&world);
}

static void end(void)
{
    world_end(&world);
}

TestSuite(procedure, .init = begin, .fini = end);

/* The words of the table are those of the enumeration, one by one. */
Test(procedure, words)
{
    static const char *const words[ASK_COUNT] = {
        [ASK_SPINDLE_OFF] = "spindle_off",   [ASK_STANDSTILL] = "standstill",
        [ASK_Z_PROPPED] = "z_propped",       [ASK_ISOLATED] = "isolated",
        [ASK_UNPLUGGED] = "unplugged",       [ASK_SHOE_OFF] = "shoe_off",
        [ASK_SETTER_CLEAN] = "setter_clean", [ASK_CUTTER_IN] = "cutter_in",
        [ASK_CLIP_ON] = "clip_on",           [ASK_PLATE_ON] = "plate_on",
        [ASK_PLATE_OFF] = "plate_off",       [ASK_CLIP_OFF] = "clip_off",
        [ASK_SUPPLY_ON] = "supply_on",       [ASK_SPEED_SET] = "speed_set",
        [ASK_SPINDLE_ON] = "spindle_on",     [ASK_BLOCK_UNDER] = "block_under",
        [ASK_BLOCK_AWAY] = "block_away",
    };
    cr_assert_eq(field_choice_count(&field_table[FIELD_CHANGE_ASKS]), ASK_COUNT);
    for (int i = 0; i < ASK_COUNT; i++)
        cr_expect(view_is(ask_word((enum question_word)i), words[i]), "%s", words[i]);
}

/* "cutter_in +held +stands", a "!" where a hand is endangered. */
static const char *told(const struct procedure *procedure)
{
    struct buffer text;
    buffer_init(&text, &world.arena);
    for (uint32_t i = 0; i < procedure->count; i++) {
        const struct procedure_step *step = &procedure->steps[i];
        buffer_format(&text, "%s%.*s%s%s%s", i ? ", " : "", VIEW(ask_word(step->ask)),
                      step->stands ? " stands" : "", step->held_off ? " held" : "",
                      step->endangers ? "!" : "");
    }
    return buffer_string(&text);
}

static const struct {
    const char *asks, *by, *held;
    const char *wait; /* or where a signal comes from in its place */
    const char *told;
} walks[] = {
    {"spindle_off, standstill, isolated, cutter_in, supply_on, spindle_on", "hand", "isolated",
     NULL,
     "spindle_off, standstill stands, isolated stands held, cutter_in stands held, supply_on stands, "
     "spindle_on"},
    /* the wait stands in for looking, from the answer on */
    {"spindle_off, unplugged, cutter_in", "hand", "unplugged", "9 s",
     "spindle_off stands, unplugged stands held, cutter_in stands held"},
    {"spindle_off, unplugged, cutter_in", "hand", "unplugged", "0 s",
     "spindle_off, unplugged held, cutter_in held!"},
    {"isolated, cutter_in", "controller", "isolated", "9 s",
     "isolated stands held, cutter_in stands held"},
    /* isolated before the stop holds nothing off */
    {"isolated, spindle_off, standstill, cutter_in", "hand", "isolated", NULL,
     "isolated, spindle_off, standstill stands, cutter_in stands!"},
    /* standstill before the stop is no standstill */
    {"standstill, spindle_off, isolated, cutter_in", "hand", "isolated", NULL,
     "standstill, spindle_off, isolated held, cutter_in held!"},
    {"cutter_in, spindle_on, cutter_in", "controller", "interlocked", "9 s",
     "cutter_in stands held, spindle_on, cutter_in!"},
    {"cutter_in, supply_on, setter_clean", "controller", "isolated", "9 s",
     "cutter_in stands!, supply_on stands, setter_clean stands!"},
    {"z_propped, cutter_in", "hand", "no", NULL, "z_propped!, cutter_in!"},
    {"isolated, block_under, supply_on, block_away", "controller", "isolated", "9 s",
     "isolated stands held, block_under stands held, supply_on stands, block_away stands!"},
    {"spindle_off, standstill, z_propped, isolated, spindle_on, spindle_off, shoe_off", "hand",
     "isolated", NULL,
     "spindle_off, standstill stands, z_propped stands, isolated stands held, spindle_on, spindle_off, "
     "shoe_off!"},
    /* a sensor at the shaft stands in for looking, what a drive says of itself does not */
    {"spindle_off, z_propped", "hand", "no", "shaft", "spindle_off stands, z_propped stands"},
    {"spindle_off, z_propped", "hand", "no", "drive", "spindle_off, z_propped!"},
};

Test(procedure, walks)
{
    for (size_t i = 0; i < sizeof walks / sizeof walks[0]; i++) {
        char asks[200];
        struct procedure procedure;
        snprintf(asks, sizeof asks, "[%s]", walks[i].asks);
        world_put(&world, "change.asks", asks);
        world_put(&world, "spindle.switched_by", walks[i].by);
        world_put(&world, "change.spindle_held_off", walks[i].held);
        bool waits = !walks[i].wait || strstr(walks[i].wait, " s");
        world_put(&world, "spindle.dwell_after_stop", waits ? walks[i].wait : NULL);
        if (!waits) {
            world_put(&world, "spindle.stop_known_by", "signal");
            world_put(&world, "spindle.standstill.from", walks[i].wait);
        }
        procedure_walk(&procedure, &world.machine);
        cr_assert(procedure.known);
        cr_expect_str_eq(told(&procedure), walks[i].told, "%zu: %s", i, told(&procedure));
        world_end(&world);
        world_begin(&world);
    }
}

/* Whether the stop is seen before the power goes does not hang on where the hands were: only where
 * nobody is asked to cut it may it be gone as soon as they go in. */
Test(procedure, standstill_first)
{
    static const struct {
        const char *asks;
        bool first;
    } rows[] = {{"[spindle_off, standstill, isolated, cutter_in]", true},
                {"[spindle_off, isolated, standstill, cutter_in]", false},
                {"[standstill, spindle_off, isolated]", false},
                {"[cutter_in, spindle_off, standstill, unplugged]", true},
                {"[spindle_off, standstill, cutter_in]", true},
                {"[spindle_off, cutter_in, standstill]", false},
                {"[spindle_off, standstill]", true},
                {"[spindle_off, isolated]", false}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct procedure procedure;
        world_put(&world, "spindle.switched_by", "hand");
        world_put(&world, "change.asks", rows[i].asks);
        procedure_walk(&procedure, &world.machine);
        cr_expect_eq(procedure.standstill_first, rows[i].first, "%s", rows[i].asks);
        world_end(&world);
        world_begin(&world);
    }
}

/* Without what decides nothing is concluded, and it is named. */
Test(procedure, missing)
{
    static const struct {
        const char *path;
        enum field_id field;
    } rows[] = {{"change.asks", FIELD_CHANGE_ASKS},
                {"spindle.switched_by", FIELD_SPINDLE_SWITCHED_BY},
                {"change.spindle_held_off", FIELD_CHANGE_SPINDLE_HELD_OFF}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct procedure procedure;
        world_put(&world, rows[i].path, NULL);
        procedure_walk(&procedure, &world.machine);
        cr_expect_not(procedure.known);
        cr_assert_eq(procedure.missing.count, 1);
        cr_expect_eq(procedure.missing.items[0].field, rows[i].field);
        world_end(&world);
        world_begin(&world);
    }
}
