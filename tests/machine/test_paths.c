/* Paths that people type: which value they stand for, and where it stands in a file. */
#include <criterion/criterion.h>

#include <string.h>

#include "world.h"

static const char text[] = "proveout: 1\n"
                           "axes:\n"
                           "  z: {travel: [-120 mm, 0 mm]}\n"
                           "inputs:\n"
                           "  setter-in: {terminal: 4, contact: normally_closed}\n"
                           "  a.b: {terminal: 5, contact: normally_open}\n"
                           "obstacles:\n"
                           "  - {name: fence, x: [0 mm, 1 mm], y: [0 mm, 1 mm], top: 3 mm}\n"
                           "cutters:\n"
                           "  - {number: 1, description: flat, stickout: 30 mm}\n"
                           "  - {number: 3, description: ball, stickout: 40 mm}\n"
                           "  - {number: 3, description: ball, stickout: 50 mm}\n";

static struct world world;

static void begin(void)
{
    world_read(&world, text);
}

static void end(void)
{
    world_free(&world);
}

TestSuite(paths, .init = begin, .fini = end);

/* `wanted`: the paths of what it stands for, joined by blanks. */
static void check(const char *path, const char *wanted)
{
    struct field_place places[8];
    struct buffer out;
    buffer_init(&out, &world.arena);
    size_t count = machine_resolve(&world.arena, &world.machine, view_of(path), places, 8);
    for (size_t i = 0; i < count; i++)
        buffer_format(&out, "%s%s", i ? " " : "",
                      machine_path(&world.arena, &world.machine, places[i].field,
                                   places[i].record, places[i].part));
    cr_expect_str_eq(out.size ? buffer_string(&out) : "", wanted, "%s", path);
}

Test(paths, resolved)
{
    check("setter.at.x", "setter.at.x");
    check("axes.z.travel", "axes.z.travel");
    check("axes.z.travel.low", "axes.z.travel.low");
    check("axes.z.travel.high", "axes.z.travel.high");
    check("axes.*.rapid", "axes.x.rapid axes.y.rapid axes.z.rapid");
    check("homing.y.fast_feed", "homing.y.fast_feed");
    check("homing.order", "homing.order");
    check("inputs.setter-in.scan", "inputs.setter-in.scan");
    check("inputs.a.b.scan", "inputs.a.b.scan");
    check("inputs.other.scan", "");
    check("cutters[1].stickout", "cutters[1].stickout");
    check("cutters[3].stickout", "");
    check("cutters[number=1].stickout", "cutters[0].stickout");
    check("cutters[number=3].stickout", "cutters[1].stickout cutters[2].stickout");
    check("cutters[number=7].stickout", "");
    check("cutter 1 stickout", "cutters[0].stickout");
    check("cutter  3  stickout", "cutters[1].stickout cutters[2].stickout");
    check("cutter 7 stickout", "");
    check("cutters[description=flat].stickout", "cutters[0].stickout");
    check("cutters[].stickout", "cutters[0].stickout cutters[1].stickout cutters[2].stickout");
    check("obstacles[name=fence].top", "obstacles[0].top");
    check("obstacles[name=fence].x.low", "obstacles[0].x.low");
    check("obstacles[0]", "");
    check("axes.q.rapid", "");
    check("change", "");
    check("", "");
}

static void check_typed(const char *typed, const char *wanted)
{
    cr_expect_str_eq(machine_typed_path(&world.arena, &world.machine, view_of(typed)), wanted,
                     "%s", typed);
}

Test(paths, typed_are_those_of_outputs)
{
    check_typed("cutter 1 stickout", "cutters[0].stickout");
    check_typed("cutter 1", "cutters[0]");
    check_typed("cutters[number=3].stickout", "cutters[1].stickout");
    check_typed("cutters[1].stickout", "cutters[1].stickout");
    check_typed("obstacle fence", "obstacles[0]");
    check_typed("obstacle fence x.low", "obstacles[0].x.low");
    check_typed("obstacles[name=fence].top", "obstacles[0].top");
    check_typed("change.standoff", "change.standoff");
    check_typed("cutter 7 stickout", "cutters[number=7].stickout");
    check_typed("", "");
}

static void check_unit(const char *file, struct dimension dimension, const char *wanted)
{
    struct world other;
    world_read(&other, file);
    cr_expect_eq(machine_unit(&other.machine, dimension), unit_read(view_of(wanted)), "%s",
                 wanted);
    world_free(&other);
}

/* As the file writes such quantities, else as goes with its lengths. */
Test(paths, units_of_their_own)
{
    static const char inches[] = "proveout: 1\nchange: {standoff: 0.5 in}\n";
    static const char later[] = "proveout: 1\nchange: {standoff: 0.5 in}\n"
                                "axes:\n  y: {rapid: 2 m/min}\n";
    check_unit(inches, DIMENSION_LENGTH, "in");
    check_unit(inches, DIMENSION_SPEED, "in/min");
    check_unit(inches, DIMENSION_ACCELERATION, "in/s^2");
    check_unit(later, DIMENSION_SPEED, "m/min");
    check_unit("proveout: 1\nchange: {standoff: 5 mm}\n", DIMENSION_SPEED, "mm/min");
    check_unit("proveout: 1\n", DIMENSION_TIME, "s");
}

static void check_inches(const char *file, bool wanted)
{
    struct world other;
    world_read(&other, file);
    cr_expect_eq(machine_in_inches(&other.machine), wanted, "%s", file);
    world_free(&other);
}

/* Also of a file whose table was left open. */
Test(paths, people_who_count_in_inches)
{
    check_inches("proveout: 1\ntable: {nose_contact: -4.6 in}\n", true);
    check_inches("proveout: 1\nchange: {lift: 2 in}\n", true);
    check_inches("proveout: 1\nchange: {lift: 2 in}\ntable: {nose_contact: -110 mm}\n", false);
    check_inches("proveout: 1\nchange: {lift: 50 mm}\n", false);
    check_inches("proveout: 1\n", false);
}

/* Each stands before the next. */
Test(paths, in_the_order_of_files)
{
    static const char *const order[] = {
        "proveout",
        "machine",
        "machine.name",
        "machine.note",
        "axes",
        "axes.x.travel",
        "axes.x.drive",
        "axes.x.drive.lead",
        "axes.y",
        "axes.z",
        "homing",
        "homing.x",
        "homing.z.overtravel",
        "inputs",
        "table.nose_contact",
        "work.x",
        "obstacles",
        "setter.at.x",
        "setter.at.y",
        "setter.nose_contact",
        "setter.input",
        "plate",
        "spindle.speed",
        "change.measures_with",
        "change.standoff",
        "change.park.x",
        "change.asks",
        "cutters",
        "cutters[0].number",
        "cutters[0].stickout",
        "allowances.reseat",
        "agrees_with",
        "waivers",
        "unheard of",
    };
    for (size_t i = 1; i < sizeof order / sizeof *order; i++)
        cr_expect_leq(field_rank(view_of(order[i - 1])), field_rank(view_of(order[i])),
                      "%s does not stand before %s", order[i - 1], order[i]);
}
