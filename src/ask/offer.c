/* What stands at a question: its fields and their names, whether it is asked at all, what may
 * be answered, and what Enter would take.  Changes no answer.
 */
#include "ask/internal.h"

#include <math.h>

#include "quantity/quantity.h"
#include "text/escape.h"

enum { SAID_MAX = 400 }; /* an order of questions is read whole */

/* The question that stands. */

const char *ask_bytes(struct ask *ask, bool explained, struct view *out)
{
    const struct ask_host *host = &ask->setup->host;
    if (ask->setup->place_count) {
        *out = host->taken(host->user);
        return NULL;
    }
    if (ask->setup->exists)
        return compose_amended(ask->scratch, &ask->answers, &ask->sequence, ask->setup->base,
                               out);
    *out = compose_new(ask->scratch, &ask->answers, &ask->sequence, ask->sequence.items.count,
                       explained);
    return NULL;
}

bool file_is_unchanged(const struct ask *ask, struct view bytes)
{
    return ask->setup->exists && view_equal(bytes, ask->setup->base);
}

const char *ask_file(struct ask *ask, struct view *out)
{
    return ask_bytes(ask, true, out);
}

bool entry_is_silent(const struct ask *ask, size_t at)
{
    const struct ask_entry *entry = &ask->sequence.items.items[at];
    enum answer_source source = (enum answer_source)entry_answer(ask, entry)->source;
    if (asks_part(ask) || source == SOURCE_ASKED || source == SOURCE_OPEN ||
        source == SOURCE_BESIDE || found_is_there(ask, entry))
        return false;
    /* Until it is said, it is taken that nothing is set yet. */
    const struct answer *set = answers_get(&ask->answers, ASK_NUMBERS, 0);
    if (entry->row->topic == TOPIC_NUMBERS && entry_field(entry) &&
        (set->source == SOURCE_NONE || view_is(set->text, "no")))
        return true;
    if (!(entry->row->flags & ASK_SILENT))
        return false;
    /* In a file that is there, nothing but the number of another cutter is added unasked. */
    return !ask->setup->exists || entry->row->usual == USUAL_NUMBER ||
           (source != SOURCE_NONE && entry->row->usual == USUAL_TEXT);
}

/* "cutter 3", "axis x", "input setter"; NULL for the machine as a whole. */
static const char *entry_record(struct ask *ask, const struct ask_entry *entry)
{
    static const char axes[] = "xyz";
    struct arena *arena = ask->scratch;
    enum field_group group = entry_field(entry) ? entry_field(entry)->group : GROUP_ROOT;
    enum field_id by = field_calling(group);
    const struct answer *name =
        by == FIELD_COUNT ? NULL : answers_get(&ask->answers, (uint16_t)by, entry->record);
    switch (group) {
    case GROUP_AXIS:
    case GROUP_HOMING:
        return arena_format(arena, "axis %c", axes[entry->record % 3]);
    case GROUP_INPUT:
        return arena_format(arena, "input %.*s",
                            VIEW(ask->answers.inputs.items[entry->record]));
    case GROUP_CUTTER:
        if (entry->row->what == FIELD_CUTTER_NUMBER || !answer_has_value(name))
            return arena_format(arena, "cutter, entry %u of the list", entry->record + 1);
        return arena_format(arena, "cutter %.*s", VIEW(name->text));
    case GROUP_SETTER:
        return arena_format(arena, "setter %.*s", VIEW(name->text));
    case GROUP_OBSTACLE:
        return arena_format(arena, "obstacle %u", entry->record + 1);
    case GROUP_ATTACHMENT:
        return arena_format(arena, "attachment %u", entry->record + 1);
    default:
        return NULL;
    }
}

/* Is the question at `at` met on the way? */
static bool is_met(const struct ask *ask, size_t at)
{
    return at == question_first(&ask->sequence, ask->at) ||
           !(entry_is_silent(ask, at) ||
             entry_answer(ask, &ask->sequence.items.items[at])->told);
}

/* Where those end that are asked now, the offer of more among them. */
static size_t end_of_walk(const struct ask *ask)
{
    const struct ask_sequence *sequence = &ask->sequence;
    bool early = ask->at < sequence->first && sequence->first < sequence->items.count;
    return early ? sequence->first + 1 : sequence->items.count;
}

size_t question_number(struct ask *ask, size_t *of)
{
    const struct ask_sequence *sequence = &ask->sequence;
    size_t here = question_first(sequence, ask->at), before = 0;
    *of = 0;
    for (size_t i = 0; i < end_of_walk(ask); i = question_end(sequence, i)) {
        *of += is_met(ask, i);
        before += is_met(ask, i) && i < here;
    }
    return before + 1;
}

size_t questions_left(struct ask *ask, size_t *measured)
{
    const struct ask_sequence *sequence = &ask->sequence;
    size_t left = 0;
    *measured = 0;
    for (size_t i = question_end(sequence, ask->at); i < end_of_walk(ask);
         i = question_end(sequence, i)) {
        const struct ask_entry *entry = &sequence->items.items[i];
        const struct answer *answer = entry_answer(ask, entry);
        if (!is_met(ask, i) || (answer->source != SOURCE_NONE && !answer->unsure))
            continue;
        left++;
        *measured += entry_field(entry) && entry_field(entry)->nature == NATURE_MEASURED;
    }
    return left;
}

const char *question_record(struct ask *ask)
{
    return ask_entry(ask)->row->flags & ASK_EACH ? NULL : entry_record(ask, ask_entry(ask));
}

unsigned question_care(const struct ask *ask)
{
    unsigned care = 0;
    for (size_t i = 0; entry_field(ask_entry(ask)) && i < question_span(ask); i++)
        care |= entry_field(ask_entry(ask) + i)->care;
    return care;
}

size_t question_choices(struct ask *ask, const struct ask_entry *entry, struct choice *out)
{
    static const struct choice flags[] = {{"yes", "yes"}, {"no", "no"}};
    static const struct choice units[] = {{"mm", "millimetres"}, {"in", "inches"}};
    static const struct choice numbers[] = {
        {"yes", "yes: each is asked for, as it is set"},
        {"no", "no: each is proposed, within what the rules allow by the answers so far"}};
    struct arena *arena = ask->scratch;
    const struct field *field = entry_field(entry);
    uint16_t what = entry->row->what;
    size_t count = 0;
    if (what == ASK_MORE && !ask->setup->record)
        for (; count < ASK_MORE_COUNT; count++)
            out[count] = (struct choice){
                more_table[count].word,
                arena_format(arena, "%s: %s", more_table[count].word, more_table[count].says)};
    else if (!field || field->kind == KIND_FLAG)
        for (; count < 2; count++)
            out[count] = what == ASK_UNITS     ? units[count]
                         : what == ASK_NUMBERS ? numbers[count]
                                               : flags[count];
    else if (field->choices)
        for (; count < field_choice_count(field); count++) {
            struct view word = field_choice(field, count);
            out[count] = (struct choice){arena_copy(arena, word.data, word.size),
                                         understand_spoken(arena, word)};
        }
    return count;
}

static const char *said(struct ask *ask, const struct ask_entry *entry, const char *text)
{
    if (entry_field(entry))
        text =
            understand_value_said(ask->scratch, (enum field_id)entry->row->what, view_of(text));
    return escape_short(ask->scratch, view_of(strcmp(text, "[]") == 0 ? "none" : text),
                        SAID_MAX);
}

const char *offer_said(struct ask *ask)
{
    size_t count = question_span(ask);
    struct buffer out;
    if (!ask->offer.text)
        return "it open";
    if (ask_entry(ask)->row->what == ASK_MORE && ask->setup->record)
        return strcmp(ask->offer.text, "[]") == 0 ? "no" : "yes";
    if (question_is_marks(ask))
        return ask->offer.text;
    if (count == 1)
        return said(ask, ask_entry(ask), ask->offer.text);
    buffer_init(&out, ask->scratch);
    for (size_t i = 0; i < count; i++)
        buffer_format(&out, "%s%s", i ? ", " : "",
                      ask->parts[i].text ? said(ask, ask_entry(ask) + i, ask->parts[i].text)
                                         : "nothing");
    return buffer_string(&out);
}

/* Why a value is offered. */
const char *offer_reason(const struct ask *ask, const struct ask_offer *offer)
{
    uint16_t what = ask_entry(ask)->row->what;
    if (what == ASK_MORE && ask->setup->record)
        return "the rest can be added on any day, in the same way";
    if (what == ASK_MORE)
        return "the rest can be added on any day, by starting again with the same file";
    if (what == ASK_UNITS)
        return "each number can still be typed with a unit of its own";
    if (what == ASK_ANOTHER_CUTTER)
        return "the list is complete";
    if (offer->reason)
        return offer->reason;
    if (offer->computed)
        return "computed from other answers";
    if (what >= FIELD_COUNT || !field_table[what].fallback)
        return "usual";
    return strcmp(offer->text, field_table[what].fallback) == 0
               ? "the default of a machine file"
               : "about the default of a machine file";
}

/* What is offered where nothing has been answered yet. */

/* How far from the edges things are put, in m. */
#define BELOW_TOP  0.003
#define FROM_FRONT 0.04

static bool value_of(const struct answer_context *with, const struct answers *answers,
                     uint16_t what, uint32_t record, struct field_value *out)
{
    const struct answer *answer = answers_get(answers, what, record);
    return answer_has_value(answer) &&
           !field_read_text(with->arena, (enum field_id)what, answer->text, out);
}

/* In the unit of the question, to whole steps. */
static const char *in_steps(const struct answer_context *with, enum field_id id, double si,
                            double step)
{
    struct dimension dimension = field_table[id].dimension;
    unit_id unit = unit_read(view_of(understand_unit(with, id)));
    double value = round(unit_from_si(unit, dimension, si) / step) * step;
    return quantity_text(with->arena, unit_to_si(unit, dimension, value), dimension, unit);
}

/* In the unit of the question, to steps that people like: 1 mm or 0.05 in, else two digits. */
static const char *rounded(const struct answer_context *with, enum field_id id, double si,
                           bool position)
{
    unit_id unit = unit_read(view_of(understand_unit(with, id)));
    double value = unit_from_si(unit, field_table[id].dimension, si);
    double step =
        position ? with->inches ? 0.05 : 1 : number_decade(fabs(value) > 0 ? value : 1, -1);
    return in_steps(with, id, si, step);
}

/* A usual value in the unit that the person counts in; of one digit where that is within a
 * twentieth of it. */
static const char *from_text(const struct answer_context *with, const struct question *row,
                             const char *text)
{
    struct field_value value;
    enum field_id id = (enum field_id)row->what;
    if (!text || !with->inches || row->what >= FIELD_COUNT ||
        field_table[id].kind != KIND_QUANTITY ||
        strcmp(understand_unit(with, id), field_table[id].unit) == 0 ||
        field_read_text(with->arena, id, view_of(text), &value))
        return text;
    unit_id unit = unit_read(view_of(understand_unit(with, id)));
    double exact = unit_from_si(unit, field_table[id].dimension, value.si);
    double step = number_decade(exact, 0);
    bool is_near = fabs(round(exact / step) * step - exact) <= exact / 20;
    return in_steps(with, id, value.si, is_near ? step : number_decade(exact, -1));
}

static const char *next_number(const struct answer_context *with, const struct answers *answers,
                               uint32_t record)
{
    double next = 1;
    for (uint32_t i = 0; i < record; i++) {
        struct field_value value;
        if (value_of(with, answers, FIELD_CUTTER_NUMBER, i, &value) && value.si >= next)
            next = value.si + 1;
    }
    return number_exact(with->arena, next);
}

static const char *longest(const struct answer_context *with, const struct answers *answers)
{
    double most = 0;
    const char *text = NULL;
    for (uint32_t i = 0; i < question_records(answers, GROUP_CUTTER); i++) {
        struct field_value value;
        if (!value_of(with, answers, FIELD_CUTTER_STICKOUT, i, &value) || value.si <= most)
            continue;
        most = value.si;
        text = field_value_text(with->arena, FIELD_CUTTER_STICKOUT, &value);
    }
    return text;
}

/* From the travel of an axis: its high end, its middle, or its low end. */
static const char *from_travel(const struct answer_context *with, const struct answers *answers,
                               const struct question *row)
{
    static const uint32_t axis[] = {
        [USUAL_TRAVERSE] = 2, [USUAL_PARK_X] = 0, [USUAL_PARK_Y] = 1};
    struct field_value value;
    if (!value_of(with, answers, FIELD_AXIS_TRAVEL, axis[row->usual], &value))
        return NULL;
    double low = value.pair[0].si, high = value.pair[1].si, si = high - BELOW_TOP;
    if (row->usual == USUAL_PARK_X)
        si = (low + high) / 2;
    if (row->usual == USUAL_PARK_Y)
        si = low + FROM_FRONT;
    return rounded(with, (enum field_id)row->what, si, true);
}

static bool says(const struct answers *answers, enum field_id id, const char *word)
{
    const struct answer *answer = answers_get(answers, (uint16_t)id, 0);
    return answer_has_value(answer) && view_is(answer->text, word);
}

/* The questions of a change that suits the earlier answers, in the order of the work. */
static const char *usual_asks(const struct answer_context *with, const struct answers *answers)
{
    struct buffer out;
    bool hand = says(answers, FIELD_SPINDLE_SWITCHED_BY, "hand");
    bool unplugged = says(answers, FIELD_CHANGE_SPINDLE_HELD_OFF, "unplugged");
    /* Also where nothing is said to hold it: no order without that keeps hands from harm. */
    bool isolated = !unplugged && !says(answers, FIELD_CHANGE_SPINDLE_HELD_OFF, "interlocked");
    bool machine = says(answers, FIELD_CHANGE_CUTS_POWER_TO, "machine");
    bool plate = says(answers, FIELD_CHANGE_MEASURES_WITH, "plate");
    bool old = plate && says(answers, FIELD_CHANGE_TOUCHES_OLD, "yes");
    bool list = says(answers, FIELD_CHANGE_MEASURES_WITH, "list");
    bool block = says(answers, FIELD_CHANGE_MEASURES_WITH, "hand");
    bool clip = plate && !says(answers, FIELD_PLATE_RETURN_PATH, "bearings");
    bool cut = isolated || unplugged;
    const struct {
        bool wanted;
        const char *word;
    } steps[] = {
        {hand, "spindle_off"},
        {true, "standstill"},
        {machine && cut, "z_propped"},
        {isolated, "isolated"},
        {unplugged, "unplugged"},
        {says(answers, FIELD_SPINDLE_SHOE_REMOVED, "yes"), "shoe_off"},
        {old && clip, "clip_on"},
        {old, "plate_on"},
        {old, "plate_off"},
        {old && clip, "clip_off"},
        {!plate && !list && !block, "setter_clean"},
        {true, "cutter_in"},
        {clip, "clip_on"},
        {plate, "plate_on"},
        {plate, "plate_off"},
        {clip, "clip_off"},
        {block, "block_under"},
        {block, "block_away"},
        {cut, "supply_on"},
        {hand, "speed_set"},
        {hand, "spindle_on"},
    };
    buffer_init(&out, with->arena);
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++)
        if (steps[i].wanted)
            buffer_format(&out, "%s%s", out.size ? ", " : "[", steps[i].word);
    buffer_byte(&out, ']');
    return buffer_string(&out);
}

static const char *usual_value(const struct answer_context *with, const struct answers *answers,
                               const struct question *row, uint32_t record, bool *computed)
{
    struct field_value value;
    *computed = row->usual > USUAL_FILE;
    switch ((enum ask_usual)row->usual) {
    case USUAL_TEXT:
        return from_text(with, row, row->text);
    case USUAL_NUMBER:
        return next_number(with, answers, record);
    case USUAL_FILE:
        /* What the file is called is a name for the machine too. */
        return with->name.size && !field_read_text(with->arena, (enum field_id)row->what,
                                                   with->name, &value)
                   ? arena_copy(with->arena, with->name.data, with->name.size)
                   : NULL;
    case USUAL_TRAVERSE:
    case USUAL_PARK_X:
    case USUAL_PARK_Y:
        return from_travel(with, answers, row);
    case USUAL_PARK_Z:
        if (!value_of(with, answers, FIELD_CHANGE_TRAVERSE_Z, 0, &value))
            return NULL;
        return field_value_text(with->arena, FIELD_CHANGE_TRAVERSE_Z, &value);
    case USUAL_STOP:
        if (!value_of(with, answers, FIELD_SPINDLE_RUN_DOWN, 0, &value))
            return NULL;
        return rounded(with, (enum field_id)row->what, value.si * 1.25, false);
    case USUAL_LONGEST:
        return longest(with, answers);
    case USUAL_ASKS:
        return usual_asks(with, answers);
    case USUAL_NONE:
        break;
    }
    return row->what < FIELD_COUNT ? from_text(with, row, field_table[row->what].fallback)
                                   : NULL;
}

/* Questions about several fields at once.  Numbers and ranges are answered in one line, or as
 * many of them as are known: the rest is asked again by itself.  Questions of yes and no are
 * answered by marking those that get a yes. */

/* Adds `more` to a list in words. */
static void list(struct buffer *out, const char *more)
{
    buffer_format(out, "%s%s", out->size ? ", " : "", more);
}

/* "yes to 1, 3; no to 2", by the answers that stand. */
static const char *marks_text(struct ask *ask)
{
    struct buffer yes, no;
    buffer_init(&yes, ask->scratch);
    buffer_init(&no, ask->scratch);
    for (size_t i = 0; i < question_span(ask); i++) {
        struct view text = entry_answer(ask, ask_entry(ask) + i)->text;
        list(view_is(text, "yes") ? &yes : &no, arena_format(ask->scratch, "%zu", i + 1));
    }
    if (!yes.size || !no.size)
        return yes.size ? "yes to all" : "no to all";
    return arena_format(ask->scratch, "yes to %s; no to %s", buffer_string(&yes),
                        buffer_string(&no));
}

static size_t read_marks(struct ask *ask, struct view line, struct understood *parts)
{
    const char *words[ASK_JOINED_MAX];
    struct understood marked;
    size_t count = question_span(ask);
    bool all = view_is(line, "all");
    for (size_t i = 0; i < count; i++) {
        const char *key = field_table[(ask_entry(ask) + i)->row->what].key;
        words[i] = strrchr(key, '.') + 1;
    }
    parts[0].wrong =
        understand_words(&ask->with, words, count, true, all ? view_of("none") : line, &marked);
    if (parts[0].wrong)
        return 0;
    for (size_t i = 0; i < count; i++)
        parts[i] = (struct understood){
            .text = view_of(all || answer_lists(marked.text, words[i]) ? "yes" : "no")};
    parts[0].echo = "Taken as:";
    return count;
}

size_t question_read(struct ask *ask, struct view line, struct understood *parts)
{
    enum field_id ids[ASK_JOINED_MAX];
    bool bare = false;
    if (question_is_marks(ask))
        return read_marks(ask, line, parts);
    for (size_t i = 0; i < question_span(ask); i++)
        ids[i] = (enum field_id)(ask_entry(ask) + i)->row->what;
    size_t count = understand_several(&ask->with, ids, question_span(ask), line, parts);
    struct buffer echo;
    buffer_init(&echo, ask->scratch);
    for (size_t i = 0; i < count; i++) {
        const char *plain = parts[i].plain;
        const char *said = field_table[ids[i]].choices
                               ? understand_spoken(ask->scratch, parts[i].text)
                               : understand_said(ask->scratch, parts[i].text);
        bare |= parts[i].bare;
        list(&echo,
             arena_format(ask->scratch, "%s%s %s%s%s", entry_label(ask, ask_entry(ask) + i),
                          *field_table[ids[i]].unit ? "" : ":", said, plain ? " = " : "",
                          plain ? plain : ""));
    }
    if (count)
        parts[0].echo = arena_format(ask->scratch, "Taken%s%s as %s.", bare ? " in " : "",
                                     bare ? understand_unit_said(&ask->with, ids[0]) : "",
                                     buffer_string(&echo));
    return count;
}

const char *question_wants(struct ask *ask)
{
    uint16_t what = ask_entry(ask)->row->what;
    if (what >= FIELD_COUNT)
        return "Type yes or no. ";
    const char *unit = understand_unit(&ask->with, (enum field_id)what);
    switch (field_table[what].kind) {
    case KIND_QUANTITY:
    case KIND_POSITION:
        return *unit ? arena_format(ask->scratch, "Type a number, as 12 or 12 %s. ", unit)
                     : "Type a number. ";
    case KIND_PAIR:
        return ask->with.part ? arena_format(ask->scratch, "Type a number, as 12 %s. ", unit)
                              : "Type the lower and the upper one, as 0 to 12. ";
    case KIND_LIST:
        return "Type numbers with commas between. ";
    case KIND_COUNT:
        return "Type a whole number from 1. ";
    case KIND_DATE:
        return "Type a day as 2027-03-31, or today. ";
    case KIND_CHOICE:
        return question_span(ask) > 1 ? "Type numbers or words with commas between. "
                                      : "Type a number or a word of the list. ";
    case KIND_WORDS:
        return "Type numbers or words with commas between, or none. ";
    case KIND_FLAG:
        return question_span(ask) > 1 ? "Type the numbers of those, all, or none. "
                                      : "Type yes or no. ";
    case KIND_ORDER:
        return "Type the axes in their order, as z, xy, or none. ";
    default:
        if (question_span(ask) > 1)
            return "Type them in one line, with commas between, or the first alone. ";
        return "Type a name or a few words. ";
    }
}

/* What Enter would take of several, put together from what it would of each. */
static void together_offer(struct ask *ask)
{
    struct ask_offer *all = &ask->offer;
    size_t kept = 0, offered = 0, count = question_span(ask);
    struct buffer text;
    buffer_init(&text, ask->scratch);
    for (size_t i = 0; i < count; i++) {
        const struct ask_offer *part = &ask->parts[i];
        kept += part->keeps;
        offered += part->text != NULL;
        all->typed |= part->typed;
        all->computed |= part->computed;
        list(&text, part->text ? part->text : "nothing");
    }
    all->keeps = kept == count || (kept && ask->setup->exists);
    if (offered && (all->keeps || offered == count))
        all->text = buffer_string(&text);
    if (all->text && question_is_marks(ask))
        all->text = marks_text(ask);
}

/* What Enter would take. */

bool offer_was_taken(const struct question *row, const struct answer *answer)
{
    return row->what < FIELD_COUNT && row->usual != USUAL_NONE &&
           (answer->source == SOURCE_COMPUTED || answer->source == SOURCE_DEFAULT);
}

/* A chosen number gets its safe window, by the answers before it. */
static bool has_window(const struct ask_entry *entry)
{
    const struct field *field = entry_field(entry);
    return field && field->nature == NATURE_CHOSEN && field->group == GROUP_ROOT &&
           (field->kind == KIND_QUANTITY || field->kind == KIND_POSITION);
}

static void look_for_window(struct ask *ask, const struct ask_entry *entry, const char *usual)
{
    struct arena *arena = ask->scratch;
    struct view bytes;
    struct offer found;
    if (!ask->setup->exists)
        bytes = compose_new(arena, &ask->answers, &ask->sequence, ask->at, false);
    else if (ask_bytes(ask, false, &bytes))
        return;
    judge_offer(&ask->judge, arena, bytes, entry_path(ask, entry), usual, &found);
    ask->offer.window = found.window;
    ask->offer.range = found.range;
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
        ask->offer.keeps = true;
        if (answer->source != SOURCE_OPEN)
            ask->offer.text = arena_copy(ask->scratch, answer->text.data, answer->text.size);
        if (has_window(entry))
            look_for_window(ask, entry, NULL);
        return;
    }
    const char *usual =
        usual_value(&ask->with, &ask->answers, entry->row, entry->record, &ask->offer.computed);
    ask->offer.text = usual;
    ask->offer.reason = entry_field(entry) ? entry->row->reason : NULL;
    /* In a file that is there, Enter adds nothing. */
    ask->offer.typed =
        (entry->row->flags & ASK_TYPED) ||
        (ask->setup->exists && entry_field(entry) && entry->row->usual != USUAL_NUMBER);
    if (has_window(entry))
        look_for_window(ask, entry, usual);
}

void offer_find(struct ask *ask)
{
    size_t first = ask->at, count = question_span(ask);
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
