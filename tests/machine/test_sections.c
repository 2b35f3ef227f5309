/* Keys, sections and lists: what is unknown, missing, twice, or in the wrong place. */
#include <criterion/criterion.h>

#include "world.h"

static struct arena arena;

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(sections, .init = begin, .fini = end);

static enum value_state state_of(const struct world *world, enum field_id id, uint32_t record)
{
    return machine_field(&world->machine, id, record)->state;
}

static const struct change unknown[] = {
    {"standoff: 11", "standof: 11", "unknown-key", "change.standof", "standof",
     "change has no key 'standof'; standoff is the nearest"},
    {"  probe_stroke", "  stroke_of_probe", "unknown-key", "change.stroke_of_probe", NULL,
     NULL},
    {"  collet: ER16", "  colour: blue", "unknown-key", "spindle.colour", "colour",
     "spindle has no key 'colour'"},
    {"axes:", "axis:", "unknown-key", "axis", "axis", "the file has no key 'axis'"},
    {"homing:", "homming:", "unknown-key", "homming", "homming", NULL},
    {"change:", "chagne:", "unknown-key", "chagne", "chagne", NULL},
    {"cutters:", "cuters:", "unknown-key", "cuters", "cuters", NULL},
    {"inputs:", "input:", "unknown-key", "input", "input", NULL},
    {"  y: {travel", "  w: {travel", "unknown-key", "axes.w", "w", "y is the nearest"},
    {"  at: {x: 650", "  ta: {x: 650", "unknown-key", "setter.ta", "ta", "at is the nearest"},
    {"    stickout: 31", "    sickout: 31", "unknown-key", "cutters[0].sickout", "sickout",
     NULL},
    /* Known, but elsewhere. */
    {"  overtravel", "  probe_feed: 90 mm/min\n  overtravel", "unknown-key",
     "setter.probe_feed", "probe_feed", "it belongs in change"},
    {"    travel: [-110", "    lead: 8 mm\n    travel: [-110", "unknown-key", "axes.z.lead",
     "lead", "it belongs in axes.*.drive"},
    {"change:\n", "  stickout_range: [9 mm, 40 mm]\nchange:\n", "unknown-key",
     "spindle.stickout_range", "stickout_range", NULL},
    {"change:\n", "", "unknown-key", "spindle.measures_with", "measures_with",
     "and 17 more; they belong in change"},
    {"cutters:\n", "  cutters:\n", "unknown-key", "change.cutters", "cutters",
     "the top of the file"},
    {"setter:\n  at: {x: 650 mm, y: 40 mm}\n", "setter:\n  at.x: 650 mm\n  at: {y: 40 mm}\n",
     "unknown-key", "setter.at.x", "at.x", "a line of its own"},
    {"note: of the tests", "\"na\\0me\": 5", "unknown-key", "machine.na", NULL, NULL},
    /* Names of inputs are free. */
    {"  puck: {", "  spare: {terminal: 9, contact: normally_open}\n  puck: {", NULL, NULL, NULL,
     NULL},
};

Test(sections, unknown_keys)
{
    /* The odd ones, whose place is not compared. */
    for (size_t i = 0; i < sizeof unknown / sizeof unknown[0]; i++)
        if (!unknown[i].rule || unknown[i].marked)
            check_changes(&unknown[i], 1);
    struct world world;
    world_read(&world, changed(&arena, "note: of the tests", "\"na\\0me\": 5"));
    cr_expect_eq(world.sink.counts[READER_UNKNOWN_KEY], 1);
    world_free(&world);
}

Test(sections, a_key_of_two_words_is_told_how_to_be_written)
{
    struct world world;
    world_read(&world, changed(&arena, "  at: {x: 650 mm, y: 40 mm}\n",
                               "  at.x: 650 mm\n  at: {y: 40 mm}\n"));
    cr_assert_eq(world.sink.findings.count, 1);
    cr_expect_str_eq(world.sink.findings.items[0].put_right,
                     "write at: and, indented below it, x:");
    world_free(&world);
}

Test(sections, a_slip_is_not_also_missing)
{
    struct world world;
    world_read(&world, changed(&arena, "standoff: 11 mm", "standof: 11 mm"));
    cr_expect_eq(state_of(&world, FIELD_CHANGE_STANDOFF, 0), VALUE_WRONG);
    const struct tree_node *node =
        machine_field(&world.machine, FIELD_CHANGE_STANDOFF, 0)->node;
    cr_expect(node && view_is(node->key, "standof"));
    world_free(&world);
    world_read(&world, changed(&arena, "cutters:", "cuters:"));
    cr_expect(world.machine.groups[GROUP_CUTTER].wrong);
    cr_expect_eq(world.machine.groups[GROUP_CUTTER].count, 0);
    world_free(&world);
    /* A slip beside the real key harms nothing. */
    world_read(&world, changed(&arena, "standoff: 11 mm", "standof: 3 mm\n  standoff: 11 mm"));
    cr_expect_eq(world.sink.findings.count, 1);
    cr_expect_eq(state_of(&world, FIELD_CHANGE_STANDOFF, 0), VALUE_GIVEN);
    world_free(&world);
    world_read(&world, changed(&arena, "cutters:", "cuters: []\ncutters:"));
    cr_expect_eq(world.sink.findings.count, 1);
    cr_expect(!world.machine.groups[GROUP_CUTTER].wrong);
    world_free(&world);
}

static const struct change missing[] = {
    {"proveout: 1\n", "", "missing-key", "proveout", "machine", "the file has no proveout"},
    {"  name: bench\n", "", "missing-key", "machine.name", "machine", NULL},
    {"  standoff: 11 mm\n", "", "missing-key", "change.standoff", "change",
     "change has no standoff; a length in mm, cm, m, in is wanted"},
    {"  approach_feed: 900 mm/min\n", "", "missing-key", "change.approach_feed", "change",
     NULL},
    {"  touches_old: no\n", "", "missing-key", "change.touches_old", "change", "yes or no"},
    {"y: 40 mm}", "}", "missing-key", "setter.at.y", "at", NULL},
    {"  at: {x: 650 mm, y: 40 mm}\n", "", "missing-key", "setter.at", "setter",
     "setter.at is missing; it needs x, y"},
    {"at: {x: 650 mm, y: 40 mm}", "at:", "missing-key", "setter.at", "at", "is empty"},
    {"at: {x: 650 mm, y: 40 mm}", "at: {}", "missing-key", "setter.at", "at", "is empty"},
    {"  order: [z, xy]\n", "", "missing-key", "homing.order", "homing", NULL},
    {"  y: {travel: [0 mm, 500 mm], limits_enforced: yes}\n", "", "missing-key", "axes.y",
     "axes", "axes.y is missing; it needs travel"},
    {"travel: [0 mm, 500 mm], ", "", "missing-key", "axes.y.travel", "y", NULL},
    {"terminal: A4, ", "", "missing-key", "inputs.top.terminal", "top", NULL},
    {"    description: straight\n", "", "missing-key", "cutters[0].description", "number",
     NULL},
    {"  - number: 4\n", "  -\n  - number: 4\n", "missing-key", "cutters[0]", "", "is empty"},
    {", x: [10 mm, 40 mm]", "", "missing-key", "obstacles[0].x", "name", NULL},
    {"rule: limits-not-enforced, ", "", "missing-key", "waivers[0].rule", "where", NULL},
    /* What is not needed is not missed. */
    {"allowances: {reseat: 2 mm}", "allowances:", NULL, NULL, NULL, NULL},
    {"allowances: {reseat: 2 mm}\n", "", NULL, NULL, NULL, NULL},
    {"waivers:\n", "agrees_with:\nobstacle_notes: 1\nwaivers:\n", "unknown-key",
     "obstacle_notes", "obstacle_notes", NULL},
    {"name: stop, ", "", NULL, NULL, NULL, NULL},
    {"reason: stops, ", "", NULL, NULL, NULL, NULL},
};

Test(sections, missing_keys)
{
    check_changes(missing, sizeof missing / sizeof missing[0]);
}

/* Whole sections are told once. */
static const struct {
    const char *from, *up_to; /* what is cut out of the file */
    const char *field, *says;
} cuts[] = {
    {"axes:", "homing:", "axes", "axes is missing; it needs x, y, z"},
    {"homing:", "inputs:", "homing", "homing is missing; it needs order"},
    {"setter:", "spindle:", "setter", "it needs at.x, at.y, nose_contact, overtravel, input"},
    {"spindle:", "change:", "spindle", "spindle is missing; it needs switched_by"},
    {"change:", "cutters:", "change", "more"},
    {"cutters:", "allowances:", "cutters", "cutters is missing; at least one is wanted"},
    {"table:", "obstacles:", "table", "table is missing; it needs nose_contact"},
    {"machine:", "axes:", "machine", "machine is missing; it needs name"},
    {"obstacles:", "setter:", NULL, NULL},
    {"allowances:", "waivers:", NULL, NULL},
};

Test(sections, missing_sections)
{
    for (size_t i = 0; i < sizeof cuts / sizeof cuts[0]; i++) {
        const char *from = strstr(whole, cuts[i].from), *to = strstr(from, cuts[i].up_to);
        char *text = arena_format(&arena, "%.*s%s", (int)(from - whole), whole, to);
        struct world world;
        world_read(&world, text);
        const struct finding *finding = world.sink.findings.items;
        cr_expect_eq(world.sink.findings.count, cuts[i].field ? 1 : 0, "%s", cuts[i].from);
        if (cuts[i].field && world.sink.findings.count) {
            cr_expect_str_eq(finding->rule, "missing-key");
            cr_expect_str_eq(finding->at.field, cuts[i].field);
            cr_expect(strstr(finding->message, cuts[i].says), "%s", finding->message);
            cr_expect(view_is(source_slice(&world.source, finding->at.span), "proveout"));
        }
        world_free(&world);
    }
}

#define BY_HAND "switched_by: hand"

/* What is needed hangs on other fields; where they are wrong or absent, nothing is missed. */
static const struct {
    const char *old, *new_text, *cut; /* one change, and then something taken out */
    const char *field;                /* missing then, or NULL */
} needs[] = {
    {"approach: computed", "approach: fixed", "  standoff: 11 mm\n", "change.approach_z"},
    {"approach: computed", "approach: fixed\n  approach_z: -40 mm", "  standoff: 11 mm\n",
     NULL},
    {"stickout_from: list", "stickout_from: assumed", "  collet: ER16\n",
     "change.assumed_stickout"},
    {"    stickout: 31 mm\n", "", "  collet: ER16\n", "change.assumed_stickout"},
    {"stickout: 31 mm", "stickout: 31 qq", "  collet: ER16\n", NULL},
    {"switched_by: controller", BY_HAND, "  dwell_after_stop: 12 s\n", NULL},
    {"switched_by: controller", "switched_by: controller", "  dwell_after_stop: 12 s\n",
     "spindle.dwell_after_stop"},
    {"switched_by: controller", "switched_by: controller\n  stop_known_by: wait",
     "  dwell_after_stop: 12 s\n", "spindle.dwell_after_stop"},
    {"switched_by: controller",
     "switched_by: controller\n  stop_known_by: signal\n"
     "  standstill: {from: shaft, on_timeout: stops, seen_turning: yes}",
     "  dwell_after_stop: 12 s\n", NULL},
    {"switched_by: controller",
     "switched_by: controller\n  stop_known_by: signal\n"
     "  standstill: {from: shaft, on_timeout: stops}",
     "  dwell_after_stop: 12 s\n", "spindle.standstill.seen_turning"},
    {"switched_by: controller", "switched_by: controller\n  stop_known_by: singal",
     "  dwell_after_stop: 12 s\n", NULL},
    {"order: [z, xy]", "order: none", "  traverse_z: -4 mm\n", "change.lift"},
    {"order: [z, xy]", "order: none\n  x: {rest: 1 mm}", "  collet: ER16\n", "change.lift"},
    {"order: [z, xy]", "order: [z, xy]", "  traverse_z: -4 mm\n", "change.traverse_z"},
    {"order: [z, xy]", "order: [q]", "  traverse_z: -4 mm\n", NULL},
    {"approach: computed", "approach: comptued", "  standoff: 11 mm\n", NULL},
    {"  approach: computed\n", "", "  standoff: 11 mm\n", "change.approach"},
    {"measures_with: setter", "measures_with: setr", "  overtravel: 5 mm\n", NULL},
    {"switched_by: controller", "switched_by: controler", "  run_down: 8 s\n", NULL},
};

Test(sections, needs_hang_on_other_fields)
{
    for (size_t i = 0; i < sizeof needs / sizeof needs[0]; i++) {
        const char *text = changed(&arena, needs[i].old, needs[i].new_text);
        const char *cut = strstr(text, needs[i].cut);
        cr_assert(cut, "%s", needs[i].cut);
        struct world world;
        world_read(&world, arena_format(&arena, "%.*s%s", (int)(cut - text), text,
                                        cut + strlen(needs[i].cut)));
        size_t count = world.sink.counts[READER_MISSING_KEY];
        cr_expect_eq(count, needs[i].field ? 1 : 0, "%s: %zu", needs[i].new_text, count);
        for (size_t k = 0; needs[i].field && k < world.sink.findings.count; k++)
            if (strcmp(world.sink.findings.items[k].rule, "missing-key") == 0)
                cr_expect_str_eq(world.sink.findings.items[k].at.field, needs[i].field);
        world_free(&world);
    }
}

Test(sections, plate_needs_its_own)
{
    struct world world;
    char *text = changed(&arena, "measures_with: setter", "measures_with: plate");
    world_read(&world, text);
    cr_assert_eq(world.sink.findings.count, 1);
    const struct finding *finding = world.sink.findings.items;
    cr_expect_str_eq(finding->at.field, "plate");
    cr_assert_eq(finding->related_count, 1);
    cr_expect_str_eq(finding->related[0].field, "change.measures_with");
    cr_expect(view_is(source_slice(&world.source, finding->related[0].span), "plate"));
    world_free(&world);
}

/* What makes the assumed stick-out needed stands beside it: the choice, or the cutter. */
Test(sections, assumed_stickout_is_wanted_for_a_reason)
{
    static const struct {
        const char *old, *new_text, *field, *marked, *says;
    } reasons[] = {
        {"stickout_from: list", "stickout_from: assumed", "change.stickout_from", "assumed",
         "change has no assumed_stickout; a length in mm, cm, m, in is wanted"},
        {"    stickout: 31 mm\n", "", "cutters[0].stickout", "number",
         "without cutters[0].stickout, change needs its assumed_stickout"},
    };
    for (size_t i = 0; i < sizeof reasons / sizeof reasons[0]; i++) {
        struct world world;
        world_read(&world, changed(&arena, reasons[i].old, reasons[i].new_text));
        cr_assert_eq(world.sink.findings.count, 1, "%s", reasons[i].field);
        const struct finding *finding = world.sink.findings.items;
        cr_expect_str_eq(finding->at.field, "change.assumed_stickout");
        cr_expect_str_eq(finding->message, reasons[i].says);
        cr_assert_eq(finding->related_count, 3);
        cr_expect_str_eq(finding->related[0].field, reasons[i].field);
        struct view marked = source_slice(&world.source, finding->related[0].span);
        cr_expect(view_starts(marked, reasons[i].marked), "%.*s", VIEW(marked));
        cr_expect_str_eq(finding->related[1].field, "change.approach");
        cr_expect_str_eq(finding->related[2].field, "change.measures_with");
        world_free(&world);
    }
}

static const struct change kinds[] = {
    {"setter:\n", "setter: 5\nsetter_was:\n", NULL, NULL, NULL, NULL}, /* by hand below */
    {"at: {x: 650 mm, y: 40 mm}", "at: [650 mm, 40 mm]", "wrong-kind", "setter.at",
     "[650 mm, 40 mm]", "setter.at wants keys"},
    {"drive: {kind: belt, pitch: 2 mm, teeth: 20}", "drive: belt", "wrong-kind", "axes.x.drive",
     "belt", "a single value stands here"},
    {"  y: {travel: [0 mm, 500 mm], limits_enforced: yes}", "  y: [0 mm, 500 mm]", "wrong-kind",
     "axes.y", "[0 mm, 500 mm]", NULL},
    {"  top: {terminal: A4, contact: normally_closed}", "  top: A4", "wrong-kind", "inputs.top",
     "A4", NULL},
    {"  - {number: 7, description: v-bit, stickout: 1 1/8 in}", "  - 7", "wrong-kind",
     "cutters[1]", "7", NULL},
    {"allowances: {reseat: 2 mm}", "allowances: [2 mm]", "wrong-kind", "allowances", "[2 mm]",
     NULL},
    {"  - {name: stop, x: [10 mm, 40 mm], y: [0 mm, 9 mm], top: 25 mm}",
     "  {name: stop, x: [10 mm, 40 mm], y: [0 mm, 9 mm], top: 25 mm}", "wrong-kind",
     "obstacles", "{name: stop, x: [10 mm, 40 mm], y: [0 mm, 9 mm], top: 25 mm}", "a list"},
};

Test(sections, of_the_wrong_kind)
{
    check_changes(kinds + 1, sizeof kinds / sizeof kinds[0] - 1);
    struct world world;
    world_read(&world, changed(&arena, "allowances: {reseat: 2 mm}", "allowances: 2 mm"));
    cr_expect_eq(state_of(&world, FIELD_ALLOWANCES_RESEAT, 0), VALUE_WRONG);
    cr_expect_eq(state_of(&world, FIELD_ALLOWANCES_STACK, 0), VALUE_WRONG);
    world_free(&world);
    /* Nor is the order of homing missing beside the axes that cannot be read. */
    world_read(&world, changed(&arena,
                               "homing:\n  order: [z, xy]\n"
                               "  z: {end: high, rest: -3 mm, input: top}\n",
                               "homing: 5\n"));
    cr_expect_eq(state_of(&world, FIELD_HOMING_ORDER, 0), VALUE_WRONG);
    cr_expect_eq(state_of(&world, FIELD_HOMING_REST, 2), VALUE_WRONG);
    world_free(&world);
}

static const struct change twice[] = {
    {"standoff: 11 mm", "standoff: 11 mm\n  standoff: 12 mm", "duplicate-key",
     "change.standoff", "standoff", NULL},
    {"  top: {", "  top: {terminal: A5, contact: normally_open}\n  top: {", "duplicate-key",
     "inputs.top", "top", NULL},
    {"allowances: {", "allowances: {edge: 3 mm}\nallowances: {", "duplicate-key", "allowances",
     "allowances", NULL},
    {"  z:\n    travel", "  z: {rapid: 900 mm/min}\n  z:\n    travel", "duplicate-key",
     "axes.z", "z", NULL},
    {"cutters:\n", "cutters: []\ncutters:\n", "duplicate-key", "cutters", "cutters", NULL},
};

Test(sections, that_stand_twice)
{
    check_changes(twice, sizeof twice / sizeof twice[0]);
    struct world world;
    world_read(&world, changed(&arena, twice[0].old, twice[0].new_text));
    cr_expect_eq(state_of(&world, FIELD_CHANGE_STANDOFF, 0), VALUE_WRONG);
    cr_expect_eq(state_of(&world, FIELD_CHANGE_RETRACT, 0), VALUE_GIVEN);
    world_free(&world);
    world_read(&world, changed(&arena, twice[3].old, twice[3].new_text));
    cr_expect_eq(state_of(&world, FIELD_AXIS_TRAVEL, 2), VALUE_WRONG);
    cr_expect_eq(state_of(&world, FIELD_AXIS_DRIVE_LEAD, 2), VALUE_WRONG);
    cr_expect_eq(state_of(&world, FIELD_AXIS_TRAVEL, 1), VALUE_GIVEN);
    world_free(&world);
    world_read(&world, changed(&arena, twice[4].old, twice[4].new_text));
    cr_expect(world.machine.groups[GROUP_CUTTER].wrong);
    world_free(&world);
}

Test(sections, of_a_file_cut_short)
{
    /* A syntax error in the middle: what came before is read, nothing is missed. */
    struct world world;
    world_read(&world,
               changed(&arena, "  switched_by: controller", "  switched_by: [controller"));
    cr_assert_eq(world.tree.status, TREE_PARTIAL);
    cr_expect_eq(world.sink.counts[READER_MISSING_KEY], 0);
    cr_expect_eq(world.sink.counts[READER_UNKNOWN_NAME], 0);
    cr_expect_eq(state_of(&world, FIELD_SETTER_OVERTRAVEL, 0), VALUE_GIVEN);
    cr_expect_eq(state_of(&world, FIELD_CHANGE_STANDOFF, 0), VALUE_WRONG);
    cr_expect_eq(state_of(&world, FIELD_ALLOWANCES_RESEAT, 0), VALUE_WRONG);
    cr_expect(world.machine.groups[GROUP_CUTTER].wrong);
    world_free(&world);
}

Test(sections, of_an_unreadable_file)
{
    static const char *const files[] = {"", "\xff\xfe", "- a\n- b\n", "5\n", "{"};
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        struct world world;
        world_read(&world, files[i]);
        cr_expect_eq(world.machine.groups[GROUP_CUTTER].count, 0);
        cr_expect_eq(world.machine.groups[GROUP_AXIS].count, 3);
        cr_expect_eq(world.sink.counts[READER_MISSING_KEY], 0);
        machine_field(&world.machine, FIELD_AXIS_TRAVEL, 2);
        world_free(&world);
    }
}

Test(sections, through_aliases)
{
    struct world world;
    world_read(&world, changed(&arena, "  y: {travel: [0 mm, 500 mm], limits_enforced: yes}",
                               "  y: &y {travel: &t [0 mm, 500 mm], limits_enforced: yes}"));
    cr_expect_eq(world.sink.findings.count, 0);
    world_free(&world);
    world_read(&world,
               changed(&arena,
                       "  x: {travel: [0 mm, 700 mm], rapid: 5000 mm/min, drive: {kind: belt, "
                       "pitch: 2 mm, teeth: 20}}\n"
                       "  y: {travel: [0 mm, 500 mm], limits_enforced: yes}",
                       "  x: &same {travel: &t [0 mm, 500 mm]}\n  y: *same"));
    cr_expect_eq(world.sink.findings.count, 0);
    const struct field_value *travel = machine_field(&world.machine, FIELD_AXIS_TRAVEL, 1);
    cr_assert_eq(travel->state, VALUE_GIVEN);
    cr_expect_float_eq(travel->pair[1].si, 0.5, 1e-15);
    world_free(&world);
}

Test(sections, names_of_places)
{
    static const struct {
        enum field_id id;
        uint32_t record;
        int part;
        const char *path, *name;
    } places[] = {
        {FIELD_CHANGE_STANDOFF, 0, 0, "change.standoff", NULL},
        {FIELD_SPINDLE_SPEED, 0, 2, "spindle.speed.high", NULL},
        {FIELD_AXIS_TRAVEL, 2, 1, "axes.z.travel.low", "axis z"},
        {FIELD_HOMING_REST, 0, 0, "homing.x.rest", "axis x"},
        {FIELD_INPUT_SCAN, 1, 0, "inputs.puck.scan", "input puck"},
        {FIELD_OBSTACLE_TOP, 0, 0, "obstacles[0].top", "obstacle stop"},
        {FIELD_CUTTER_STICKOUT, 1, 0, "cutters[1].stickout", "cutter 7"},
        {FIELD_WAIVER_RULE, 0, 0, "waivers[0].rule", "waivers[0]"},
    };
    struct world world;
    world_read(&world, whole);
    for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
        cr_expect_str_eq(machine_path(&arena, &world.machine, places[i].id, places[i].record,
                                      places[i].part),
                         places[i].path);
        const char *name = machine_record_name(
            &arena, &world.machine, field_table[places[i].id].group, places[i].record);
        if (places[i].name)
            cr_expect_str_eq(name, places[i].name);
        else
            cr_expect_null(name);
        cr_expect_eq(field_find(view_of(places[i].path)), places[i].id);
    }
    world_free(&world);
}

Test(sections, nearest_places)
{
    static const struct {
        enum field_id id;
        uint32_t record;
        bool is_value;
        const char *key; /* of the place; NULL: the file itself, or an entry of a list */
    } places[] = {
        {FIELD_CHANGE_STANDOFF, 0, true, "standoff"},
        {FIELD_CHANGE_LIFT, 0, false, "change"},
        {FIELD_CHANGE_PARK_X, 0, true, "x"},
        {FIELD_SPINDLE_SHOE_DIAMETER, 0, false, "spindle"},
        {FIELD_PLATE_GIVE, 0, false, NULL},
        {FIELD_AXIS_RAPID, 1, false, "y"},
        {FIELD_AXIS_DRIVE_LEAD, 0, false, "drive"},
        {FIELD_HOMING_REST, 0, false, "homing"},
        {FIELD_INPUT_SCAN, 0, false, "top"},
        {FIELD_CUTTER_SHANK, 1, false, NULL},
    };
    struct world world;
    world_read(&world, whole);
    for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
        bool is_value;
        const struct tree_node *node =
            machine_nearest(&world.machine, places[i].id, places[i].record, &is_value);
        cr_assert_not_null(node);
        cr_expect_eq(is_value, places[i].is_value, "%s", field_table[places[i].id].key);
        cr_expect(view_is(node->key, places[i].key ? places[i].key : ""), "%s: %.*s",
                  field_table[places[i].id].key, VIEW(node->key));
    }
    world_free(&world);
}

/* Many records cost what they are, and many mistakes are counted but not all told. */
Test(sections, of_many_cutters)
{
    enum { MANY = 20000 };
    const char *cut = strstr(whole, "  - number: 4");
    struct buffer text;
    buffer_init(&text, &arena);
    buffer_add(&text, (struct view){whole, (size_t)(cut - whole)});
    for (int i = 1; i <= MANY; i++)
        buffer_format(&text, "  - {number: %d, description: %s, stickout: 30 m%s}\n", i,
                      i % 2 ? "a" : "b", i % 2 ? "m" : "q");
    struct world world;
    world_read(&world, buffer_string(&text));
    cr_expect_eq(world.machine.groups[GROUP_CUTTER].count, MANY);
    cr_expect_eq(world.sink.counts[READER_UNIT_UNKNOWN], MANY / 2);
    cr_expect_leq(world.sink.findings.count, FINDINGS_A_NAME + 1);
    cr_expect_float_eq(machine_field(&world.machine, FIELD_CUTTER_NUMBER, MANY - 1)->si, MANY,
                       0);
    world_free(&world);
}
