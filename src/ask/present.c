/* What the dialogue shows: questions, help, findings. */
#include "ask/internal.h"

#include <math.h>
#include <stdarg.h>

#include "quantity/quantity.h"
#include "report/wrap.h"
#include "text/escape.h"

enum { SHOWN = 70 };

void say(struct ask *ask, size_t indent, const char *format, ...)
{
    struct buffer text;
    va_list arguments;
    const struct wrap wrap = {wrap_width(ask->setup->layout.width), indent,
                              indent ? indent + 2 : 0};
    buffer_init(&text, &ask->scratch);
    va_start(arguments, format);
    buffer_format_list(&text, format, arguments);
    va_end(arguments);
    wrap_add(&ask->out, &wrap, buffer_view(&text));
}

void say_answer(struct ask *ask, const char *format, ...)
{
    va_list arguments;
    struct buffer text;
    buffer_init(&text, &ask->scratch);
    va_start(arguments, format);
    buffer_format_list(&text, format, arguments);
    va_end(arguments);
    say(ask, 0, "%s", buffer_string(&text));
    buffer_format(&ask->said, "%s%s", ask->said.size ? " " : "", buffer_string(&text));
}

void say_line(struct ask *ask, const char *text)
{
    buffer_text(&ask->out, text);
    buffer_byte(&ask->out, '\n');
}

/* With a capital at its start, unless that is a word of a file. */
static const char *sentence(struct ask *ask, const char *text)
{
    char *copy = arena_copy(&ask->scratch, text, strlen(text));
    size_t word = strcspn(text, " :");
    if (*copy >= 'a' && *copy <= 'z' && !memchr(text, '_', word))
        *copy = (char)(*copy - 'a' + 'A');
    return copy;
}

/* "cutter 3", "axis x", "input setter"; NULL for the machine as a whole. */
static const char *record_name(struct ask *ask, const struct ask_entry *entry)
{
    static const char axes[] = "xyz";
    const struct answer *number;
    switch (answer_group(entry->row->what)) {
    case GROUP_AXIS:
    case GROUP_HOMING:
        return arena_format(&ask->scratch, "axis %c", axes[entry->record % 3]);
    case GROUP_INPUT:
        return arena_format(&ask->scratch, "input %.*s",
                            VIEW(ask->answers.inputs.items[entry->record]));
    case GROUP_CUTTER:
        number = answers_get(&ask->answers, FIELD_CUTTER_NUMBER, entry->record);
        if (entry->row->what == ASK_ANOTHER_CUTTER)
            return NULL;
        if (entry->row->what == FIELD_CUTTER_NUMBER || !answer_has_value(number))
            return arena_format(&ask->scratch, "cutter, entry %u of the list",
                                entry->record + 1);
        return arena_format(&ask->scratch, "cutter %.*s", VIEW(number->text));
    case GROUP_OBSTACLE:
        return entry->row->what == ASK_OBSTACLE
                   ? NULL
                   : arena_format(&ask->scratch, "obstacle %u", entry->record + 1);
    case GROUP_ATTACHMENT:
        return entry->row->what == ASK_ATTACHMENT
                   ? NULL
                   : arena_format(&ask->scratch, "attachment %u", entry->record + 1);
    default:
        return NULL;
    }
}

size_t question_number(struct ask *ask, size_t *of)
{
    const struct ask_sequence *sequence = &ask->sequence;
    size_t all = ask->at < sequence->first ? sequence->first : sequence->items.count;
    size_t here = question_first(sequence, ask->at), before = 0;
    *of = 0;
    for (size_t i = 0; i < all; i = question_end(sequence, i)) {
        bool asked = i == here || !walk_is_silent(ask, i);
        *of += asked;
        before += asked && i < here;
    }
    return before + 1;
}

const char *question_record(struct ask *ask)
{
    return ask_entry(ask)->row->flags & ASK_EACH ? NULL : record_name(ask, ask_entry(ask));
}

static void number_of(struct ask *ask)
{
    size_t count, number = question_number(ask, &count);
    const char *name = question_record(ask);
    say(ask, 0, "Question %zu of %s%zu%s%s", number, ask->setup->place_count ? "" : "about ",
        count, name ? ": " : "", name ? name : "");
}

unsigned question_care(const struct ask *ask)
{
    unsigned care = 0;
    for (size_t i = 0; ask_entry(ask)->row->what < FIELD_COUNT && i < ask_span(ask); i++)
        care |= field_table[ask_entry(ask)[i].row->what].care;
    return care;
}

static void cautions(struct ask *ask)
{
    unsigned care = question_care(ask);
    if (care & CARE_COLLET)
        say(ask, 2, "Caution: spindle isolated or unplugged before hands go near the collet.");
    if (care & CARE_MOVES)
        say(ask, 2, "Caution: to find out, the machine moves: slowly, a hand on the stop.");
    if (care & CARE_RUNS)
        say(ask, 2,
            "Caution: to find out, the spindle runs: guards on, hands away, no cutter "
            "faster than it is made for.");
}

size_t question_choices(struct ask *ask, const struct ask_entry *entry, struct choice *out)
{
    static const struct choice flags[] = {{"yes", "yes"}, {"no", "no"}};
    static const struct choice units[] = {{"mm", "millimetres"}, {"in", "inches"}};
    static const struct choice numbers[] = {
        {"yes", "yes: each is asked for, as it is set"},
        {"no", "no: each is proposed, within what the rules allow by the answers so far"}};
    struct arena *arena = &ask->scratch;
    uint16_t what = entry->row->what;
    size_t count = 0;
    if (what == ASK_MORE)
        for (; count < ASK_MORE_COUNT; count++)
            out[count] = (struct choice){
                more_table[count].word,
                arena_format(arena, "%s: %s", more_table[count].word, more_table[count].says)};
    else if (what >= FIELD_COUNT || field_table[what].kind == KIND_FLAG)
        for (; count < 2; count++)
            out[count] = what == ASK_UNITS     ? units[count]
                         : what == ASK_NUMBERS ? numbers[count]
                                               : flags[count];
    else if (field_table[what].choices)
        for (; count < field_choice_count(&field_table[what]); count++) {
            struct view word = field_choice(&field_table[what], count);
            out[count] = (struct choice){arena_copy(arena, word.data, word.size),
                                         understand_spoken(arena, word)};
        }
    return count;
}

static void choices(struct ask *ask, const struct ask_entry *entry)
{
    struct choice list[CHOICES_MAX];
    size_t count = question_choices(ask, entry, list);
    for (size_t i = 0; i < count; i++)
        say(ask, 2, "%zu %s", i + 1, list[i].says);
}

/* How the answer is to look, where that is not plain. */
static const char *form(struct ask *ask, const struct ask_entry *entry)
{
    if (entry->row->what == ASK_MORE)
        return " (numbers with commas between, or none)";
    if (entry->row->what >= FIELD_COUNT)
        return "";
    enum field_id id = (enum field_id)entry->row->what;
    const char *unit = understand_unit_said(&ask->with, id);
    switch (field_table[id].kind) {
    case KIND_PAIR:
        if (entry->part)
            return arena_format(&ask->scratch, " (%s; in %s)",
                                entry->part == 1 ? "low" : "high", unit);
        return arena_format(&ask->scratch, " (low, high; in %s)", unit);
    case KIND_LIST:
        return arena_format(&ask->scratch, " (with commas between; in %s)", unit);
    case KIND_WORDS:
        return " (numbers with commas between, or none)";
    case KIND_DATE:
        return " (as 2027-03-31, or today)";
    default:
        return *unit ? arena_format(&ask->scratch, " (in %s)", unit) : "";
    }
}

static void window_line(struct ask *ask, const char *window)
{
    if (window)
        say(ask, 2, "%c%s.", window[0] - 'a' + 'A', window + 1);
}

/* Why a value is offered. */
const char *offer_reason(const struct ask *ask, const struct ask_offer *offer)
{
    uint16_t what = ask_entry(ask)->row->what;
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
    return what < FIELD_COUNT && field_table[what].fallback ? "the default of a machine file"
                                                            : "usual";
}

/* Of several: the window and the reason of each. */
static void offer_each(struct ask *ask)
{
    for (size_t i = 0; i < ask_span(ask); i++) {
        const struct ask_offer *part = &ask->parts[i];
        const char *label = together_label(ask, ask_entry(ask) + i);
        if (part->window)
            say(ask, 2, "%s: %s.", label, part->window);
        if (!part->keeps && part->text && part->reason)
            say(ask, 2, "%s, %s: %s.", label, part->text, part->reason);
    }
}

static void offer_line(struct ask *ask)
{
    const struct ask_offer *offer = &ask->offer;
    bool several = ask_span(ask) > 1;
    window_line(ask, offer->window);
    if (entry_answer(ask, ask_entry(ask))->unsure)
        say(ask, 2, "Asked again, since an answer before it has changed.");
    if (several && !together_is_marks(ask))
        offer_each(ask);
    if (offer->keeps) {
        say(ask, 2, "Enter keeps %s.",
            offer->text ? escape_short(&ask->scratch, view_of(offer->text), SHOWN) : "it open");
        return;
    }
    if (!offer->text)
        return;
    const char *text = strcmp(offer->text, "[]") == 0 ? "none" : offer->text;
    const char *colon = several ? "" : ": ", *reason = several ? "" : offer_reason(ask, offer);
    if (offer->typed)
        say(ask, 2, "%s would do%s%s. Type what is set, or will be.", text, colon, reason);
    else
        say(ask, 2, "Enter takes %s%s%s.", text, colon, reason);
}

/* What a line for several ranges looks like; the last `count` of them. */
static const char *example(const struct ask *ask, size_t count)
{
    static const char *const ranges[2][4] = {
        {NULL, NULL, "0 to 400, -80 to 0", "0 to 600, 0 to 400, -80 to 0"},
        {NULL, NULL, "0 to 16, -3 to 0", "0 to 24, 0 to 16, -3 to 0"},
    };
    return count < 4 ? ranges[ask->with.inches][count] : NULL;
}

/* What is asked in one question, each by its short name. */
static void present_several(struct ask *ask)
{
    static const char *const counts[] = {"None", "One", "Two", "Three", "Four"};
    enum field_id id = (enum field_id)ask_entry(ask)->row->what;
    const char *meaning = sentence(ask, field_table[id].meaning);
    size_t count = ask_span(ask);
    const char *unit = understand_unit_said(&ask->with, id);
    bool marks = together_is_marks(ask), ranges = field_table[id].kind == KIND_PAIR;
    if (marks) {
        say(ask, 0, "Which of these get a yes? (numbers with commas between, all, or none)");
    } else if (ask_entry(ask)->row->flags & ASK_EACH) {
        say(ask, 0, "%s: %s (in %s)", meaning, count == 3 ? "X, Y and Z" : "Y and Z", unit);
        say(ask, 2, "In one line, as %s, or one at a time.",
            ranges       ? example(ask, count)
            : count == 3 ? "300, 300, 200"
                         : "300, 200");
        return;
    } else {
        say(ask, 0, "%s numbers in one line, commas between, or one at a time (in %s)",
            counts[count], unit);
    }
    for (size_t i = 0; i < count; i++) {
        const struct ask_entry *entry = ask_entry(ask) + i;
        const char *label =
            marks ? arena_format(&ask->scratch, "%zu", i + 1)
                  : arena_format(&ask->scratch, "%s:", together_label(ask, entry));
        say(ask, 2, "%s %s", label,
            marks ? sentence(ask, field_table[entry->row->what].meaning)
                  : field_table[entry->row->what].meaning);
    }
}

/* Which got a yes, in words. */
void present_marks(struct ask *ask, const struct understood *parts)
{
    for (size_t i = 0; i < ask_span(ask); i++)
        say(ask, 2, "%.*s: %s", VIEW(parts[i].text),
            field_table[(ask_entry(ask) + i)->row->what].meaning);
}

/* The words of what is asked. */
static void present_words(struct ask *ask)
{
    const struct ask_entry *entry = ask_entry(ask);
    if (ask_span(ask) > 1) {
        present_several(ask);
        return;
    }
    const char *text = entry->row->what < FIELD_COUNT ? field_table[entry->row->what].meaning
                                                      : entry->row->reason;
    bool each = entry->row->flags & ASK_EACH;
    say(ask, 0, "%s%s%s%s", sentence(ask, text), each ? ": " : "",
        each ? together_label(ask, entry) : "", form(ask, entry));
    choices(ask, entry);
}

static void range(struct ask *ask, const struct field *field, enum field_id id)
{
    if (!*field->unit || isnan(field->plausible_low) || isnan(field->plausible_high))
        return;
    unit_id unit = unit_read(view_of(understand_unit(&ask->with, id)));
    struct arena *arena = &ask->scratch;
    say(ask, 2, "Plausible from %s to %s; other units are fine when you type them.",
        quantity_text(arena, field->plausible_low, field->dimension, unit),
        quantity_text(arena, field->plausible_high, field->dimension, unit));
}

/* How each of the fields is found out.  Where they alone are asked for, that is said at once,
 * with `drawn` NULL, and the rest when it is asked for; `*drawn` is the drawing that stands
 * there. */
static void help_entry(struct ask *ask, size_t index, const char **drawn)
{
    static const char *const parts[] = {"", ".low", ".high"};
    const struct ask_entry *entry = ask_entry(ask) + index;
    enum field_id id = (enum field_id)entry->row->what;
    const struct field *field = &field_table[id];
    if (index && entry->row == entry[-1].row)
        return;
    if (!drawn || !ask->setup->place_count) {
        say(ask, 0, "%s%s%s, %s",
            together_is_marks(ask) ? arena_format(&ask->scratch, "%zu ", index + 1) : "",
            answer_path(&ask->scratch, &ask->answers, entry->row->what, entry->record),
            parts[entry->part], field_nature_name(field->nature));
        say(ask, 2, "%s", field->measure);
    }
    if (!drawn)
        return;
    const char *drawing = drawing_of(id);
    range(ask, field, id);
    if (drawing && drawing != *drawn)
        buffer_text(&ask->out, drawing);
    *drawn = drawing;
}

void present_question(struct ask *ask)
{
    const struct ask_entry *entry = ask_entry(ask);
    say_line(ask, "");
    if (ask->topic != entry->row->topic && !ask->setup->place_count) {
        ask->topic = entry->row->topic;
        say(ask, 0, "== %s ==", topic_names[ask->topic]);
        if (topic_notes[ask->topic])
            say(ask, 0, "%s", topic_notes[ask->topic]);
    }
    number_of(ask);
    if (ask->setup->place_count)
        help_entry(ask, 0, NULL);
    present_words(ask);
    cautions(ask);
    if (entry->row->what == FIELD_CUTTER_DESCRIPTION &&
        entry[-1].row->what == FIELD_CUTTER_NUMBER)
        say(ask, 2, "Programs call it %.*s; back %s changes that.",
            VIEW(entry_answer(ask, entry - 1)->text),
            answer_path(&ask->scratch, &ask->answers, FIELD_CUTTER_NUMBER, entry->record));
    offer_line(ask);
}

/* A number that is proposed without a question. */
void present_proposal(struct ask *ask)
{
    const char *window = ask->offer.window;
    const char *end = window ? strchr(window, ';') : NULL;
    say(ask, 2, "%s: %s%s%.*s%s", sentence(ask, field_table[ask_entry(ask)->row->what].meaning),
        ask->offer.text, window ? " (" : "",
        window ? (int)(end ? (size_t)(end - window) : strlen(window)) : 0, window ? window : "",
        window ? ")" : "");
}

static void help_numbers(struct ask *ask)
{
    say(ask, 2,
        "Where the machine has a change procedure already, the numbers in it are what is to be "
        "checked: answer yes, and read each out of it. Where it has none yet, answer no: numbers "
        "are proposed that keep every rule, and are to be set at the machine afterwards.");
}

void present_help(struct ask *ask)
{
    const char *drawn = NULL;
    for (size_t i = 0; ask_entry(ask)->row->what < FIELD_COUNT && i < ask_span(ask); i++)
        help_entry(ask, i, &drawn);
    if (ask_entry(ask)->row->what == ASK_NUMBERS)
        help_numbers(ask);
    say(ask, 2,
        "Words that go everywhere: ? explains, back goes back (back 3: three steps), "
        "skip leaves it open, %s, on goes forward to what is still open.",
        ask->setup->place_count ? "stop ends without changing anything"
                                : "later keeps all and stops");
    present_question(ask);
}

void present_findings(struct ask *ask, const struct finding_list *news)
{
    for (size_t i = 0; i < news->items.count; i++) {
        const struct finding *finding = news->items.items[i];
        say(ask, 0, "%s: %s [%s]", finding_level_name(finding->level), finding->message,
            finding->rule);
        if (finding->put_right)
            say(ask, 2, "put right: %s", finding->put_right);
    }
}
