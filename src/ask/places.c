/* Asking about some values of a file that is there, and nothing else: after something was
 * moved, or about one field.  What is answered goes to the host at once, which knows in which
 * of several files a value stands.
 */
#include "ask/internal.h"

#include "quantity/quantity.h"

/* Where half of a pair is asked for, that is what stands there. */
static void take_half(struct ask *ask, const struct field_place *place)
{
    const struct field_value *value = machine_field(ask->machine, place->field, place->record);
    struct answer half = {.source = SOURCE_FILE};
    if (!place->part || value->state != VALUE_GIVEN)
        return;
    value = &value->pair[place->part - 1];
    half.text = view_of(quantity_text_with(ask->arena, value->si, value->tolerance,
                                           field_table[place->field].dimension, value->unit));
    answers_set(&ask->answers, (uint16_t)place->field, place->record, &half);
}

void places_begin(struct ask *ask)
{
    for (size_t i = 0; i < ask->setup->place_count; i++)
        take_half(ask, &ask->setup->places[i]);
}

struct answer places_of_file(struct ask *ask)
{
    const struct ask_entry *entry = ask_entry(ask);
    const struct answer stands = *entry_answer(ask, entry);
    struct answer of_file = {.source = SOURCE_OPEN};
    if (entry->row->what >= FIELD_COUNT)
        return of_file;
    const struct field_place place = {(enum field_id)entry->row->what, entry->record,
                                      entry->part};
    if (place.record >= ask->machine->groups[field_table[place.field].group].written)
        return of_file;
    answers_set(&ask->answers, entry->row->what, place.record, &of_file);
    answers_of_field(&ask->answers, ask->machine, place.field, place.record);
    take_half(ask, &place);
    of_file = *entry_answer(ask, entry);
    answers_set(&ask->answers, entry->row->what, place.record, &stands);
    return of_file;
}

/* A value that is there is asked for in its own unit, and half of a pair with the other. */
void places_meet(struct ask *ask)
{
    const struct field_place *place = &ask->setup->places[ask->at];
    const struct field_value *value = machine_field(ask->machine, place->field, place->record);
    const struct field *field = &field_table[place->field];
    ask->with.part = place->part;
    ask->with.unit = ask->with.other = NULL;
    if (value->state != VALUE_GIVEN || !*field->unit || field->kind == KIND_LIST)
        return;
    if (field->kind == KIND_PAIR) {
        const struct field_value *other = &value->pair[place->part == 1];
        if (place->part)
            ask->with.other = quantity_text_with(ask->arena, other->si, other->tolerance,
                                                 field->dimension, other->unit);
        value = &value->pair[place->part == 2];
    }
    if (value->unit != UNIT_BARE)
        ask->with.unit = unit_text(value->unit);
}

const char *places_put(struct ask *ask, const struct answer *answer)
{
    const struct ask_setup *setup = ask->setup;
    bool is_new = answer_has_value(answer) && answer->source != SOURCE_FILE;
    struct view text = is_new ? answer->text : (struct view){0};
    return setup->host.take(setup->host.user, &setup->places[ask->at], text);
}
