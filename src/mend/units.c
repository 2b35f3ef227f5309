/* The unit in which a number was typed. */
#include "mend/trials.h"

enum { UNITS_MOST = 64 };

struct units {
    unit_id items[UNITS_MOST];
    size_t count;
};

static bool has_unit(const struct units *units, unit_id unit)
{
    for (size_t i = 0; i < units->count; i++)
        if (units->items[i] == unit)
            return true;
    return false;
}

static void add_unit(struct units *units, unit_id unit)
{
    if (!has_unit(units, unit) && units->count < UNITS_MOST)
        units->items[units->count++] = unit;
}

static void add_of_value(struct units *units, const struct field *field,
                         const struct field_value *value)
{
    if (value->state != VALUE_GIVEN)
        return;
    if (field->kind == KIND_PAIR) {
        add_unit(units, value->pair[0].unit);
        add_unit(units, value->pair[1].unit);
    } else if (field->kind == KIND_QUANTITY || field->kind == KIND_POSITION) {
        add_unit(units, value->unit);
    }
}

/* The units that the file has elsewhere for quantities of this dimension. */
static void add_used(struct units *units, const struct machine *machine,
                     const struct tree_node *but, struct dimension dimension)
{
    for (uint32_t id = 0; id < FIELD_COUNT; id++) {
        const struct field *field = &field_table[id];
        if (!dimension_equal(field->dimension, dimension))
            continue;
        for (uint32_t i = 0; i < machine->groups[field->group].count; i++) {
            const struct field_value *value = machine_field(machine, (enum field_id)id, i);
            if (value->node != but)
                add_of_value(units, field, value);
        }
    }
}

/* How many bytes of a text are one plain number; 0: it does not begin with one. */
static size_t number_size(struct view text)
{
    size_t at = text.size && (text.data[0] == '-' || text.data[0] == '+');
    size_t digits = 0, points = 0;
    for (; at < text.size; at++)
        if (text.data[at] >= '0' && text.data[at] <= '9')
            digits++;
        else if (text.data[at] == '.' && !points)
            points++;
        else
            break;
    return digits ? at : 0;
}

/* Is what stands behind the number at most a unit? */
static bool is_plain(struct view rest)
{
    for (size_t i = 0; i < rest.size; i++)
        if ((rest.data[i] >= '0' && rest.data[i] <= '9' && !i) || rest.data[i] == '+' ||
            rest.data[i] == ',' || rest.data[i] == '[' || rest.data[i] == '{')
            return false;
    return true;
}

void units_try(struct trials *trials, const struct finding_spot *number, enum field_id field,
               enum units_tried tried)
{
    struct arena *arena = trials->arena;
    struct dimension dimension = field_table[field].dimension;
    struct view text = trials_slice(trials, number->span);
    size_t digits = number_size(text);
    struct view rest = view_trim(view_skip(text, digits));
    const struct tree_node *node = tree_at(&trials->file->tree, view_of(number->field));
    struct units units = {0};
    if (!digits || !is_plain(rest) || dimension_is_none(dimension))
        return;
    add_used(&units, &trials->file->machine, node, dimension);
    size_t used = units.count;
    if (tried == UNITS_IF_ODD && has_unit(&units, unit_read(rest)))
        return;
    if (tried == UNITS_USUAL) {
        unit_id choices[UNITS_MOST];
        size_t count = unit_choices(dimension, choices, UNITS_MOST);
        for (size_t i = 0; i < count && i < UNITS_MOST; i++)
            add_unit(&units, choices[i]);
    }
    for (size_t i = 0; i < units.count; i++) {
        if (units.items[i] == unit_read(rest))
            continue;
        const char *now =
            arena_format(arena, "%.*s %s", (int)digits, text.data, unit_text(units.items[i]));
        trials_add(trials, &(struct proposed_edit){
                               .span = number->span,
                               .text = now,
                               .title = arena_format(arena, "write %s", now),
                               .why = "of the units it may be in, the only one with which "
                                      "nothing fails",
                               .asks = arena_format(arena, "is %s meant?", now),
                               .always_asks = true,
                               .distance = i < used ? 0 : 1});
    }
}
