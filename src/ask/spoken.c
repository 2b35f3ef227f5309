/* Words of people.  Only what is certain is understood; the rest is left to those who read the
 * form of an answer, and who say what it should have been.
 */
#include "ask/spoken.h"

#include <string.h>

#include "base/buffer.h"

/* Small letters, one blank between words, no apostrophes, no marks at the end. */
static struct view plain(struct arena *arena, struct view line)
{
    static const char curly[] = "\xe2\x80\x99"; /* the apostrophe of telephones */
    struct buffer out;
    buffer_init(&out, arena);
    line = view_trim(line);
    while (line.size) {
        size_t curl = view_starts(line, curly) ? sizeof curly - 1 : 0;
        if (curl || line.data[0] == '\'') {
            line = view_skip(line, curl ? curl : 1);
            continue;
        }
        if (line.data[0] != ' ' || (line.size > 1 && line.data[1] != ' '))
            buffer_byte(&out, letter_lower(line.data[0]));
        line = view_skip(line, 1);
    }
    while (out.size > 1 && strchr(".!", out.data[out.size - 1]))
        out.size--;
    return buffer_view(&out);
}

static const struct {
    const char *words;
    enum said said;
} table[] = {
    {"help", SAID_HELP},
    {"what", SAID_HELP},
    {"how", SAID_HELP},
    {"why", SAID_HELP},
    {"skip", SAID_SKIP},
    {"skip it", SAID_SKIP},
    {"skip this", SAID_SKIP},
    {"pass", SAID_SKIP},
    {"leave it open", SAID_SKIP},
    {"i dont know", SAID_SKIP},
    {"i do not know", SAID_SKIP},
    {"dont know", SAID_SKIP},
    {"do not know", SAID_SKIP},
    {"i dont know that", SAID_SKIP},
    {"idk", SAID_SKIP},
    {"dunno", SAID_SKIP},
    {"no idea", SAID_SKIP},
    {"i have no idea", SAID_SKIP},
    {"no clue", SAID_SKIP},
    {"not sure", SAID_SKIP},
    {"im not sure", SAID_SKIP},
    {"i am not sure", SAID_SKIP},
    {"unsure", SAID_SKIP},
    {"unknown", SAID_SKIP},
    {"not known", SAID_SKIP},
    {"n/a", SAID_SKIP},
    {"later", SAID_STOP},
    {"stop", SAID_STOP},
    {"exit", SAID_STOP},
    {"quit", SAID_STOP},
    {":q", SAID_STOP},
    {"bye", SAID_STOP},
    {"none", SAID_NONE},
    {"nothing", SAID_NONE},
    {"-", SAID_NONE},
    {"back", SAID_BACK},
    {"go back", SAID_BACK},
    {"on", SAID_ON},
    {"anew", SAID_ANEW},
    {"yes", SAID_YES},
};

enum said spoken_word(struct arena *arena, struct view line, struct view *rest)
{
    struct view word = plain(arena, line);
    *rest = (struct view){0};
    if (word.size && word.data[word.size - 1] == '?')
        return SAID_HELP;
    for (size_t i = 0; i < sizeof table / sizeof *table; i++)
        if (view_is(word, table[i].words))
            return table[i].said;
    if (!view_starts(word, "back "))
        return SAID_NOTHING_KNOWN;
    *rest =
        view_trim(view_skip(view_trim(line), strlen("back "))); /* a name keeps its capitals */
    return SAID_BACK;
}

/* An order of axes.  What stands between commas, or before and after `then`, is one step. */

enum { AXES = 3, STEPS_MAX = 8, GROUP_SIZE = AXES + 1 };

struct step {
    char groups[AXES][GROUP_SIZE];
    size_t count;
    bool together, joined; /* `X and Y together`; `X and Y` */
    bool first, last;      /* by their word */
};

static bool is_axes(struct view word)
{
    size_t i = 0;
    while (i < word.size && strchr("xyz", word.data[i]) && word.data[i])
        i++;
    return i && i == word.size && i <= AXES;
}

static bool is_one_of(struct view word, const char *const *words)
{
    while (*words && !view_is(word, *words))
        words++;
    return *words;
}

/* False: it is no word of an order. */
static bool take_word(struct step *step, struct view word)
{
    static const char *const together[] = {"together", "same", "once", "simultaneously", NULL};
    static const char *const joins[] = {"and", "&", "+", "with", NULL};
    static const char *const idle[] = {"axis", "axes", "homes", "home",    "the",
                                       "at",   "time", "next",  "it",      "goes",
                                       "go",   "up",   "they",  "finally", NULL};
    if (is_axes(word) && step->count < AXES) {
        char *group = step->groups[step->count++];
        memcpy(group, word.data, word.size);
        group[word.size] = '\0';
        return true;
    }
    step->together |= is_one_of(word, together);
    step->joined |= is_one_of(word, joins);
    step->first |= view_is(word, "first");
    step->last |= view_is(word, "last");
    return is_one_of(word, together) || is_one_of(word, joins) || is_one_of(word, idle) ||
           view_is(word, "first") || view_is(word, "last");
}

/* The steps; 0 where it is told otherwise. */
static size_t take_steps(struct view text, struct step *steps)
{
    size_t at = 0;
    while (text.size) {
        struct view part = view_take(&text, ',');
        if (at == STEPS_MAX)
            return 0;
        at += steps[at].count > 0;
        while (part.size) {
            struct view word = view_take(&part, ' ');
            if (at == STEPS_MAX || steps[at].count > AXES)
                return 0;
            bool ends = view_is(word, "then");
            if (!ends && word.size && !take_word(&steps[at], word))
                return 0;
            ends |= view_is(word, "first") || view_is(word, "last");
            at += ends && steps[at].count > 0;
        }
    }
    return at < STEPS_MAX ? at + (steps[at].count > 0) : 0;
}

/* What is first or last alone leaves open what comes after or before it. */
static bool is_in_order(const struct step *steps, size_t count)
{
    if (count == 1 && (steps->first || steps->last))
        return false;
    for (size_t i = 0; i < count; i++)
        if ((steps[i].first && i > 0) || (steps[i].last && i + 1 < count))
            return false;
    return true;
}

const char *spoken_order(struct arena *arena, struct view line, bool *doubt)
{
    struct step steps[STEPS_MAX + 1] = {0};
    struct buffer out;
    struct view text = plain(arena, line);
    *doubt = false;
    if (text.size >= 2 && text.data[0] == '[' && text.data[text.size - 1] == ']')
        text = (struct view){text.data + 1, text.size - 2};
    size_t count = take_steps(text, steps);
    if (!count || !is_in_order(steps, count))
        return NULL;
    buffer_init(&out, arena);
    for (size_t i = 0; i < count; i++) {
        const struct step *step = &steps[i];
        if (step->joined && !step->together) {
            *doubt = true;
            return NULL;
        }
        for (size_t k = 0; k < step->count; k++)
            buffer_format(&out, "%s%s",
                          step->together && k ? ""
                          : out.size          ? ", "
                                              : "[",
                          step->groups[k]);
    }
    buffer_byte(&out, ']');
    return buffer_string(&out);
}

bool spoken_calls(const char *path, struct view words)
{
    size_t size = strcspn(path, "[");
    size = path[size] && !strchr(path, '.') ? size : strlen(path); /* another-cutter[1] */
    if (words.size > size)
        return false;
    const char *end = path + size - words.size;
    for (size_t i = 0; i < words.size; i++) {
        char c = words.data[i], wanted = end[i];
        bool joins = strchr(" -_.", c) && strchr("-_.", wanted);
        if (!joins && letter_lower(c) != wanted)
            return false;
    }
    return words.size && (end == path || strchr(".]", end[-1]));
}

bool spoken_section(const char *path, struct view words)
{
    for (size_t i = 0; i < words.size; i++)
        if (letter_lower(words.data[i]) != path[i])
            return false;
    return words.size && (path[words.size] == '.' || path[words.size] == '[');
}
