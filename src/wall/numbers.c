/* The numbers that the controller is to have, and what is to be compared of a cutter. */
#include "draw/letters.h"
#include "wall/internal.h"

/* What a controller, or its change, may have besides what is chosen: by section, and by key. */
static const char *const sections[] = {"setter", "setters", "plate", "homing", NULL};
static const char *const keys[] = {"travel",
                                   "soft_limits",
                                   "rapid",
                                   "acceleration",
                                   "drive.steps",
                                   "contact",
                                   "change.feed_override_max",
                                   NULL};

static const struct paper_table numbers = {
    "numbers for the controller",
    4,
    {{"same", 1300}, {"field of the file", 5000}, {"value", 4500}, {"what it is", 7200}}};

/* What every axis has stands in one row. */
enum { AXES_SHOWN = 3 };

static const struct paper_table by_axis = {
    "numbers of the axes",
    1 + AXES_SHOWN,
    {{"of each axis", 7500}, {"X", 3500}, {"Y", 3500}, {"Z", 3500}}};

static bool is_of_axes(enum field_id id)
{
    return field_table[id].group == GROUP_AXIS || field_table[id].group == GROUP_HOMING;
}

/* Nobody types days and names into a controller. */
static bool is_for_controller(enum field_id id)
{
    const struct field *field = &field_table[id];
    bool has_group = field->group <= GROUP_INPUT || field->group == GROUP_SETTER;
    if (field->kind == KIND_DATE || field->kind == KIND_TEXT || !has_group)
        return false;
    if (field->nature == NATURE_CHOSEN)
        return true;
    for (size_t i = 0; sections[i]; i++)
        if (field_is_in(id, sections[i]))
            return true;
    for (size_t i = 0; keys[i]; i++)
        if (strcmp(field->key, keys[i]) == 0)
            return true;
    return false;
}

static void add_number(void *user, enum field_id id, uint32_t record, const char *path)
{
    struct poster *poster = user;
    const struct paper_cell cells[] = {
        {.ticks = arena_format(poster->arena, "the controller has the same: %s", path)},
        {.text = path},
        {.text =
             field_value_text(poster->arena, id, machine_field(poster->machine, id, record)),
         .bold = field_table[id].nature == NATURE_CHOSEN},
        {.text = field_table[id].meaning}};
    paper_row(&poster->paper, &numbers, cells, NULL);
}

static bool is_for_table(enum field_id id)
{
    return is_for_controller(id) && !is_of_axes(id);
}

static void add_axes(struct poster *poster, enum field_id id)
{
    struct arena *arena = poster->arena;
    const struct machine *machine = poster->machine;
    struct paper_cell cells[1 + AXES_SHOWN] = {
        {.text =
             arena_format(arena, "%s\n%s", field_path(arena, id), field_table[id].meaning)}};
    bool any = false;
    for (uint32_t axis = 0; axis < AXES_SHOWN; axis++) {
        bool given = axis < machine->groups[field_table[id].group].count &&
                     machine_field(machine, id, axis)->state == VALUE_GIVEN &&
                     machine_is_written(machine, id, axis);
        any |= given;
        cells[1 + axis].text = "";
        if (!given)
            continue;
        const char *path = machine_path(arena, machine, id, axis, 0);
        cells[1 + axis] = (struct paper_cell){
            .ticks = arena_format(arena, "the controller has the same: %s", path),
            .text = field_value_text(arena, id, machine_field(machine, id, axis)),
            .bold = field_table[id].nature == NATURE_CHOSEN};
    }
    if (any)
        paper_row(&poster->paper, &by_axis, cells, NULL);
}

void wall_add_numbers(struct poster *poster)
{
    paper_heading(&poster->paper, "Numbers for the controller");
    paper_text(
        &poster->paper,
        "Compare each with what the controller and its change have, in the same unit, and "
        "tick it. What was chosen is in bold, the rest was measured or looked up; a "
        "tolerance behind ± is not typed in. What the controller does not have stays "
        "without a tick.",
        false);
    size_t before = poster->paper.blocks.count;
    wall_each_value(poster, is_for_table, add_number, poster);
    for (uint32_t id = 0; id < FIELD_COUNT; id++)
        if (is_of_axes((enum field_id)id) && is_for_controller((enum field_id)id))
            add_axes(poster, (enum field_id)id);
    if (poster->paper.blocks.count == before)
        paper_text(&poster->paper, "The file gives none of them.", true);
}

/* Several values a row, since they are short and the page is one. */
enum { VALUES_A_ROW = 3, CELLS_A_VALUE = 2 };

static const struct paper_table of_cutter = {
    "what the file says of this cutter",
    VALUES_A_ROW *CELLS_A_VALUE,
    {{NULL, 700}, {NULL, 5300}, {NULL, 700}, {NULL, 5300}, {NULL, 700}, {NULL, 5300}}};

/* Its number and what it is called stand elsewhere on the page. */
static bool is_compared(const struct poster *poster, enum field_id id)
{
    return id != FIELD_CUTTER_NUMBER && id != FIELD_CUTTER_DESCRIPTION &&
           machine_field(poster->machine, id, poster->wall->cutter)->state == VALUE_GIVEN;
}

void wall_add_cutter(struct poster *poster)
{
    struct arena *arena = poster->arena;
    struct paper_cell cells[VALUES_A_ROW * CELLS_A_VALUE] = {{.text = ""}};
    uint32_t count = 0, end = group_table[GROUP_CUTTER].end;
    const struct field_value *description =
        machine_field(poster->machine, FIELD_CUTTER_DESCRIPTION, poster->wall->cutter);
    paper_heading(&poster->paper,
                  description->state == VALUE_GIVEN
                      ? arena_format(arena, "Compare with %s, %s, and tick", poster->subject,
                                     text_cut(arena, description->text, 40))
                      : arena_format(arena, "Compare with %s, and tick", poster->subject));
    for (uint32_t i = group_table[GROUP_CUTTER].first; i < end; i++) {
        enum field_id id = (enum field_id)i;
        if (!is_compared(poster, id))
            continue;
        const char *key = field_table[id].key;
        const char *value = field_value_text(
            arena, id, machine_field(poster->machine, id, poster->wall->cutter));
        cells[count++] = (struct paper_cell){
            .ticks = arena_format(arena, "this cutter has the same: %s", key)};
        cells[count++] = (struct paper_cell){.text = arena_format(arena, "%s %s", key, value)};
        if (count < of_cutter.count)
            continue;
        paper_row(&poster->paper, &of_cutter, cells, NULL);
        count = 0;
    }
    for (uint32_t i = count; i < of_cutter.count; i++)
        cells[i] = (struct paper_cell){.text = ""};
    if (count)
        paper_row(&poster->paper, &of_cutter, cells, NULL);
}
