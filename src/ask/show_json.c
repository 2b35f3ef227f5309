/* The same that show.c shows, as JSON, format proveout-question version 1: for whatever asks
 * in a way of its own.  Texts are those of the terminal, not broken into lines. */
#include "ask/internal.h"

#include <math.h>

#include "report/json_writer.h"

static void add_offer(struct json *json, const struct ask *ask, const struct ask_offer *offer)
{
    json_key(json, "offer");
    if (!offer->text && !offer->keeps) {
        json_nothing(json);
        return;
    }
    json_open(json, '{');
    json_key(json, "text"), json_text(json, offer->text);
    json_key(json, "enter"), json_bool(json, offer->keeps || !offer->typed);
    json_key(json, "source");
    json_text(json, offer->keeps ? "kept" : offer->computed ? "computed" : "usual");
    json_key(json, "reason");
    json_text(json, offer->keeps ? NULL : offer_reason(ask, offer));
    json_close(json, '}');
}

/* The window in numbers. */
static void add_range(struct json *json, const struct window *window)
{
    json_key(json, "range");
    if (!window) {
        json_nothing(json);
        return;
    }
    json_open(json, '{');
    json_key(json, "low"), json_number(json, window->low.bounded ? window->low.si : NAN);
    json_key(json, "high"), json_number(json, window->high.bounded ? window->high.si : NAN);
    json_key(json, "unit"), json_text(json, unit_text(window->unit));
    json_key(json, "unit_si");
    json_number(json, unit_to_si(window->unit, field_table[window->field].dimension, 1));
    json_close(json, '}');
}

/* One of the fields that a question is about; of the prompt's own, itself. */
static void add_field(struct json *json, struct ask *ask, size_t index)
{
    struct choice choices[CHOICES_MAX];
    const struct ask_entry *entry = ask_entry(ask) + index;
    const struct field *field = entry_field(entry);
    enum field_id id = field ? (enum field_id)entry->row->what : FIELD_COUNT;
    const struct ask_offer *offer = question_span(ask) > 1 ? &ask->parts[index] : &ask->offer;
    bool named = question_span(ask) > 1 || (entry->row->flags & ASK_EACH);
    json_line(json, 4);
    json_open(json, '{');
    json_key(json, "path"), json_text(json, entry_path(ask, entry));
    json_key(json, "label"), json_text(json, named ? entry_label(ask, entry) : NULL);
    json_key(json, "asks"), json_text(json, field ? field->meaning : entry->row->reason);
    json_key(json, "question"), json_text(json, show_entry(ask, entry));
    json_key(json, "help"), json_text(json, field ? field->measure : NULL);
    json_key(json, "nature"), json_text(json, field ? field_nature_name(field->nature) : NULL);
    json_key(json, "kind"), json_text(json, field ? field_kind_name(field->kind) : NULL);
    json_key(json, "unit");
    json_text(json, field && *field->unit ? understand_unit(&ask->with, id) : NULL);
    json_key(json, "readings");
    json_bool(json, field && question_span(ask) == 1 && field_takes_readings(id));
    json_key(json, "needed"), json_bool(json, entry_is_needed(entry));
    add_offer(json, ask, offer);
    json_key(json, "window"), json_text(json, offer->window);
    add_range(json, offer->range);
    json_key(json, "choices"), json_open(json, '[');
    size_t count = question_choices(ask, entry, choices);
    for (size_t i = 0; i < count; i++) {
        json_open(json, '{');
        json_key(json, "word"), json_text(json, choices[i].word);
        json_key(json, "says"), json_text(json, choices[i].says);
        json_close(json, '}');
    }
    json_close(json, ']');
    json_close(json, '}');
}

static void add_question(struct json *json, struct ask *ask)
{
    static const char *const cares[] = {"collet", "moves", "runs"};
    const struct ask_entry *entry = ask_entry(ask);
    unsigned care = question_care(ask);
    size_t of, number = question_number(ask, &of);
    json_line(json, 2), json_key(json, "number"), json_count(json, number);
    json_key(json, "of"), json_count(json, of);
    json_line(json, 2), json_key(json, "topic"),
        json_text(json, topic_names[entry->row->topic]);
    json_key(json, "note"), json_text(json, topic_notes[entry->row->topic]);
    json_line(json, 2), json_key(json, "headline"), json_text(json, show_headline(ask));
    json_line(json, 2), json_key(json, "about"), json_text(json, question_record(ask));
    json_key(json, "again"), json_bool(json, entry_answer(ask, entry)->unsure);
    json_key(json, "care"), json_open(json, '[');
    for (unsigned i = 0; i < 3; i++)
        if (care >> i & 1)
            json_text(json, cares[i]);
    json_close(json, ']');
    json_key(json, "cautions"), json_open(json, '[');
    for (size_t i = 0; field_caution(care, i); i++)
        json_text(json, field_caution(care, i));
    json_close(json, ']');
    json_line(json, 2), add_offer(json, ask, &ask->offer);
    json_line(json, 2), json_key(json, "fields"), json_open(json, '[');
    for (size_t i = 0; i < question_span(ask); i++)
        add_field(json, ask, i);
    json_close(json, ']');
}

static void add_news(struct json *json, const struct ask *ask)
{
    json_line(json, 2), json_key(json, "findings"), json_open(json, '[');
    for (size_t i = 0; i < ask->news.items.count; i++) {
        const struct finding *finding = ask->news.items.items[i];
        json_line(json, 4), json_open(json, '{');
        json_key(json, "rule"), json_text(json, finding->rule);
        json_key(json, "level"), json_text(json, finding_level_name(finding->level));
        json_key(json, "field"), json_text(json, finding->at.field);
        json_key(json, "message"), json_text(json, finding->message);
        json_key(json, "put_right"), json_text(json, finding->put_right);
        json_key(json, "would_do"), json_open(json, '[');
        for (size_t f = 0; f < finding->fix_count; f++)
            if (finding->fixes[f].why)
                json_text(json, finding->fixes[f].title);
        json_close(json, ']');
        json_close(json, '}');
    }
    json_close(json, ']');
}

/* Numbers that would put right what fails; null: none are offered. */
static void add_mend(struct json *json, struct ask *ask)
{
    const struct mend *mend = &ask->mend;
    json_line(json, 2), json_key(json, "proposal");
    if (ask->phase != PHASE_MEND) {
        json_nothing(json);
        return;
    }
    json_open(json, '{');
    json_key(json, "changes"), json_open(json, '[');
    for (size_t i = 0; i < mend->count; i++) {
        const struct mending *item = &mend->items[i];
        json_open(json, '{');
        json_key(json, "path");
        json_text(json, answer_path(ask->scratch, &ask->answers, item->what, item->record));
        json_key(json, "now"), json_text(json, item->now);
        json_key(json, "text"), json_text(json, item->text);
        json_close(json, '}');
    }
    json_close(json, ']');
    json_key(json, "left"), json_count(json, mend->left);
    json_key(json, "less_for_people"), json_text(json, mend->less);
    json_key(json, "measure_first"), json_text(json, mend->measured);
    json_close(json, '}');
}

/* Where no numbers put right what fails: how sure that is, and the rules that exclude each
 * other.
 */
static void add_excluded(struct json *json, const struct mend *mend)
{
    json_line(json, 2), json_key(json, "excluded");
    if (!mend->exclusion) {
        json_nothing(json);
        return;
    }
    json_open(json, '{');
    json_key(json, "because"), json_text(json, mend->exclusion);
    json_key(json, "rules"), json_open(json, '[');
    for (size_t i = 0; i < mend->excluded_count; i++)
        json_text(json, mend->excluded[i]);
    json_close(json, ']');
    json_close(json, '}');
}

/* Everything once more, and the file as it would be written. */
static void add_review(struct json *json, struct ask *ask)
{
    struct view bytes;
    const char *why = ask_bytes(ask, true, &bytes);
    json_line(json, 2), json_key(json, "answers"), json_open(json, '[');
    for (size_t i = 0; i < ask->sequence.items.count; i++) {
        const struct ask_entry *entry = &ask->sequence.items.items[i];
        const struct answer *answer = entry_answer(ask, entry);
        if (!entry_field(entry) || answer->source == SOURCE_NONE)
            continue;
        json_line(json, 4), json_open(json, '{');
        json_key(json, "path"), json_text(json, entry_path(ask, entry));
        json_key(json, "text");
        if (answer_has_value(answer))
            json_view(json, answer->text);
        else
            json_nothing(json);
        json_key(json, "source");
        json_text(json, answer_source_name((enum answer_source)answer->source));
        json_key(json, "asked"), json_bool(json, !entry_is_silent(ask, i));
        json_close(json, '}');
    }
    json_close(json, ']');
    json_line(json, 2), json_key(json, "refused"), json_text(json, why);
    json_line(json, 2), json_key(json, "unchanged");
    json_bool(json, !why && file_is_unchanged(ask, bytes));
    json_line(json, 2), json_key(json, "file");
    if (why)
        json_nothing(json);
    else
        json_view(json, bytes);
}

void ask_json(struct ask *ask, struct buffer *out)
{
    static const char *const phases[] = {"question", "review", "review", "name", "over"};
    struct json json = {.out = out};
    json_open(&json, '{');
    json_line(&json, 2), json_key(&json, "format"), json_text(&json, "proveout-question");
    json_key(&json, "version"), json_count(&json, 1);
    json_line(&json, 2), json_key(&json, "state"), json_text(&json, phases[ask->phase]);
    json_line(&json, 2), json_key(&json, "taken"), json_bool(&json, !ask->refused);
    json_key(&json, "said");
    json_text(&json, ask->said.size ? buffer_string(&ask->said) : NULL);
    add_news(&json, ask);
    if (ask->phase == PHASE_QUESTION)
        add_question(&json, ask);
    if (ask->phase == PHASE_MEND || ask->phase == PHASE_REVIEW || ask->phase == PHASE_NAME) {
        add_review(&json, ask);
        add_mend(&json, ask);
        add_excluded(&json, &ask->mend);
    }
    buffer_byte(out, '\n');
    json_close(&json, '}');
    buffer_byte(out, '\n');
}
