/* What a revision asks for; how it is asked and understood is the prompt's affair. */
#include "ask/spoken.h"
#include "cli/revise.h"

const char *revise_set(struct revision *revision, const struct field_place *place,
                       struct view text)
{
    struct arena *arena = revision->run->arena;
    const char *wrong = machine_file_set(
        arena, &revision->now, place, text,
        revision->run->options.values[OPTION_HERE].given ? SET_HERE : SET_AT_HOME);
    if (!wrong)
        VECTOR_ADD(arena, &revision->set, *place);
    return wrong;
}

enum { FIELDS_MAX = 5 };

/* What has to be measured again after something was moved. */
struct moved_thing {
    const char *name;
    const char *what; /* happened */
    struct {
        enum field_id field;
        bool if_given;     /* not asked where the file has none */
        enum field_id day; /* becomes today with it */
    } fields[FIELDS_MAX];
    size_t count;
};

static const struct moved_thing things[] = {
    {"setter",
     "The setter was moved, taken off or exchanged: where it stands and how high it trips is "
     "measured again.",
     {{FIELD_SETTER_AT_X, false, FIELD_SETTER_MEASURED_ON},
      {FIELD_SETTER_AT_Y, false, FIELD_SETTER_MEASURED_ON},
      {FIELD_SETTER_NOSE_CONTACT, false, FIELD_SETTER_MEASURED_ON},
      {FIELD_SETTER_HEIGHT, true, FIELD_SETTER_MEASURED_ON},
      {FIELD_SETTER_UNDERSIDE, true, FIELD_SETTER_MEASURED_ON}},
     5},
    {"table",
     "The table was surfaced or exchanged: its height is measured again. A setter that was moved "
     "with it is a revision of its own.",
     {{FIELD_TABLE_NOSE_CONTACT, false, FIELD_TABLE_MEASURED_ON},
      {FIELD_PLATE_NOSE_CONTACT, true, FIELD_TABLE_MEASURED_ON},
      {FIELD_TABLE_THICKNESS, true, FIELD_TABLE_MEASURED_ON},
      {FIELD_TABLE_THICKNESS_NOW, true, FIELD_TABLE_THICKNESS_MEASURED_ON}},
     4},
    {"board",
     "The spoilboard was surfaced and nothing else was touched: its thickness is measured again.",
     {{FIELD_TABLE_THICKNESS_NOW, false, FIELD_TABLE_THICKNESS_MEASURED_ON}},
     1},
};

/* What is asked for. */
struct questions {
    struct revision *revision;
    const struct field_place *places;
    size_t count, set;
    bool is_set[FIELDS_MAX]; /* of each place */
};

static const char *take(void *user, const struct field_place *place, struct view text)
{
    struct questions *questions = user;
    const char *wrong = revise_set(questions->revision, place, text);
    bool *is_set = &questions->is_set[place - questions->places];
    questions->set += !wrong && !*is_set;
    *is_set |= !wrong;
    return wrong;
}

/* False: somebody said stop, or the answers came to an end. */
static bool ask_places(struct questions *questions)
{
    struct revision *revision = questions->revision;
    struct lines *lines = revision->lines;
    const struct check_options rules = {.books = revision->books.list,
                                        .book_count = revision->books.count,
                                        .today = run_today(revision->run)};
    const struct ask_setup setup = {.rules = &rules,
                                    .layout = lines->layout,
                                    .path = revision->path,
                                    .exists = true,
                                    .base = revision->now->bytes,
                                    .today = run_day(revision->run),
                                    .places = questions->places,
                                    .place_count = questions->count,
                                    .host = {.user = questions, .take = take}};
    enum ask_state state = ASK_GOES_ON;
    enum line_result result = LINE_READ;
    struct view says;
    if (!lines_open(lines, NULL))
        return false;
    lines->ask = ask_begin(revision->run->arena, &setup, &says);
    lines_show(lines, says);
    while (state == ASK_GOES_ON && (result == LINE_READ || result == LINE_TOO_LONG))
        result = lines_answer(lines, &state);
    lines->ask = NULL;
    if (state == ASK_GOES_ON && !lines->from)
        lines_gap(lines);
    return state == ASK_ASKED;
}

static bool is_given(const struct revision *revision, enum field_id field)
{
    return machine_field(&revision->now->machine, field, 0)->state != VALUE_ABSENT;
}

/* A setter that the gantry carries has no Y to be measured. */
static bool is_asked(const struct revision *revision, enum field_id field, bool if_given)
{
    const struct field_value *rides =
        machine_field(&revision->now->machine, FIELD_SETTER_RIDES_ON, 0);
    if (is_given(revision, field))
        return true;
    if (field == FIELD_SETTER_AT_Y && rides->state == VALUE_GIVEN)
        return !field_choice_is(&field_table[FIELD_SETTER_RIDES_ON], rides->choice, "gantry");
    return !if_given;
}

static void say_cautions(struct revision *revision)
{
    lines_say(
        revision->lines, 0,
        "Before hands go near: stop the spindle and isolate it, so that nothing can start "
        "it. Keep a hand on the stop whenever an axis moves, and go the last millimetres "
        "in small steps.");
    lines_say(revision->lines, 0,
              "Enter alone keeps a value as it is, ? tells again how it is measured, stop ends "
              "without changing anything.");
}

/* The day on which it was measured becomes today. */
static void stamp(const struct questions *questions, enum field_id day)
{
    struct revision *revision = questions->revision;
    const struct field_place place = {day, 0, 0};
    struct view text = run_day(revision->run);
    const char *wrong = revise_set(revision, &place, text);
    if (wrong)
        lines_say(revision->lines, 0, "%s could not be set to %.*s: %s.",
                  revise_path(revision, &place), VIEW(text), wrong);
    else
        lines_say(revision->lines, 0, "%s becomes %.*s%s.", revise_path(revision, &place),
                  VIEW(text),
                  questions->set < questions->count
                      ? "; what was kept should have been looked at as well"
                      : "");
}

/* Each day of what was set, once. */
static void stamp_all(const struct questions *questions, const enum field_id days[])
{
    for (size_t i = 0; i < questions->count; i++) {
        bool told = false;
        for (size_t k = 0; k < i; k++)
            told = told || (questions->is_set[k] && days[k] == days[i]);
        if (questions->is_set[i] && !told)
            stamp(questions, days[i]);
    }
}

static enum revise_end ask_thing(struct revision *revision, const struct moved_thing *thing)
{
    struct field_place places[FIELDS_MAX];
    struct questions questions = {.revision = revision, .places = places};
    enum field_id days[FIELDS_MAX];
    for (size_t i = 0; i < thing->count; i++)
        if (is_asked(revision, thing->fields[i].field, thing->fields[i].if_given)) {
            days[questions.count] = thing->fields[i].day;
            places[questions.count++] = (struct field_place){thing->fields[i].field, 0, 0};
        }
    if (!is_given(revision, thing->fields[0].field)) {
        run_refuse(revision->run, "%s has no %s to be measured again", revision->path,
                   thing->name);
        return REVISE_REFUSED;
    }
    say_cautions(revision);
    lines_gap(revision->lines);
    lines_say(revision->lines, 0, "%s", thing->what);
    if (!ask_places(&questions))
        return REVISE_STOPPED;
    if (questions.set)
        lines_gap(revision->lines);
    stamp_all(&questions, days);
    return REVISE_ASKED;
}

/* Half of a pair that is not there is asked for with the other half. */
static enum revise_end ask_field(struct revision *revision, struct field_place place)
{
    if (!*machine_file_text(revision->run->arena, revision->now, &place))
        place.part = 0;
    struct questions questions = {.revision = revision, .places = &place, .count = 1};
    return ask_places(&questions) ? REVISE_ASKED : REVISE_STOPPED;
}

/* Asks for fields until Enter alone. */
static enum revise_end ask_fields(struct revision *revision)
{
    struct arena *arena = revision->run->arena;
    enum revise_end end = REVISE_ASKED;
    struct view text, rest;
    say_cautions(revision);
    if (!lines_open(revision->lines, NULL))
        return REVISE_STOPPED;
    while (end == REVISE_ASKED) {
        struct field_place place;
        if (!lines_ask(revision->lines, "Which field? (Enter alone: no more)", &text))
            return REVISE_STOPPED;
        enum said said = spoken_word(arena, text, &rest);
        if (said == SAID_STOP)
            return REVISE_STOPPED;
        if (!text.size || said == SAID_NONE)
            return REVISE_ASKED;
        if (said == SAID_HELP || said == SAID_SKIP) {
            lines_say(revision->lines, 4,
                      "A path such as change.standoff or cutters[number=3].stickout; `proveout "
                      "explain SECTION` lists the fields of a section. Enter alone ends.");
            continue;
        }
        const char *wrong = machine_file_find(revision->run->arena, revision->now,
                                              arena_copy(arena, text.data, text.size), &place);
        if (wrong)
            lines_say(revision->lines, 4, "%s%s", wrong,
                      wrong[strlen(wrong) - 1] == '?' ? "" : ".");
        else
            end = ask_field(revision, place);
    }
    return end;
}

enum revise_end revise_ask(struct revision *revision, const char *what)
{
    if (!what)
        return ask_fields(revision);
    for (size_t i = 0; i < sizeof things / sizeof *things; i++)
        if (strcmp(what, things[i].name) == 0)
            return ask_thing(revision, &things[i]);
    struct field_place place;
    const char *wrong = machine_file_find(revision->run->arena, revision->now, what, &place);
    if (!wrong)
        return ask_field(revision, place);
    run_refuse(revision->run, "%s", wrong);
    return REVISE_REFUSED;
}
