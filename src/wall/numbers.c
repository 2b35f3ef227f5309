/* The numbers that the controller is to have, and every value of the file. */
#include "wall/internal.h"

/* What a controller, or its change, may have besides what is chosen: by section, and by key. */
static const char *const sections[] = {"setter", "plate", "homing", NULL};
static const char *const keys[] = {"travel",      "soft_limits", "rapid", "acceleration",
                                   "drive.steps", "contact",     NULL};

static const struct paper_table numbers = {
    "numbers for the controller",
    4,
    {{"same", 1500}, {"field of the file", 5000}, {"value", 3500}, {"what it is", 8000}}};

static const struct paper_table values = {
    "every value of the file", 3, {{"field", 7000}, {"value", 8000}, {"line", 3000}}};

/* Nobody types days and names into a controller. */
static bool is_for_controller(enum field_id id)
{
    const struct field *field = &field_table[id];
    if (field->kind == KIND_DATE || field->kind == KIND_TEXT || field->group > GROUP_INPUT)
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

/* Calls `tell` for every value that the file gives, in the order of the fields. */
static void each_value(struct poster *poster, bool (*wanted)(enum field_id id),
                       void (*tell)(struct poster *poster, enum field_id id, uint32_t record))
{
    const struct machine *machine = poster->machine;
    for (uint32_t group = 0; group < GROUP_COUNT; group++)
        for (uint32_t record = 0; record < machine->groups[group].count; record++)
            for (uint32_t id = group_table[group].first; id < group_table[group].end; id++)
                if (machine_field(machine, (enum field_id)id, record)->state == VALUE_GIVEN &&
                    machine_is_written(machine, (enum field_id)id, record) &&
                    (!wanted || wanted((enum field_id)id)))
                    tell(poster, (enum field_id)id, record);
}

static const char *path_of(const struct poster *poster, enum field_id id, uint32_t record)
{
    return machine_lasting_path(poster->arena, poster->machine,
                                machine_path(poster->arena, poster->machine, id, record, 0));
}

static void add_number(struct poster *poster, enum field_id id, uint32_t record)
{
    const char *path = path_of(poster, id, record);
    const struct paper_cell cells[] = {
        {.ticks = arena_format(poster->arena, "the controller has the same: %s", path)},
        {.text = path},
        {.text =
             field_value_text(poster->arena, id, machine_field(poster->machine, id, record)),
         .bold = field_table[id].nature == NATURE_CHOSEN},
        {.text = field_table[id].meaning}};
    paper_row(&poster->paper, &numbers, cells, NULL);
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
    each_value(poster, is_for_controller, add_number);
    if (poster->paper.blocks.count == before)
        paper_text(&poster->paper, "The file gives none of them.", true);
}

static void add_value(struct poster *poster, enum field_id id, uint32_t record)
{
    const struct field_value *value = machine_field(poster->machine, id, record);
    const char *text = field_value_text(poster->arena, id, value);
    const char *path = path_of(poster, id, record);
    const char *line = "";
    if (value->node) {
        struct span span = value->node->span;
        struct source *source = source_holding(poster->machine->tree->source, &span);
        line = arena_format(poster->arena, "%u",
                            source_place(source, span.start, COLUMN_BYTES).line);
    }
    const struct paper_cell cells[] = {{.text = path}, {.text = text}, {.text = line}};
    paper_row(&poster->paper, &values, cells, &(struct paper_value){path, text});
}

void wall_add_values(struct poster *poster)
{
    paper_screen(&poster->paper);
    paper_heading(&poster->paper, "Every value of the file, as it was");
    paper_text(&poster->paper, "For screens, not printed: what the sheet was made from.",
               false);
    each_value(poster, NULL, add_value);
}
