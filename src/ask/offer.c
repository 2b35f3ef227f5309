/* What Enter would take at a question. */
#include "ask/internal.h"

bool entry_is_needed(const struct ask_entry *entry)
{
    if (entry->row->what >= FIELD_COUNT)
        return entry->row->what == ASK_NUMBERS;
    return (entry->row->flags & ASK_WANTED) || field_table[entry->row->what].needed;
}

bool offer_was_taken(const struct question *row, const struct answer *answer)
{
    return row->what < FIELD_COUNT && row->usual != USUAL_NONE &&
           (answer->source == SOURCE_COMPUTED || answer->source == SOURCE_DEFAULT);
}

static void keep(struct ask *ask, const struct answer *answer)
{
    ask->offer.keeps = true;
    if (answer->source != SOURCE_OPEN)
        ask->offer.text = arena_copy(&ask->scratch, answer->text.data, answer->text.size);
}

/* A chosen number gets its safe window, by the answers before it. */
static bool has_window(const struct ask_entry *entry)
{
    if (entry->row->what >= FIELD_COUNT)
        return false;
    const struct field *field = &field_table[entry->row->what];
    return field->nature == NATURE_CHOSEN && field->group == GROUP_ROOT &&
           (field->kind == KIND_QUANTITY || field->kind == KIND_POSITION);
}

static void look_for_window(struct ask *ask, const struct ask_entry *entry, const char *usual)
{
    struct arena *arena = &ask->scratch;
    const char *path = answer_path(arena, &ask->answers, entry->row->what, entry->record);
    struct view bytes;
    struct offer found;
    if (ask->setup->exists) {
        if (ask_bytes(ask, false, &bytes))
            return;
    } else {
        bytes = compose_new(arena, &ask->answers, &ask->sequence, ask->at, false);
    }
    judge_offer(&ask->judge, arena, bytes, path, usual, &found);
    ask->offer.window = found.window;
    if (ask->offer.keeps)
        return;
    ask->offer.text = found.text;
    ask->offer.computed |= found.computed;
    if (found.computed)
        ask->offer.reason = "the usual value moved to where every rule holds";
}

void offer_entry(struct ask *ask)
{
    const struct ask_entry *entry = ask_entry(ask);
    const struct answer *answer = entry_answer(ask, entry);
    ask->offer = (struct ask_offer){0};
    bool again = answer->unsure && offer_was_taken(entry->row, answer);
    if (answer->source != SOURCE_NONE && !again) {
        keep(ask, answer);
        if (has_window(entry))
            look_for_window(ask, entry, NULL);
        return;
    }
    const char *usual =
        usual_value(&ask->with, &ask->answers, entry->row, entry->record, &ask->offer.computed);
    ask->offer.text = usual;
    ask->offer.reason = entry->row->what < FIELD_COUNT ? entry->row->reason : NULL;
    /* In a file that is there, Enter adds nothing. */
    ask->offer.typed = (entry->row->flags & ASK_TYPED) ||
                       (ask->setup->exists && entry->row->what < FIELD_COUNT &&
                        entry->row->usual != USUAL_NUMBER);
    if (has_window(entry))
        look_for_window(ask, entry, usual);
}

void offer_find(struct ask *ask)
{
    size_t first = ask->at, count = ask_span(ask);
    for (size_t i = 0; count > 1 && i < count; i++) {
        ask->at = first + i;
        offer_entry(ask);
        ask->parts[i] = ask->offer;
    }
    ask->at = first;
    ask->offer = (struct ask_offer){0};
    if (count > 1)
        together_offer(ask);
    else
        offer_entry(ask);
}
