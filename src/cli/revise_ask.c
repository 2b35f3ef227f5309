/* Asking for the values of a revision, line by line. */
#include "cli/revise.h"

#include "base/buffer.h"
#include "cli/lines.h"
#include "cli/surroundings.h"
#include "quantity/number.h"
#include "text/escape.h"

enum { SHOWN = 60, FIELDS_MAX = 4 };

/* What has to be measured again after something was moved. */
struct moved_thing {
    const char *name;
    const char *what; /* happened */
    enum field_id fields[FIELDS_MAX];
    size_t count;
    enum field_id optional; /* asked only where it is given */
    enum field_id day;      /* becomes today */
};

static const struct moved_thing things[] = {
    {"setter",
     "The setter was moved, taken off or exchanged: where it stands and how high it trips is "
     "measured again.",
     {FIELD_SETTER_AT_X, FIELD_SETTER_AT_Y, FIELD_SETTER_NOSE_CONTACT, FIELD_SETTER_HEIGHT},
     4,
     FIELD_SETTER_HEIGHT,
     FIELD_SETTER_MEASURED_ON},
    {"table",
     "The table was surfaced or exchanged: its height is measured again. A setter that was moved "
     "with it is a revision of its own.",
     {FIELD_TABLE_NOSE_CONTACT, FIELD_PLATE_NOSE_CONTACT},
     2,
     FIELD_PLATE_NOSE_CONTACT,
     FIELD_TABLE_MEASURED_ON},
};

enum answer { ANSWER_SET, ANSWER_KEPT, ANSWER_STOP };

/* One dialogue. */
struct dialogue {
    struct revision *revision;
    struct lines *lines;
    size_t set, kept;
};

static bool is_number_alone(struct view text)
{
    double number;
    size_t used;
    return number_read(text, &number, &used) == NUMBER_OK && used == text.size;
}

/* The unit that a bare number takes: that of the present value, else the one to ask in. */
static const char *unit_of(const struct revision *revision, const struct field_place *place)
{
    const struct field_value *value =
        machine_field(&revision->now->machine, place->field, place->record);
    enum field_kind kind = field_table[place->field].kind;
    if (kind != KIND_QUANTITY && kind != KIND_POSITION)
        return "";
    return value->state == VALUE_GIVEN ? unit_text(value->unit)
                                       : field_table[place->field].unit;
}

/* Tries an answer as a value.  True where it was taken. */
static bool take(struct dialogue *dialogue, const struct field_place *place, struct view text)
{
    struct revision *revision = dialogue->revision;
    struct arena *arena = revision->run->arena;
    const char *unit = unit_of(revision, place);
    if (*unit && is_number_alone(text))
        text = view_of(arena_format(arena, "%.*s %s", VIEW(text), unit));
    const char *wrong = revise_set(revision, place, text);
    if (wrong) {
        lines_say(dialogue->lines, 4, "That cannot be taken: %s.", wrong);
        return false;
    }
    lines_say(dialogue->lines, 4, "Taken as %s.", revise_text(revision, place));
    return true;
}

static void explain(struct dialogue *dialogue, const struct field_place *place)
{
    const struct field *field = &field_table[place->field];
    lines_say(dialogue->lines, 0, "%s: %s.", revise_path(dialogue->revision, place),
              field->meaning);
    if (*field->measure)
        lines_say(dialogue->lines, 4, "%s", field->measure);
}

/* Asks for one value until it is given, kept, or the answers end. */
static enum answer ask_value(struct dialogue *dialogue, const struct field_place *place)
{
    struct revision *revision = dialogue->revision;
    struct arena *arena = revision->run->arena;
    const char *path = revise_path(revision, place), *old = revise_text(revision, place);
    explain(dialogue, place);
    const char *question = *old ? arena_format(arena, "%s, now %s", path, old)
                                : arena_format(arena, "%s, not given", path);
    for (;;) {
        struct view text;
        if (!lines_ask(dialogue->lines, question, &text) || view_is(text, "stop"))
            return ANSWER_STOP;
        if (!text.size) {
            if (*old)
                lines_say(dialogue->lines, 4, "Kept at %s.", old);
            else
                lines_say(dialogue->lines, 4, "Left out.");
            dialogue->kept++;
            return ANSWER_KEPT;
        }
        if (view_is(text, "?")) {
            explain(dialogue, place);
            continue;
        }
        if (take(dialogue, place, text)) {
            dialogue->set++;
            return ANSWER_SET;
        }
    }
}

static bool is_given(const struct revision *revision, enum field_id field)
{
    return machine_field(&revision->now->machine, field, 0)->state != VALUE_ABSENT;
}

static void say_cautions(struct dialogue *dialogue)
{
    lines_say(
        dialogue->lines, 0,
        "Before hands go near: stop the spindle and isolate it, so that nothing can start "
        "it. Keep a hand on the stop whenever an axis moves, and go the last millimetres "
        "in small steps.");
    lines_say(dialogue->lines, 0,
              "Enter alone keeps a value as it is, ? tells again how it is measured, stop ends "
              "without changing anything.");
}

/* The day on which it was measured becomes today. */
static void stamp(struct dialogue *dialogue, const struct moved_thing *thing)
{
    struct revision *revision = dialogue->revision;
    struct arena *arena = revision->run->arena;
    const struct field_value today = {.state = VALUE_GIVEN,
                                      .si = surroundings_today(revision->run)};
    const struct field_place place = {thing->day, 0, 0};
    const char *text = field_value_text(arena, thing->day, &today);
    const char *wrong = revise_set(revision, &place, view_of(text));
    if (wrong)
        lines_say(dialogue->lines, 0, "%s could not be set to %s: %s.",
                  revise_path(revision, &place), text, wrong);
    else
        lines_say(dialogue->lines, 0, "%s becomes %s%s.", revise_path(revision, &place), text,
                  dialogue->kept ? "; what was kept should have been looked at as well" : "");
}

static enum revise_end ask_thing(struct dialogue *dialogue, const struct moved_thing *thing)
{
    struct revision *revision = dialogue->revision;
    struct field_place places[FIELDS_MAX];
    size_t count = 0;
    for (size_t i = 0; i < thing->count; i++)
        if (thing->fields[i] != thing->optional || thing->count == 1 ||
            is_given(revision, thing->fields[i]))
            places[count++] = (struct field_place){thing->fields[i], 0, 0};
    if (!is_given(revision, thing->fields[0])) {
        run_refuse(revision->run, "%s has no %s to be measured again", revision->path,
                   thing->name);
        return REVISE_REFUSED;
    }
    say_cautions(dialogue);
    lines_gap(dialogue->lines);
    lines_say(dialogue->lines, 0, "%s", thing->what);
    for (size_t i = 0; i < count; i++) {
        lines_gap(dialogue->lines);
        lines_say(dialogue->lines, 0, "%zu of %zu", i + 1, count);
        if (ask_value(dialogue, &places[i]) == ANSWER_STOP)
            return REVISE_STOPPED;
    }
    if (dialogue->set) {
        lines_gap(dialogue->lines);
        stamp(dialogue, thing);
    }
    return REVISE_ASKED;
}

/* Asks for fields until Enter alone. */
static enum revise_end ask_fields(struct dialogue *dialogue)
{
    struct arena *arena = dialogue->revision->run->arena;
    say_cautions(dialogue);
    for (;;) {
        struct view text;
        struct field_place place;
        if (!lines_ask(dialogue->lines, "Which field? (Enter alone: no more)", &text) ||
            view_is(text, "stop"))
            return REVISE_STOPPED;
        if (!text.size)
            return REVISE_ASKED;
        if (view_is(text, "?")) {
            lines_say(dialogue->lines, 4,
                      "A path such as change.standoff or cutters[number=3].stickout; `proveout "
                      "explain SECTION` lists the fields of a section.");
            continue;
        }
        const char *wrong =
            revise_find(dialogue->revision, arena_copy(arena, text.data, text.size), &place);
        if (wrong)
            lines_say(dialogue->lines, 4, "%s%s", wrong,
                      wrong[strlen(wrong) - 1] == '?' ? "" : ".");
        else if (ask_value(dialogue, &place) == ANSWER_STOP)
            return REVISE_STOPPED;
    }
}

enum revise_end revise_ask(struct revision *revision, const char *what)
{
    struct dialogue dialogue = {.revision = revision, .lines = revision->lines};
    if (!what)
        return ask_fields(&dialogue);
    for (size_t i = 0; i < sizeof things / sizeof *things; i++)
        if (strcmp(what, things[i].name) == 0)
            return ask_thing(&dialogue, &things[i]);
    struct field_place place;
    const char *wrong = revise_find(revision, what, &place);
    if (wrong) {
        run_refuse(revision->run, "%s", wrong);
        return REVISE_REFUSED;
    }
    return ask_value(&dialogue, &place) == ANSWER_STOP ? REVISE_STOPPED : REVISE_ASKED;
}
