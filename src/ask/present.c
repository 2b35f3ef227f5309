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

void say_line(struct ask *ask, const char *text)
{
    buffer_text(&ask->out, text);
    buffer_byte(&ask->out, '\n');
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
    default:
        return NULL;
    }
}

static void number_of(struct ask *ask)
{
    size_t all =
        ask->at < ask->sequence.first ? ask->sequence.first : ask->sequence.items.count;
    size_t silent = 0, silent_before = 0;
    for (size_t i = 0; i < all; i++) {
        bool is = ask->sequence.items.items[i].row->flags & ASK_SILENT;
        silent += is;
        silent_before += is && i < ask->at;
    }
    const struct ask_entry *entry = ask_entry(ask);
    const char *name = record_name(ask, entry);
    say(ask, 0, "Question %zu of about %zu%s%s", ask->at + 1 - silent_before, all - silent,
        name ? ": " : "", name ? name : "");
}

static void cautions(struct ask *ask, uint8_t flags)
{
    if (flags & ASK_COLLET)
        say(ask, 2, "Caution: spindle isolated or unplugged before hands go near the collet.");
    if (flags & ASK_MOVES)
        say(ask, 2, "Caution: to find out, the machine moves: slowly, a hand on the stop.");
    if (flags & ASK_RUNS)
        say(ask, 2,
            "Caution: to find out, the spindle runs: guards on, hands away, no cutter "
            "faster than it is made for.");
}

static void choices(struct ask *ask, const struct ask_entry *entry)
{
    if (entry->row->what == ASK_UNITS) {
        say_line(ask, "  1 millimetres\n  2 inches");
        return;
    }
    for (size_t i = 0; entry->row->what == ASK_MORE && i < ASK_MORE_COUNT; i++)
        say(ask, 2, "%zu %s: %s", i + 1, more_table[i].word, more_table[i].says);
    if (entry->row->what == ASK_MORE)
        return;
    if (entry->row->what >= FIELD_COUNT || field_table[entry->row->what].kind == KIND_FLAG) {
        say_line(ask, "  1 yes\n  2 no");
        return;
    }
    const struct field *field = &field_table[entry->row->what];
    for (size_t i = 0; field->choices && i < field_choice_count(field); i++)
        say(ask, 2, "%zu %s", i + 1, understand_spoken(&ask->scratch, field_choice(field, i)));
}

/* How the answer is to look, where that is not plain. */
static const char *form(struct ask *ask, const struct ask_entry *entry)
{
    if (entry->row->what == ASK_MORE)
        return " (numbers with commas between, or none)";
    if (entry->row->what >= FIELD_COUNT)
        return "";
    enum field_id id = (enum field_id)entry->row->what;
    const char *unit = understand_unit(&ask->with, id);
    switch (field_table[id].kind) {
    case KIND_PAIR:
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

static void offer_line(struct ask *ask)
{
    const struct ask_offer *offer = &ask->offer;
    const struct answer *answer = entry_answer(ask, ask_entry(ask));
    if (offer->window)
        say(ask, 2, "%c%s.", offer->window[0] - 'a' + 'A', offer->window + 1);
    if (answer->unsure)
        say(ask, 2, "Asked again, since an answer before it has changed.");
    if (offer->keeps) {
        say(ask, 2, "Enter keeps %s.",
            offer->text ? escape_short(&ask->scratch, view_of(offer->text), SHOWN) : "it open");
        return;
    }
    if (!offer->text)
        return;
    const char *from = offer->reason     ? offer->reason
                       : offer->computed ? "computed from other answers"
                       : ask_entry(ask)->row->what < FIELD_COUNT &&
                               field_table[ask_entry(ask)->row->what].fallback
                           ? "the default of a machine file"
                           : "usual";
    if (offer->typed)
        say(ask, 2, "%s would do: %s. Type what is set, or will be.", offer->text, from);
    else
        say(ask, 2, "Enter takes %s: %s.",
            strcmp(offer->text, "[]") == 0 ? "none" : offer->text, from);
}

void present_question(struct ask *ask)
{
    const struct ask_entry *entry = ask_entry(ask);
    say_line(ask, "");
    if (ask->topic != entry->row->topic) {
        ask->topic = entry->row->topic;
        say(ask, 0, "== %s ==", topic_names[ask->topic]);
    }
    number_of(ask);
    const char *text = entry->row->what < FIELD_COUNT ? field_table[entry->row->what].meaning
                                                      : entry->row->reason;
    say(ask, 0, "%c%s%s", text[0] >= 'a' && text[0] <= 'z' ? text[0] - 'a' + 'A' : text[0],
        text + 1, form(ask, entry));
    choices(ask, entry);
    cautions(ask, entry->row->flags);
    offer_line(ask);
}

static void range(struct ask *ask, const struct field *field)
{
    if (!*field->unit || isnan(field->plausible_low) || isnan(field->plausible_high))
        return;
    unit_id unit = unit_read(
        view_of(understand_unit(&ask->with, (enum field_id)ask_entry(ask)->row->what)));
    struct arena *arena = &ask->scratch;
    say(ask, 2, "Plausible from %s to %s; other units are fine when you type them.",
        quantity_text(arena, field->plausible_low, field->dimension, unit),
        quantity_text(arena, field->plausible_high, field->dimension, unit));
}

void present_help(struct ask *ask)
{
    const struct ask_entry *entry = ask_entry(ask);
    if (entry->row->what < FIELD_COUNT) {
        enum field_id id = (enum field_id)entry->row->what;
        const struct field *field = &field_table[id];
        const char *drawing = drawing_of(id);
        say(ask, 0, "%s, %s",
            answer_path(&ask->scratch, &ask->answers, entry->row->what, entry->record),
            field_nature_name(field->nature));
        say(ask, 2, "%s", field->measure);
        range(ask, field);
        if (drawing)
            buffer_text(&ask->out, drawing);
    }
    say(ask, 2,
        "Words that go everywhere: ? explains, back goes back (back 3: three steps), "
        "skip leaves it open, later keeps all and stops, on goes forward to what is "
        "still open.");
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
