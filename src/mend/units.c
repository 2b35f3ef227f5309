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

/* Adds the units of other numbers of the same dimension: of all, or of those in the section of
 * the file in which the field stands. */
static void add_used(struct units *units, const struct trials *trials,
                     const struct tree_node *but, enum field_id of, bool beside)
{
    const struct machine *machine = &trials->file->machine;
    const char *path = field_path(trials->arena, of);
    const char *section = arena_copy(trials->arena, path, strcspn(path, ".["));
    for (uint32_t id = 0; id < FIELD_COUNT; id++) {
        const struct field *field = &field_table[id];
        if (!dimension_equal(field->dimension, field_table[of].dimension) ||
            (beside && !field_is_in((enum field_id)id, section)))
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

/* Is what stands behind the number nothing, a unit, or one word that may be meant for one?  Not
 * a tolerance, nor the rest of a fraction: these would be lost. */
static bool is_plain(struct view rest)
{
    if (!rest.size || unit_read(rest) != UNIT_UNKNOWN)
        return true;
    for (size_t i = 0; i < rest.size; i++)
        if ((rest.data[i] | 32) < 'a' || (rest.data[i] | 32) > 'z')
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

static void try_unit(struct trials *trials, const struct typed *typed, const char *field,
                     unit_id unit, bool beside)
{
    struct arena *arena = trials->arena;
    const char *now = with_unit(arena, typed, unit);
    const char *path = machine_lasting_path(arena, &trials->file->machine, field);
    const char *last = strrchr(path, '.');
    if (typed->other.size && last) /* both of a pair are asked about by its name */
        path = arena_copy(arena, path, (size_t)(last - path));
    trials_add(trials, &(struct proposed_edit){
                           .span = typed->span,
                           .text = now,
                           .title = arena_format(arena, "write %s for %s", now, path),
                           .why = beside ? "numbers beside it are in that unit, and nothing "
                                           "fails with it"
                                         : "of the units it may be in, the only one with which "
                                           "nothing fails",
                           .asks = arena_format(arena, "is %s meant for %s?", now, path),
                           .field = field,
                           .always_asks = true,
                           .distance = beside ? 0 : 1});
}

/* The units of the numbers beside it come first; where none of these would do, all others are
 * alike to it. */
void units_try(struct trials *trials, const struct finding_spot *number, enum field_id field,
               enum units_tried tried)
{
    struct view text = trials_slice(trials, number->span);
    struct typed typed = {.span = number->span, .number = {text.data, number_size(text)}};
    struct view rest = view_trim(view_skip(text, typed.number.size));
    const struct tree_node *node = tree_at(&trials->file->tree, view_of(number->field));
    struct units units = {0};
    if (!typed.number.size || !is_plain(rest))
        return;
    if (field_table[field].kind == KIND_PAIR && !rest.size)
        add_other(trials, number, &typed);
    add_used(&units, trials, node, field, true);
    size_t beside = units.count;
    if (tried == UNITS_IF_ODD && has_unit(&units, unit_read(rest)))
        return;
    add_used(&units, trials, node, field, false);
    if (tried == UNITS_IF_ODD && !beside && has_unit(&units, unit_read(rest)))
        return;
    if (tried == UNITS_USUAL) {
        unit_id choices[UNITS_MOST];
        size_t count = unit_choices(field_table[field].dimension, choices, UNITS_MOST);
        for (size_t i = 0; i < count && i < UNITS_MOST; i++)
            add_unit(&units, choices[i]);
    }
    for (size_t i = 0; i < units.count; i++)
        if (units.items[i] != unit_read(rest) && units.items[i] != UNIT_BARE)
            try_unit(trials, &typed, number->field, units.items[i], i < beside);
}
