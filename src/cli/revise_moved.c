/* What is measured again after a setter was moved, or the table or its board was touched. */
#include "cli/revise_internal.h"

#include <string.h>

#include "ask/spoken.h"
#include "text/escape.h"

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

/* A thing that was moved: of several setters the record of one, else NO_SETTER. */
struct remeasured {
    struct revision *revision;
    const struct moved_thing *thing;
    uint32_t setter;
};

static struct field_place place_of(const struct remeasured *moved, enum field_id field)
{
    if (moved->setter == NO_SETTER)
        return (struct field_place){field, 0, 0};
    return (struct field_place){field_of_setters(field), moved->setter, 0};
}

static const struct field_value *value_of(const struct remeasured *moved, enum field_id field)
{
    struct field_place place = place_of(moved, field);
    return machine_field(&moved->revision->now->machine, place.field, place.record);
}

static bool is_given(const struct remeasured *moved, enum field_id field)
{
    return value_of(moved, field)->state != VALUE_ABSENT;
}

/* A setter that the gantry carries has no Y to be measured. */
static bool is_asked(const struct remeasured *moved, enum field_id field, bool if_given)
{
    if (is_given(moved, field))
        return true;
    if (field != FIELD_SETTER_AT_Y)
        return !if_given;
    const struct field_value *rides = value_of(moved, FIELD_SETTER_RIDES_ON);
    return rides->state != VALUE_GIVEN ||
           !field_choice_is(&field_table[FIELD_SETTER_RIDES_ON], rides->choice, "gantry");
}

/* The day on which it was measured becomes today. */
static void stamp(const struct asked_places *asked, const struct field_place *day)
{
    struct revision *revision = asked->revision;
    struct view text = run_day(revision->run);
    const char *wrong = revise_set(revision, day, text);
    if (wrong)
        lines_say(revision->lines, 0, "%s could not be set to %.*s: %s.",
                  revise_path(revision, day), VIEW(text), wrong);
    else
        lines_say(revision->lines, 0, "%s becomes %.*s%s.", revise_path(revision, day),
                  VIEW(text),
                  asked_count(asked) < asked->count
                      ? "; what was kept should have been looked at as well"
                      : "");
}

/* Each day of what was set, once. */
static void stamp_all(const struct asked_places *asked, const struct field_place days[])
{
    for (size_t i = 0; i < asked->count; i++) {
        bool told = false;
        for (size_t k = 0; k < i; k++)
            told = told || (asked->answers[k].size && days[k].field == days[i].field);
        if (asked->answers[i].size && !told)
            stamp(asked, &days[i]);
    }
}

static enum revise_end ask_moved(const struct remeasured *moved)
{
    struct revision *revision = moved->revision;
    const struct moved_thing *thing = moved->thing;
    struct field_place places[FIELDS_MAX], days[FIELDS_MAX];
    struct asked_places asked = {.revision = revision, .places = places};
    for (size_t i = 0; i < thing->count; i++)
        if (is_asked(moved, thing->fields[i].field, thing->fields[i].if_given)) {
            days[asked.count] = place_of(moved, thing->fields[i].day);
            places[asked.count++] = place_of(moved, thing->fields[i].field);
        }
    if (!is_given(moved, thing->fields[0].field)) {
        run_refuse(revision->run, "%s has no %s to be measured again", revision->path,
                   thing->name);
        return REVISE_REFUSED;
    }
    say_cautions(revision);
    lines_gap(revision->lines);
    lines_say(revision->lines, 0, "%s", thing->what);
    if (!ask_places(&asked))
        return REVISE_STOPPED;
    if (asked_count(&asked))
        lines_gap(revision->lines);
    stamp_all(&asked, days);
    return REVISE_ASKED;
}

/* Which of several setters. */

enum { NAMED_MOST = 40, NAME_CELLS = 60 };

static const struct field_value *name_of(const struct revision *revision, uint32_t setter)
{
    return machine_field(&revision->now->machine, FIELD_SETTERS_NAME, setter);
}

static const char *shown_name(const struct revision *revision, uint32_t setter)
{
    const struct field_value *name = name_of(revision, setter);
    return name->state == VALUE_GIVEN
               ? escape_short(revision->run->arena, name->text, NAME_CELLS)
               : arena_format(revision->run->arena, "entry %u of the list", setter + 1);
}

/* "left, middle, right" */
static const char *setter_names(const struct revision *revision)
{
    uint32_t count = revision->now->machine.groups[GROUP_SETTER].written;
    struct buffer names;
    buffer_init(&names, revision->run->arena);
    for (uint32_t i = 0; i < count && i < NAMED_MOST; i++)
        buffer_format(&names, "%s%s", i ? ", " : "", shown_name(revision, i));
    if (count > NAMED_MOST)
        buffer_format(&names, " and %u more", count - NAMED_MOST);
    return buffer_string(&names);
}

static uint32_t find_setter(const struct revision *revision, struct view name)
{
    uint32_t count = revision->now->machine.groups[GROUP_SETTER].written;
    for (uint32_t i = 0; i < count; i++)
        if (name_of(revision, i)->state == VALUE_GIVEN &&
            view_equal(name_of(revision, i)->text, name))
            return i;
    return NO_SETTER;
}

/* What a line says: a name, or its number in the list that was shown. */
static uint32_t understand_setter(const struct revision *revision, struct view line)
{
    uint32_t count = revision->now->machine.groups[GROUP_SETTER].written;
    uint32_t setter = find_setter(revision, line), number = 0;
    for (size_t i = 0; i < line.size && number <= count; i++) {
        if (line.data[i] < '0' || line.data[i] > '9')
            return setter;
        number = number * 10 + (uint32_t)(line.data[i] - '0');
    }
    return setter == NO_SETTER && number && number <= count ? number - 1 : setter;
}

/* False: somebody said stop, or the answers came to an end. */
static bool ask_which(struct revision *revision, uint32_t *setter)
{
    const struct machine *machine = &revision->now->machine;
    struct lines *lines = revision->lines;
    struct view line, rest;
    if (!lines_open(lines, NULL))
        return false;
    lines_say(lines, 0, "Which setter was moved?");
    for (uint32_t i = 0; i < machine->groups[GROUP_SETTER].written && i < NAMED_MOST; i++)
        lines_say(lines, 2, "%u %s", i + 1, shown_name(revision, i));
    const char *offer =
        machine->setter == NO_SETTER
            ? "A number, or a name."
            : arena_format(revision->run->arena, "Enter takes %s, which the change uses.",
                           shown_name(revision, machine->setter));
    while (lines_ask(lines, offer, &line)) {
        *setter = line.size ? understand_setter(revision, line) : machine->setter;
        if (*setter != NO_SETTER)
            return true;
        if (spoken_word(revision->run->arena, line, &rest) == SAID_STOP)
            return false;
        lines_say(lines, 2, "There are %s; type a name or its number. stop ends.",
                  setter_names(revision));
    }
    return false;
}

/* Is it a word of its own, to be asked for after the setter? */
static bool asks_more(const struct revision *revision, const char *word)
{
    struct field_place place;
    for (size_t i = 0; i < sizeof things / sizeof *things; i++)
        if (strcmp(word, things[i].name) == 0)
            return true;
    return strchr(word, '=') ||
           !machine_file_find(revision->run->arena, revision->now, word, &place);
}

/* Which of the list the second word says, or the person. */
static enum revise_end choose_setter(struct revision *revision, const char *const *words,
                                     size_t count, size_t *used, uint32_t *setter)
{
    uint32_t listed = revision->now->machine.groups[GROUP_SETTER].written;
    *setter = NO_SETTER;
    if (!listed)
        return REVISE_ASKED;
    if (count > 1)
        *setter = find_setter(revision, view_of(words[1]));
    *used = *setter == NO_SETTER ? 1 : 2;
    if (*setter != NO_SETTER)
        return REVISE_ASKED;
    if (count > 1 && !asks_more(revision, words[1])) {
        run_refuse(revision->run, "there is no setter %s; there are %s",
                   escape_short(revision->run->arena, view_of(words[1]), NAME_CELLS),
                   setter_names(revision));
        return REVISE_REFUSED;
    }
    if (listed > 1)
        return ask_which(revision, setter) ? REVISE_ASKED : REVISE_STOPPED;
    *setter = 0;
    return REVISE_ASKED;
}

bool revise_ask_moved(struct revision *revision, const char *const *words, size_t count,
                      size_t *used, enum revise_end *end)
{
    struct remeasured moved = {.revision = revision, .setter = NO_SETTER};
    for (size_t i = 0; i < sizeof things / sizeof *things; i++)
        if (strcmp(words[0], things[i].name) == 0)
            moved.thing = &things[i];
    if (!moved.thing)
        return false;
    *end = REVISE_ASKED;
    if (moved.thing == things) /* the setter */
        *end = choose_setter(revision, words, count, used, &moved.setter);
    if (*end == REVISE_ASKED)
        *end = ask_moved(&moved);
    return true;
}
