/* Numbers that files beside say: shown at their questions, and taken by a yes alone. */
#include "ask/internal.h"

#include "ask/spoken.h"

/* Is it about this entry? */
static bool is_about(const struct ask *ask, const struct ask_found *found,
                     const struct ask_entry *entry)
{
    return entry_field(entry) && (strcmp(found->field, entry_path(ask, entry)) == 0 ||
                                  strcmp(found->field, entry_spoken_path(ask, entry)) == 0);
}

/* Of those about an entry the first; `*differ`: another says something else. */
static const struct ask_found *found_at(const struct ask *ask, const struct ask_entry *entry,
                                        bool *differ)
{
    const struct ask_found *first = NULL;
    *differ = false;
    for (size_t i = 0; i < ask->setup->found_count; i++) {
        const struct ask_found *found = &ask->setup->found[i];
        if (!is_about(ask, found, entry))
            continue;
        *differ |= first && strcmp(first->text, found->text) != 0;
        first = first ? first : found;
    }
    return first;
}

/* A yes is an answer of its own there. */
static bool asks_yes(const struct ask_entry *entry)
{
    return entry_field(entry)->kind == KIND_FLAG || entry_field(entry)->kind == KIND_TEXT;
}

bool found_is_there(const struct ask *ask, const struct ask_entry *entry)
{
    bool differ;
    return found_at(ask, entry, &differ) != NULL;
}

void found_lines(struct ask *ask)
{
    for (size_t k = 0; k < question_span(ask); k++) {
        const struct ask_entry *entry = ask_entry(ask) + k;
        bool differ;
        if (!found_at(ask, entry, &differ))
            continue;
        for (size_t i = 0; i < ask->setup->found_count; i++)
            if (is_about(ask, &ask->setup->found[i], entry))
                say(ask, 2, "%s says %s%s%s: %s", ask->setup->found[i].where,
                    ask->setup->found[i].text, question_span(ask) > 1 ? " for " : "",
                    question_span(ask) > 1 ? entry_label(ask, entry) : "",
                    ask->setup->found[i].line);
        if (differ)
            say(ask, 2, "They say different things: type what is right.");
        else if (question_span(ask) == 1 && !asks_yes(entry))
            say(ask, 2,
                "Type yes to take it, with an agreement by which it is checked from "
                "then on; Enter does not.");
    }
}

const char *found_taken(struct ask *ask, struct view line)
{
    struct view rest;
    bool differ;
    if (question_span(ask) != 1 || ask_entry(ask)->row->what >= FIELD_COUNT ||
        asks_yes(ask_entry(ask)) ||
        (spoken_word(ask->scratch, line, &rest) != SAID_YES && !view_is(line, "y")))
        return NULL;
    const struct ask_found *found = found_at(ask, ask_entry(ask), &differ);
    return found && !differ ? found->text : NULL;
}

bool ask_took(const struct ask *ask, struct arena *arena, size_t index)
{
    const struct ask_found *found = &ask->setup->found[index];
    uint16_t what;
    uint32_t record = 0;
    enum field_id id = field_find(view_of(found->field));
    if (id == FIELD_COUNT)
        return false;
    if (answer_find(&ask->answers, view_of(found->field), &what, &record))
        return answers_get(&ask->answers, what, record)->source == SOURCE_BESIDE;
    for (record = 0; record < ask->answers.of[id].list.count; record++)
        if (strcmp(found->field,
                   answer_spoken_path(arena, &ask->answers, (uint16_t)id, record)) == 0)
            return answers_get(&ask->answers, (uint16_t)id, record)->source == SOURCE_BESIDE;
    return false;
}
