#include "world.h"

#include <criterion/criterion.h>

#include <stdio.h>

#include "text/utf8.h"

const char whole[] =
    "proveout: 1\n"
    "machine:\n"
    "  name: bench\n"
    "  note: of the tests\n"
    "  last_worked_on: 2026-05-04\n"
    "  pulse_limit: 100 kHz\n"
    "axes:\n"
    "  x: {travel: [0 mm, 700 mm], rapid: 5000 mm/min, "
    "drive: {kind: belt, pitch: 2 mm, teeth: 20}}\n"
    "  y: {travel: [0 mm, 500 mm], limits_enforced: yes}\n"
    "  z:\n"
    "    travel: [-110 mm, 0 mm]\n"
    "    acceleration: 200 mm/s^2\n"
    "    drive: {kind: screw, lead: 8 mm, motor_steps: 200, microsteps: 16, steps: 400 steps/mm}\n"
    "homing:\n"
    "  order: [z, xy]\n"
    "  z: {end: high, rest: -3 mm, input: top}\n"
    "inputs:\n"
    "  top: {terminal: A4, contact: normally_closed}\n"
    "  puck: {terminal: 7, contact: normally_closed, scan: 1 ms}\n"
    "table: {nose_contact: -130 mm, slope: 0.3 mm/m}\n"
    "obstacles:\n"
    "  - {name: stop, x: [10 mm, 40 mm], y: [0 mm, 9 mm], top: 25 mm}\n"
    "setter:\n"
    "  at: {x: 650 mm, y: 40 mm}\n"
    "  nose_contact: -90 mm ± 0.2 mm\n"
    "  overtravel: 5 mm\n"
    "  input: puck\n"
    "spindle:\n"
    "  switched_by: controller\n"
    "  speed: [6000 rpm, 24000 rpm]\n"
    "  run_down: 8 s\n"
    "  dwell_after_stop: 12 s\n"
    "  dwell_after_start: 6 s\n"
    "  inertia: 4 kg*cm^2\n"
    "  collet: ER16\n"
    "  collet_sizes: [6 mm, 1/4 in]\n"
    "change:\n"
    "  measures_with: setter\n"
    "  touches_old: no\n"
    "  stickout_from: list\n"
    "  approach: computed\n"
    "  standoff: 11 mm\n"
    "  approach_feed: 900 mm/min\n"
    "  approach_guarded: no\n"
    "  probe_stroke: 19 mm\n"
    "  probe_feed: 90 mm/min\n"
    "  retract: 2 mm\n"
    "  idle_checked: yes\n"
    "  no_contact: stops\n"
    "  traverse_z: -4 mm\n"
    "  park: {x: 300 mm, y: 10 mm, z: -4 mm}\n"
    "  spindle_held_off: unplugged\n"
    "  offset_applied: before_descent\n"
    "  returns_to_start: yes\n"
    "  asks: [unplugged, cutter_in, spindle_on]\n"
    "cutters:\n"
    "  - number: 4\n"
    "    description: straight\n"
    "    stickout: 31 mm\n"
    "    diameter: 6 mm\n"
    "    measured_on: 2026-05-05\n"
    "  - {number: 7, description: v-bit, stickout: 1 1/8 in}\n"
    "allowances: {reseat: 2 mm}\n"
    "waivers:\n"
    "  - {rule: limits-not-enforced, where: axes.x.limits_enforced, reason: stops, "
    "until: 2027-01-31}\n";

void world_read(struct world *world, const char *text)
{
    arena_init(&world->arena, NULL);
    source_init(&world->source, &world->arena, view_of("test.yaml"), view_of(text));
    sink_init(&world->sink, &world->arena, &world->source);
    tree_read(&world->tree, &world->arena, &world->source, &world->sink);
    machine_read(&world->machine, &world->arena, &world->tree, &world->sink);
}

void world_free(struct world *world)
{
    arena_free(&world->arena);
}

char *changed(struct arena *arena, const char *old, const char *new_text)
{
    const char *at = strstr(whole, old);
    cr_assert(at, "the whole machine has no \"%s\"", old);
    return arena_format(arena, "%.*s%s%s", (int)(at - whole), whole, new_text,
                        at + strlen(old));
}

/* Words that messages to people are free of. */
static const char *const banned[] = {"scalar", "mapping", "sequence", "token", "node",
                                     "null",   "regex",   "schema",   "parse", "!"};

static void check_message(const char *message)
{
    cr_expect(utf8_cells(view_of(message)) <= 100, "too long: %s", message);
    for (size_t i = 0; i < sizeof banned / sizeof banned[0]; i++)
        cr_expect(!strstr(message, banned[i]), "\"%s\" in: %s", banned[i], message);
}

static void check_one(const struct change *change, const struct world *world)
{
    const struct finding *finding = world->sink.findings.items;
    cr_assert(world->sink.findings.count, "nothing found in \"%s\"", change->new_text);
    struct view marked = source_slice(&world->source, finding->at.span);
    cr_expect_str_eq(finding->rule, change->rule, "\"%s\": %s", change->new_text,
                     finding->message);
    cr_expect_str_eq(finding->at.field, change->field, "%s", change->new_text);
    cr_expect(view_is(marked, change->marked), "\"%s\": marked \"%.*s\", not \"%s\"",
              change->new_text, VIEW(marked), change->marked);
    if (change->says)
        cr_expect(strstr(finding->message, change->says), "\"%s\" is not in: %s", change->says,
                  finding->message);
    check_message(finding->message);
    if (finding->put_right)
        cr_expect(!strchr(finding->put_right, '\n'));
}

void check_changes(const struct change *changes, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        struct arena arena;
        struct world world;
        arena_init(&arena, NULL);
        world_read(&world, changed(&arena, changes[i].old, changes[i].new_text));
        const struct finding *items = world.sink.findings.items;
        size_t found = world.sink.findings.count, wanted = changes[i].rule ? 1 : 0;
        cr_expect_eq(found, wanted, "\"%s\" gives %zu findings; the last: %s",
                     changes[i].new_text, found, found ? items[found - 1].message : "");
        if (wanted)
            check_one(&changes[i], &world);
        world_free(&world);
        arena_free(&arena);
    }
}
