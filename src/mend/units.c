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

/* The number as it is typed, and the other of its pair where both were typed without a unit. */
struct typed {
    struct span span; /* of all of it */
    struct view number, between, other;
};

/* The pair of which it is one. */
static void add_other(const struct trials *trials, const struct finding_spot *number,
                      struct typed *out)
{
    const char *end = strrchr(number->field, '.');
    const struct tree_node *pair =
        end ? tree_at(&trials->file->own,
                      (struct view){number->field, (size_t)(end - number->field)})
            : NULL;
    if (!pair || pair->kind != TREE_LIST || pair->count != 2)
        return;
    const struct tree_node *low = pair->first, *high = low->next;
    struct view first = trials_slice(trials, low->span),
                second = trials_slice(trials, high->span);
    if (number_size(first) != first.size || number_size(second) != second.size)
        return;
    *out = (struct typed){{low->span.start, high->span.end},
                          first,
                          trials_slice(trials, (struct span){low->span.end, high->span.start}),
                          second};
}

static const char *with_unit(struct arena *arena, const struct typed *typed, unit_id unit)
{
    const char *name = unit_text(unit);
    if (!typed->other.size)
        return arena_format(arena, "%.*s %s", VIEW(typed->number), name);
    return arena_format(arena, "%.*s %s%.*s%.*s %s", VIEW(typed->number), name,
                        VIEW(typed->between), VIEW(typed->other), name);
}

void units_try(struct trials *trials, const struct finding_spot *number, enum field_id field,
               enum units_tried tried)
{
    struct arena *arena = trials->arena;
    struct dimension dimension = field_table[field].dimension;
    struct view text = trials_slice(trials, number->span);
    struct typed typed = {.span = number->span, .number = {text.data, number_size(text)}};
    struct view rest = view_trim(view_skip(text, typed.number.size));
    const struct tree_node *node = tree_at(&trials->file->tree, view_of(number->field));
    struct units units = {0};
    if (!typed.number.size || !is_plain(rest))
        return;
    if (field_table[field].kind == KIND_PAIR && !rest.size)
        add_other(trials, number, &typed);
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
        if (units.items[i] == unit_read(rest) || units.items[i] == UNIT_BARE)
            continue;
        const char *now = with_unit(arena, &typed, units.items[i]);
        trials_add(trials, &(struct proposed_edit){
                               .span = typed.span,
                               .text = now,
                               .title = arena_format(arena, "write %s", now),
                               .why = "of the units it may be in, the only one with which "
                                      "nothing fails",
                               .asks = arena_format(arena, "is %s meant?", now),
                               .always_asks = true,
                               .distance = i < used ? 0 : 1});
    }
}
