/* From question to question: onward, back, and past what answers itself. */
#include "ask/internal.h"

#include "quantity/number.h"
#include "quantity/quantity.h"
#include "text/escape.h"

enum { SHOWN = 60 };

/* Until it is said, it is taken that nothing is set yet. */
static bool is_proposed(const struct ask *ask, const struct question *row)
{
    const struct answer *set = answers_get(&ask->answers, ASK_NUMBERS, 0);
    return row->topic == TOPIC_NUMBERS && row->what < FIELD_COUNT &&
           (set->source == SOURCE_NONE || view_is(set->text, "no"));
}

bool walk_is_silent(const struct ask *ask, size_t at)
{
    const struct ask_entry *entry = &ask->sequence.items.items[at];
    enum answer_source source = (enum answer_source)entry_answer(ask, entry)->source;
    if (ask->setup->place_count || source == SOURCE_ASKED || source == SOURCE_OPEN)
        return false;
    if (is_proposed(ask, entry->row))
        return true;
    if (!(entry->row->flags & ASK_SILENT))
        return false;
    /* In a file that is there, nothing but the number of another cutter is added unasked. */
    return !ask->setup->exists || entry->row->usual == USUAL_NUMBER ||
           (source != SOURCE_NONE && entry->row->usual == USUAL_TEXT);
}

/* False: there is nothing to answer it with, or what there is leads to findings. */
static bool answer_silently(struct ask *ask, size_t at)
{
    ask->at = at;
    const struct ask_entry entry = *ask_entry(ask);
    const struct answer *before = entry_answer(ask, &entry);
    if (answer_has_value(before) && !(before->unsure && offer_was_taken(entry.row, before)))
        return true;
    offer_entry(ask);
    if (!ask->offer.text)
        return false;
    const struct answer answer = {.source =
                                      ask->offer.computed ? SOURCE_COMPUTED : SOURCE_DEFAULT,
                                  .text = view_of(ask->offer.text)};
    answers_set(&ask->answers, entry.row->what, entry.record, &answer);
    if (field_table[entry.row->what].kind == KIND_INPUT)
        (void)answers_input(&ask->answers, answer.text);
    ask_rebuild(ask);
    if (entry.row->topic != TOPIC_NUMBERS)
        return true; /* what the rules say of it, they say with the next answer */
    present_proposal(ask);
    return take_judge(ask);
}

/* A value that is there is asked for in its own unit, and half of a pair with the other. */
static void meet_value(struct ask *ask)
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

void ask_go(struct ask *ask, size_t at)
{
    while (at < ask->sequence.items.count && walk_is_silent(ask, at) &&
           answer_silently(ask, at))
        at++;
    if (at >= ask->sequence.items.count && ask->setup->place_count) {
        ask->phase = PHASE_OVER;
        return;
    }
    if (at >= ask->sequence.items.count) {
        ask->phase = PHASE_REVIEW;
        review_show(ask);
        return;
    }
    const struct ask_entry *entry = &ask->sequence.items.items[at];
    bool marks =
        entry->row->what < FIELD_COUNT && field_table[entry->row->what].kind == KIND_FLAG;
    ask->phase = PHASE_QUESTION;
    ask->at = marks ? question_first(&ask->sequence, at) : at;
    if (ask->setup->place_count)
        meet_value(ask);
    offer_find(ask);
    present_question(ask);
}

/* Would what is offered now be the doubtful answer again?  Then there is no doubt. */
static bool is_settled(struct ask *ask, size_t at)
{
    ask->at = at;
    struct answer answer = *entry_answer(ask, ask_entry(ask));
    offer_entry(ask);
    if (!offer_was_taken(ask_entry(ask)->row, &answer) || !ask->offer.text ||
        !view_is(answer.text, ask->offer.text) ||
        ask->offer.computed != (answer.source == SOURCE_COMPUTED))
        return false;
    answer.unsure = false;
    answers_set(&ask->answers, ask_entry(ask)->row->what, ask_entry(ask)->record, &answer);
    return true;
}

void walk_on(struct ask *ask)
{
    size_t at = question_end(&ask->sequence, ask->at);
    for (; at < ask->sequence.items.count; at++) {
        const struct answer *answer = entry_answer(ask, &ask->sequence.items.items[at]);
        if (walk_is_silent(ask, at)) {
            if (!answer_silently(ask, at))
                break;
        } else if (answer->source == SOURCE_NONE || (answer->unsure && !is_settled(ask, at))) {
            break;
        }
    }
    ask_go(ask, at < ask->sequence.items.count ? question_first(&ask->sequence, at) : at);
}

/* The question before the one at `at`; itself where it is the first. */
static size_t step_back(const struct ask *ask, size_t at)
{
    size_t first = at < ask->sequence.items.count ? question_first(&ask->sequence, at) : at;
    if (first < at)
        return first;
    while (at > 0) {
        at = question_first(&ask->sequence, at - 1);
        if (!walk_is_silent(ask, at))
            return at;
    }
    return first;
}

/* One step, several, or to a question by its name. */
static bool find_target(struct ask *ask, struct view rest, size_t here, size_t *target)
{
    double steps = 1;
    size_t used, at = here;
    uint16_t what;
    uint32_t record;
    rest = view_trim(rest);
    if (rest.size && !(number_read(rest, &steps, &used) == NUMBER_OK && used == rest.size)) {
        if (!answer_find(&ask->answers, rest, &what, &record))
            return false;
        *target = question_index(&ask->sequence, what, record);
        return *target < ask->sequence.items.count;
    }
    for (size_t before = here; steps >= 1; steps--, before = at) {
        at = step_back(ask, before);
        if (at == before)
            break;
    }
    *target = at;
    return true;
}

/* By name even to what answers itself. */
static void go_to(struct ask *ask, size_t at)
{
    if (!walk_is_silent(ask, at)) {
        ask_go(ask, at);
        return;
    }
    ask->phase = PHASE_QUESTION;
    ask->at = at;
    offer_find(ask);
    present_question(ask);
}

void walk_back(struct ask *ask, struct view rest)
{
    size_t here = ask->phase == PHASE_QUESTION ? ask->at : ask->sequence.items.count;
    size_t target;
    if (!find_target(ask, rest, here, &target)) {
        say(ask, 0,
            "There is no question %s here; type back, back 3, or back with the name of "
            "a field.",
            escape_short(&ask->scratch, view_trim(rest), SHOWN));
        return;
    }
    if (target == here)
        say(ask, 0, "This is the first question.");
    go_to(ask, target);
}
