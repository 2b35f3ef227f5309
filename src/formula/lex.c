/* Words of a formula: names, numbers with their units, texts, signs.
 *
 * A number takes its unit with it, since `12 mm/s` is one thing and `12 mm / s` is not: after a
 * number, blanks allowed, the longest run without blanks that is a unit.  Keeps nothing between
 * calls.
 */
#include "formula/internal_build.h"

#include "base/buffer.h"
#include "quantity/number.h"

enum { UNIT_LENGTH_MAX = 24 };

static const struct view words[] = {
    [WORD_NONE] = VIEW_LITERAL(""),
    [WORD_IF] = VIEW_LITERAL("if"),
    [WORD_THEN] = VIEW_LITERAL("then"),
    [WORD_ELSE] = VIEW_LITERAL("else"),
    [WORD_OR] = VIEW_LITERAL("or"),
    [WORD_AND] = VIEW_LITERAL("and"),
    [WORD_NOT] = VIEW_LITERAL("not"),
    [WORD_INSIDE] = VIEW_LITERAL("inside"),
    [WORD_IS] = VIEW_LITERAL("is"),
    [WORD_HAS] = VIEW_LITERAL("has"),
    [WORD_BEFORE] = VIEW_LITERAL("before"),
    [WORD_MATCHES] = VIEW_LITERAL("matches"),
    [WORD_OTHERWISE] = VIEW_LITERAL("otherwise"),
    [WORD_NOMINAL] = VIEW_LITERAL("nominal"),
    [WORD_KNOWN] = VIEW_LITERAL("known"),
    [WORD_EVERY] = VIEW_LITERAL("every"),
    [WORD_ANY] = VIEW_LITERAL("any"),
    [WORD_COUNT] = VIEW_LITERAL("count"),
    [WORD_DISTINCT] = VIEW_LITERAL("distinct"),
    [WORD_LARGEST] = VIEW_LITERAL("largest"),
    [WORD_SMALLEST] = VIEW_LITERAL("smallest"),
    [WORD_FOR] = VIEW_LITERAL("for"),
    [WORD_IN] = VIEW_LITERAL("in"),
    [WORD_WHERE] = VIEW_LITERAL("where"),
    [WORD_PI] = VIEW_LITERAL("pi"),
    [WORD_YES] = VIEW_LITERAL("yes"),
    [WORD_NO] = VIEW_LITERAL("no"),
    [WORD_MIN] = VIEW_LITERAL("min"),
    [WORD_MAX] = VIEW_LITERAL("max"),
    [WORD_ABS] = VIEW_LITERAL("abs"),
    [WORD_SQRT] = VIEW_LITERAL("sqrt"),
    [WORD_HYPOT] = VIEW_LITERAL("combined"),
    [WORD_DISTANCE] = VIEW_LITERAL("distance"),
};

_Static_assert(sizeof words / sizeof words[0] == WORD_LAST_NAME + 1, "a text for each word");

/* Longer ones before those they start with. */
static const struct {
    const char *text;
    enum word word;
} signs[] = {
    {"+/-", SIGN_WIDEN},     {"\xc2\xb1", SIGN_WIDEN}, {"..", SIGN_DOTS},
    {"<=", SIGN_LEAST_LESS}, {">=", SIGN_LEAST_MORE},  {"==", SIGN_EQUAL},
    {"<", SIGN_LESS},        {">", SIGN_MORE},         {"(", SIGN_OPEN},
    {")", SIGN_CLOSE},       {",", SIGN_COMMA},        {".", SIGN_DOT},
    {"+", SIGN_PLUS},        {"-", SIGN_MINUS},        {"*", SIGN_TIMES},
    {"/", SIGN_OVER},        {"^", SIGN_POWER},
};

static bool is_blank(char c)
{
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
}

static bool is_name(char c)
{
    return is_letter(c) || is_digit(c);
}

bool formula_word(size_t index, struct view *out)
{
    if (index + 1 >= sizeof words / sizeof *words)
        return false;
    *out = words[index + 1];
    return true;
}

/* The word of the language that `name` is; WORD_NONE where it is none. */
static enum word lex_word(struct view name)
{
    for (int i = WORD_NONE + 1; i <= WORD_LAST_NAME; i++)
        if (view_equal(name, words[i]))
            return (enum word)i;
    if (view_is(name, "hypot")) /* its name in older rulebooks */
        return WORD_HYPOT;
    return WORD_NONE;
}

static void trouble(struct lexeme *out, size_t end, const char *message)
{
    out->kind = LEX_TROUBLE;
    out->end = (uint32_t)end;
    out->message = message;
}

/* The end of digits, with a decimal point only where a digit follows: `1..2` is a range. */
static size_t skip_number(struct view text, size_t i)
{
    while (i < text.size && is_digit(text.data[i]))
        i++;
    if (i + 1 < text.size && text.data[i] == '.' && is_digit(text.data[i + 1]))
        for (i++; i < text.size && is_digit(text.data[i]);)
            i++;
    size_t e = i;
    if (e < text.size && (text.data[e] == 'e' || text.data[e] == 'E')) {
        e++;
        if (e < text.size && (text.data[e] == '+' || text.data[e] == '-'))
            e++;
        if (e < text.size && is_digit(text.data[e])) {
            while (e < text.size && is_digit(text.data[e]))
                e++;
            return e;
        }
    }
    return i;
}

/* The end of the unit at `i`; `i` itself where there is none. */
static size_t skip_unit(struct view text, size_t i, unit_id *unit)
{
    size_t limit = i;
    while (limit < text.size && limit - i < UNIT_LENGTH_MAX && !is_blank(text.data[limit]))
        limit++;
    for (size_t end = limit; end > i; end--) {
        bool inside_word =
            end < text.size && is_name(text.data[end]) && is_name(text.data[end - 1]);
        if (inside_word)
            continue;
        *unit = unit_read((struct view){text.data + i, end - i});
        if (*unit != UNIT_UNKNOWN && *unit != UNIT_BARE)
            return end;
    }
    return i;
}

/* A name directly after a number that is neither a unit nor a word of the language. */
static bool follows_no_unit(struct view text, size_t i, struct lexeme *out, struct arena *arena)
{
    if (i >= text.size || !is_letter(text.data[i]))
        return false;
    size_t end = i;
    while (end < text.size && is_name(text.data[end]))
        end++;
    struct view name = {text.data + i, end - i};
    if (lex_word(name) != WORD_NONE)
        return false;
    out->start = (uint32_t)i;
    trouble(out, end, arena_format(arena, "`%.*s` is no unit", VIEW(name)));
    return true;
}

static void lex_number(struct view text, size_t start, struct arena *arena, struct lexeme *out)
{
    size_t end = skip_number(text, start), used = 0;
    struct view digits = {text.data + start, end - start};
    enum number_status status = number_read(digits, &out->number, &used);
    if (status == NUMBER_INFINITE) {
        trouble(out, end, "this number is too large");
        return;
    }
    if (status != NUMBER_OK || used != digits.size) {
        trouble(out, end, "this number is written in a form that readers take differently");
        return;
    }
    out->kind = LEX_NUMBER;
    out->unit = UNIT_BARE;
    size_t unit = end;
    while (unit < text.size && is_blank(text.data[unit]))
        unit++;
    bool opens_text = unit > end && unit < text.size && text.data[unit] == '"';
    size_t after = opens_text ? unit : skip_unit(text, unit, &out->unit);
    if (after == unit) {
        out->unit = UNIT_BARE;
        if (follows_no_unit(text, unit, out, arena))
            return;
        after = end;
    }
    out->end = (uint32_t)after;
}

static void lex_text(struct view text, size_t start, struct lexeme *out)
{
    size_t end = start + 1;
    while (end < text.size && text.data[end] != '"')
        end++;
    if (end == text.size) {
        trouble(out, end, "this text has no closing quote");
        return;
    }
    out->kind = LEX_TEXT;
    out->end = (uint32_t)end + 1;
}

static void lex_sign(struct view text, size_t start, struct arena *arena, struct lexeme *out)
{
    struct view rest = view_skip(text, start);
    for (size_t i = 0; i < sizeof signs / sizeof signs[0]; i++)
        if (view_starts(rest, signs[i].text)) {
            out->kind = LEX_SIGN;
            out->word = signs[i].word;
            out->end = (uint32_t)(start + strlen(signs[i].text));
            return;
        }
    char c = rest.data[0];
    size_t end = start + 1;
    while (end < text.size && ((unsigned char)text.data[end] & 0xc0) == 0x80)
        end++;
    if (c == '=')
        trouble(out, end, "`=` compares nothing: write `==` for quantities, `is` for words");
    else if (view_starts(rest, "!="))
        trouble(out, end + 1, "write `is not` for words, `not a == b` for quantities");
    else if (c == '\'')
        trouble(out, end, "a text stands in double quotes");
    else if (c > ' ' && c < 0x7f)
        trouble(out, end, arena_format(arena, "`%c` has no meaning in a formula", c));
    else
        trouble(out, end, "this character has no meaning in a formula");
}

void lex_next(struct view text, size_t from, struct arena *arena, struct lexeme *out)
{
    while (from < text.size && is_blank(text.data[from]))
        from++;
    *out = (struct lexeme){.kind = LEX_END, .start = (uint32_t)from, .end = (uint32_t)from};
    if (from >= text.size)
        return;
    char c = text.data[from];
    if (is_letter(c)) {
        size_t end = from;
        while (end < text.size && is_name(text.data[end]))
            end++;
        out->kind = LEX_NAME;
        out->end = (uint32_t)end;
        out->word = lex_word((struct view){text.data + from, end - from});
    } else if (is_digit(c)) {
        lex_number(text, from, arena, out);
    } else if (c == '"') {
        lex_text(text, from, out);
    } else {
        lex_sign(text, from, arena, out);
    }
}
