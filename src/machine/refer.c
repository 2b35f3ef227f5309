/* Names that refer to inputs, settled when all inputs are known. */
#include "machine/internal.h"

#include "text/escape.h"
#include "text/nearest.h"
#include "tree/change.h"

static bool find_input(const struct machine_group *inputs, struct view name, uint32_t *index)
{
    for (uint32_t i = 0; i < inputs->count; i++) {
        if (view_equal(inputs->nodes[i]->key, name)) {
            *index = i;
            return true;
        }
    }
    return false;
}

/* Empty where none is near. */
static struct view nearest_input(struct arena *arena, const struct machine_group *inputs,
                                 struct view name)
{
    struct view *names = ARENA_ARRAY(arena, struct view, inputs->count);
    for (uint32_t i = 0; i < inputs->count; i++)
        names[i] = inputs->nodes[i]->key;
    int found = nearest_of(name, names, inputs->count);
    return found < 0 ? (struct view){0} : names[found];
}

static void complain_name(struct reader *reader, enum field_id id, uint32_t record,
                          struct view name)
{
    struct arena *arena = reader->arena;
    const struct machine_group *inputs = &reader->machine->groups[GROUP_INPUT];
    const struct field_value *value = machine_field(reader->machine, id, record);
    const char *path = machine_path(arena, reader->machine, id, record, 0);
    struct view meant = nearest_input(arena, inputs, name);
    const char *near = meant.size ? escape_short(arena, meant, NAME_CELLS) : NULL;
    struct finding *finding =
        sink_report(reader->sink, READER_UNKNOWN_NAME, value->node->span, path,
                    "%s names no input; %s", machine_quoted(arena, name),
                    near            ? arena_format(arena, "%s is the nearest", near)
                    : inputs->count ? "none of those listed under inputs is near"
                                    : "none is listed under inputs");
    if (finding)
        finding->put_right = near ? arena_format(arena, "write %s", near)
                                  : "describe the input under inputs, with this name";
    if (near)
        finding_fix(arena, finding, value->node->span, change_quoted(arena, meant, true),
                    finding ? finding->put_right : NULL);
}

void machine_refer_inputs(struct reader *reader)
{
    const struct machine *machine = reader->machine;
    const struct machine_group *inputs = &machine->groups[GROUP_INPUT];
    /* A list that is wrong or cut short may have held the name. */
    bool known = !inputs->wrong && machine->tree->status == TREE_WHOLE;
    for (enum field_id id = 0; id < FIELD_COUNT; id++) {
        if (field_table[id].kind != KIND_INPUT)
            continue;
        uint32_t count = machine->groups[field_table[id].group].count;
        for (uint32_t record = 0; record < count; record++) {
            struct field_value *value = machine_field_put(reader->machine, id, record);
            if (value->state != VALUE_GIVEN || find_input(inputs, value->text, &value->index))
                continue;
            if (known)
                complain_name(reader, id, record, value->text);
            *value = (struct field_value){.state = VALUE_WRONG, .node = value->node};
        }
    }
}
