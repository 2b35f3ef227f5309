/* The regular expression of a number with its unit: the reader turned round.
 *
 * Where the reader makes one spelling of several (unit.c), this writes all that lead to it.
 */
#include "quantity/pattern.h"

#include "quantity/internal.h"

enum { UNITS_MOST = 64 };

#define BLANKS   "[ \\t\\u00a0\\u2009\\u202f]*"
#define A_BLANK  "[ \\t\\u00a0\\u2009\\u202f]+"
#define EXPONENT "(?:[eE][-+]?[0-9]+)?"
#define WHOLE    "(?:0|[1-9][0-9]*)"
#define DECIMAL  "(?:" WHOLE "(?:\\.[0-9]*)?|\\.[0-9]+)" EXPONENT
#define PART     "(?:0|[1-9][0-9]{0,8})"
#define DIVISOR  "[1-9][0-9]{0,8}"
#define FRACTION "(?:" PART "(?:" A_BLANK "|-))?" PART "/" DIVISOR
#define SIZE     "(?:" FRACTION "|" DECIMAL ")"
#define MINUS    "[-\\u2212]"
/* Nothing, which may have a minus sign anywhere. */
#define ZERO       "(?:(?:0(?:" A_BLANK "|-))?0/" DIVISOR "|(?:0(?:\\.0*)?|\\.0+)" EXPONENT ")"
#define SIGNED     "[-+\\u2212]?" SIZE
#define UNSIGNED   "(?:\\+?" SIZE "|" MINUS ZERO ")"
#define NOTHING    "[-+\\u2212]?" ZERO
#define PLUS_MINUS BLANKS "(?:\\u00b1|\\+/-)" BLANKS
#define COUNT_SHAPE                                                                            \
    "\\+?(?:" FRACTION "|" WHOLE                                                               \
    "(?:\\.[0-9]*)?[eE][-+]?[0-9]+|\\.[0-9]+[eE]\\+?[0-9]+|[1-9][0-9]*(?:\\.0*)?)"

/* --- units --- */

/* A unit on the way to its pattern. */
struct spelt {
    struct view text;
    size_t word_end; /* of the word that is being written */
    bool any_case;   /* it is read with capitals and without */
};

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/* The word that begins at `at`, as lower_words() in unit.c looks at it. */
static void begin_word(struct spelt *spelt, size_t at)
{
    size_t end = at;
    while (end < spelt->text.size && is_letter(spelt->text.data[end]))
        end++;
    bool hertz = end - at == 3 && memcmp(spelt->text.data + at + 1, "Hz", 2) == 0;
    spelt->any_case = end - at >= 3 && !hertz;
    spelt->word_end = end;
}

static void add_letters(struct buffer *out, struct view letters, bool any_case)
{
    for (size_t i = 0; i < letters.size; i++) {
        char c = letters.data[i];
        if (is_letter(c) && any_case)
            buffer_format(out, "[%c%c]", c, c & ~0x20);
        else
            buffer_format(out, "%s%c", c == '^' || c == '*' ? "\\" : "", c);
    }
}

/* The characters that stand for what begins at `at`, and itself; returns how many bytes of the
 * unit these are, 0 where there are no such characters. */
static size_t add_characters(struct buffer *out, const struct spelt *spelt, size_t at)
{
    struct view rest = view_skip(spelt->text, at);
    const char *plain = NULL;
    for (size_t i = 0; i < unit_character_count; i++) {
        if (!view_starts(rest, unit_characters[i].plain))
            continue;
        if (!plain) {
            plain = unit_characters[i].plain;
            buffer_text(out, "(?:");
            add_letters(out, view_of(plain), spelt->any_case && at < spelt->word_end);
        }
        buffer_format(out, "|%s", unit_characters[i].bytes);
    }
    if (!plain)
        return 0;
    buffer_text(out, strcmp(plain, "^2") == 0 ? "|2)" : ")");
    return strlen(plain);
}

/* Blanks may stand on both sides of a stroke and a star, but not before the other signs that
 * are read as a star. */
static size_t add_joint(struct buffer *out, const struct spelt *spelt, size_t at)
{
    char c = spelt->text.data[at];
    if (c != '/' && c != '*')
        return 0;
    buffer_text(out, c == '/' ? BLANKS "/" : "(?:" BLANKS "\\*");
    for (size_t i = 0; c == '*' && i < unit_character_count; i++)
        if (strcmp(unit_characters[i].plain, "*") == 0)
            buffer_format(out, "|%s", unit_characters[i].bytes);
    buffer_text(out, c == '/' ? BLANKS : ")" BLANKS);
    return 1;
}

static void add_spelling(struct buffer *out, const char *text)
{
    struct spelt spelt = {.text = view_of(text)};
    for (size_t at = 0; at < spelt.text.size;) {
        if (at >= spelt.word_end && is_letter(text[at]))
            begin_word(&spelt, at);
        size_t size = add_joint(out, &spelt, at);
        if (!size)
            size = add_characters(out, &spelt, at);
        if (!size) {
            add_letters(out, (struct view){text + at, 1},
                        spelt.any_case && at < spelt.word_end);
            size = 1;
        }
        at += size;
    }
}

/* What join_words() in unit.c makes this of: "mm/s/s", "step/mm"; NULL where there is nothing.
 */
static const char *unjoined(struct arena *arena, const char *text)
{
    const char *stroke = strchr(text, '/');
    size_t size = strlen(text);
    if (!stroke)
        return NULL;
    if (size > 2 && strcmp(text + size - 2, "^2") == 0)
        return arena_format(arena, "%.*s%s", (int)(size - 2), text,
                            arena_copy(arena, stroke, size - 2 - (size_t)(stroke - text)));
    return strncmp(text, "steps/", 6) == 0 ? arena_format(arena, "step%s", stroke) : NULL;
}

static void add_unit(struct buffer *out, const char *text)
{
    const char *other = unjoined(out->arena, text);
    add_spelling(out, text);
    if (other) {
        buffer_byte(out, '|');
        add_spelling(out, other);
    }
    for (size_t i = 0; i < unit_spelling_count; i++)
        if (strcmp(unit_spellings[i].unit, text) == 0) {
            buffer_byte(out, '|');
            add_spelling(out, unit_spellings[i].as);
        }
}

/* All units of a dimension, and the blanks before them; empty where it has none. */
static const char *units_pattern(struct arena *arena, struct dimension wanted)
{
    unit_id units[UNITS_MOST];
    size_t count = unit_choices(wanted, units, UNITS_MOST - 1);
    struct buffer out;
    buffer_init(&out, arena);
    if (unit_fits(unit_days(), wanted))
        units[count++] = unit_days();
    for (size_t i = 0; i < count; i++) {
        buffer_text(&out, i ? "|" : BLANKS "(?:");
        add_unit(&out, unit_text(units[i]));
    }
    buffer_text(&out, count ? ")" : "");
    return buffer_string(&out);
}

/* --- the whole --- */

void quantity_add_pattern(struct buffer *out, const struct quantity_shape *shape)
{
    if (shape->count) {
        buffer_text(out, "^" BLANKS COUNT_SHAPE "(?:" PLUS_MINUS NOTHING ")?" BLANKS "$");
        return;
    }
    const char *unit = units_pattern(out->arena, shape->dimension);
    const char *size = shape->negative ? SIGNED : UNSIGNED;
    const char *width = shape->tolerance ? UNSIGNED : NOTHING;
    buffer_format(out, "^" BLANKS "%s", size);
    if (unit_fits(UNIT_BARE, shape->dimension))
        buffer_format(out, "(?:%s)?(?:" PLUS_MINUS "%s(?:%s)?)?", unit, width, unit);
    else
        buffer_format(out, "(?:%s(?:" PLUS_MINUS "%s(?:%s)?)?|" PLUS_MINUS "%s%s)", unit, width,
                      unit, width, unit);
    buffer_text(out, BLANKS "$");
}
