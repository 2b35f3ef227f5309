/* The state machine: which question is next, and what a line does to the answers. */
#include "ask/internal.h"

#include "quantity/quantity.h"
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

const char *ask_file(struct ask *ask, struct view *out)
{
    return ask_bytes(ask, true, out);
}

void ask_rebuild(struct ask *ask)
{
    const struct ask_setup *setup = ask->setup;
    if (setup->place_count)
        question_places(&ask->scratch, setup->places, setup->place_count, &ask->sequence);
    else
        question_sequence(&ask->scratch, &ask->answers, &ask->sequence);
}

/* The draft as it now is goes to the host. */
static void keep_draft(struct ask *ask)
{
    if (ask->setup->place_count)
        return;
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
           (entry_answer(ask, &ask->sequence.items.items[index])->source == SOURCE_NONE ||
            (entry_answer(ask, &ask->sequence.items.items[index])->unsure &&
             walk_is_silent(ask, index)));
}

static enum ask_state stop(struct ask *ask)
{
    if (ask->setup->place_count)
        return ASK_STOPPED;
    keep_draft(ask);
    struct view says;
    ask_farewell(ask, &says);
    return ASK_STOPPED;
}

/* Where half of a pair is asked for, that is what stands there. */
static void take_halves(struct ask *ask)
{
    for (size_t i = 0; i < ask->setup->place_count; i++) {
        const struct field_place *place = &ask->setup->places[i];
        const struct field_value *value =
            machine_field(ask->machine, place->field, place->record);
        struct answer half = {.source = SOURCE_FILE};
        if (!place->part || value->state != VALUE_GIVEN)
            continue;
        value = &value->pair[place->part - 1];
        half.text =
            view_of(quantity_text_with(ask->arena, value->si, value->tolerance,
                                       field_table[place->field].dimension, value->unit));
        answers_set(&ask->answers, (uint16_t)place->field, place->record, &half);
    }
}

static void begin_anew(struct ask *ask)
{
    answers_init(&ask->answers, ask->arena);
    if (ask->setup->exists) {
        struct machine *machine = ARENA_NEW(ask->arena, struct machine);
        struct tree *tree = ARENA_NEW(ask->arena, struct tree);
        struct source *source = ARENA_NEW(ask->arena, struct source);
        struct finding_sink *sink = ARENA_NEW(ask->arena, struct finding_sink);
        source_init(source, ask->arena, view_of(ask->setup->path), ask->setup->base);
        sink_init(sink, ask->arena, source);
        tree_read(tree, ask->arena, source, sink);
        machine_read(machine, ask->arena, tree, sink);
        answers_from_machine(&ask->answers, machine);
        ask->machine = machine;
        take_halves(ask);
    }
    ask->with.inches = view_is(answers_get(&ask->answers, ASK_UNITS, 0)->text, "in");
    ask->resumed = false;
    ask_rebuild(ask);
}

/* The words that mean the same everywhere.  False where the line is none of them. */
static bool is_command(struct ask *ask, struct view line, enum ask_state *state)
{
    if (view_is(line, ask->setup->place_count ? "stop" : "later")) {
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
        walk_back(ask, view_skip(line, 4));
        return true;
    }
    if (view_is(line, "?") || view_is(line, "help")) {
        if (ask->phase == PHASE_QUESTION)
            present_help(ask);
        else
            review_help(ask);
        return true;
    }
    if (ask->phase != PHASE_QUESTION)
        return false;
    if (view_is(line, "skip"))
        take_nothing(ask);
    else if (view_is(line, "on"))
        walk_on(ask);
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
    buffer_init(&ask->said, &ask->scratch);
    ask->news = (struct finding_list){0};
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
        ask->refused = true;
        say_answer(ask,
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
    if (ask->phase == PHASE_QUESTION)
        offer_find(ask);
    say_answer(ask, "That line is too long to be an answer; nothing of it was taken.");
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
    const char *const always[] = {"back", "skip", ask->setup->place_count ? "stop" : "later",
                                  "on"};
    *out = (struct ask_words){0};
    for (size_t i = 0; i < sizeof always / sizeof *always; i++)
        VECTOR_ADD(arena, &out->items, always[i]);
    if (ask->phase != PHASE_QUESTION) {
        VECTOR_ADD(arena, &out->items, "yes");
        return;
    }
    struct choice choices[CHOICES_MAX];
    size_t choice_count = question_choices(ask, ask_entry(ask), choices);
    for (size_t i = 0; i < choice_count; i++)
        VECTOR_ADD(arena, &out->items,
                   arena_copy(arena, choices[i].word, strlen(choices[i].word)));
    if (ask_entry(ask)->row->what >= FIELD_COUNT)
        return;
    const struct field *field = &field_table[ask_entry(ask)->row->what];
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
        "Going on with the draft of an earlier run: %zu %s kept. Type anew to begin from the "
        "start in its place.",
        draft.count, draft.count == 1 ? "answer is" : "answers are");
    return true;
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
    ask->topic = TOPIC_COUNT;
    arena_init(&ask->scratch, arena->host);
    buffer_init(&ask->out, &ask->scratch);
    buffer_init(&ask->said, &ask->scratch);
    ask->with = (struct understanding){
        .arena = &ask->scratch, .today = setup->today, .name = stem(view_of(setup->path))};
    judge_init(&ask->judge, arena, setup->rules, setup->path ? setup->path : "machine.yaml");
    ask->judge.to_come = is_to_come;
    ask->judge.user = ask;
    begin_anew(ask);
    if (!setup->place_count)
        present_intro(ask);
    bool resumed = resume(ask, &at);
    ask_rebuild(ask);
    if (!setup->place_count)
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
