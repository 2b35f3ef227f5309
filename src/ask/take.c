/* What a line does to the answers. */
#include "ask/internal.h"

#include "text/escape.h"

enum { SHOWN = 60 };

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

bool take_judge(struct ask *ask)
{
    struct view bytes;
    struct finding_list news;
    if (ask->setup->place_count || ask_bytes(ask, false, &bytes))
        return true;
    judge_news(&ask->judge, &ask->scratch, bytes, &news);
    if (!news.items.count)
        return true;
    for (size_t i = 0; i < news.items.count; i++)
        VECTOR_ADD(&ask->scratch, &ask->news.items, news.items.items[i]);
    present_findings(ask, &news);
    for (size_t i = 0; i < news.items.count; i++)
        if (news.items.items[i]->level != LEVEL_NOTE)
            return false;
    return true;
}

static void set(struct ask *ask, const struct ask_entry *entry, const struct answer *answer)
{
    const struct answer before = *entry_answer(ask, entry);
    bool same = answer_has_value(&before) == answer_has_value(answer) &&
                view_equal(before.text, answer->text);
    answers_set(&ask->answers, entry->row->what, entry->record,
                same && before.source == SOURCE_FILE ? &before : answer);
    if (answer_has_value(answer) && entry->row->what < FIELD_COUNT &&
        field_table[entry->row->what].kind == KIND_INPUT)
        (void)answers_input(&ask->answers, answer->text);
    if (!same && before.source != SOURCE_NONE)
        doubt(ask, entry->row->what);
}

/* NULL, or why what was answered cannot be put into the file. */
static const char *put(struct ask *ask, const struct answer *answer)
{
    struct view bytes;
    const struct ask_setup *setup = ask->setup;
    if (!setup->place_count)
        return ask_bytes(ask, false, &bytes);
    return answer_has_value(answer)
               ? setup->host.take(setup->host.user, &setup->places[ask->at], answer->text)
               : NULL;
}

/* Answers for the first `count` entries of the question. */
static void take(struct ask *ask, const struct answer *answers, size_t count)
{
    struct ask_entry entries[ASK_JOINED_MAX];
    struct answer before[ASK_JOINED_MAX];
    size_t next = ask->at + count;
    bool whole = count == ask_span(ask);
    for (size_t i = 0; i < count; i++) {
        entries[i] = ask_entry(ask)[i];
        before[i] = *entry_answer(ask, &entries[i]);
    }
    for (size_t i = 0; i < count; i++)
        set(ask, &entries[i], &answers[i]);
    ask->with.inches = view_is(answers_get(&ask->answers, ASK_UNITS, 0)->text, "in");
    ask_rebuild(ask);
    const char *why = put(ask, &answers[0]);
    if (why) {
        ask->refused = true;
        say_answer(ask, "%s. The answer is not taken.", why);
        for (size_t i = 0; i < count; i++)
            answers_set(&ask->answers, entries[i].row->what, entries[i].record, &before[i]);
        ask_rebuild(ask);
        return;
    }
    bool good = take_judge(ask);
    if (!good && !whole)
        say_answer(ask, "back changes that; the rest of the question:");
    if (good || !whole) {
        ask_go(ask, next);
        return;
    }
    offer_find(ask);
    say_answer(ask, "Enter keeps %s as it is; or answer again.",
               ask->offer.text ? escape_short(&ask->scratch, view_of(ask->offer.text), SHOWN)
                               : "it open");
}

void take_nothing(struct ask *ask)
{
    struct answer answers[ASK_JOINED_MAX];
    size_t count = ask_span(ask), kept = 0;
    for (size_t i = 0; i < count; i++) {
        answers[i] = *entry_answer(ask, ask_entry(ask) + i);
        bool stays = ask->setup->exists && answers[i].source == SOURCE_FILE;
        if (!stays)
            answers[i] = (struct answer){.source = SOURCE_OPEN};
        kept += stays;
    }
    if (kept)
        say_answer(ask, "It stays as the file has it; take it out by hand where it is to go.");
    else
        say_answer(ask, "Left open.");
    if (kept == count)
        ask_go(ask, ask->at + count);
    else
        take(ask, answers, count);
}

/* What stands there stays, and there is no doubt about it. */
static void keep(struct ask *ask)
{
    size_t count = ask_span(ask);
    for (size_t i = 0; i < count; i++) {
        const struct ask_entry *entry = ask_entry(ask) + i;
        struct answer answer = *entry_answer(ask, entry);
        answer.unsure = false;
        if (answer.source == SOURCE_NONE)
            answer.source = SOURCE_OPEN;
        answers_set(&ask->answers, entry->row->what, entry->record, &answer);
    }
    if (ask->offer.text)
        say_answer(ask, "Kept: %s.",
                   escape_short(&ask->scratch, view_of(ask->offer.text), SHOWN));
    ask_go(ask, ask->at + count);
}

static bool is_needed(const struct ask *ask)
{
    for (size_t i = 0; i < ask_span(ask); i++)
        if (entry_is_needed(ask_entry(ask) + i))
            return true;
    return false;
}

void take_offer(struct ask *ask)
{
    const struct ask_offer *offer = &ask->offer;
    size_t count = ask_span(ask);
    if (offer->keeps) {
        keep(ask);
    } else if (offer->text && !offer->typed) {
        struct answer answers[ASK_JOINED_MAX];
        for (size_t i = 0; i < count; i++) {
            const struct ask_offer *part = count > 1 ? &ask->parts[i] : offer;
            answers[i] = *entry_answer(ask, ask_entry(ask) + i);
            answers[i].unsure = false;
            if (!part->keeps)
                answers[i] =
                    (struct answer){.source = part->computed ? SOURCE_COMPUTED : SOURCE_DEFAULT,
                                    .text = view_of(part->text)};
        }
        say_answer(ask, "Taken as offered: %s.",
                   strcmp(offer->text, "[]") == 0 ? "none" : offer->text);
        take(ask, answers, count);
    } else if (is_needed(ask) && !ask->setup->exists) {
        ask->refused = true;
        say_answer(ask, "This has to be answered; ? explains it, skip leaves it open for now.");
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
    *out = (struct understood){.wrong = "type 1 for millimetres or 2 for inches"};
    if (which >= 0)
        *out = (struct understood){.text = view_of(inches ? "in" : "mm"),
                                   .echo =
                                       inches ? "Taken as: inches." : "Taken as: millimetres."};
}

static void read_more(struct ask *ask, struct view line, struct understood *out)
{
    const char *words[ASK_MORE_COUNT];
    for (size_t i = 0; i < ASK_MORE_COUNT; i++)
        words[i] = more_table[i].word;
    understand_words(&ask->with, words, ASK_MORE_COUNT, line, out);
}

/* How many entries a line answers; 0: parts[0].wrong says why none. */
static size_t read(struct ask *ask, struct view line, struct understood *parts)
{
    uint16_t what = ask_entry(ask)->row->what;
    if (ask_span(ask) > 1)
        return together_read(ask, line, parts);
    if (what == ASK_UNITS)
        read_units(line, parts);
    else if (what == ASK_MORE)
        read_more(ask, line, parts);
    else if (what >= FIELD_COUNT)
        understand_flag(&ask->with, line, parts);
    else
        understand(&ask->with, (enum field_id)what, line, parts);
    return !parts->wrong;
}

void take_typed(struct ask *ask, struct view line)
{
    struct understood parts[ASK_JOINED_MAX] = {0};
    struct answer answers[ASK_JOINED_MAX];
    size_t count = read(ask, line, parts);
    for (size_t i = 0; i < count; i++)
        answers[i] = (struct answer){.source = SOURCE_ASKED, .text = parts[i].text};
    if (count) {
        say_answer(ask, "%s", parts->echo);
        if (together_is_marks(ask))
            present_marks(ask, parts);
        take(ask, answers, count);
        return;
    }
    ask->refused = true;
    char *text = arena_copy(&ask->scratch, parts->wrong, strlen(parts->wrong));
    bool asks = text[strlen(text) - 1] == '?';
    bool typed = view_starts(view_of(text), arena_copy(&ask->scratch, line.data, line.size));
    if (text[0] >= 'a' && text[0] <= 'z' && !typed)
        text[0] = (char)(text[0] - 'a' + 'A');
    say_answer(ask, "%s%s", text, asks ? "" : ".");
}
