/* The state machine: which question is next, and what a line does to the answers. */
#include "ask/internal.h"

#include <math.h>

#include "quantity/number.h"
#include "text/escape.h"
#include "text/utf8.h"

enum { SHOWN = 60 };

const struct ask_entry *ask_entry(const struct ask *ask)
{
    return &ask->sequence.items.items[ask->at];
}

const struct answer *entry_answer(const struct ask *ask, const struct ask_entry *entry)
{
    return answers_get(&ask->answers, entry->row->what, entry->record);
}

const char *ask_bytes(struct ask *ask, bool explained, struct view *out)
{
    if (ask->setup->exists)
        return compose_amended(&ask->scratch, &ask->answers, &ask->sequence, ask->setup->base,
                               out);
    *out = compose_new(&ask->scratch, &ask->answers, &ask->sequence, ask->sequence.items.count,
                       explained);
    return NULL;
}

static void rebuild(struct ask *ask)
{
    question_sequence(&ask->scratch, &ask->answers, &ask->sequence);
}

/* The draft as it now is goes to the host. */
static void keep_draft(struct ask *ask)
{
    struct draft draft = {.base = ask->setup->exists ? draft_sum(ask->setup->base) : 0};
    if (ask->phase == PHASE_QUESTION) {
        const struct ask_entry *entry = ask_entry(ask);
        draft.at =
            view_of(answer_path(&ask->scratch, &ask->answers, entry->row->what, entry->record));
    }
    ask->setup->host.keep(ask->setup->host.user,
                          draft_write(&ask->scratch, &ask->answers, &draft));
}

static void know(struct ask *ask)
{
    struct view bytes;
    if (!ask_bytes(ask, false, &bytes))
        judge_know(&ask->judge, &ask->scratch, bytes);
}

static bool is_to_come(void *user, const char *field)
{
    struct ask *ask = user;
    uint16_t what;
    uint32_t record;
    if (!answer_find(&ask->answers, view_of(field), &what, &record))
        return false;
    size_t index = question_index(&ask->sequence, what, record);
    return index > ask->at && index < ask->sequence.first &&
           entry_answer(ask, &ask->sequence.items.items[index])->source == SOURCE_NONE;
}

/* A question that answers itself, as long as its usual value will do. */
static bool is_silent(struct ask *ask, size_t at)
{
    const struct ask_entry *entry = &ask->sequence.items.items[at];
    if (!(entry->row->flags & ASK_SILENT))
        return false;
    return !ask->setup->exists || answer_has_value(entry_answer(ask, entry));
}

static void answer_silently(struct ask *ask, size_t at)
{
    const struct ask_entry *entry = &ask->sequence.items.items[at];
    if (entry_answer(ask, entry)->source != SOURCE_NONE)
        return;
    const struct answer answer = {.source = SOURCE_DEFAULT, .text = view_of(entry->row->text)};
    answers_set(&ask->answers, entry->row->what, entry->record, &answer);
    (void)answers_input(&ask->answers, answer.text);
    rebuild(ask);
}

void ask_go(struct ask *ask, size_t at)
{
    while (at < ask->sequence.items.count && is_silent(ask, at))
        answer_silently(ask, at++);
    if (at >= ask->sequence.items.count) {
        ask->phase = PHASE_REVIEW;
        review_show(ask);
        return;
    }
    ask->phase = PHASE_QUESTION;
    ask->at = at;
    offer_find(ask);
    present_question(ask);
}

static void advance(struct ask *ask)
{
    ask_go(ask, ask->at + 1);
}

/* Would what is offered now be the doubtful answer again?  Then there is no doubt. */
static bool is_settled(struct ask *ask, size_t at)
{
    ask->at = at;
    struct answer answer = *entry_answer(ask, ask_entry(ask));
    offer_find(ask);
    if (!offer_was_taken(ask_entry(ask)->row, &answer) || !ask->offer.text ||
        !view_is(answer.text, ask->offer.text) ||
        ask->offer.computed != (answer.source == SOURCE_COMPUTED))
        return false;
    answer.unsure = false;
    answers_set(&ask->answers, ask_entry(ask)->row->what, ask_entry(ask)->record, &answer);
    return true;
}

/* Forward to what is still open or doubtful. */
static void go_on(struct ask *ask)
{
    size_t at = ask->at + 1;
    for (; at < ask->sequence.items.count; at++) {
        const struct answer *answer = entry_answer(ask, &ask->sequence.items.items[at]);
        if (answer->source == SOURCE_NONE || (answer->unsure && !is_settled(ask, at)))
            break;
    }
    ask_go(ask, at);
}

/* Setting an answer. */

/* Later answers that hang on this one are doubtful now; so is all that was taken as offered. */
static void doubt(struct ask *ask, uint16_t what)
{
    for (size_t i = 0; i < question_count; i++) {
        const struct question *row = &question_table[i];
        for (uint32_t r = 0; r < ask->answers.of[row->what].list.count; r++) {
            struct answer *answer = &ask->answers.of[row->what].list.items[r];
            if (row->what != what && answer_has_value(answer) &&
                answer->source != SOURCE_FILE &&
                (offer_was_taken(row, answer) || question_depends(row, what)))
                answer->unsure = true;
        }
    }
}

/* Shows what the rules say now.  False where something is to be looked at before going on. */
static bool judge_answer(struct ask *ask)
{
    struct view bytes;
    struct finding_list news;
    if (ask_bytes(ask, false, &bytes))
        return true;
    judge_news(&ask->judge, &ask->scratch, bytes, &news);
    if (!news.items.count)
        return true;
    present_findings(ask, &news);
    for (size_t i = 0; i < news.items.count; i++)
        if (news.items.items[i]->level != LEVEL_NOTE)
            return false;
    return true;
}

static void take(struct ask *ask, enum answer_source source, struct view text)
{
    const struct ask_entry entry = *ask_entry(ask);
    const struct answer before = *entry_answer(ask, &entry);
    const struct answer answer = {.source = (uint8_t)source, .text = text};
    bool same =
        answer_has_value(&before) == answer_has_value(&answer) && view_equal(before.text, text);
    answers_set(&ask->answers, entry.row->what, entry.record, &answer);
    if (same && before.source == SOURCE_FILE)
        answers_set(&ask->answers, entry.row->what, entry.record, &before);
    if (answer_has_value(&answer) && entry.row->what < FIELD_COUNT &&
        field_table[entry.row->what].kind == KIND_INPUT)
        (void)answers_input(&ask->answers, text);
    bool first = before.source == SOURCE_NONE || (same && !before.unsure);
    if (!same && !first)
        doubt(ask, entry.row->what);
    ask->with.inches = view_is(answers_get(&ask->answers, ASK_UNITS, 0)->text, "in");
    rebuild(ask);
    struct view bytes;
    const char *why = ask_bytes(ask, false, &bytes);
    if (why) {
        ask->refused = true;
        say(ask, 0, "%s. The answer is not taken.", why);
        answers_set(&ask->answers, entry.row->what, entry.record, &before);
        rebuild(ask);
        return;
    }
    if (judge_answer(ask)) {
        advance(ask);
        return;
    }
    offer_find(ask);
    say(ask, 0, "Enter keeps %s as it is; or answer again.",
        ask->offer.text ? escape_short(&ask->scratch, view_of(ask->offer.text), SHOWN)
                        : "it open");
}

static void leave_open(struct ask *ask)
{
    const struct answer *answer = entry_answer(ask, ask_entry(ask));
    if (ask->setup->exists && answer->source == SOURCE_FILE) {
        say(ask, 0, "It stays as the file has it; take it out by hand where it is to go.");
        advance(ask);
        return;
    }
    say(ask, 0, "Left open.");
    take(ask, SOURCE_OPEN, (struct view){0});
}

/* Enter. */
static void take_offer(struct ask *ask)
{
    const struct ask_entry *entry = ask_entry(ask);
    const struct ask_offer *offer = &ask->offer;
    if (offer->keeps) {
        struct answer answer = *entry_answer(ask, entry);
        answer.unsure = false;
        answers_set(&ask->answers, entry->row->what, entry->record, &answer);
        if (offer->text)
            say(ask, 0, "Kept: %s.", escape_short(&ask->scratch, view_of(offer->text), SHOWN));
        advance(ask);
    } else if (offer->text && !offer->typed) {
        say(ask, 0, "Taken as offered: %s.", offer->text);
        take(ask, offer->computed ? SOURCE_COMPUTED : SOURCE_DEFAULT, view_of(offer->text));
    } else if (entry_is_needed(ask, entry) && !ask->setup->exists) {
        ask->refused = true;
        say(ask, 0, "This has to be answered; ? explains it, skip leaves it open for now.");
    } else {
        leave_open(ask);
    }
}

static void read_units(struct view line, struct understood *out)
{
    static const char *const units[] = {"mm",     "in",       "millimetres", "inches",
                                        "metric", "imperial", "millimeters"};
    int which = understand_choice(line, units, sizeof units / sizeof *units);
    bool inches = which % 2 == 1;
    *out = (struct understood){.wrong = "type 1 for millimetres or 2 for inches"};
    if (which >= 0)
        *out =
            (struct understood){view_of(inches ? "in" : "mm"),
                                inches ? "Taken as: inches." : "Taken as: millimetres.", NULL};
}

static void read_more(struct ask *ask, struct view line, struct understood *out)
{
    const char *words[ASK_MORE_COUNT];
    for (size_t i = 0; i < ASK_MORE_COUNT; i++)
        words[i] = more_table[i].word;
    understand_words(&ask->with, words, ASK_MORE_COUNT, line, out);
}

static void take_typed(struct ask *ask, struct view line)
{
    const struct ask_entry *entry = ask_entry(ask);
    struct understood answer;
    if (entry->row->what == ASK_UNITS)
        read_units(line, &answer);
    else if (entry->row->what == ASK_MORE)
        read_more(ask, line, &answer);
    else if (entry->row->what >= FIELD_COUNT)
        understand_flag(&ask->with, line, &answer);
    else
        understand(&ask->with, (enum field_id)entry->row->what, line, &answer);
    if (answer.wrong) {
        ask->refused = true;
        char *text = arena_copy(&ask->scratch, answer.wrong, strlen(answer.wrong));
        bool asks = text[strlen(text) - 1] == '?';
        if (text[0] >= 'a' && text[0] <= 'z' && !strchr(text, '\''))
            text[0] = (char)(text[0] - 'a' + 'A');
        say(ask, 0, "%s%s", text, asks ? "" : ".");
        return;
    }
    say(ask, 0, "%s", answer.echo);
    take(ask, SOURCE_ASKED, answer.text);
}

/* Going back: one step, several, or to a question by its name. */
static bool back_target(struct ask *ask, struct view rest, size_t here, size_t *target)
{
    double steps = 1;
    size_t used, at = here;
    uint16_t what;
    uint32_t record;
    rest = view_trim(rest);
    if (rest.size && !(number_read(rest, &steps, &used) == NUMBER_OK && used == rest.size)) {
        if (!answer_find(&ask->answers, rest, &what, &record))
            return false;
        at = question_index(&ask->sequence, what, record);
        *target = at;
        return at < ask->sequence.items.count;
    }
    for (; steps >= 1; steps--) {
        size_t before = at;
        while (before > 0 && is_silent(ask, --before))
            ;
        if (before == at || is_silent(ask, before))
            break;
        at = before;
    }
    *target = at;
    return true;
}

static void go_back(struct ask *ask, struct view rest)
{
    size_t here = ask->phase == PHASE_QUESTION ? ask->at : ask->sequence.items.count;
    size_t target;
    if (!back_target(ask, rest, here, &target)) {
        say(ask, 0,
            "There is no question %s here; type back, back 3, or back with the name of "
            "a field.",
            escape_short(&ask->scratch, rest, SHOWN));
        return;
    }
    if (target == here)
        say(ask, 0, "This is the first question.");
    ask_go(ask, target);
}

static enum ask_state stop(struct ask *ask)
{
    keep_draft(ask);
    struct view says;
    ask_farewell(ask, &says);
    return ASK_STOPPED;
}

static void begin_anew(struct ask *ask)
{
    answers_init(&ask->answers, ask->arena);
    if (ask->setup->exists) {
        struct machine machine;
        struct tree *tree = ARENA_NEW(ask->arena, struct tree);
        struct source *source = ARENA_NEW(ask->arena, struct source);
        struct finding_sink *sink = ARENA_NEW(ask->arena, struct finding_sink);
        source_init(source, ask->arena, view_of(ask->setup->path), ask->setup->base);
        sink_init(sink, ask->arena, source);
        tree_read(tree, ask->arena, source, sink);
        machine_read(&machine, ask->arena, tree, sink);
        answers_from_machine(&ask->answers, &machine);
    }
    ask->with.inches = view_is(answers_get(&ask->answers, ASK_UNITS, 0)->text, "in");
    ask->resumed = false;
    rebuild(ask);
}

/* The words that mean the same everywhere.  False where the line is none of them. */
static bool is_command(struct ask *ask, struct view line, enum ask_state *state)
{
    if (view_is(line, "later")) {
        *state = stop(ask);
        return true;
    }
    if (ask->resumed && view_is(line, "anew")) {
        begin_anew(ask);
        know(ask);
        say(ask, 0, "Begun anew.");
        ask_go(ask, 0);
        return true;
    }
    if (view_is(line, "back") || view_starts(line, "back ")) {
        go_back(ask, view_skip(line, 4));
        return true;
    }
    if (ask->phase != PHASE_QUESTION)
        return false;
    if (view_is(line, "?") || view_is(line, "help"))
        present_help(ask);
    else if (view_is(line, "skip"))
        leave_open(ask);
    else if (view_is(line, "on"))
        go_on(ask);
    else
        return false;
    return true;
}

/* Nothing but what can be seen may be in an answer. */
static bool is_clean(struct view line)
{
    for (size_t i = 0; i < line.size; i++)
        if ((unsigned char)line.data[i] < ' ' || line.data[i] == 0x7f)
            return false;
    return utf8_check(line) == line.size;
}

static void start(struct ask *ask)
{
    arena_reset(&ask->scratch);
    ask->refused = false;
    ask->with.arena = &ask->scratch;
    buffer_init(&ask->out, &ask->scratch);
    rebuild(ask);
}

enum ask_state ask_line(struct ask *ask, struct view typed, struct view *says)
{
    enum ask_state state = ASK_GOES_ON;
    struct view line = view_trim(typed);
    start(ask);
    if (ask->phase == PHASE_QUESTION)
        offer_find(ask);
    if (!is_clean(line)) {
        ask->refused = true;
        say(ask, 0,
            "There are control characters in that line, or bytes that are no UTF-8; "
            "please type it again.");
    } else if (!is_command(ask, line, &state)) {
        if (ask->phase != PHASE_QUESTION)
            state = review_line(ask, line);
        else if (line.size)
            take_typed(ask, line);
        else
            take_offer(ask);
        ask->resumed = false;
    }
    if (state == ASK_GOES_ON)
        keep_draft(ask);
    *says = buffer_view(&ask->out);
    return state;
}

const char *ask_at(const struct ask *ask, struct arena *arena)
{
    if (ask->phase != PHASE_QUESTION)
        return "";
    struct ask_sequence sequence;
    question_sequence(arena, &ask->answers, &sequence);
    const struct ask_entry *entry = &sequence.items.items[ask->at];
    return answer_path(arena, &ask->answers, entry->row->what, entry->record);
}

bool ask_refused(const struct ask *ask)
{
    return ask->refused;
}

void ask_too_long(struct ask *ask, struct view *says)
{
    start(ask);
    ask->refused = true;
    say(ask, 0, "That line is too long to be an answer; nothing of it was taken.");
    *says = buffer_view(&ask->out);
}

void ask_farewell(struct ask *ask, struct view *says)
{
    const char *path = ask->setup->path;
    say(ask, 0, "Stopped; nothing is written, and all answers are kept. To go on here:");
    say(ask, 2, "proveout commission%s%s", path ? " " : "", path ? path : "");
    *says = buffer_view(&ask->out);
}

void ask_words(struct ask *ask, struct arena *arena, struct ask_words *out)
{
    static const char *const always[] = {"back", "skip", "later", "on"};
    *out = (struct ask_words){0};
    for (size_t i = 0; i < sizeof always / sizeof *always; i++)
        VECTOR_ADD(arena, &out->items, always[i]);
    if (ask->phase != PHASE_QUESTION) {
        VECTOR_ADD(arena, &out->items, "yes");
        return;
    }
    uint16_t what = ask_entry(ask)->row->what;
    if (what >= FIELD_COUNT || field_table[what].kind == KIND_FLAG) {
        VECTOR_ADD(arena, &out->items, "yes");
        VECTOR_ADD(arena, &out->items, "no");
        return;
    }
    const struct field *field = &field_table[what];
    for (size_t i = 0; field->choices && i < field_choice_count(field); i++) {
        struct view word = field_choice(field, i);
        VECTOR_ADD(arena, &out->items, arena_copy(arena, word.data, word.size));
    }
    for (size_t i = 0; field->kind == KIND_INPUT && i < ask->answers.inputs.count; i++) {
        struct view name = ask->answers.inputs.items[i];
        VECTOR_ADD(arena, &out->items, arena_copy(arena, name.data, name.size));
    }
    unit_id units[32];
    size_t count = *field->unit ? unit_choices(field->dimension, units, 32) : 0;
    for (size_t i = 0; i < count; i++)
        VECTOR_ADD(arena, &out->items, unit_text(units[i]));
}

/* Takes up a draft.  False: there is none that can be used. */
static bool resume(struct ask *ask, struct view *at)
{
    struct draft draft;
    const struct ask_setup *setup = ask->setup;
    if (!setup->draft.size)
        return false;
    if (draft_read(ask->arena, setup->draft, &ask->answers, &draft) != DRAFT_GOOD) {
        begin_anew(ask);
        setup->host.aside(setup->host.user);
        say(ask, 0,
            "The draft of an earlier run is damaged and cannot be used; it was put "
            "aside. This begins anew.");
        return false;
    }
    if (draft.base != (setup->exists ? draft_sum(setup->base) : 0)) {
        begin_anew(ask);
        setup->host.aside(setup->host.user);
        say(ask, 0,
            "The draft of an earlier run is stale: the file has changed since. It was "
            "put aside, and this begins with the file as it is.");
        return false;
    }
    ask->with.inches = view_is(answers_get(&ask->answers, ASK_UNITS, 0)->text, "in");
    ask->resumed = true;
    *at = draft.at;
    say(ask, 0,
        "Going on with the draft of an earlier run: %zu answers are kept. Type anew to "
        "begin from the start in its place.",
        draft.count);
    return true;
}

struct ask *ask_begin(struct arena *arena, const struct ask_setup *setup, struct view *says)
{
    struct ask *ask = ARENA_NEW(arena, struct ask);
    struct view at = {0};
    uint16_t what;
    uint32_t record;
    ask->arena = arena;
    ask->setup = setup;
    ask->topic = TOPIC_COUNT;
    arena_init(&ask->scratch, arena->host);
    buffer_init(&ask->out, &ask->scratch);
    ask->with = (struct understanding){&ask->scratch, false, setup->today};
    judge_init(&ask->judge, arena, setup->rules, setup->path ? setup->path : "machine.yaml");
    ask->judge.to_come = is_to_come;
    ask->judge.user = ask;
    begin_anew(ask);
    present_intro(ask);
    bool resumed = resume(ask, &at);
    rebuild(ask);
    know(ask);
    size_t start_at = 0;
    if (resumed)
        start_at = at.size && answer_find(&ask->answers, at, &what, &record)
                       ? question_index(&ask->sequence, what, record)
                       : ask->sequence.items.count;
    ask_go(ask, start_at);
    *says = buffer_view(&ask->out);
    return ask;
}

void ask_end(struct ask *ask)
{
    arena_free(&ask->scratch);
}
