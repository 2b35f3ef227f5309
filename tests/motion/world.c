#include "world.h"

#include <criterion/criterion.h>

#include <stdio.h>
#include <stdlib.h>

/* Round numbers, so that a table can be worked out by hand. */
static const char shed[] =
    "proveout: 1\n"
    "machine: {name: shed, gantry_underside: 200 mm}\n"
    "axes:\n"
    "  x: {travel: [0 mm, 800 mm], rapid: 100 mm/s, acceleration: 500 mm/s^2}\n"
    "  y: {travel: [0 mm, 600 mm], rapid: 80 mm/s, acceleration: 400 mm/s^2}\n"
    "  z: {travel: [-140 mm, 0 mm], rapid: 50 mm/s, acceleration: 250 mm/s^2}\n"
    "homing:\n"
    "  order: [z, xy]\n"
    "  z: {end: high, repeatability: 0.02 mm}\n"
    "inputs:\n"
    "  puck: {terminal: 4, contact: normally_closed}\n"
    "  lead: {terminal: 5, contact: normally_open}\n"
    "table: {nose_contact: -165 mm}\n"
    "work: {x: [100 mm, 500 mm], y: [100 mm, 400 mm], height: 45 mm}\n"
    "obstacles:\n"
    "  - {name: fence, x: [20 mm, 380 mm], y: [575 mm, 595 mm], top: 40 mm}\n"
    "  - {name: post, x: [600 mm, 620 mm], y: [20 mm, 40 mm], top: 100 mm}\n"
    "  - {name: clamp, x: [740 mm, 750 mm], y: [25 mm, 35 mm], top: 90 mm}\n"
    "setter:\n"
    "  at: {x: 770 mm, y: 30 mm}\n"
    "  nose_contact: -125 mm ± 0.1 mm\n"
    "  body: 46 mm\n"
    "  overtravel: 4 mm\n"
    "  input: puck\n"
    "plate:\n"
    "  input: lead\n"
    "  jog_within: 15 mm\n"
    "  continuity_test: yes\n"
    "  same_spot: yes\n"
    "  spot: fixed\n"
    "spindle:\n"
    "  switched_by: controller\n"
    "  run_down: 6 s\n"
    "  dwell_after_stop: 15 s\n"
    "  dwell_after_start: 5 s\n"
    "  nut_diameter: 34 mm\n"
    "  shoe: {diameter: 90 mm, below_nose: 25 mm, removed: yes}\n"
    "change:\n"
    "  measures_with: setter\n"
    "  touches_old: yes\n"
    "  stickout_from: list\n"
    "  assumed_stickout: 50 mm\n"
    "  stickout_range: [25 mm, 55 mm]\n"
    "  approach: computed\n"
    "  standoff: 12 mm\n"
    "  approach_z: -60 mm\n"
    "  approach_feed: 20 mm/s\n"
    "  approach_guarded: yes\n"
    "  probe_stroke: 20 mm\n"
    "  probe_feed: 2.5 mm/s\n"
    "  retract: 3 mm\n"
    "  idle_checked: yes\n"
    "  no_contact: stops\n"
    "  traverse_z: -5 mm\n"
    "  lift: 60 mm\n"
    "  park: {x: 400 mm, y: 30 mm, z: -15 mm}\n"
    "  spindle_held_off: isolated\n"
    "  offset_applied: before_descent\n"
    "  returns_to_start: yes\n"
    "  asks: [spindle_off, standstill, isolated, setter_clean, cutter_in, supply_on, speed_set, spindle_on]\n"
    "cutters:\n"
    "  - {number: 1, description: end mill, stickout: 32 mm, diameter: 6 mm,\n"
    "     shank: 6 mm}\n"
    "  - {number: 2, description: ball nose, stickout: 45 mm, diameter: 8 mm,\n"
    "     shank: 8 mm}\n"
    "  - {number: 3, description: surfacing cutter, stickout: 38 mm, diameter: 28 mm,\n"
    "     shank: 12 mm, flute_length: 12 mm}\n"
    "allowances: {reseat: 5 mm}\n";

void world_begin(struct world *world)
{
    arena_init(&world->arena, NULL);
    source_init(&world->source, &world->arena, view_of("shed.yaml"), view_of(shed));
    sink_init(&world->sink, &world->arena, &world->source);
    tree_read(&world->tree, &world->arena, &world->source, &world->sink);
    machine_read(&world->machine, &world->arena, &world->tree, &world->sink);
    cr_assert_eq(world->sink.findings.count, 0, "%s: %s", world->sink.findings.items[0].rule,
                 world->sink.findings.items[0].message);
}

void world_end(struct world *world)
{
    arena_free(&world->arena);
}

static struct field_value *value_at(struct world *world, const char *path, enum field_id *id)
{
    *id = field_find(view_of(path));
    cr_assert_neq(*id, FIELD_COUNT, "no field %s", path);
    enum field_group group = field_table[*id].group;
    unsigned long record = 0;
    const char *bracket = strchr(path, '[');
    if (bracket)
        record = strtoul(bracket + 1, NULL, 10);
    else if (group == GROUP_AXIS || group == GROUP_HOMING)
        record = (unsigned long)(strchr(path, '.')[1] - 'x');
    cr_assert_lt(record, world->machine.groups[group].count, "no record %s", path);
    return machine_field_put(&world->machine, *id, (uint32_t)record);
}

void world_put(struct world *world, const char *path, const char *text)
{
    enum field_id id;
    struct field_value *value = value_at(world, path, &id);
    if (!text) {
        *value = (struct field_value){.state = VALUE_ABSENT};
        return;
    }
    const char *trouble = field_read_text(&world->arena, id, view_of(text), value);
    cr_assert_null(trouble, "%s: %s: %s", path, text, trouble);
    value->state = VALUE_GIVEN;
}

void world_spoil(struct world *world, const char *path)
{
    enum field_id id;
    *value_at(world, path, &id) = (struct field_value){.state = VALUE_WRONG};
}

void world_keep(struct world *world, enum field_group group, uint32_t count)
{
    struct machine_group *records = &world->machine.groups[group];
    for (size_t slot = 1; slot < field_group_width(group); slot++)
        memmove(&records->values[slot * count], &records->values[slot * records->count],
                count * sizeof *records->values);
    records->count = count;
}
