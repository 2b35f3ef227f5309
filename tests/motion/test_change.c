/* The moves of a change, whole: each scene as the table that a person would work out with a
 * pencil. */
#include <criterion/criterion.h>

#include <stdio.h>

#include "base/buffer.h"
#include "motion/change.h"
#include "near.h"
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

TestSuite(change, .init = begin, .fini = end);

static void add_mm(char *line, size_t room, double metres, bool known)
{
    size_t used = strlen(line);
    if (known)
        snprintf(line + used, room - used, "%.2f", metres * 1000 + 0.0);
    else
        snprintf(line + used, room - used, "?");
}

static void add_place(char *line, size_t room, const struct move_place *place)
{
    for (int axis = 0; axis < 3; axis++) {
        strcat(line, axis ? "," : " ");
        add_mm(line, room, place->at[axis], place->known[axis]);
    }
}

/* "probe z 0 5.75s 770,30,-81 > 770,30,-93 ..." for one move, lengths in mm. */
static const char *line_of(char *line, size_t room, const struct move *move)
{
    char axes[4];
    move_axes(move, axes);
    snprintf(line, room, "%s%s%s, cutter %u, spindle %s,", move_name(move->kind),
             *axes ? " " : "", axes, move->cutter, spindle_act_name(move->spindle));
    add_place(line, room, &move->from);
    if (*axes) {
        strcat(line, " >");
        add_place(line, room, &move->to);
    }
    if (move->timed != TIME_UNKNOWN)
        snprintf(line + strlen(line), room - strlen(line), ", %s%.3f s",
                 move->timed == TIME_AT_MOST ? "<= " : "", move->seconds);
    if (move->speed > 0)
        snprintf(line + strlen(line), room - strlen(line), " at %.2f mm/s", move->speed * 1000);
    if (move->has_contact)
        snprintf(line + strlen(line), room - strlen(line), ", contact %.2f %.2f %.2f",
                 move->earliest * 1000, move->expected * 1000, move->latest * 1000);
    if (move->has_end)
        snprintf(line + strlen(line), room - strlen(line), ", ends %.2f", move->end * 1000);
    if (move->has_clearance)
        snprintf(line + strlen(line), room - strlen(line), ", %s%.2f (%.2f) %s to %.*s",
                 move->whole ? "" : "at most ", move->clearance.value.low * 1000,
                 move->clearance.value.nominal * 1000,
                 clearance_body_name(move->clearance.body),
                 VIEW(move_nearest(&world.machine, move)));
    if (*move_operator(move))
        snprintf(line + strlen(line), room - strlen(line), ": %s", move_operator(move));
    return line;
}

static struct change plan(const struct change_request *request)
{
    struct change change;
    cr_assert(change_plan(&change, &world.machine, request));
    double seconds = 0;
    for (uint32_t i = 0; i < change.count; i++) {
        seconds += change.moves[i].seconds;
        /* Each begins where the one before ended. */
        if (i)
            for (int axis = 0; axis < 3; axis++) {
                const struct move_place *was = &change.moves[i - 1].to,
                                        *is = &change.moves[i].from;
                cr_expect_eq(was->known[axis], is->known[axis]);
                cr_expect_eq(was->at[axis], is->at[axis]);
            }
    }
    cr_expect(near(seconds, change.seconds, 0));
    struct change times;
    cr_assert(change_plan_times(&times, &world.machine, request));
    cr_expect_eq(times.count, change.count);
    cr_expect_eq(times.seconds, change.seconds, "the same times without looking for room");
    cr_expect_eq(times.untimed, change.untimed);
    return change;
}

static void compare(const struct change *change, const char *const *lines, size_t count)
{
    char line[400];
    for (uint32_t i = 0; i < change->count || i < count; i++) {
        const char *found =
            i < change->count ? line_of(line, sizeof line, &change->moves[i]) : "(nothing)";
        cr_expect_str_eq(found, i < count ? lines[i] : "(nothing)");
    }
}

#define COMPARE(change, lines) compare((change), (lines), sizeof(lines) / sizeof(lines)[0])

Test(change, with_the_setter_from_anywhere)
{
    static const char *const lines[] = {
        "lift z, cutter 0, spindle runs, ?,?,? > ?,?,-5.00, <= 2.900 s at 50.00 mm/s",
        "spindle stops, cutter 0, spindle stops, ?,?,-5.00, 15.000 s",
        "standstill, cutter 0, spindle stands, ?,?,-5.00: looks and listens until the spindle stands",
        "sideways to setter xy, cutter 0, spindle stands, ?,?,-5.00 > 770.00,30.00,-5.00, <= 6.900 s at 114.24 mm/s, 23.13 (28.12) cutter to post",
        "approach z, cutter 0, spindle stands, 770.00,30.00,-5.00 > 770.00,30.00,-81.00, 3.880 s at 20.00 mm/s, 3.00 (3.00) collet nut to clamp",
        "probe z, cutter 0, spindle stands, 770.00,30.00,-81.00 > 770.00,30.00,-93.00, 4.810 s at 2.50 mm/s, contact -87.88 -93.00 -98.12, ends -101.00, 3.00 (3.00) collet nut to clamp",
        "retract z, cutter 0, spindle stands, 770.00,30.00,-93.00 > 770.00,30.00,-90.00, 0.219 s at 50.00 mm/s",
        "lift z, cutter 0, spindle stands, 770.00,30.00,-90.00 > 770.00,30.00,-5.00, 1.900 s at 50.00 mm/s",
        "sideways to park xy, cutter 0, spindle stands, 770.00,30.00,-5.00 > 400.00,30.00,-5.00, 3.900 s at 100.00 mm/s, 22.98 (28.00) cutter to post",
        "to park height z, cutter 0, spindle stands, 400.00,30.00,-5.00 > 400.00,30.00,-15.00, 0.400 s at 50.00 mm/s, 95.45 (99.09) cutter to work",
        "spindle held off, cutter 0, spindle held off, 400.00,30.00,-15.00: makes sure that the spindle cannot start",
        "setter cleaned, cutter 0, spindle held off, 400.00,30.00,-15.00: wipes the setter",
        "cutter changed, cutter 1, spindle held off, 400.00,30.00,-15.00: changes the cutter",
        "lift z, cutter 1, spindle held off, 400.00,30.00,-15.00 > 400.00,30.00,-5.00, 0.400 s at 50.00 mm/s, 85.90 (89.20) cutter to work",
        "sideways to setter xy, cutter 1, spindle held off, 400.00,30.00,-5.00 > 770.00,30.00,-5.00, 3.900 s at 100.00 mm/s, 9.98 (15.00) cutter to post",
        "approach z, cutter 1, spindle held off, 770.00,30.00,-5.00 > 770.00,30.00,-68.00, 3.230 s at 20.00 mm/s, 7.60 (7.62) collet nut to clamp",
        "probe z, cutter 1, spindle held off, 770.00,30.00,-68.00 > 770.00,30.00,-80.00, 4.810 s at 2.50 mm/s, contact -74.88 -80.00 -85.12, ends -88.00, 3.00 (3.00) collet nut to clamp",
        "retract z, cutter 1, spindle held off, 770.00,30.00,-80.00 > 770.00,30.00,-77.00, 0.219 s at 50.00 mm/s",
        "lift z, cutter 1, spindle held off, 770.00,30.00,-77.00 > 770.00,30.00,-5.00, 1.640 s at 50.00 mm/s",
        "sideways back xy, cutter 1, spindle held off, 770.00,30.00,-5.00 > ?,?,-5.00, <= 6.900 s at 114.24 mm/s, 10.11 (15.09) cutter to post",
        "supply back, cutter 1, spindle stands, ?,?,-5.00: gives the spindle its supply back",
        "speed set, cutter 1, spindle stands, ?,?,-5.00: sets the speed for the new cutter",
        "spindle starts, cutter 1, spindle starts, ?,?,-5.00, 5.000 s",
        "offset applied, cutter 1, spindle runs, ?,?,-5.00, 0.000 s",
        "down to start z, cutter 1, spindle runs, ?,?,-5.00 > ?,?,?, <= 2.900 s at 50.00 mm/s",
    };
    struct change change = plan(&(struct change_request){.from = 0, .to = 1});
    COMPARE(&change, lines);
    cr_expect(change.at_most);
    cr_expect_eq(change.by_hand, 6);
    cr_expect_eq(change.untimed, 0);
    cr_expect_eq(change.missing.count, 0);
    cr_expect_float_eq(change.seconds, 68.908, 0.001);
}

/* The steps by name, and among them those of one line each that a scene is about. */
struct scene {
    const char *what;
    struct change_request request;
    const char *put[8][2];
    const char *steps;
    const char *lines[5];
    uint32_t by_hand, untimed;
};

#define SETTER_VISIT "sideways to setter; approach; probe; retract; lift; "
#define PLATE_VISIT  "plate laid; jog to plate; probe; retract; plate away; lift; "
#define SWAP         "spindle held off; setter cleaned; cutter changed; "
#define PARKED       "sideways to park; to park height; " SWAP "lift; "

static const struct scene scenes[] = {
    {"a known start",
     {0, 1, true, {0.3, 0.2, -0.1}},
     {{0}},
     "lift; spindle stops; standstill; " SETTER_VISIT PARKED SETTER_VISIT
     "sideways back; supply back; speed set; spindle starts; offset applied; down to start",
     {"lift z, cutter 0, spindle runs, 300.00,200.00,-100.00 > 300.00,200.00,-5.00, 2.100 s at "
      "50.00 mm/s",
      /* 470 and 170 mm: x decides, 4.7 + 0.2 s */
      "sideways to setter xy, cutter 0, spindle stands, 300.00,200.00,-5.00 > 770.00,30.00,-5.00, "
      "4.900 s at 106.34 mm/s, 32.98 (38.00) cutter to clamp",
      /* the new cutter is 13 mm longer: the nose stays that much higher */
      "down to start z, cutter 1, spindle runs, 300.00,200.00,-5.00 > 300.00,200.00,-87.00, 1.840 s "
      "at 50.00 mm/s"},
     6,
     0},
    {"the old cutter is not touched, and it does not return",
     {0, 2, false, {0}},
     {{"change.touches_old", "no"}, {"change.returns_to_start", "no"}},
     "measure what is in; lift; spindle stops; standstill; " PARKED SETTER_VISIT
     "supply back; speed set; spindle starts; offset applied",
     {"sideways to park xy, cutter 0, spindle stands, ?,?,-5.00 > 400.00,30.00,-5.00, <= 4.825 s at "
      "102.99 mm/s, 77.98 (83.00) cutter to work"},
     6,
     0},
    {"the offset after the descent, the spindle by hand, nothing holds it off",
     {1, 0, true, {0.3, 0.2, -0.1}},
     {{"spindle.switched_by", "hand"},
      {"change.spindle_held_off", "no"},
      {"change.offset_applied", "after_descent"}},
     "lift; spindle stops; standstill; " SETTER_VISIT PARKED SETTER_VISIT
     "sideways back; supply back; speed set; spindle starts; down to start; offset applied",
     {"spindle stops, cutter 1, spindle stops, 300.00,200.00,-5.00, 15.000 s: switches the spindle off",
      "spindle starts, cutter 0, spindle starts, 300.00,200.00,-5.00, 5.000 s: switches the spindle on",
      "down to start z, cutter 0, spindle runs, 300.00,200.00,-5.00 > 300.00,200.00,-100.00, 2.100 s "
      "at 50.00 mm/s"},
     8,
     0},
    {"two touches, all at one height, one stick-out for all",
     {0, 1, false, {0}},
     {{"change.second_touch_feed", "1 mm/s"},
      {"change.second_stroke", "5 mm"},
      {"change.stickout_from", "assumed"},
      {"change.touches_old", "no"}},
     "measure what is in; lift; spindle stops; standstill; " PARKED
     "sideways to setter; approach; probe; retract; second touch; "
     "retract; lift; sideways back; supply back; speed set; spindle starts; offset applied; down to start",
     {"approach z, cutter 1, spindle held off, 770.00,30.00,-5.00 > 770.00,30.00,-63.00, 2.980 s at "
      "20.00 mm/s, 12.35 (12.37) collet nut to clamp",
      "second touch z, cutter 1, spindle held off, 770.00,30.00,-77.00 > 770.00,30.00,-80.00, 3.004 s "
      "at 1.00 mm/s, contact -74.88 -80.00 -85.12, ends -82.00, 3.00 (3.00) collet nut to clamp"},
     6,
     0},
    {"a fixed approach, a stroke that is too short",
     {0, 1, false, {0}},
     {{"change.approach", "fixed"}, {"change.touches_old", "no"}},
     "measure what is in; lift; spindle stops; standstill; " PARKED SETTER_VISIT
     "sideways back; supply back; speed set; spindle starts; offset applied; down to start",
     {"approach z, cutter 1, spindle held off, 770.00,30.00,-5.00 > 770.00,30.00,-60.00, 2.830 s at "
      "20.00 mm/s, 15.28 (15.30) collet nut to clamp",
      "probe z, cutter 1, spindle held off, 770.00,30.00,-60.00 > 770.00,30.00,-80.00, 8.010 s at 2.50 "
      "mm/s, contact -74.88 -80.00 -85.12, ends -80.00, 3.00 (3.00) collet nut to clamp"},
     6,
     0},
    {"a plate, parked",
     {0, 1, false, {0}},
     {{"change.measures_with", "plate"}},
     "lift; spindle stops; standstill; " PLATE_VISIT PARKED PLATE_VISIT
     "sideways back; supply back; speed set; spindle starts; offset applied; down to start",
     {"jog to plate xyz, cutter 0, spindle stands, ?,?,-5.00 > ?,?,?: jogs the tip over the plate",
      "probe z, cutter 0, spindle stands, ?,?,? > ?,?,?, <= 8.010 s at 2.50 mm/s",
      "retract z, cutter 0, spindle stands, ?,?,? > ?,?,?, 0.219 s at 50.00 mm/s",
      "sideways to park xy, cutter 0, spindle stands, ?,?,-5.00 > 400.00,30.00,-5.00"},
     12,
     2},
    {"a plate on a machine that does not home",
     {0, 1, false, {0}},
     {{"change.measures_with", "plate"},
      {"homing.order", "none"},
      {"change.touches_old", "no"},
      {"change.traverse_z", NULL}},
     "measure what is in; lift; spindle stops; standstill; " SWAP PLATE_VISIT
     "sideways back; supply back; speed set; spindle starts; offset applied; down to start",
     {"lift z, cutter 0, spindle runs, ?,?,? > ?,?,?, 1.400 s at 50.00 mm/s",
      "sideways back xy, cutter 1, spindle held off, ?,?,? > ?,?,?",
      "down to start z, cutter 1, spindle runs, ?,?,? > ?,?,? at 50.00 mm/s"},
     9,
     2},
};

static void check_line(const struct scene *scene, const struct change *change, const char *line)
{
    char found[400];
    for (uint32_t i = 0; i < change->count; i++)
        if (strcmp(line_of(found, sizeof found, &change->moves[i]), line) == 0)
            return;
    cr_expect(false, "%s: no \"%s\" in", scene->what, line);
    for (uint32_t i = 0; i < change->count; i++)
        fprintf(stderr, "  %s\n", line_of(found, sizeof found, &change->moves[i]));
}

static void check_scene(const struct scene *scene)
{
    for (size_t i = 0; i < 8 && scene->put[i][0]; i++)
        world_put(&world, scene->put[i][0], scene->put[i][1]);
    struct change change = plan(&scene->request);
    struct buffer steps;
    buffer_init(&steps, &world.arena);
    for (uint32_t i = 0; i < change.count; i++)
        buffer_format(&steps, "%s%s", i ? "; " : "", move_name(change.moves[i].kind));
    cr_expect_str_eq(buffer_string(&steps), scene->steps, "%s: %s", scene->what,
                     buffer_string(&steps));
    for (size_t i = 0; i < 5 && scene->lines[i]; i++)
        check_line(scene, &change, scene->lines[i]);
    cr_expect_eq(change.by_hand, scene->by_hand, "%s: %u", scene->what, change.by_hand);
    cr_expect_eq(change.untimed, scene->untimed, "%s: %u", scene->what, change.untimed);
    cr_expect_eq(change.missing.count, 0, "%s: %s", scene->what,
                 field_table[change.missing.items[0].field].key);
}

Test(change, in_other_shapes)
{
    for (size_t i = 0; i < sizeof scenes / sizeof scenes[0]; i++) {
        check_scene(&scenes[i]);
        world_end(&world);
        world_begin(&world);
    }
}

/* The steps by hand, and between them "|" for whatever the machine does: "(x)" is asked by
 * nobody, "x!" endangers a hand. */
static const char *by_hand(const struct change *change)
{
    struct buffer text;
    buffer_init(&text, &world.arena);
    bool machine = false;
    for (uint32_t i = 0; i < change->count; i++) {
        const struct move *move = &change->moves[i];
        if (!move->by_hand && !move->asked) {
            machine = true;
            continue;
        }
        buffer_format(&text, "%s%s", text.size ? " " : "", machine ? "| " : "");
        machine = false;
        if (move->asked)
            buffer_add(&text, ask_word(move->ask));
        else
            buffer_format(&text, "(%s)", move_name(move->kind));
        buffer_text(&text, move->endangers ? "!" : "");
    }
    return buffer_string(&text);
}

#define HAND                                                                                   \
    {                                                                                          \
        "spindle.switched_by", "hand"                                                          \
    }
#define PLATE                                                                                  \
    {                                                                                          \
        "change.measures_with", "plate"                                                        \
    }
#define ASKS(x)                                                                                \
    {                                                                                          \
        "change.asks", "[" x "]"                                                               \
    }

/* The file's own order, whatever it is. */
static const struct {
    const char *put[6][2];
    const char *steps;
} orders[] = {
    {{{0}},
     "| spindle_off standstill | isolated setter_clean cutter_in | supply_on speed_set spindle_on"},
    {{ASKS("spindle_off, standstill, unplugged, shoe_off, cutter_in, supply_on, spindle_on"),
      HAND},
     "| spindle_off standstill unplugged shoe_off | cutter_in | supply_on spindle_on"},
    /* by the controller, nothing asked */
    {{ASKS("")}, "| (cutter changed)!"},
    {{ASKS("cutter_in")}, "| cutter_in!"},
    {{ASKS("cutter_in"), {"change.spindle_held_off", "interlocked"}},
     "| (spindle held off) cutter_in"},
    /* by hand */
    {{ASKS(""), HAND}, "| (spindle stops) | (cutter changed)! | (spindle starts)"},
    {{ASKS("spindle_off, isolated, cutter_in, supply_on, spindle_on"), HAND},
     "| spindle_off | isolated cutter_in | supply_on spindle_on"},
    {{ASKS("spindle_off, isolated, cutter_in, supply_on, spindle_on"),
      HAND,
      {"spindle.dwell_after_stop", NULL}},
     "| spindle_off | isolated cutter_in! | supply_on spindle_on"},
    {{ASKS("isolated, spindle_off, standstill, cutter_in, supply_on, spindle_on"), HAND},
     "| isolated spindle_off standstill | cutter_in! | supply_on spindle_on"},
    {{ASKS(
          "spindle_off, standstill, z_propped, isolated, cutter_in, supply_on, setter_clean, spindle_on"),
      HAND},
     "| spindle_off standstill | z_propped isolated cutter_in | supply_on setter_clean! | "
     "spindle_on"},
    {{ASKS("z_propped, spindle_off, standstill, isolated, cutter_in, supply_on, spindle_on"),
      HAND},
     "| z_propped! spindle_off standstill | isolated cutter_in | supply_on spindle_on"},
    /* the plate, the outgoing cutter touched too */
    {{ASKS(
          "spindle_off, standstill, unplugged, clip_on, plate_on, plate_off, clip_off, cutter_in, "
          "clip_on, plate_on, plate_off, clip_off, supply_on, speed_set, spindle_on"),
      HAND, PLATE},
     "| spindle_off standstill unplugged clip_on plate_on (jog to plate) | plate_off clip_off | "
     "cutter_in | clip_on plate_on (jog to plate) | plate_off clip_off | supply_on speed_set "
     "spindle_on"},
    {{ASKS("spindle_off, standstill, unplugged, plate_on, cutter_in, plate_off, supply_on, "
           "spindle_on"),
      HAND, PLATE},
     "| spindle_off standstill unplugged plate_on (jog to plate) | cutter_in | (jog to plate) | "
     "plate_off | supply_on spindle_on"},
    {{ASKS(
          "plate_on, clip_on, spindle_off, standstill, unplugged, cutter_in, plate_off, clip_off, "
          "supply_on, spindle_on"),
      HAND, PLATE},
     "| plate_on! clip_on! spindle_off standstill (jog to plate) | unplugged cutter_in | "
     "(jog to plate) | plate_off clip_off | supply_on spindle_on"},
    {{ASKS("spindle_off, standstill, unplugged, cutter_in, supply_on, spindle_on"),
      HAND,
      PLATE,
      {"plate.return_path", "clip"},
      {"change.touches_old", "no"}},
     "(measure what is in) | spindle_off standstill | unplugged cutter_in | "
     "(clip on) (plate laid) (jog to plate) | "
     "(plate away) (clip off) | supply_on spindle_on"},
    {{ASKS(
          "standstill, isolated, cutter_in, clip_on, plate_on, plate_off, clip_off, supply_on"),
      PLATE,
      {"change.touches_old", "no"}},
     "(measure what is in) | standstill | isolated cutter_in | clip_on plate_on (jog to plate) | "
     "plate_off clip_off | "
     "supply_on"},
    {{ASKS("standstill, isolated, cutter_in, plate_on, supply_on, spindle_on, plate_off"),
      PLATE,
      {"change.touches_old", "no"}},
     "(measure what is in) | standstill | isolated cutter_in | plate_on (jog to plate) | supply_on "
     "spindle_on "
     "plate_off!"},
    /* a Z that sinks is under nobody's hands without a block */
    {{ASKS("standstill, isolated, cutter_in, supply_on"),
      {"change.cuts_power_to", "machine"},
      {"axes.z.holds_unpowered", "no"}},
     "| standstill | isolated cutter_in! supply_on"},
    {{ASKS("standstill, z_propped, isolated, cutter_in, supply_on"),
      {"change.cuts_power_to", "machine"},
      {"axes.z.holds_unpowered", "no"}},
     "| standstill | z_propped isolated cutter_in supply_on"},
    {{ASKS("standstill, isolated, cutter_in, supply_on"),
      {"change.motors_held", "no"},
      {"axes.z.holds_unpowered", "no"}},
     "| standstill | isolated cutter_in! | supply_on"},
    /* with the machine's own power cut, it moves on only once that is back */
    {{ASKS("standstill, z_propped, isolated, cutter_in, supply_on, spindle_on"),
      {"change.cuts_power_to", "machine"}},
     "| standstill | z_propped isolated cutter_in supply_on | spindle_on"},
};

Test(change, asks)
{
    for (size_t i = 0; i < sizeof orders / sizeof orders[0]; i++) {
        for (size_t k = 0; k < 6 && orders[i].put[k][0]; k++)
            world_put(&world, orders[i].put[k][0], orders[i].put[k][1]);
        struct change change = plan(&(struct change_request){.from = 0, .to = 1});
        cr_expect_str_eq(by_hand(&change), orders[i].steps, "%zu: %s", i, by_hand(&change));
        world_end(&world);
        world_begin(&world);
    }
}

/* A machine whose power is cut before its moves are done cannot do them. */
Test(change, without_power)
{
    world_put(&world, "change.cuts_power_to", "machine");
    world_put(&world, "change.asks", "[standstill, isolated, shoe_off, cutter_in, supply_on]");
    struct change change = plan(&(struct change_request){.from = 0, .to = 1});
    bool back = false;
    for (uint32_t i = 0; i < change.count; i++) {
        const struct move *move = &change.moves[i];
        back = back || move->kind == MOVE_SUPPLY_ON;
        if (move->kind == MOVE_TO_PARK)
            cr_expect(move->powerless);
        if (move->by_hand || back)
            cr_expect_not(move->powerless, "%s", move_name(move->kind));
    }
    cr_expect(back);
}

/* Where a field is missing: it is named, the moves stay, and what needs it is not known. */
static const struct {
    const char *path;
    enum field_id field;
    uint32_t record, untimed;
    bool whole; /* every sideways move is compared with everything */
} gaps[] = {
    {"axes.x.rapid", FIELD_AXIS_RAPID, 0, 4, true},
    {"axes.z.acceleration", FIELD_AXIS_ACCELERATION, 2, 12, true},
    {"change.traverse_z", FIELD_CHANGE_TRAVERSE_Z, 0, 2, false},
    {"change.approach_feed", FIELD_CHANGE_APPROACH_FEED, 0, 2, true},
    {"change.probe_feed", FIELD_CHANGE_PROBE_FEED, 0, 2, true},
    {"change.standoff", FIELD_CHANGE_STANDOFF, 0, 0, true},
    {"change.retract", FIELD_CHANGE_RETRACT, 0, 2, true},
    {"change.park.x", FIELD_CHANGE_PARK_X, 0, 2, false},
    {"setter.at.y", FIELD_SETTER_AT_Y, 0, 4, false},
    {"setter.nose_contact", FIELD_SETTER_NOSE_CONTACT, 0, 2, false},
    {"spindle.dwell_after_stop", FIELD_SPINDLE_DWELL_AFTER_STOP, 0, 1, true},
    {"work.x", FIELD_WORK_X, 0, 2, false},
    {"work.height", FIELD_WORK_HEIGHT, 0, 0, false},
    {"table.nose_contact", FIELD_TABLE_NOSE_CONTACT, 0, 0, false},
    {"spindle.nut_diameter", FIELD_SPINDLE_NUT_DIAMETER, 0, 0, false},
    {"cutters[0].diameter", FIELD_CUTTER_DIAMETER, 0, 0, false},
    {"obstacles[1].top", FIELD_OBSTACLE_TOP, 1, 0, false},
};

Test(change, gaps_are_named)
{
    for (size_t i = 0; i < 2 * sizeof gaps / sizeof gaps[0]; i++) {
        size_t row = i / 2;
        if (i % 2)
            world_spoil(&world, gaps[row].path);
        else
            world_put(&world, gaps[row].path, NULL);
        struct change change = plan(&(struct change_request){.from = 0, .to = 1});
        cr_assert_eq(change.missing.count, 1, "%s", gaps[row].path);
        cr_expect_eq(change.missing.items[0].field, gaps[row].field, "%s", gaps[row].path);
        cr_expect_eq(change.missing.items[0].record, gaps[row].record, "%s", gaps[row].path);
        cr_expect_eq(change.missing.items[0].wrong, i % 2 == 1, "%s", gaps[row].path);
        cr_expect_eq(change.untimed, gaps[row].untimed, "%s: %u", gaps[row].path,
                     change.untimed);
        bool whole = true;
        for (uint32_t k = 0; k < change.count; k++)
            if (change.moves[k].moves[0])
                whole = whole && change.moves[k].whole;
        cr_expect_eq(whole, gaps[row].whole, "%s", gaps[row].path);
        world_end(&world);
        world_begin(&world);
    }
}

Test(change, no_plan_without_knowing_the_way)
{
    static const char *const paths[] = {"change.measures_with", "change.touches_old",
                                        "change.returns_to_start", "homing.order"};
    for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++) {
        struct change change;
        struct change_request request = {.from = 0, .to = 1};
        world_put(&world, paths[i], NULL);
        cr_expect_not(change_plan(&change, &world.machine, &request), "%s", paths[i]);
        cr_expect_eq(change.missing.count, 1);
        cr_expect_str_eq(field_path(&world.arena, change.missing.items[0].field), paths[i]);
        world_end(&world);
        world_begin(&world);
    }
}

/* An unreadable file gives a machine without even a root. */
Test(change, nothing_at_all)
{
    struct machine nothing = {.tree = &world.tree};
    struct change change;
    cr_expect_not(change_plan(&change, &nothing, &(struct change_request){.from = 0, .to = 0}));
    cr_expect_eq(change.missing.count, 4);
}
