/* The question that stands, and each of the entries that it asks about: what it is called, and
 * how it was answered. */
#include "ask/internal.h"

const struct ask_entry *ask_entry(const struct ask *ask)
{
    return &ask->sequence.items.items[ask->at];
}

const struct answer *entry_answer(const struct ask *ask, const struct ask_entry *entry)
{
    return answers_get(&ask->answers, entry->row->what, entry->record);
}

const char *entry_path(const struct ask *ask, const struct ask_entry *entry)
{
    return answer_path(ask->scratch, &ask->answers, entry->row->what, entry->record);
}

const char *entry_spoken_path(const struct ask *ask, const struct ask_entry *entry)
{
    return answer_spoken_path(ask->scratch, &ask->answers, entry->row->what, entry->record);
}

bool entry_is_needed(const struct ask_entry *entry)
{
    const struct field *field = entry_field(entry);
    return field ? (entry->row->flags & ASK_WANTED) || field->needed
                 : entry->row->what == ASK_NUMBERS;
}

size_t question_span(const struct ask *ask)
{
    return question_end(&ask->sequence, ask->at) - ask->at;
}

bool question_is_marks(const struct ask *ask)
{
    const struct field *field = entry_field(ask_entry(ask));
    return question_span(ask) > 1 && field && field->kind == KIND_FLAG;
}

const char *entry_label(struct ask *ask, const struct ask_entry *entry)
{
    static const char *const axes[] = {"X", "Y", "Z"};
    if (entry->row->flags & ASK_EACH)
        return axes[entry->record % 3];
    const char *key = field_table[entry->row->what].key;
    const char *dot = strrchr(key, '.');
    return understand_spoken(ask->scratch, view_of(dot ? dot + 1 : key));
}
