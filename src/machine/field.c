/* The table of fields itself, and what is read off its rows.
 *
 * Knows how a field is named and described.  Does not know how a value is read (value.c), nor
 * where in a file anything stands (machine.c, section.c).
 */
#include "machine/field.h"

#include "base/bug.h"
#include "machine/internal.h"

#include <math.h>

/* Angles are kept in radians: what is said per turn is stored per radian. */
#define TURN 6.283185307179586
#define RPM  (TURN / 60)

/* Initialisers, since a compound literal is no constant in C17. */
#define DIMENSION(...)                                                                         \
    {                                                                                          \
        __VA_ARGS__                                                                            \
    }
#define DIM_NONE         DIMENSION(0, 0, 0, 0, 0)
#define DIM_LENGTH       DIMENSION(1, 0, 0, 0, 0)
#define DIM_TIME         DIMENSION(0, 0, 1, 0, 0)
#define DIM_SPEED        DIMENSION(1, 0, -1, 0, 0)
#define DIM_ACCELERATION DIMENSION(1, 0, -2, 0, 0)
#define DIM_ROTATION     DIMENSION(0, 0, -1, 1, 0)
#define DIM_RATE         DIMENSION(0, 0, -1, 0, 1)
#define DIM_STEPS_LENGTH DIMENSION(-1, 0, 0, 0, 1)
#define DIM_STEPS_TURN   DIMENSION(0, 0, 0, -1, 1)
#define DIM_TEETH        DIMENSION(0, 0, 0, -1, 0)
#define DIM_LEAD         DIMENSION(1, 0, 0, -1, 0)
#define DIM_INERTIA      DIMENSION(2, 1, 0, -2, 0)
#define DIM_TORQUE       DIMENSION(2, 1, -2, -1, 0)

#define NEEDED(when) WHEN_##when, true
#define MAY(when)    WHEN_##when, false

const struct field field_table[FIELD_COUNT] = {
#define FIELD(id, group, key, kind, dimension, need, fallback, nature, ...)                    \
    [FIELD_##id] = {GROUP_##group, key,      KIND_##kind,     DIM_##dimension,                 \
                    need,          fallback, NATURE_##nature, __VA_ARGS__},
#include "machine/fields.inc"
#undef FIELD
};

const struct when when_table[WHEN_COUNT] = {
    [WHEN_ALWAYS] = {FIELD_COUNT, NULL, NULL, false, true, WHEN_ALWAYS, NULL},
#define WHEN(id, field, is, or_is, is_not, usual, and, text)                                   \
    [WHEN_##id] = {FIELD_##field, is, or_is, is_not, usual, WHEN_##and, text},
#include "machine/whens.inc"
#undef WHEN
};

const struct group_row group_table[GROUP_COUNT] = {
    [GROUP_ROOT] = {"", SHAPE_ROOT, FIELD_PROVEOUT, FIELD_AXIS_TRAVEL, "", 1, true},
    [GROUP_AXIS] = {"axes", SHAPE_AXES, FIELD_AXIS_TRAVEL, FIELD_HOMING_END, "axis", AXES,
                    true},
    [GROUP_HOMING] = {"homing", SHAPE_AXES, FIELD_HOMING_END, FIELD_INPUT_TERMINAL, "axis",
                      AXES, false},
    [GROUP_INPUT] = {"inputs", SHAPE_NAMES, FIELD_INPUT_TERMINAL, FIELD_OBSTACLE_NAME, "input",
                     TREE_KEYS_MAX, false},
    [GROUP_OBSTACLE] = {"obstacles", SHAPE_LIST, FIELD_OBSTACLE_NAME, FIELD_SETTERS_NAME,
                        "obstacle", 10000, false},
    [GROUP_SETTER] = {"setters", SHAPE_LIST, FIELD_SETTERS_NAME, FIELD_ATTACHMENT_NAME,
                      "setter", 100, false},
    [GROUP_ATTACHMENT] = {"attachments", SHAPE_LIST, FIELD_ATTACHMENT_NAME, FIELD_CUTTER_NUMBER,
                          "attachment", 1000, false},
    [GROUP_CUTTER] = {"cutters", SHAPE_LIST, FIELD_CUTTER_NUMBER, FIELD_AGREEMENT_FILE,
                      "cutter", TREE_ITEMS_MAX, true},
    [GROUP_AGREEMENT] = {"agrees_with", SHAPE_LIST, FIELD_AGREEMENT_FILE, FIELD_WAIVER_RULE,
                         "agreement", 1000, false},
    [GROUP_WAIVER] = {"waivers", SHAPE_LIST, FIELD_WAIVER_RULE, FIELD_COUNT, "waiver", 10000,
                      false},
};

const char *const axis_names[AXES] = {"x", "y", "z"};

int axis_find(struct view name)
{
    for (int i = 0; i < AXES; i++)
        if (view_is(name, axis_names[i]))
            return i;
    return -1;
}

enum field_group group_find(struct view key)
{
    for (int group = GROUP_ROOT + 1; group < GROUP_COUNT; group++)
        if (key.size && key.data[0] == *group_table[group].key &&
            view_is(key, group_table[group].key))
            return (enum field_group)group;
    return GROUP_ROOT;
}

bool field_is_in(enum field_id id, const char *section)
{
    const struct group_row *row = &group_table[field_table[id].group];
    const char *key = field_table[id].key;
    size_t size = strlen(section);
    return row->shape == SHAPE_ROOT ? strncmp(key, section, size) == 0 && key[size] == '.'
                                    : strcmp(row->key, section) == 0;
}

bool field_is_signed(enum field_id id)
{
    const struct field *field = &field_table[id];
    return field->kind == KIND_POSITION || field->plausible_low < 0; /* false for NAN */
}

/* Takes the first word off `rest`; empty at its end. */
static struct view next_word(struct view *rest)
{
    const char *blank = rest->size ? memchr(rest->data, ' ', rest->size) : NULL;
    struct view word = {rest->data, blank ? (size_t)(blank - rest->data) : rest->size};
    *rest = view_skip(*rest, word.size + (blank != NULL));
    return word;
}

size_t field_choice_count(const struct field *field)
{
    struct view rest = view_of(field->choices);
    size_t count = 0;
    while (next_word(&rest).size)
        count++;
    return count;
}

struct view field_choice(const struct field *field, size_t index)
{
    struct view rest = view_of(field->choices), word;
    do {
        word = next_word(&rest);
    } while (word.size && index--);
    return word;
}

bool field_choice_is(const struct field *field, size_t index, const char *word)
{
    const char *at = field->choices;
    while (index && *at)
        index -= *at++ == ' ';
    while (*word && *at == *word)
        at++, word++;
    return !*word && (!*at || *at == ' ');
}

int field_choice_find(const struct field *field, struct view word)
{
    const char *at = field->choices;
    for (int i = 0; word.size; i++) {
        size_t size = 0;
        while (at[size] && at[size] != ' ')
            size++;
        if (view_equal((struct view){at, size}, word))
            return i;
        at += size;
        if (!*at++)
            break;
    }
    return -1;
}

static const char *const cautions[] = {
    "before hands go near the collet look and listen until the spindle stands, since flickering lamps make a turning cutter look still, and isolate or unplug it; the edges are sharp, and hot after work.",
    "to find out, the machine moves: slowly, a hand on the stop.",
    "to find out, the spindle runs: guards on, hands away, no cutter faster than it is made for. Flickering lamps make a turning cutter look still: listen too, and isolate it before you reach in; it is hot.",
};

const char *field_caution(unsigned care, size_t index)
{
    for (size_t i = 0; i < sizeof cautions / sizeof *cautions; i++)
        if (care >> i & 1 && index-- == 0)
            return cautions[i];
    return NULL;
}

const char *field_kind_name(enum field_kind kind)
{
    switch (kind) {
    case KIND_TEXT:
        return "text";
    case KIND_COUNT:
        return "a whole number";
    case KIND_FLAG:
        return "yes or no";
    case KIND_CHOICE:
        return "one word of a choice";
    case KIND_WORDS:
        return "a list of words";
    case KIND_ORDER:
        return "a list of axes, or none";
    case KIND_QUANTITY:
        return "a number with its unit";
    case KIND_POSITION:
        return "a position with its unit";
    case KIND_PAIR:
        return "a pair [low, high]";
    case KIND_LIST:
        return "a list of numbers with units";
    case KIND_DATE:
        return "a date like 2027-03-31";
    case KIND_INPUT:
        return "the name of an input";
    case KIND_TERMINAL:
        return "a terminal's label";
    case KIND_VERSION:
        return "the format's version";
    }
    BUG("a field of no kind");
}

const char *field_nature_name(enum field_nature nature)
{
    switch (nature) {
    case NATURE_MEASURED:
    case NATURE_SCATTER:
        return "measured";
    case NATURE_CHOSEN:
        return "chosen";
    case NATURE_FACT:
        return "fact";
    }
    BUG("a field of no nature");
}
