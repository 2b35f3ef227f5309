/* What the dialogue shows as text: questions, help, findings, the review.  Changes nothing. */
#include "ask/internal.h"

#include <math.h>
#include <stdlib.h>

#include "quantity/quantity.h"
#include "report/wrap.h"
#include "text/diff.h"
#include "text/escape.h"

enum { SHOWN = 70, ANSWER_SHOWN = 400 };

/* Small drawings for `?`, in plain ASCII and narrow enough for 40 columns. */

static const char nose[] = "      |       |\n"
                           "      | spin- |\n"
                           "      |  dle  |\n"
                           "      +-+   +-+\n"
                           "        |nut|  <- nose: lowest face\n"
                           "        +-+-+     of the nut\n"
                           "          |\n"
                           "          |    stick-out\n"
                           "          v  <- tip of the cutter\n"
                           "\n"
                           "       [=====] setter\n"
                           "  --------------------- table\n";

static const char standoff[] = "        +-+-+  <- nose\n"
                               "          |\n"
                               "          v  <- tip: the fast\n"
                               "          :     approach ends\n"
                               "          :  standoff\n"
                               "          :\n"
                               "       [=====] setter\n"
                               "       at the start of the slow\n"
                               "       stroke\n";

static const char plan[] = "    Y high\n"
                           "    +--------------+\n"
                           "    |   work       |\n"
                           "    |              |\n"
                           "    |          (o) | setter\n"
                           "    +------*-------+\n"
                           "    X low  park    X high\n"
                           "    (seen from above)\n";

static const char *drawing_of(enum field_id id)
{
    switch (field_of_setter(id)) {
    case FIELD_TABLE_NOSE_CONTACT:
    case FIELD_SETTER_NOSE_CONTACT:
    case FIELD_CUTTER_STICKOUT:
    case FIELD_CHANGE_ASSUMED_STICKOUT:
        return nose;
    case FIELD_CHANGE_STANDOFF:
    case FIELD_CHANGE_PROBE_STROKE:
        return standoff;
    case FIELD_AXIS_TRAVEL:
    case FIELD_SETTER_AT_X:
    case FIELD_SETTER_AT_Y:
    case FIELD_CHANGE_PARK_X:
    case FIELD_CHANGE_PARK_Y:
        return plan;
    default:
        return NULL;
    }
}

/* With a capital at its start, unless that is a word of a file. */
static const char *sentence(struct ask *ask, const char *text)
{
    char *copy = arena_copy(ask->scratch, text, strlen(text));
    if (!memchr(text, '_', strcspn(text, " :")))
        *copy = letter_upper(*copy);
    return copy;
}

static void number_of(struct ask *ask)
{
    size_t count, measured, number = question_number(ask, &count);
    size_t left = questions_left(ask, &measured);
    const char *name = question_record(ask);
    const char *about = name ? arena_format(ask->scratch, ": %s", name) : "";
    const char *more = arena_format(ask->scratch, " (about %zu more)", left);
    if (measured)
        more = arena_format(ask->scratch, " (about %zu more, %zu of them to measure)", left,
                            measured);
    bool alone = ask->setup->place_count;
    say(ask, 0, "Question %zu of %s%zu%s%s", number, alone ? "" : "about ", count,
        alone || !left ? "" : more, about);
}

/* Each on a line of its own; of one among several questions all on one. */
static void choices(struct ask *ask, const struct ask_entry *entry, bool in_line)
{
    struct choice list[CHOICES_MAX];
    struct buffer line;
    size_t count = question_choices(ask, entry, list);
    buffer_init(&line, ask->scratch);
    for (size_t i = 0; i < count; i++) {
        if (!in_line)
            say(ask, 2, "%zu %s", i + 1, list[i].says);
        buffer_format(&line, "%s%zu %s", i ? ", " : "", i + 1, list[i].says);
    }
    if (count && in_line)
        say(ask, 4, "%s", buffer_string(&line));
}

/* How the answer is to look, where that is not plain. */
static const char *form(struct ask *ask, const struct ask_entry *entry)
{
    const struct field *field = entry_field(entry);
    if (entry->row->what == ASK_MORE && !ask->setup->record)
        return " (numbers with commas between, all, or none)";
    if (!field)
        return "";
    const char *unit = understand_unit_said(&ask->with, (enum field_id)entry->row->what);
    switch (field->kind) {
    case KIND_PAIR:
        if (entry->part)
            return arena_format(ask->scratch, " (%s; in %s)", entry->part == 1 ? "low" : "high",
                                unit);
        return arena_format(ask->scratch, " (low, high; in %s)", unit);
    case KIND_LIST:
        return arena_format(ask->scratch, " (with commas between; in %s)", unit);
    case KIND_WORDS:
        return " (numbers with commas between, or none)";
    case KIND_ORDER:
        return " (as z, xy; or none where it does not home)";
    case KIND_DATE:
        return " (as 2027-03-31, or today)";
    default:
        return *unit ? arena_format(ask->scratch, " (in %s)", unit) : "";
    }
}

static void offer_line(struct ask *ask)
{
    const struct ask_offer *offer = &ask->offer;
    size_t count = question_span(ask);
    bool several = count > 1;
    if (offer->window)
        say(ask, 2, "%s.", sentence(ask, offer->window));
    if (entry_answer(ask, ask_entry(ask))->unsure)
        say(ask, 2, "Asked again, since an answer before it has changed.");
    /* Of several: the window and the reason of each. */
    for (size_t i = 0; several && !question_is_marks(ask) && i < count; i++) {
        const struct ask_offer *part = &ask->parts[i];
        const char *label = entry_label(ask, ask_entry(ask) + i);
        if (part->window)
            say(ask, 2, "%s: %s.", label, part->window);
        if (!part->keeps && part->text && part->reason)
            say(ask, 2, "%s, %s: %s.", label, part->text, part->reason);
    }
    if (offer->keeps) {
        say(ask, 2, "Enter keeps %s.", offer_said(ask));
        return;
    }
    if (!offer->text)
        return;
    const char *text = offer_said(ask);
    const char *colon = several ? "" : ": ", *reason = several ? "" : offer_reason(ask, offer);
    if (offer->typed)
        say(ask, 2, "%s would do%s%s. Type what is set, or will be.", text, colon, reason);
    else
        say(ask, 2, "Enter takes %s%s%s.", text, colon, reason);
}

/* What an entry asks: its own question, or what its field means. */
static const char *asked_text(const struct ask_entry *entry, bool together)
{
    const char *asks = question_asks(entry->row->what, together);
    return asks ? asks : entry_field(entry) ? entry_field(entry)->meaning : entry->row->reason;
}

/* Ends with its full question mark, the letters of axes before it. */
static const char *headline(struct ask *ask, const struct ask_entry *entry, bool together)
{
    const char *asks = question_asks(entry->row->what, together);
    const char *text = asked_text(entry, together);
    if (!(entry->row->flags & ASK_EACH))
        return sentence(ask, text);
    const char *axes = !together                 ? entry_label(ask, entry)
                       : question_span(ask) == 3 ? "X, Y and Z"
                                                 : "Y and Z";
    return arena_format(ask->scratch, "%s: %s%s", sentence(ask, text), axes, asks ? "?" : "");
}

const char *show_headline(struct ask *ask)
{
    bool several = question_span(ask) > 1;
    return question_is_marks(ask) ? NULL : headline(ask, ask_entry(ask), several);
}

const char *show_entry(struct ask *ask, const struct ask_entry *entry)
{
    return sentence(ask, asked_text(entry, false));
}

/* What is asked in one question, each by its short name. */
static void show_several(struct ask *ask)
{
    enum field_id id = (enum field_id)ask_entry(ask)->row->what;
    size_t count = question_span(ask);
    const char *unit = understand_unit_said(&ask->with, id);
    bool marks = question_is_marks(ask), ranges = field_table[id].kind == KIND_PAIR;
    if (marks) {
        say(ask, 0, "Which of these get a yes? (numbers with commas between, all, or none)");
    } else if (ask_entry(ask)->row->flags & ASK_EACH) {
        static const char *const examples[2][2][2] = {
            /* of numbers and of ranges, in mm and in inches, of two axes and of three */
            {{"300, 200", "300, 300, 200"}, {"12, 8", "12, 12, 8"}},
            {{"0 to 400, -80 to 0", "0 to 600, 0 to 400, -80 to 0"},
             {"0 to 16, -3 to 0", "0 to 24, 0 to 16, -3 to 0"}},
        };
        say(ask, 0, "%s (in %s)", headline(ask, ask_entry(ask), true), unit);
        say(ask, 2, "In one line, as %s, or one at a time.",
            examples[ranges][ask->with.inches][count == 3]);
        return;
    } else {
        say(ask, 0, "%s (%sin one line, commas between, or one at a time)",
            headline(ask, ask_entry(ask), true),
            *unit ? arena_format(ask->scratch, "in %s; ", unit) : "");
    }
    for (size_t i = 0; i < count; i++) {
        const struct ask_entry *entry = ask_entry(ask) + i;
        const char *label = marks ? arena_format(ask->scratch, "%zu", i + 1)
                                  : arena_format(ask->scratch, "%s:", entry_label(ask, entry));
        const char *asks = question_asks(entry->row->what, false);
        bool chosen = !marks && field_table[entry->row->what].choices;
        const char *text = chosen && asks ? asks : field_table[entry->row->what].meaning;
        say(ask, 2, "%s %s", label, marks || chosen ? sentence(ask, text) : text);
        if (!marks)
            choices(ask, entry, true);
    }
}

/* Which got a yes, in words. */
void show_marks(struct ask *ask, const struct understood *parts)
{
    for (size_t i = 0; i < question_span(ask); i++)
        say(ask, 2, "%.*s: %s", VIEW(parts[i].text),
            field_table[(ask_entry(ask) + i)->row->what].meaning);
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
            question_is_marks(ask) ? arena_format(ask->scratch, "%zu ", index + 1) : "",
            entry_spoken_path(ask, entry), parts[entry->part],
            field_nature_name(field->nature));
        say(ask, 2, "%s", field->measure);
    }
    if (!drawn)
        return;
    const char *drawing = drawing_of(id);
    unit_id unit = unit_read(view_of(understand_unit(&ask->with, id)));
    if (*field->unit && !isnan(field->plausible_low) && !isnan(field->plausible_high))
        say(ask, 2, "Plausible from %s to %s; other units are fine when you type them.",
            quantity_text(ask->scratch, field->plausible_low, field->dimension, unit),
            quantity_text(ask->scratch, field->plausible_high, field->dimension, unit));
    if (field_takes_readings(id) && question_span(ask) == 1)
        say(ask, 2,
            "Read it three times or more and type all, with commas between: mean and tolerance are worked out. Of three readings the tolerance is 9.8 times their standard deviation, of five 5.1 times, of ten 3.4 times.");
    if (drawing && drawing != *drawn)
        buffer_text(&ask->out, drawing);
    *drawn = drawing;
}

void show_question(struct ask *ask)
{
    const struct ask_entry *entry = ask_entry(ask);
    say_line(ask, "");
    if (ask->topic != entry->row->topic && !asks_part(ask)) {
        ask->topic = entry->row->topic;
        say(ask, 0, "== %s ==", topic_names[ask->topic]);
        if (topic_notes[ask->topic])
            say(ask, 0, "%s", topic_notes[ask->topic]);
    }
    number_of(ask);
    if (ask->setup->place_count)
        help_entry(ask, 0, NULL);
    if (question_span(ask) > 1) {
        show_several(ask);
    } else {
        say(ask, 0, "%s%s", headline(ask, entry, false), form(ask, entry));
        choices(ask, entry, false);
    }
    for (size_t i = 0; field_caution(question_care(ask), i); i++)
        say(ask, 2, "Caution: %s", field_caution(question_care(ask), i));
    if (entry->row->what == FIELD_CUTTER_DESCRIPTION &&
        entry[-1].row->what == FIELD_CUTTER_NUMBER)
        say(ask, 2, "Programs call it %.*s; back number changes that.",
            VIEW(entry_answer(ask, entry - 1)->text));
    offer_line(ask);
    found_lines(ask);
}

/* A number that is proposed without a question. */
void show_proposal(struct ask *ask)
{
    const char *window = ask->offer.window;
    const char *end = window ? strchr(window, ';') : NULL;
    say(ask, 2, "%s: %s%s%.*s%s", sentence(ask, field_table[ask_entry(ask)->row->what].meaning),
        ask->offer.text, window ? " (" : "",
        window ? (int)(end ? (size_t)(end - window) : strlen(window)) : 0, window ? window : "",
        window ? ")" : "");
}

void show_help(struct ask *ask)
{
    const char *drawn = NULL;
    for (size_t i = 0; entry_field(ask_entry(ask)) && i < question_span(ask); i++)
        help_entry(ask, i, &drawn);
    if (ask_entry(ask)->row->what == ASK_NUMBERS)
        say(ask, 2,
            "Where the machine has a change procedure already, the numbers in it are what is to "
            "be checked: answer yes, and read each out of it. Where it has none yet, answer no: "
            "numbers are proposed that keep every rule, and are to be set at the machine "
            "afterwards.");
    say(ask, 2,
        "Words that go everywhere: ? explains, back goes back (back 3: three steps), "
        "skip leaves it open, %s, on goes forward to what is still open.",
        asks_part(ask) ? "stop ends without changing anything" : "later keeps all and stops");
    show_question(ask);
}

/* Do they say the same of two things, as of two cutters? */
static bool are_alike(const struct finding *a, const struct finding *b)
{
    return strcmp(a->rule, b->rule) == 0 && a->requirement == b->requirement && a->subject &&
           b->subject && a->has_margin && b->has_margin;
}

/* Of several that say the same, is it the one to be told: the worst, of equals the first? */
static bool is_worst(const struct finding_list *news, size_t at)
{
    const struct finding *finding = news->items.items[at];
    for (size_t i = 0; i < news->items.count; i++) {
        const struct finding *other = news->items.items[i];
        if (i != at && are_alike(finding, other) &&
            (other->margin < finding->margin || (other->margin == finding->margin && i < at)))
            return false;
    }
    return true;
}

/* "cutter 1, cutter 4 and 7 more", those of which the same is said; "": of none. */
static const char *others(struct ask *ask, const struct finding_list *news, size_t worst)
{
    enum { NAMED = 4 };
    struct buffer names;
    size_t count = 0;
    buffer_init(&names, ask->scratch);
    for (size_t i = 0; i < news->items.count; i++)
        if (i != worst && are_alike(news->items.items[worst], news->items.items[i]) &&
            ++count <= NAMED)
            buffer_format(&names, "%s%s", count > 1 ? ", " : "", news->items.items[i]->subject);
    if (count > NAMED)
        buffer_format(&names, " and %zu more", count - NAMED);
    return buffer_string(&names);
}

/* `cutter 3 stickout` for cutters[2].stickout, by the number that programs call it. */
static const char *told(struct ask *ask, const char *text)
{
    static const char list[] = "cutters[";
    struct buffer out;
    buffer_init(&out, ask->scratch);
    while (*text) {
        char *end;
        bool names = strncmp(text, list, sizeof list - 1) == 0 &&
                     text[sizeof list - 1] >= '0' && text[sizeof list - 1] <= '9';
        unsigned long record = names ? strtoul(text + sizeof list - 1, &end, 10) : 0;
        const struct answer *number =
            names && *end == ']' && record < question_records(&ask->answers, GROUP_CUTTER)
                ? answers_get(&ask->answers, FIELD_CUTTER_NUMBER, (uint32_t)record)
                : NULL;
        if (!number || !answer_has_value(number)) {
            buffer_byte(&out, *text++);
            continue;
        }
        buffer_format(&out, "cutter %.*s%s", VIEW(number->text), end[1] == '.' ? " " : "");
        text = end + 1 + (end[1] == '.');
    }
    return buffer_string(&out);
}

void show_findings(struct ask *ask, const struct finding_list *news)
{
    if (news->gone && asks_part(ask))
        say(ask, 0, "%zu %s found before %s gone.", news->gone,
            news->gone == 1 ? "thing" : "things", news->gone == 1 ? "is" : "are");
    for (size_t i = 0; i < news->items.count; i++) {
        const struct finding *finding = news->items.items[i];
        if (!is_worst(news, i))
            continue;
        say(ask, 0, "%s: %s [%s]", finding_level_name(finding->level),
            told(ask, finding->message), finding->rule);
        const char *also = others(ask, news, i);
        if (*also)
            say(ask, 2, "also %s", also);
        if (finding->put_right)
            say(ask, 2, "put right: %s", told(ask, finding->put_right));
        for (size_t f = 0; f < finding->fix_count; f++)
            if (finding->fixes[f].why)
                say(ask, 2, "would do: %s", told(ask, finding->fixes[f].title));
    }
}

/* The end: everything once more, and what the rules say of it. */

static void list_answers(struct ask *ask)
{
    for (size_t i = 0; i < ask->sequence.items.count; i++) {
        const struct ask_entry *entry = &ask->sequence.items.items[i];
        const struct answer *answer = entry_answer(ask, entry);
        bool open = answer->source == SOURCE_OPEN;
        if (!entry_field(entry) || answer->source == SOURCE_NONE ||
            answer->source == SOURCE_FILE || (open && !entry_is_needed(entry)))
            continue;
        say(ask, 2, "%s: %s (%s%s)", entry_spoken_path(ask, entry),
            open ? "nothing" : escape_short(ask->scratch, answer->text, ANSWER_SHOWN),
            answer_source_name((enum answer_source)answer->source),
            entry_is_silent(ask, i) ? ", not asked" : "");
    }
}

/* A report may be longer than the screen: its errors once more, where the eye is; the first of
 * each rule. */
static void show_errors(struct ask *ask, struct view bytes, const char *heading)
{
    struct file_report report;
    const char *rule = NULL;
    judge_report(&ask->judge, ask->scratch, bytes, &report);
    if (!report.findings_by_level[LEVEL_ERROR])
        return;
    say(ask, 0, "%s", heading);
    for (size_t i = 0; i < report.count; i++) {
        const struct finding *finding = &report.findings[i];
        if (finding->level != LEVEL_ERROR || finding->outcome != OUTCOME_FAILED ||
            finding->implied_by ||
            (rule && !finding->from_reader && strcmp(rule, finding->rule) == 0))
            continue;
        rule = finding->rule;
        say(ask, 2, "error: %s", told(ask, finding->message));
    }
}

void show_report(struct ask *ask, struct view bytes)
{
    struct file_report report;
    judge_report(&ask->judge, ask->scratch, bytes, &report);
    report_file(report_output(REPORT_FINDINGS, 0), &ask->layout,
                &(struct report){REPORT_FINDINGS, report.path, {.findings = &report}},
                &ask->out);
}

/* Nothing found is not all looked at: what concerns people is named. */
void show_left_out(struct ask *ask, struct view bytes)
{
    struct finding_list list;
    const struct ask_record *record = ask->setup->record;
    const char *below = record ? arena_format(ask->scratch, "%s[%u].",
                                              group_table[record->group].key, record->index)
                               : "";
    judge_left_out(&ask->judge, ask->scratch, bytes, below, &list);
    if (!list.items.count)
        return;
    say_line(ask, "");
    say(ask, 0, "Not looked at for want of a number, and about people:");
    for (size_t i = 0; i < list.items.count; i++) {
        const struct finding *finding = list.items.items[i];
        const char *path = finding->missing[0];
        for (size_t k = finding->missing_count; k-- > 0;)
            if (view_starts(view_of(finding->missing[k]), below))
                path = finding->missing[k];
        enum field_id id = field_find(view_of(path));
        say(ask, 2, "%s: %s", finding->rule,
            id == FIELD_COUNT ? path : field_table[id].meaning);
    }
}

/* Numbers that would put right what was just told. */
void show_mend(struct ask *ask)
{
    const struct mend *mend = &ask->mend;
    say_line(ask, "");
    say(ask, 0,
        "%s would put %s right:", mend->count == 1 ? "This number" : "These numbers together",
        mend->left ? "part of it" : "it");
    for (size_t i = 0; i < mend->count; i++) {
        const struct mending *item = &mend->items[i];
        say(ask, 2, "%s: now %s, proposed %s",
            answer_spoken_path(ask->scratch, &ask->answers, item->what, item->record),
            item->now, item->text);
    }
    if (mend->left)
        say(ask, 0, "%zu %s then all the same, which they do not mend.", mend->left,
            mend->left == 1 ? "failure stays" : "failures stay");
    if (mend->less)
        say(ask, 0, "They leave less room for what %s is about, and that is people.",
            mend->less);
    if (mend->measured)
        say(ask, 0,
            "%s points at %s, which is measured: measure it again before you take them.",
            mend->measured_rule, told(ask, mend->measured));
    say(ask, 0,
        "Type yes to take %s, no to leave your numbers as they are; nothing is written "
        "yet.",
        mend->count == 1 ? "it" : "them");
}

void show_exclusion(struct ask *ask)
{
    const struct mend *mend = &ask->mend;
    if (!mend->exclusion)
        return;
    say_line(ask, "");
    say(ask, 0, "No set of the numbers asked here will do. %s", mend->exclusion);
    for (size_t i = 0; i < mend->excluded_count; i++)
        say(ask, 2, "%s", mend->excluded[i]);
}

void show_review_end(struct ask *ask)
{
    say(ask, 0,
        "Type yes to write %s. back goes back to the questions, back with the name of a field "
        "to that one; later keeps the draft and writes nothing.",
        ask->setup->path ? ask->setup->path : "it to a file");
}

bool show_review(struct ask *ask)
{
    struct view bytes;
    const char *why = ask_bytes(ask, true, &bytes);
    say_line(ask, "");
    say(ask, 0, "== Review ==");
    if (why) {
        say(ask, 0, "%s.", why);
        return false;
    }
    list_answers(ask);
    if (file_is_unchanged(ask, bytes)) {
        say(ask, 0, "Nothing is changed. Enter ends; back goes back to the questions.");
        return false;
    }
    if (ask->setup->exists)
        diff_shown(&ask->out, ask->setup->path, ask->setup->base, bytes, ask->layout.color);
    show_report(ask, bytes);
    show_errors(ask, bytes, "Wrong as it stands, as told above:");
    return true;
}

void show_review_help(struct ask *ask)
{
    if (ask->phase == PHASE_NAME)
        say(ask, 0,
            "The name of a new file, as shed.yaml; one that is there already is not written over. "
            "back goes back to the questions, later keeps the draft and writes nothing.");
    else if (ask->phase == PHASE_MEND)
        show_mend(ask);
    else
        say(ask, 0,
            "Nothing is written yet. yes writes the file; back goes back to the questions, back "
            "with the name of a field to that one; later keeps the draft and writes nothing.");
}

/* The longer texts: before the first question, and after the file is written. */

void show_intro(struct ask *ask)
{
    say(ask, 0,
        "This asks for what proveout needs to know of a router, and writes a machine "
        "file. A first file takes some 25 questions and, with the measuring, half an hour or so; "
        "it can be broken off and taken up at any question.");
    say(ask, 0,
        "Have at hand: the cutters, a straight blank rod that fits the collet, a calliper, "
        "a steel rule, a stopwatch, a slip of paper, the papers of the controller, and "
        "the machine with its position read-out.");
    say(ask, 0,
        "Before anything is done at the machine: isolate or unplug the spindle before "
        "hands go near the collet. Keep a hand on the stop whenever it moves. Run "
        "everything first in air, well above the table. The maker's manual, the local "
        "codes and licensed practice for electrical work come before anything said "
        "here.");
    say(ask, 0,
        "At every question: ? explains it and how to measure, back goes back, skip "
        "leaves it open, later keeps all and stops.");
}

static bool is_answered(const struct ask *ask, uint16_t what, const char *word)
{
    return view_is(answers_get(&ask->answers, what, 0)->text, word);
}

/* What is tried before the first change, by what measures. */
static const char *first_trial(const struct ask *ask)
{
    if (is_answered(ask, FIELD_CHANGE_MEASURES_WITH, "plate"))
        return "2. Spindle isolated or unplugged: hold the plate against the cutter and see "
               "that the input changes; take it away and see that it changes back. Both "
               "before every probing.";
    if (is_answered(ask, FIELD_CHANGE_MEASURES_WITH, "list"))
        return "2. Spindle isolated or unplugged: put each cutter in twice, measure its stick-out "
               "each time, and compare it with the controller's table. Nothing else does.";
    if (is_answered(ask, FIELD_CHANGE_MEASURES_WITH, "hand"))
        return "2. Spindle isolated or unplugged: touch one cutter off twice, fingers never below "
               "the tip, and see that the height comes out the same.";
    return "2. Spindle isolated or unplugged, the machine standing still: press the "
           "setter by hand and see that its input changes, and changes back.";
}

void show_next(struct ask *ask, struct view bytes)
{
    bool plate = is_answered(ask, FIELD_CHANGE_MEASURES_WITH, "plate");
    say_line(ask, "");
    show_errors(ask, bytes, "First put right what is wrong; until then no change is run:");
    say(ask, 0, "Next, at the machine:");
    say(ask, 2, "1. %s Where you would rather change the file, change it and check it again.",
        is_answered(ask, ASK_NUMBERS, "no")
            ? "Set the numbers that were proposed in the controller's change procedure, as the "
              "file has them."
            : "Compare the chosen numbers with the controller's change procedure, and set there "
              "what differs.");
    say(ask, 2, "%s", first_trial(ask));
    say(ask, 2,
        "3. Spindle still isolated or unplugged, run one change in air: well above "
        "everything, the feed turned down, a hand on the stop%s. Only then go down to where "
        "it counts.",
        plate ? ", the plate in the other hand to stop the probing early"
              : "; stop it as soon as it does not go where the file says");
    say(ask, 0, "The maker's manual, local codes and licensed practice come first.");
}
