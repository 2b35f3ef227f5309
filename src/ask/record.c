/* Asking about one record of a list and nothing else: a cutter that is new, or one that was
 * ground, exchanged or put back otherwise.
 */
#include "ask/internal.h"

#include "text/escape.h"

enum { NAME_CELLS = 40, NAMED = 12 };

void record_begin(struct ask *ask)
{
    const struct ask_record *record = ask->setup->record;
    const struct answer yes = {.source = SOURCE_FILE, .text = view_of("yes")};
    if (record && record->group == GROUP_CUTTER && record->index)
        answers_set(&ask->answers, ASK_ANOTHER_CUTTER, record->index, &yes);
}

void record_end(struct ask *ask)
{
    struct view bytes;
    if (!ask_bytes(ask, false, &bytes))
        show_left_out(ask, bytes);
}

bool record_is_new(const struct ask *ask)
{
    const struct ask_record *record = ask->setup->record;
    return record && record->index >= ask->machine->groups[record->group].written;
}

void record_more(struct ask *ask, struct view line, struct understood *out)
{
    bool all = view_is(line, "all") || view_is(line, "everything");
    out->wrong = understand_flag(&ask->with, all ? view_of("yes") : line, out);
    if (!out->wrong)
        out->text = view_of(view_is(out->text, "yes") ? "[cutters]" : "[]");
}

/* "1, 2, 3 and 7 more": the numbers that are taken. */
static const char *numbers_taken(struct ask *ask)
{
    struct buffer out;
    size_t count = 0;
    buffer_init(&out, ask->scratch);
    for (uint32_t i = 0; i < question_records(&ask->answers, GROUP_CUTTER); i++) {
        const struct answer *number = answers_get(&ask->answers, FIELD_CUTTER_NUMBER, i);
        if (i != ask_entry(ask)->record && answer_has_value(number) && ++count <= NAMED)
            buffer_format(&out, "%s%.*s", count > 1 ? ", " : "", VIEW(number->text));
    }
    if (count > NAMED)
        buffer_format(&out, " and %zu more", count - NAMED);
    return buffer_string(&out);
}

/* A program calls a cutter by its number, so that no two may have the same. */
const char *record_refuses(struct ask *ask, struct view text)
{
    const struct ask_entry *entry = ask_entry(ask);
    if (!ask->setup->record || entry->row->what != FIELD_CUTTER_NUMBER)
        return NULL;
    for (uint32_t i = 0; i < question_records(&ask->answers, GROUP_CUTTER); i++) {
        const struct answer *number = answers_get(&ask->answers, FIELD_CUTTER_NUMBER, i);
        const struct answer *name = answers_get(&ask->answers, FIELD_CUTTER_DESCRIPTION, i);
        if (i == entry->record || !answer_has_value(number) || !view_equal(number->text, text))
            continue;
        return arena_format(ask->scratch, "number %.*s is taken%s%s; taken are %s", VIEW(text),
                            answer_has_value(name) ? ", by " : "",
                            escape_short(ask->scratch, name->text, NAME_CELLS),
                            numbers_taken(ask));
    }
    return NULL;
}
