/* Several setters: the one that the change uses, and those that stand in its way. */
#include <criterion/criterion.h>

#include <string.h>

#include "world.h"

/* The setter of `whole`, and another one whose width its tests give. */
#define TWO                                                                                    \
    "setters:\n"                                                                               \
    "  - name: left\n"                                                                         \
    "    at: {x: 770 mm, y: 30 mm}\n"                                                          \
    "    nose_contact: -125 mm\n"                                                              \
    "    overtravel: 4 mm\n"                                                                   \
    "    input: setter-in\n"                                                                   \
    "  - name: right\n"                                                                        \
    "    at: {x: 100 mm ± 1 mm, y: 30 mm}\n"                                                  \
    "    nose_contact: -120 mm ± 0.2 mm\n"                                                    \
    "    body: 40 mm ± 2 mm\n"

static const char machine_text[] =
    "proveout: 1\n"
    "table: {nose_contact: -165 mm ± 0.1 mm}\n" TWO "obstacles:\n"
    "  - {name: fence, x: [0 mm, 1 mm], y: [0 mm, 1 mm], top: 3 mm}\n"
    "change: {measures_with: setter, setter: left}\n";

static struct world world;

static void begin(void)
{
    world_read(&world, machine_text);
}

static void end(void)
{
    world_free(&world);
}

TestSuite(setters, .init = begin, .fini = end);

static const char *path_of(enum field_id id, uint32_t record)
{
    return machine_path(&world.arena, &world.machine, id, record, 0);
}

static void check_end(const struct field_value *value, double si, double tolerance)
{
    cr_expect_float_eq(value->si, si, 1e-12);
    cr_expect_float_eq(value->tolerance, tolerance, 1e-12);
}

Test(setters, the_one_that_is_used_is_the_setter)
{
    const struct field_value *x = machine_field(&world.machine, FIELD_SETTER_AT_X, 0);
    cr_assert_eq(x->state, VALUE_GIVEN);
    cr_expect_float_eq(x->si, 0.77, 1e-12);
    cr_expect_str_eq(path_of(FIELD_SETTER_AT_X, 0), "setters[0].at.x");
    cr_expect_str_eq(path_of(FIELD_SETTER_BODY, 0), "setters[0].body");
    cr_expect_eq(machine_field(&world.machine, FIELD_SETTER_BODY, 0)->state, VALUE_ABSENT);
    cr_expect_not(machine_is_read_once(&world.machine, FIELD_SETTER_AT_X, 0));
}

Test(setters, the_others_are_obstacles)
{
    const struct machine_group *obstacles = &world.machine.groups[GROUP_OBSTACLE];
    cr_assert_eq(obstacles->written, 1);
    cr_assert_eq(obstacles->count, 2);
    const struct field_value *x = machine_field(&world.machine, FIELD_OBSTACLE_X, 1);
    cr_assert_eq(x->state, VALUE_GIVEN);
    check_end(&x->pair[0], 0.08, 0.002);
    check_end(&x->pair[1], 0.12, 0.002);
    const struct field_value *top = machine_field(&world.machine, FIELD_OBSTACLE_TOP, 1);
    cr_assert_eq(top->state, VALUE_GIVEN);
    check_end(top, 0.045, 0.0003);
    cr_expect_str_eq(machine_record_name(&world.arena, &world.machine, GROUP_OBSTACLE, 1),
                     "setter right");
    cr_expect_str_eq(path_of(FIELD_OBSTACLE_X, 1), "setters[1].at.x");
    cr_expect_str_eq(path_of(FIELD_OBSTACLE_TOP, 1), "setters[1].nose_contact");
    cr_expect(machine_is_read_once(&world.machine, FIELD_SETTERS_AT_X, 1));
    cr_expect(machine_is_read_once(&world.machine, FIELD_TABLE_NOSE_CONTACT, 0));
    cr_expect_not(machine_is_read_once(&world.machine, FIELD_OBSTACLE_X, 0));
}

Test(setters, named_by_people)
{
    struct field_place place;
    static const struct {
        const char *path;
        enum field_id field;
        uint32_t record;
    } asked[] = {
        {"setters[name=left].at.x", FIELD_SETTER_AT_X, 0},
        {"setters[0].at.x", FIELD_SETTER_AT_X, 0},
        {"setter.at.x", FIELD_SETTER_AT_X, 0},
        {"setters[name=right].at.x", FIELD_SETTERS_AT_X, 1},
        {"setters[1].name", FIELD_SETTERS_NAME, 1},
    };
    for (size_t i = 0; i < sizeof asked / sizeof *asked; i++) {
        cr_assert_eq(
            machine_resolve(&world.arena, &world.machine, view_of(asked[i].path), &place, 1), 1,
            "%s", asked[i].path);
        cr_expect_eq(place.field, asked[i].field, "%s", asked[i].path);
        cr_expect_eq(place.record, asked[i].record, "%s", asked[i].path);
    }
    cr_expect_str_eq(machine_lasting_path(&world.arena, &world.machine, "setters[1].at.x"),
                     "setters[name=right].at.x");
}

static uint32_t obstacles_of(const char *text)
{
    struct world other;
    world_read(&other, text);
    const struct machine_group *obstacles = &other.machine.groups[GROUP_OBSTACLE];
    uint32_t count = obstacles->wrong ? UINT32_MAX : obstacles->count;
    world_free(&other);
    return count;
}

Test(setters, stand_in_the_way_where_nothing_measures_with_them)
{
    static const char one[] = "setter: {at: {x: 1 mm, y: 1 mm}, body: 4 mm}\n";
    static const char listed[] =
        "obstacles:\n  - {name: a, x: [0 mm, 2 mm], y: [0 mm, 2 mm]}\n";
    struct arena *arena = &world.arena;
    static const char *const with[] = {"setter", "plate", "hand"};
    for (size_t i = 0; i < 3; i++) {
        const char *change = arena_format(arena, "change: {measures_with: %s}\n", with[i]);
        cr_expect_eq(obstacles_of(arena_format(arena, "%s%s", one, change)), i > 0);
        cr_expect_eq(obstacles_of(arena_format(arena, "%s%s%s", one, listed, change)), 1);
        cr_expect_eq(obstacles_of(arena_format(arena, TWO "%s", change)), i ? 2 : UINT32_MAX);
        cr_expect_eq(obstacles_of(arena_format(
                         arena, "setter: {rides_on: gantry, body: 4 mm}\n%s", change)),
                     0);
    }
    struct world alone; /* nothing else stands there */
    world_read(&alone, arena_format(arena, TWO "change: {measures_with: plate}\n"));
    cr_expect(machine_is_read_once(&alone.machine, FIELD_TABLE_NOSE_CONTACT, 0));
    cr_expect_not(machine_is_read_once(&alone.machine, FIELD_WORK_HEIGHT, 0));
    world_free(&alone);
    cr_expect_eq(obstacles_of("change: {measures_with: plate}\n"), 0);
    cr_expect_eq(obstacles_of("setters: []\nchange: {measures_with: setter}\n"), 0);
}

#define SETTER                                                                                 \
    "setter:\n  at: {x: 770 mm, y: 30 mm}\n  nose_contact: -125 mm\n  overtravel: 4 mm\n"      \
    "  input: setter-in\n"

/* The message of the first finding of a rule at a field; NULL where there is none. */
static const char *told(const struct world *read, const char *rule, const char *field)
{
    for (size_t i = 0; i < read->sink.findings.count; i++) {
        const struct finding *finding = &read->sink.findings.items[i];
        if (strcmp(finding->rule, rule) == 0 && strcmp(finding->at.field, field) == 0)
            return finding->message;
    }
    return NULL;
}

Test(setters, told_apart)
{
    static const struct {
        const char *list, *change;
        const char *rule, *field;
        const char *says; /* part of the message; NULL: there is no such finding */
    } cases[] = {
        {TWO, ", setter: left", "missing-key", "setters[0].input", NULL},
        {TWO, ", setter: left", "unknown-name", "change.setter", NULL},
        {TWO, ", setter: lift", "unknown-name", "change.setter", "left is the nearest"},
        {TWO, ", setter: at the back", "unknown-name", "change.setter",
         "there are left, right"},
        {TWO, "", "missing-key", "change.setter", "left, right"},
        {TWO, ", setter: right", "missing-key", "setters[1].overtravel", "setters[1] has no"},
        {TWO SETTER, ", setter: left", "given-twice", "setters", "which of them"},
        {TWO, ", setter: left", "given-twice", "setters", NULL},
        {"setters: 5\n", ", setter: left", "unknown-name", "change.setter", NULL},
        {"setters:\n  - {body: 4 mm}\n", ", setter: a", "unknown-name", "change.setter",
         "none of them has a name"},
        {"setters:\n  - {name: a}\n  - {name: a}\n", ", setter: a", "unknown-name",
         "change.setter", "names 2 of the setters"},
        {"setters:\n  - {name: a}\n  - {body: 4 mm}\n", ", setter: a", "missing-key",
         "setters[1].name", "has no name"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct world read;
        world_read(&read, arena_format(&world.arena,
                                       "%schange: {measures_with: setter%s}\n"
                                       "inputs: {setter-in: {terminal: 4}}\n",
                                       cases[i].list, cases[i].change));
        const char *message = told(&read, cases[i].rule, cases[i].field);
        cr_expect_eq(message != NULL, cases[i].says != NULL, "%zu: %s", i, message);
        if (message && cases[i].says)
            cr_expect(strstr(message, cases[i].says) != NULL, "%zu: %s", i, message);
        world_free(&read);
    }
}

/* `setter_` beside `setter` looks like a mistyped list. */
Test(setters, one_beside_a_key_like_the_list)
{
    static const struct change changes[] = {
        {"setter:", "setter_: {}\nsetter:", "unknown-key", "setter_", "setter_", NULL},
        {"setter:", "setterz: {height: 4 mm}\nsetter:", "unknown-key", "setterz", "setterz",
         NULL},
    };
    check_changes(changes, sizeof changes / sizeof *changes);
}
