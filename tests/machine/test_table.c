/* The table of fields: every row makes sense by itself and beside its neighbours. */
#include <criterion/criterion.h>

#include <math.h>

#include "machine/internal.h"
#include "quantity/quantity.h"
#include "text/utf8.h"

static struct arena arena;

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(table, .init = begin, .fini = end);

static bool is_number(enum field_kind kind)
{
    return kind == KIND_QUANTITY || kind == KIND_POSITION || kind == KIND_PAIR ||
           kind == KIND_LIST;
}

static void check_choices(const struct field *field)
{
    bool choice = field->kind == KIND_CHOICE || field->kind == KIND_WORDS;
    cr_expect_eq(choice, field->choices != NULL, "%s", field->key);
    for (size_t i = 0; choice && i < field_choice_count(field); i++) {
        struct view word = field_choice(field, i);
        cr_expect(word.size, "%s has an empty choice", field->key);
        cr_expect_eq(field_choice_find(field, word), (int)i, "%s has %.*s twice", field->key,
                     VIEW(word));
    }
    if (choice)
        cr_expect_geq(field_choice_count(field), 2, "%s is no choice", field->key);
}

static void check_unit(enum field_id id)
{
    const struct field *field = &field_table[id];
    bool number = is_number(field->kind);
    if (!number)
        cr_expect(dimension_is_none(field->dimension) && !*field->unit, "%s", field->key);
    if (*field->unit)
        cr_expect(unit_fits(unit_read(view_of(field->unit)), field->dimension),
                  "%s cannot be asked in %s", field->key, field->unit);
    /* What is bare is bare by its dimension. */
    else if (number)
        cr_expect(unit_fits(UNIT_BARE, field->dimension), "%s needs a unit", field->key);
}

static void check_range(enum field_id id)
{
    const struct field *field = &field_table[id];
    double low = field->plausible_low, high = field->plausible_high;
    cr_expect_eq(isnan(low), isnan(high), "%s", field->key);
    cr_expect(isnan(low) || low < high, "%s", field->key);
    cr_expect(isnan(low) || is_number(field->kind) || field->kind == KIND_COUNT, "%s",
              field->key);
    if (field->kind == KIND_POSITION)
        cr_expect(low < 0 && high > 0, "%s", field->key);
}

static void check_default(enum field_id id)
{
    const struct field *field = &field_table[id];
    struct field_value value;
    if (!field->fallback)
        return;
    const char *trouble = field_read_text(&arena, id, view_of(field->fallback), &value);
    cr_expect(!trouble, "%s: %s", field->key, trouble);
    cr_expect(!field->needed, "%s", field->key);
    if (trouble || !is_number(field->kind) || isnan(field->plausible_low))
        return;
    cr_expect(value.si >= field->plausible_low && value.si <= field->plausible_high,
              "the default of %s is not plausible", field->key);
}

static void check_words(const struct field *field)
{
    size_t cells = utf8_cells(view_of(field->meaning));
    cr_expect(cells > 0 && cells <= 100, "%s means: %s", field->key, field->meaning);
    cr_expect(strlen(field->measure) > 20, "%s is not explained", field->key);
    cr_expect_neq(field->meaning[cells - 1], '.', "%s", field->key);
    cr_expect(!strstr(field->measure, "  ") && !strchr(field->measure, '!'), "%s", field->key);
    cr_expect_eq(field->measure[strlen(field->measure) - 1], '.', "%s", field->key);
}

Test(table, rows_are_consistent)
{
    for (enum field_id id = 0; id < FIELD_COUNT; id++) {
        cr_assert(field_table[id].key, "row %d is empty", (int)id);
        check_choices(&field_table[id]);
        check_unit(id);
        check_range(id);
        check_default(id);
        check_words(&field_table[id]);
    }
}

Test(table, groups_stand_together)
{
    for (enum field_id id = 0; id < FIELD_COUNT; id++) {
        const struct group_row *row = &group_table[field_table[id].group];
        cr_expect(id >= row->first && id < row->end, "%s", field_table[id].key);
        cr_expect_eq(row->first + field_slot(id), id);
    }
    uint32_t sum = 0;
    for (int group = 0; group < GROUP_COUNT; group++)
        sum += field_group_width((enum field_group)group);
    cr_expect_eq(sum, FIELD_COUNT);
}

/* Is `a` a section on the way to `b`, or the same? */
static bool leads_to(const char *a, const char *b)
{
    size_t size = strlen(a);
    return strncmp(a, b, size) == 0 && (b[size] == '\0' || b[size] == '.');
}

Test(table, keys_are_distinct_and_sections_together)
{
    for (enum field_id a = 0; a < FIELD_COUNT; a++) {
        for (enum field_id b = a + 1; b < FIELD_COUNT; b++) {
            if (field_table[a].group != field_table[b].group)
                continue;
            cr_expect(!leads_to(field_table[a].key, field_table[b].key) &&
                          !leads_to(field_table[b].key, field_table[a].key),
                      "%s and %s", field_table[a].key, field_table[b].key);
        }
    }
    /* Walking the sections meets every field once. */
    for (int group = 0; group < GROUP_COUNT; group++) {
        struct section all = section_of_group((enum field_group)group), step, again;
        bool leaf;
        for (enum field_id id = all.first; id < all.end; id = step.end) {
            struct view name = section_step(&all, id, &step, &leaf);
            enum field_id hint = all.first;
            bool found = section_find(&all, name, &hint, &again, &leaf);
            cr_expect(found && again.first == step.first && again.end == step.end, "%.*s",
                      VIEW(name));
        }
    }
}

Test(table, proposable_numbers_are_the_chosen_ones)
{
    static const enum field_id chosen[] = {
        FIELD_CHANGE_STANDOFF,
        FIELD_CHANGE_PROBE_STROKE,
        FIELD_CHANGE_PROBE_FEED,
        FIELD_CHANGE_APPROACH_FEED,
        FIELD_SPINDLE_DWELL_AFTER_STOP,
        FIELD_SPINDLE_DWELL_AFTER_START,
        FIELD_CHANGE_TRAVERSE_Z,
        FIELD_CHANGE_RETRACT,
        FIELD_CHANGE_PARK_X,
        FIELD_CHANGE_ASSUMED_STICKOUT,
        FIELD_CHANGE_APPROACH_Z,
        FIELD_CHANGE_LIFT,
    };
    for (size_t i = 0; i < sizeof chosen / sizeof chosen[0]; i++)
        cr_expect_eq(field_table[chosen[i]].nature, NATURE_CHOSEN);
    for (enum field_id id = 0; id < FIELD_COUNT; id++) {
        const struct field *field = &field_table[id];
        if (leads_to("allowances", field->key) || leads_to("setter", field->key))
            cr_expect(field->nature != NATURE_CHOSEN || !is_number(field->kind), "%s",
                      field->key);
        if (field->nature == NATURE_CHOSEN && is_number(field->kind))
            cr_expect(isfinite(field->plausible_low), "%s has no bounds", field->key);
    }
}

static const struct {
    const char *path;
    enum field_id id;
} paths[] = {
    {"setter.at.x", FIELD_SETTER_AT_X},
    {"proveout", FIELD_PROVEOUT},
    {"homing.order", FIELD_HOMING_ORDER},
    {"homing.*.rest", FIELD_HOMING_REST},
    {"homing.z.rest", FIELD_HOMING_REST},
    {"axes.*.travel", FIELD_AXIS_TRAVEL},
    {"axes.x.travel", FIELD_AXIS_TRAVEL},
    {"axes.z.travel.low", FIELD_AXIS_TRAVEL},
    {"axes.z.drive.lead", FIELD_AXIS_DRIVE_LEAD},
    {"spindle.speed.high", FIELD_SPINDLE_SPEED},
    {"inputs.*.scan", FIELD_INPUT_SCAN},
    {"inputs.setter-in.scan", FIELD_INPUT_SCAN},
    {"inputs.box 1.in 2.scan", FIELD_INPUT_SCAN},
    {"cutters[].stickout", FIELD_CUTTER_STICKOUT},
    {"cutters[2].stickout", FIELD_CUTTER_STICKOUT},
    {"cutters[number=3].stickout", FIELD_CUTTER_STICKOUT},
    {"cutter 3 stickout", FIELD_CUTTER_STICKOUT},
    {"cutter 3 offset.x", FIELD_CUTTER_OFFSET_X},
    {"obstacle toe clamp top", FIELD_OBSTACLE_TOP},
    {"cutter 3", FIELD_COUNT},
    {"cutter stickout", FIELD_COUNT},
    {"cutter 3 setter.at.x", FIELD_COUNT},
    {"obstacles[0].x.high", FIELD_OBSTACLE_X},
    {"obstacles[name=v.2].top", FIELD_OBSTACLE_TOP},
    {"waivers[0].rule", FIELD_WAIVER_RULE},
    {"agrees_with[1].within", FIELD_AGREEMENT_WITHIN},
    {"", FIELD_COUNT},
    {".", FIELD_COUNT},
    {"setter", FIELD_COUNT},
    {"setter.at", FIELD_COUNT},
    {"setter.at.x.low", FIELD_COUNT},
    {"axes.a.travel", FIELD_COUNT},
    {"axes.x", FIELD_COUNT},
    {"axes.travel", FIELD_COUNT},
    {"inputs.scan", FIELD_COUNT},
    {"inputs..scan", FIELD_COUNT},
    {"cutters.stickout", FIELD_COUNT},
    {"cutters[x].stickout", FIELD_COUNT},
    {"cutters[=3].stickout", FIELD_COUNT},
    {"cutters[2.stickout", FIELD_COUNT},
    {"cutters[2]", FIELD_COUNT},
    {"stickout", FIELD_COUNT},
};

Test(table, finds_fields_by_path)
{
    for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++)
        cr_expect_eq(field_find(view_of(paths[i].path)), paths[i].id, "%s", paths[i].path);
    for (enum field_id id = 0; id < FIELD_COUNT; id++)
        cr_expect_eq(field_find(view_of(field_path(&arena, id))), id, "%s",
                     field_path(&arena, id));
}

static const struct {
    const char *path, *near;
} near_paths[] = {
    {"change.standof", "change.standoff"},
    {"axes.x.travl", "axes.*.travel"},
    {"cutters[3].stikout", "cutters[].stickout"},
    {"inputs.top.skan", "inputs.*.scan"},
    {"standoff", "change.standoff"},
    {"probe_stroke", "change.probe_stroke"},
    {"something else altogether", NULL},
    {"", NULL},
};

Test(table, finds_the_nearest_path)
{
    for (size_t i = 0; i < sizeof near_paths / sizeof near_paths[0]; i++) {
        const char *near = field_nearest(&arena, view_of(near_paths[i].path));
        if (near_paths[i].near)
            cr_expect(near && strcmp(near, near_paths[i].near) == 0, "%s: %s",
                      near_paths[i].path, near ? near : "nothing");
        else
            cr_expect(!near, "%s: %s", near_paths[i].path, near);
    }
}

Test(table, names_kinds_and_natures)
{
    for (int kind = 0; kind <= KIND_VERSION; kind++)
        cr_expect(*field_kind_name((enum field_kind)kind));
    cr_expect_str_eq(field_nature_name(NATURE_CHOSEN), "chosen");
    cr_expect_str_eq(field_nature_name(NATURE_MEASURED), "measured");
    cr_expect_str_eq(field_nature_name(NATURE_FACT), "fact");
}
