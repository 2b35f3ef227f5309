/* The state machine: what a line does to the answers, and which question is next. */
#include "ask/internal.h"

#include "ask/spoken.h"
#include "machine/file.h"
#include "quantity/number.h"
#include "quantity/quantity.h"
#include "text/escape.h"
#include "text/utf8.h"

enum { SHOWN = 60 };

/* From question to question: onward, back, and past what answers itself. */

static void ask_rebuild(struct ask *ask)
{
    const struct ask_setup *setup = ask->setup;
    ask->with.inches = view_is(answers_get(&ask->answers, ASK_UNITS, 0)->text, "in");
    if (setup->place_count)
        question_places(ask->scratch, setup->places, setup->place_count, &ask->sequence);
    else if (setup->record)
        question_about(ask->scratch, &ask->answers, setup->record->group, setup->record->index,
                       &ask->sequence);
    else
        question_sequence(ask->scratch, &ask->answers, &ask->sequence);
}

static bool take_judge(struct ask *ask)
{
    struct view bytes;
    struct finding_list news;
    if (ask_bytes(ask, false, &bytes))
        return true;
    judge_news(&ask->judge, ask->scratch, bytes, &news);
    for (size_t i = 0; i < news.items.count; i++)
        VECTOR_ADD(ask->scratch, &ask->news.items, news.items.items[i]);
    show_findings(ask, &news);
    for (size_t i = 0; i < news.items.count; i++)
        if (news.items.items[i]->level != LEVEL_NOTE)
            return false;
    return true;
}

static void put_answer(struct ask *ask, const struct ask_entry *entry,
                       const struct answer *answer)
{
    answers_set(&ask->answers, entry->row->what, entry->record, answer);
    if (answer_has_value(answer) && entry_field(entry) &&
        entry_field(entry)->kind == KIND_INPUT)
        (void)answers_input(&ask->answers, answer->text);
}

/* What Enter takes of an offer. */
static struct answer offered(const struct ask_offer *offer)
{
    return (struct answer){.source = offer->computed ? SOURCE_COMPUTED : SOURCE_DEFAULT,
                           .text = view_of(offer->text)};
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
    const struct answer answer = offered(&ask->offer);
    put_answer(ask, &entry, &answer);
    ask->put[0] = entry;
    ask->put_count = 1;
    ask_rebuild(ask);
    if (entry.row->topic != TOPIC_NUMBERS)
        return true; /* what the rules say of it, they say with the next answer */
    show_proposal(ask);
    return take_judge(ask);
}

static void stand_at(struct ask *ask, size_t at)
{
    ask->phase = PHASE_QUESTION;
    ask->at = at;
    if (ask->setup->place_count)
        places_meet(ask);
    offer_find(ask);
    show_question(ask);
}

/* Was it said together with the answer that led here? */
static bool is_told(const struct ask *ask, size_t at)
{
    const struct ask_entry *entry = &ask->sequence.items.items[at];
    return ask->is_told && entry->row->what == FIELD_CUTTER_DESCRIPTION &&
           entry->record == ask->told;
}

/* Everything once more; where answers cannot all hold, numbers with which they would come
 * before the word that writes it. */
static void review(struct ask *ask)
{
    struct view bytes;
    ask->phase = PHASE_REVIEW;
    ask->mend = (struct mend){0};
    if (!show_review(ask) || ask_bytes(ask, true, &bytes))
        return;
    if (draft_sum(bytes) == ask->left_sum || !mend_find(ask, bytes)) {
        show_exclusion(ask);
        show_review_end(ask);
        return;
    }
    ask->phase = PHASE_MEND;
    show_mend(ask);
}

/* To a question or, past the last, to the end. */
static void ask_go(struct ask *ask, size_t at)
{
    while (at < ask->sequence.items.count &&
           (is_told(ask, at) || (entry_is_silent(ask, at) && answer_silently(ask, at))))
        at++;
    if (at < ask->sequence.items.count) {
        const struct field *field = entry_field(&ask->sequence.items.items[at]);
        bool marks = field && field->kind == KIND_FLAG;
        stand_at(ask, marks ? question_first(&ask->sequence, at) : at);
    } else if (asks_part(ask)) {
        ask->phase = PHASE_OVER;
        if (ask->setup->record)
            record_end(ask);
    } else {
        review(ask);
    }
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

static void walk_on(struct ask *ask)
{
    size_t at = question_end(&ask->sequence, ask->at);
    for (; at < ask->sequence.items.count; at++) {
        const struct answer *answer = entry_answer(ask, &ask->sequence.items.items[at]);
        if (entry_is_silent(ask, at)) {
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
        if (!entry_is_silent(ask, at))
            return at;
    }
    return first;
}

/* The nearest question of that name, before this one or else behind it; items.count: none. */
static size_t find_called(struct ask *ask, struct view words, size_t here)
{
    size_t count = ask->sequence.items.count;
    for (size_t n = 1; n <= count; n++) {
        size_t at = (here + count - n % count) % count;
        const struct ask_entry *entry = &ask->sequence.items.items[at];
        if (spoken_calls(entry_path(ask, entry), words))
            return entry->row->flags & ASK_EACH ? question_first(&ask->sequence, at) : at;
    }
    for (size_t at = 0; at < count; at++)
        if (spoken_section(entry_path(ask, &ask->sequence.items.items[at]), words))
            return question_first(&ask->sequence, at);
    return count;
}

/* One step, several, or to a question by its name or in plain words. */
static bool find_target(struct ask *ask, struct view rest, size_t here, size_t *target)
{
    double steps = 1;
    size_t used, at = here;
    uint16_t what;
    uint32_t record;
    rest = view_trim(rest);
    if (rest.size && !(number_read(rest, &steps, &used) == NUMBER_OK && used == rest.size)) {
        *target = answer_find(&ask->answers, rest, &what, &record)
                      ? question_index(&ask->sequence, what, record)
                      : find_called(ask, rest, here);
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

static void walk_back(struct ask *ask, struct view rest)
{
    size_t here = ask->phase == PHASE_QUESTION ? ask->at : ask->sequence.items.count;
    size_t target;
    if (!find_target(ask, rest, here, &target)) {
        say(ask, 0,
            "There is no question %s here; type back, back 3, or back with what was asked, as back "
            "run-down or back spindle.",
            escape_short(ask->scratch, view_trim(rest), SHOWN));
        return;
    }
    if (target == here)
        say(ask, 0, "This is the first question.");
    if (entry_is_silent(ask, target))
        stand_at(ask, target); /* by its name one gets even to what answers itself */
    else
        ask_go(ask, target);
}

/* What a line does to the answers. */

/* Later answers that hang on this one are doubtful now; so is all that was taken as offered. */
static void doubt(struct ask *ask, uint16_t what)
{
    for (uint16_t other = 0; other < ASK_END; other++)
        for (uint32_t r = 0; r < ask->answers.of[other].list.count; r++) {
            struct answer *answer = &ask->answers.of[other].list.items[r];
            if (other != what && answer_has_value(answer) && answer->source != SOURCE_FILE &&
                (offer_was_taken(question_row(other), answer) || question_depends(other, what)))
                answer->unsure = true;
        }
}

static void set_answer(struct ask *ask, const struct ask_entry *entry,
                       const struct answer *answer)
{
    const struct answer before = *entry_answer(ask, entry);
    bool same = answer_has_value(&before) == answer_has_value(answer) &&
                view_equal(before.text, answer->text);
    put_answer(ask, entry, same && before.source == SOURCE_FILE ? &before : answer);
    if (!same)
        ask->put[ask->put_count++] = *entry;
    if (!same && before.source != SOURCE_NONE)
        doubt(ask, entry->row->what);
}

/* The rules say something of the answer that stands. */
static void ask_again(struct ask *ask)
{
    offer_find(ask);
    say_answer(ask, "Enter keeps %s as it is; or answer again.", offer_said(ask));
}

/* Answers for the first `count` entries of the question. */
static void take_answers(struct ask *ask, const struct answer *answers, size_t count)
{
    struct ask_entry entries[ASK_JOINED_MAX];
    struct answer before[ASK_JOINED_MAX];
    size_t next = ask->at + count;
    bool whole = count == question_span(ask);
    for (size_t i = 0; i < count; i++) {
        entries[i] = ask_entry(ask)[i];
        before[i] = *entry_answer(ask, &entries[i]);
    }
    ask->put_count = 0;
    for (size_t i = 0; i < count; i++)
        set_answer(ask, &entries[i], &answers[i]);
    ask_rebuild(ask);
    struct view bytes;
    const char *why =
        ask->setup->place_count ? places_put(ask, &answers[0]) : ask_bytes(ask, false, &bytes);
    if (why) {
        REFUSE(ask, "%s. The answer is not taken.", why);
        for (size_t i = 0; i < count; i++)
            answers_set(&ask->answers, entries[i].row->what, entries[i].record, &before[i]);
        ask_rebuild(ask);
        return;
    }
    bool good = take_judge(ask);
    if (count == 1)
        show_better(ask, &entries[0], &answers[0]);
    if (!good && !whole)
        say_answer(ask, "back changes that; the rest of the question:");
    if (good || !whole)
        ask_go(ask, next);
    else
        ask_again(ask);
}

static void take_nothing(struct ask *ask)
{
    struct answer answers[ASK_JOINED_MAX];
    size_t count = question_span(ask), kept = 0;
    for (size_t i = 0; i < count; i++) {
        answers[i] = *entry_answer(ask, ask_entry(ask) + i);
        if (asks_part(ask))
            answers[i] = places_of_file(ask);
        bool stays = ask->setup->exists && answers[i].source == SOURCE_FILE;
        if (!stays)
            answers[i] = (struct answer){.source = SOURCE_OPEN};
        kept += stays;
    }
    if (kept)
        say_answer(ask, "It stays as the file has it; take it out by hand where it is to go.");
    else
        say_answer(ask, "Left open.");
    if (kept == count && !asks_part(ask))
        ask_go(ask, ask->at + count);
    else
        take_answers(ask, answers, count);
}

/* What stands there stays, and there is no doubt about it. */
static void keep_standing(struct ask *ask)
{
    size_t count = question_span(ask);
    for (size_t i = 0; i < count; i++) {
        const struct ask_entry *entry = ask_entry(ask) + i;
        struct answer answer = *entry_answer(ask, entry);
        answer.unsure = false;
        if (answer.source == SOURCE_NONE)
            answer.source = SOURCE_OPEN;
        answers_set(&ask->answers, entry->row->what, entry->record, &answer);
    }
    if (ask->offer.text)
        say_answer(ask, "Kept: %s.", offer_said(ask));
    /* What was found about it was left until its turn. */
    if (ask->setup->place_count && !take_judge(ask))
        ask_again(ask);
    else
        ask_go(ask, ask->at + count);
}

static void take_offer(struct ask *ask)
{
    const struct ask_offer *offer = &ask->offer;
    size_t count = question_span(ask);
    bool is_needed = false;
    for (size_t i = 0; i < count; i++)
        is_needed |= entry_is_needed(ask_entry(ask) + i);
    if (offer->keeps) {
        keep_standing(ask);
    } else if (offer->text && !offer->typed) {
        struct answer answers[ASK_JOINED_MAX];
        for (size_t i = 0; i < count; i++) {
            const struct ask_offer *part = count > 1 ? &ask->parts[i] : offer;
            answers[i] = *entry_answer(ask, ask_entry(ask) + i);
            answers[i].unsure = false;
            if (!part->keeps)
                answers[i] = offered(part);
        }
        say_answer(ask, "Taken as offered: %s.", offer_said(ask));
        take_answers(ask, answers, count);
    } else if (is_needed && (!ask->setup->exists || record_is_new(ask))) {
        REFUSE(ask, "This has to be answered. %s? explains it, skip leaves it open for now.",
               question_wants(ask));
    } else {
        take_nothing(ask);
    }
}

static void read_units(struct view line, struct understood *out)
{
    static const char *const units[] = {"mm",     "in",       "millimetres", "inches",
                                        "metric", "imperial", "millimeters"};
    int which = understand_choice(line, units, sizeof units / sizeof *units);
    bool inches = which % 2 == 1;
    *out = (struct understood){
        .text = view_of(inches ? "in" : "mm"),
        .echo = inches ? "Taken as: inches." : "Taken as: millimetres.",
        .wrong = which < 0 ? "type 1 for millimetres or 2 for inches" : NULL,
    };
}

_Static_assert(ASK_MORE_COUNT == 8, "all of them are named below");

static void read_more(struct ask *ask, struct view line, struct understood *out)
{
    if (ask->setup->record) {
        record_more(ask, line, out);
        return;
    }
    const char *words[ASK_MORE_COUNT];
    for (size_t i = 0; i < ASK_MORE_COUNT; i++)
        words[i] = more_table[i].word;
    if (understand_choice(line, (const char *const[]){"all", "yes", "everything"}, 3) >= 0 &&
        line.data[0] >= 'A')
        line = view_of("1, 2, 3, 4, 5, 6, 7, 8");
    if (view_is(line, "no"))
        line = view_of("none");
    out->wrong = understand_words(&ask->with, words, ASK_MORE_COUNT, true, line, out);
}

/* How many entries a line answers; 0: parts[0].wrong says why none. */
static size_t read_line(struct ask *ask, struct view line, struct understood *parts)
{
    uint16_t what = ask_entry(ask)->row->what;
    if (question_span(ask) > 1)
        return question_read(ask, line, parts);
    if (what == ASK_UNITS)
        read_units(line, parts);
    else if (what == ASK_MORE)
        read_more(ask, line, parts);
    else if (what >= FIELD_COUNT)
        parts->wrong = understand_flag(&ask->with, line, parts);
    else
        understand(&ask->with, (enum field_id)what, line, parts);
    if (!parts->wrong)
        parts->wrong = record_refuses(ask, parts->text);
    return !parts->wrong;
}

/* Words and numbers that are no yes and no no. */
static bool is_description(struct view line)
{
    size_t blanks = 0, digits = 0;
    for (size_t i = 0; i < line.size; i++) {
        blanks += line.data[i] == ' ';
        digits += line.data[i] >= '0' && line.data[i] <= '9';
    }
    return blanks && digits;
}

/* `8 mm compression` is there another cutter, and says what it is. */
static bool take_another(struct ask *ask, struct view line)
{
    uint32_t record = ask_entry(ask)->record;
    const struct answer yes = {.source = SOURCE_ASKED, .text = view_of("yes")};
    struct understood what;
    if (ask_entry(ask)->row->what != ASK_ANOTHER_CUTTER || !is_description(line))
        return false;
    understand(&ask->with, FIELD_CUTTER_DESCRIPTION, line, &what);
    if (what.wrong)
        return false;
    const struct answer named = {.source = SOURCE_ASKED, .told = true, .text = what.text};
    say_answer(ask, "%s", what.echo);
    answers_set(&ask->answers, FIELD_CUTTER_DESCRIPTION, record, &named);
    ask->is_told = true;
    ask->told = record;
    take_answers(ask, &yes, 1);
    return true;
}

static void take_typed(struct ask *ask, struct view line)
{
    if (take_another(ask, line))
        return;
    struct understood parts[ASK_JOINED_MAX] = {0};
    struct answer answers[ASK_JOINED_MAX];
    const char *found = found_taken(ask, line);
    if (found)
        line = view_of(found);
    size_t count = read_line(ask, line, parts);
    for (size_t i = 0; i < count; i++)
        answers[i] = (struct answer){.source = found ? SOURCE_BESIDE : SOURCE_ASKED,
                                     .text = parts[i].text};
    if (count) {
        say_answer(ask, "%s", parts->echo);
        if (question_is_marks(ask))
            show_marks(ask, parts);
        take_answers(ask, answers, count);
        return;
    }
    char *text = arena_copy(ask->scratch, parts->wrong, strlen(parts->wrong));
    bool asks = text[strlen(text) - 1] == '?';
    if (!view_starts(view_of(text), arena_copy(ask->scratch, line.data, line.size)))
        text[0] = letter_upper(text[0]);
    REFUSE(ask, "%s%s", text, asks ? "" : ".");
    say_answer(ask, "%s? explains it, skip leaves it open.",
               strstr(text, "ype ") ? "" : question_wants(ask));
}

/* The end, and the word that writes it. */

static enum ask_state save(struct ask *ask, const char *path)
{
    struct view bytes;
    const struct ask_host *host = &ask->setup->host;
    const char *why = ask_bytes(ask, true, &bytes);
    if (!why)
        why = host->save(host->user, ask->scratch, path, bytes);
    if (why) {
        REFUSE(ask, "%s. Nothing is written; the draft is kept.", why);
        return ASK_GOES_ON;
    }
    host->drop(host->user);
    say(ask, 0, "%s is written. What the check says of it:", path);
    show_report(ask, bytes);
    show_left_out(ask, bytes);
    show_next(ask, bytes);
    return ASK_SAVED;
}

static enum ask_state name_line(struct ask *ask, struct view line)
{
    struct view rest;
    if (spoken_word(ask->scratch, line, &rest) != SAID_NOTHING_KNOWN || view_is(line, "no")) {
        REFUSE(ask, "Type a name such as shed.yaml, or Enter for machine.yaml.");
        return ASK_GOES_ON;
    }
    const char *path =
        line.size ? arena_copy(ask->scratch, line.data, line.size) : "machine.yaml";
    return save(ask, path);
}

static void know(struct ask *ask)
{
    struct view bytes;
    if (!ask_bytes(ask, false, &bytes))
        judge_know(&ask->judge, ask->scratch, bytes);
}

/* Takes the numbers that are offered at the review, or leaves them. */
static void mend_line(struct ask *ask, struct view line)
{
    struct view bytes, rest;
    enum said said = spoken_word(ask->scratch, line, &rest);
    if (said == SAID_YES) {
        mend_take(ask);
        say_answer(ask, "Taken.");
        ask_rebuild(ask);
        know(ask);
        review(ask);
    } else if (said == SAID_NONE || view_is(line, "no")) {
        if (!ask_bytes(ask, true, &bytes))
            ask->left_sum = draft_sum(bytes);
        ask->phase = PHASE_REVIEW;
        say_answer(ask, "Left as they are.");
        show_review_end(ask);
    } else {
        REFUSE(ask, "Type yes to take these numbers, or no to leave yours as they are.");
    }
}

static enum ask_state review_line(struct ask *ask, struct view line)
{
    struct view bytes;
    if (ask->phase == PHASE_MEND) {
        mend_line(ask, line);
        return ASK_GOES_ON;
    }
    if (ask->phase == PHASE_NAME)
        return name_line(ask, line);
    if (!ask_bytes(ask, true, &bytes) && file_is_unchanged(ask, bytes) && !line.size) {
        ask->setup->host.drop(ask->setup->host.user);
        return ASK_UNCHANGED;
    }
    if (!view_is(line, "yes")) {
        REFUSE(ask, "Only yes writes it; back changes answers, later stops and keeps them.");
        return ASK_GOES_ON;
    }
    if (ask->setup->path)
        return save(ask, ask->setup->path);
    ask->phase = PHASE_NAME;
    say(ask, 0, "What is the file to be called? Enter takes machine.yaml.");
    return ASK_GOES_ON;
}

/* Lines, and the words that mean the same everywhere. */

/* The draft as it now is goes to the host. */
static void keep_draft(struct ask *ask)
{
    if (asks_part(ask))
        return;
    struct draft draft = {.base = ask->setup->exists ? draft_sum(ask->setup->base) : 0};
    draft.at = view_of(ask_at(ask, ask->scratch));
    ask->setup->host.keep(ask->setup->host.user,
                          draft_write(ask->scratch, &ask->answers, &draft));
}

/* Of places each is asked, whatever the file has there. */
static bool is_to_come(void *user, const char *field)
{
    struct ask *ask = user;
    uint16_t what;
    uint32_t record;
    if (!answer_find(&ask->answers, view_of(field), &what, &record))
        return false;
    size_t index = question_index(&ask->sequence, what, record);
    if (ask->setup->place_count)
        return index > ask->at && index < ask->sequence.items.count;
    if (index <= ask->at || index >= ask->sequence.first)
        return false;
    const struct answer *answer = entry_answer(ask, &ask->sequence.items.items[index]);
    return answer->source == SOURCE_NONE || (answer->unsure && entry_is_silent(ask, index));
}

static bool is_put_anew(void *user, const char *field)
{
    struct ask *ask = user;
    for (size_t i = 0; i < ask->put_count; i++)
        if (strcmp(field, entry_path(ask, &ask->put[i])) == 0)
            return true;
    return false;
}

static void begin_anew(struct ask *ask)
{
    answers_init(&ask->answers, ask->arena);
    if (ask->setup->exists) {
        struct machine_file *file = ARENA_NEW(ask->arena, struct machine_file);
        machine_file_read(ask->arena, ask->setup->path, ask->setup->base,
                          ask->setup->rules->shared, file);
        ask->machine = &file->machine;
        answers_from_machine(&ask->answers, ask->machine);
        places_begin(ask);
        record_begin(ask);
    }
    ask->resumed = false;
    ask_rebuild(ask);
}

/* Is it one of the words that are offered here? */
static bool is_choice(struct ask *ask, struct view line)
{
    struct choice choices[CHOICES_MAX];
    const char *words[CHOICES_MAX];
    size_t count = question_choices(ask, ask_entry(ask), choices);
    for (size_t i = 0; i < count; i++)
        words[i] = choices[i].word;
    return understand_choice(line, words, count) >= 0;
}

/* `none`, where that is no answer of its own: no, where there is a no, else nothing. */
static bool take_none(struct ask *ask)
{
    const struct field *field = entry_field(ask_entry(ask));
    enum field_kind kind = field ? field->kind : KIND_FLAG;
    if ((ask_entry(ask)->row->what == ASK_MORE && !ask->setup->record) || kind == KIND_WORDS ||
        kind == KIND_ORDER || question_is_marks(ask))
        return false;
    if (is_choice(ask, view_of("no")))
        take_typed(ask, view_of("no"));
    else
        take_nothing(ask);
    return true;
}

/* Back, forward, or begun anew.  False where that cannot be meant here. */
static bool walk(struct ask *ask, enum said said, struct view rest)
{
    if (said == SAID_BACK) {
        walk_back(ask, rest);
        return true;
    }
    if (said == SAID_ANEW && ask->resumed) {
        begin_anew(ask);
        know(ask);
        say(ask, 0, "Begun anew.");
        ask_go(ask, 0);
        return true;
    }
    if (said != SAID_ON || ask->phase != PHASE_QUESTION)
        return false;
    walk_on(ask);
    return true;
}

/* The words that mean the same everywhere, in their various forms.  False where the line is
 * none of them. */
static bool is_command(struct ask *ask, struct view line, enum ask_state *state)
{
    struct view rest, says;
    enum said said = spoken_word(ask->scratch, line, &rest);
    bool asks = ask->phase == PHASE_QUESTION;
    bool exact = view_is(line, "?") || view_is(line, "later") || view_is(line, "skip");
    if (asks && !exact && said != SAID_BACK && said != SAID_ON && is_choice(ask, line))
        return false;
    switch (said) {
    case SAID_STOP:
        keep_draft(ask);
        if (!asks_part(ask))
            ask_farewell(ask, &says);
        *state = ASK_STOPPED;
        return true;
    case SAID_HELP:
        if (asks)
            show_help(ask);
        else
            show_review_help(ask);
        return true;
    case SAID_SKIP:
        if (asks)
            take_nothing(ask);
        return asks;
    case SAID_NONE:
        return asks && take_none(ask);
    default:
        return walk(ask, said, rest);
    }
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
    arena_reset(ask->scratch);
    ask->refused = false;
    ask->with.arena = ask->scratch;
    buffer_init(&ask->out, ask->scratch);
    buffer_init(&ask->said, ask->scratch);
    ask->news = (struct finding_list){0};
    ask->put_count = 0;
    ask->is_told = false;
    ask_rebuild(ask);
}

enum ask_state ask_line(struct ask *ask, struct view typed, struct view *says)
{
    enum ask_state state = ASK_GOES_ON;
    struct view line = view_trim(typed);
    start(ask);
    if (ask->phase == PHASE_QUESTION)
        offer_find(ask);
    if (!is_clean(line)) {
        REFUSE(ask, "There are control characters in that line, or bytes that are no UTF-8; "
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
    if (ask->phase == PHASE_OVER)
        state = ASK_ASKED;
    if (state != ASK_GOES_ON)
        ask->phase = PHASE_OVER;
    if (state == ASK_GOES_ON)
        keep_draft(ask);
    *says = buffer_view(&ask->out);
    return state;
}

const char *ask_at(const struct ask *ask, struct arena *arena)
{
    if (ask->phase != PHASE_QUESTION)
        return "";
    const struct ask_entry *entry = ask_entry(ask);
    return answer_path(arena, &ask->answers, entry->row->what, entry->record);
}

void ask_resize(struct ask *ask, size_t width)
{
    ask->layout.width = width;
}

bool ask_refused(const struct ask *ask)
{
    return ask->refused;
}

void ask_too_long(struct ask *ask, struct view *says)
{
    start(ask);
    if (ask->phase == PHASE_QUESTION)
        offer_find(ask);
    REFUSE(ask, "That line is too long to be an answer; nothing of it was taken.");
    *says = buffer_view(&ask->out);
}

void ask_farewell(struct ask *ask, struct view *says)
{
    const char *path = ask->setup->path;
    if (ask->setup->unkept) {
        say(ask, 0, "Stopped; nothing is written, and no answer is kept.");
    } else {
        say(ask, 0, "Stopped; nothing is written, and all answers are kept. To go on here:");
        say(ask, 2, "proveout commission%s%s", path ? " " : "", path ? path : "");
    }
    *says = buffer_view(&ask->out);
}

void ask_words(struct ask *ask, struct arena *arena, struct ask_words *out)
{
    const char *const always[] = {"back", "skip", asks_part(ask) ? "stop" : "later", "on"};
    *out = (struct ask_words){0};
    for (size_t i = 0; i < sizeof always / sizeof *always; i++)
        VECTOR_ADD(arena, &out->items, always[i]);
    if (ask->phase != PHASE_QUESTION) {
        VECTOR_ADD(arena, &out->items, "yes");
        if (ask->phase == PHASE_MEND)
            VECTOR_ADD(arena, &out->items, "no");
        return;
    }
    struct choice choices[CHOICES_MAX];
    size_t choice_count = question_choices(ask, ask_entry(ask), choices);
    for (size_t i = 0; i < choice_count; i++)
        VECTOR_ADD(arena, &out->items,
                   arena_copy(arena, choices[i].word, strlen(choices[i].word)));
    const struct field *field = entry_field(ask_entry(ask));
    if (!field)
        return;
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
    bool whole = draft_read(ask->arena, setup->draft, &ask->answers, &draft) == DRAFT_GOOD;
    if (!whole || draft.base != (setup->exists ? draft_sum(setup->base) : 0)) {
        begin_anew(ask);
        setup->host.aside(setup->host.user);
        say(ask, 0, "%s",
            whole
                ? "The draft of an earlier run is stale: the file has changed since. It was put aside, and this begins with the file as it is."
                : "The draft of an earlier run is damaged and cannot be used; it was put aside. This begins anew.");
        return false;
    }
    ask->resumed = true;
    *at = draft.at;
    say(ask, 0,
        "Going on with the draft of an earlier run: %zu %s kept. Type anew to begin from the "
        "start in its place.",
        draft.count, draft.count == 1 ? "answer is" : "answers are");
    return true;
}

/* What was found about the question that a draft stopped at, and nothing of the others. */
static void tell_again(struct ask *ask)
{
    struct view bytes;
    struct finding_list news;
    if (ask->at >= ask->sequence.items.count || ask_bytes(ask, false, &bytes))
        return;
    size_t end = question_end(&ask->sequence, ask->at);
    for (size_t i = question_first(&ask->sequence, ask->at); i < end; i++)
        ask->put[ask->put_count++] = ask->sequence.items.items[i];
    judge_news(&ask->judge, ask->scratch, bytes, &news);
    show_findings(ask, &news);
}

/* `shed` of `yards/shed.yaml`. */
static struct view stem(struct view path)
{
    size_t start = path.size, end = path.size;
    while (start > 0 && path.data[start - 1] != '/')
        start--;
    for (size_t i = path.size; i > start + 1; i--)
        if (path.data[i - 1] == '.') {
            end = i - 1;
            break;
        }
    return (struct view){path.data + start, end - start};
}

struct ask *ask_begin(struct arena *arena, const struct ask_setup *setup, struct view *says)
{
    struct ask *ask = ARENA_NEW(arena, struct ask);
    struct view at = {0};
    uint16_t what;
    uint32_t record;
    ask->arena = arena;
    ask->setup = setup;
    ask->layout = setup->layout;
    ask->topic = TOPIC_COUNT;
    ask->scratch = arena_new_within(arena);
    buffer_init(&ask->out, ask->scratch);
    buffer_init(&ask->said, ask->scratch);
    ask->with = (struct answer_context){
        .arena = ask->scratch, .today = setup->today, .name = stem(view_of(setup->path))};
    judge_init(&ask->judge, arena, setup->rules, setup->path ? setup->path : "machine.yaml");
    ask->judge.to_come = is_to_come;
    ask->judge.put_anew = is_put_anew;
    ask->judge.user = ask;
    ask->judge.keeps = setup->place_count > 0;
    begin_anew(ask);
    if (!asks_part(ask))
        show_intro(ask);
    bool resumed = resume(ask, &at);
    ask_rebuild(ask);
    if (resumed)
        ask->at = at.size && answer_find(&ask->answers, at, &what, &record)
                      ? question_index(&ask->sequence, what, record)
                      : ask->sequence.items.count;
    know(ask);
    if (resumed)
        tell_again(ask);
    size_t start_at = ask->at;
    ask_go(ask, start_at);
    *says = buffer_view(&ask->out);
    return ask;
}
