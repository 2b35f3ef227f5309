/* From what people type to what a file says.
 *
 * The reading itself is the loader's, so that nothing is accepted here that a file could not
 * have.  What is added: bare numbers take the unit that the question names, `0 to 850` is a
 * pair, choices go by number, and doubtful commas are asked about.
 */
#include "ask/understand.h"

#include <math.h>

#include "ask/spoken.h"
#include "quantity/number.h"
#include "quantity/quantity.h"
#include "text/escape.h"

enum { SHOWN = 60, PARTS_MAX = 64, WORDS_MAX = 32 };

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* The same word, capitals and the way of joining left aside; `whole`: not only its beginning.
 */
static bool is_word(struct view typed, struct view word, bool whole)
{
    if (typed.size > word.size || !typed.size || (whole && typed.size != word.size))
        return false;
    for (size_t i = 0; i < typed.size; i++) {
        char c = letter_lower(typed.data[i]), w = letter_lower(word.data[i]);
        bool join = (c == ' ' || c == '-' || c == '_') && w == '_';
        if (c != w && !join)
            return false;
    }
    return true;
}

/* The one word that has `typed` at its start or, failing that, at the start of a later part;
 * -1 where none has, or several. */
static int only_one(struct view typed, const char *const *words, size_t count, bool later)
{
    int found = -1;
    for (size_t i = 0; i < count; i++) {
        struct view word = view_of(words[i]);
        const char *part = later ? strchr(words[i], '_') : words[i];
        if (!part || !is_word(typed, view_skip(word, (size_t)(part - words[i]) + later), false))
            continue;
        if (found >= 0)
            return -1;
        found = (int)i;
    }
    return found;
}

/* `nc` for normally_closed. */
static bool is_initials(struct view typed, const char *word)
{
    size_t count = 0;
    for (const char *part = word; part; part = strchr(part, '_')) {
        part += *part == '_';
        if (count == typed.size || letter_lower(typed.data[count]) != *part)
            return false;
        count++;
    }
    return count == typed.size && count > 1;
}

/* `hand` of `by hand` and `plate` of `a plate`. */
static struct view without_small_words(struct view typed)
{
    static const char *const small[] = {"by ", "with ", "the ", "a ", "an "};
    for (size_t i = 0; i < sizeof small / sizeof *small; i++) {
        size_t size = strlen(small[i]);
        if (typed.size > size &&
            is_word((struct view){typed.data, size}, view_of(small[i]), true))
            typed = view_trim(view_skip(typed, size));
    }
    return typed;
}

int understand_choice(struct view typed, const char *const *words, size_t count)
{
    double number;
    size_t used;
    typed = without_small_words(view_trim(typed));
    if (number_read(typed, &number, &used) == NUMBER_OK && used == typed.size)
        for (size_t i = 0; i < count; i++)
            if (number == (double)(i + 1))
                return (int)i;
    for (size_t i = 0; i < count; i++)
        if (is_word(typed, view_of(words[i]), true))
            return (int)i;
    int found = -1, several = 0;
    for (size_t i = 0; i < count; i++)
        if (is_initials(typed, words[i])) {
            found = (int)i;
            several++;
        }
    if (several == 1)
        return found;
    found = only_one(typed, words, count, false);
    return found >= 0 ? found : only_one(typed, words, count, true);
}

const char *understand_spoken(struct arena *arena, struct view word)
{
    char *text = arena_copy(arena, word.data, word.size);
    for (size_t i = 0; i < word.size; i++)
        if (text[i] == '_')
            text[i] = ' ';
    return text;
}

const char *understand_said(struct arena *arena, struct view text)
{
    const char *comma = memchr(text.data, ',', text.size);
    if (text.size < 2 || text.data[0] != '[' || !comma)
        return arena_copy(arena, text.data, text.size);
    size_t low = (size_t)(comma - text.data);
    struct view high = view_trim(view_skip(text, low + 1));
    return arena_format(arena, "%.*s to %.*s", (int)low - 1, text.data + 1, (int)high.size - 1,
                        high.data);
}

const char *understand_unit(const struct answer_context *with, enum field_id id)
{
    static const char *const inch[][2] = {
        {"mm", "in"}, {"mm/min", "in/min"}, {"mm/s^2", "in/s^2"}, {"steps/mm", "steps/in"}};
    const char *unit = field_table[id].unit;
    if (with->unit)
        return with->unit;
    for (size_t i = 0; with->inches && i < sizeof inch / sizeof *inch; i++)
        if (strcmp(unit, inch[i][0]) == 0)
            return inch[i][1];
    return unit;
}

const char *understand_unit_said(const struct answer_context *with, enum field_id id)
{
    const char *unit = understand_unit(with, id);
    return strncmp(unit, "in", 2) == 0 ? arena_format(with->arena, "inches%s", unit + 2) : unit;
}

/* Choices. */

/* Of what was understood; NULL, since nothing is wrong with it. */
static const char *set(struct understood *out, struct view text, const char *echo)
{
    *out = (struct understood){.text = text, .echo = echo};
    return NULL;
}

const char *understand_flag(const struct answer_context *with, struct view typed,
                            struct understood *out)
{
    static const char *const words[] = {"yes", "no"};
    int which = understand_choice(typed, words, 2);
    if (which < 0)
        return arena_format(with->arena, "%s is neither yes nor no; type y or n",
                            escape_short(with->arena, typed, SHOWN));
    return set(out, view_of(words[which]),
               arena_format(with->arena, "Taken as: %s.", words[which]));
}

/* Brackets around a list are welcome and not needed. */
static struct view bare_list(struct view typed)
{
    typed = view_trim(typed);
    if (typed.size >= 2 && typed.data[0] == '[' && typed.data[typed.size - 1] == ']')
        return view_trim((struct view){typed.data + 1, typed.size - 2});
    return typed;
}

/* A comma in the place of each of these marks, of which NULL is the last: `3 and 4` as `3, 4`.
 */
static struct view commas_for(struct arena *arena, const char *const *marks, struct view text)
{
    struct buffer out;
    buffer_init(&out, arena);
    while (text.size) {
        const char *const *mark = marks;
        while (*mark && !view_starts(text, *mark))
            mark++;
        if (*mark)
            buffer_text(&out, ", ");
        else
            buffer_byte(&out, text.data[0]);
        text = view_skip(text, *mark ? strlen(*mark) : 1);
    }
    return buffer_view(&out);
}

/* `3 4` as `3, 4`, where that is no word of two parts and each is one by itself. */
static struct view with_blanks_as_commas(struct arena *arena, const char *const *words,
                                         size_t count, struct view text)
{
    struct buffer out;
    struct view rest = text;
    buffer_init(&out, arena);
    if (memchr(text.data, ',', text.size) || understand_choice(text, words, count) >= 0)
        return text;
    while (rest.size) {
        struct view word = view_take(&rest, ' ');
        if (!word.size)
            continue;
        if (understand_choice(word, words, count) < 0)
            return text;
        buffer_format(&out, "%s%.*s", out.size ? ", " : "", VIEW(word));
    }
    return buffer_view(&out);
}

const char *understand_words(const struct answer_context *with, const char *const *words,
                             size_t count, bool once, struct view typed, struct understood *out)
{
    static const char *const and[] = {" and ", NULL};
    struct buffer text, echo;
    struct view rest = with_blanks_as_commas(with->arena, words, count,
                                             commas_for(with->arena, and, bare_list(typed)));
    buffer_init(&text, with->arena);
    buffer_init(&echo, with->arena);
    buffer_byte(&text, '[');
    if (view_is(rest, "none") || view_is(rest, "nothing"))
        rest.size = 0;
    bool used[WORDS_MAX] = {false}; /* count is at most so many */
    while (rest.size) {
        struct view part = view_trim(view_take(&rest, ','));
        int which = understand_choice(part, words, count);
        const char *shown = escape_short(with->arena, part, SHOWN);
        if (which < 0)
            return arena_format(with->arena,
                                "%s is none of them; type numbers or words with commas "
                                "between, or none",
                                shown);
        if (used[which] && once)
            return arena_format(with->arena, "%s is there twice", shown);
        used[which] = true;
        buffer_format(&text, "%s%s", text.size > 1 ? ", " : "", words[which]);
        buffer_format(&echo, "%s%s", echo.size ? ", " : "",
                      understand_spoken(with->arena, view_of(words[which])));
    }
    buffer_byte(&text, ']');
    return set(
        out, view_of(buffer_string(&text)),
        arena_format(with->arena, "Taken as: %s.", echo.size ? buffer_string(&echo) : "none"));
}

/* One of the field's words, or as many as are wanted. */
static const char *read_choice(const struct answer_context *with, const struct field *field,
                               struct view typed, struct understood *out)
{
    const char *words[WORDS_MAX];
    size_t count = field_choice_count(field);
    for (size_t i = 0; i < count; i++) {
        struct view word = field_choice(field, i);
        words[i] = arena_copy(with->arena, word.data, word.size);
    }
    /* Things are done in an order, and one may have to be done again. */
    if (field->kind == KIND_WORDS)
        return understand_words(with, words, count, false, typed, out);
    int which = understand_choice(typed, words, count);
    if (which < 0)
        return arena_format(with->arena, "%s is none of them; type a number from 1 to %zu",
                            escape_short(with->arena, typed, SHOWN), count);
    return set(out, view_of(words[which]),
               arena_format(with->arena, "Taken as: %s.",
                            understand_spoken(with->arena, view_of(words[which]))));
}

/* Numbers. */

/* `1,500`: digits, a comma, digits, and nothing to tell a list from a number. */
static bool has_doubtful_comma(struct view text)
{
    for (size_t i = 1; i + 1 < text.size; i++)
        if (text.data[i] == ',' && is_digit(text.data[i - 1]) && is_digit(text.data[i + 1]))
            return true;
    return false;
}

const char *understand_comma(const struct answer_context *with, struct view typed)
{
    return arena_format(with->arena,
                        "is %s one number or more? Type a blank behind each comma that stands "
                        "between numbers, and a point in a number",
                        escape_short(with->arena, typed, SHOWN));
}

static const char *ask_about_comma(const struct answer_context *with, struct view typed)
{
    struct buffer without, point;
    buffer_init(&without, with->arena);
    buffer_init(&point, with->arena);
    for (size_t i = 0; i < typed.size; i++) {
        if (typed.data[i] != ',')
            buffer_byte(&without, typed.data[i]);
        buffer_byte(&point, typed.data[i] == ',' ? '.' : typed.data[i]);
    }
    return arena_format(with->arena, "is %s meant as %s or as %s? Type it without a comma",
                        escape_short(with->arena, typed, SHOWN),
                        escape_short(with->arena, buffer_view(&without), SHOWN),
                        escape_short(with->arena, buffer_view(&point), SHOWN));
}

static bool is_bare(struct view part)
{
    double number;
    size_t used;
    part = view_trim(part);
    return number_read(part, &number, &used) == NUMBER_OK && used == part.size;
}

/* The unit at the end of a part; empty where there is none. */
static struct view unit_at_end(struct view part)
{
    double number;
    size_t used;
    part = view_trim(part);
    if (number_read(part, &number, &used) != NUMBER_OK)
        return (struct view){0};
    struct view unit = view_trim(view_skip(part, used));
    return unit_read(unit) == UNIT_UNKNOWN ? (struct view){0} : unit;
}

/* `0 to 850` as `0, 850`. */
static struct view with_commas(struct arena *arena, struct view text)
{
    for (size_t i = 1; i + 2 < text.size; i++) {
        bool dots = text.data[i] == '.' && text.data[i + 1] == '.';
        bool to = text.data[i] == 't' && text.data[i + 1] == 'o' && text.data[i - 1] == ' ' &&
                  text.data[i + 2] == ' ';
        if (dots || to)
            return view_of(arena_format(arena, "%.*s,%.*s", (int)i, text.data,
                                        VIEW(view_skip(text, i + 2))));
    }
    /* Two whole numbers and a blank; with a fraction it would be one number. */
    const char *blank = memchr(text.data, ' ', text.size);
    if (!blank || memchr(text.data, '/', text.size) || memchr(text.data, ',', text.size))
        return text;
    struct view low = {text.data, (size_t)(blank - text.data)};
    struct view high = view_trim(view_skip(text, low.size + 1));
    if (!is_bare(low) || !is_bare(high))
        return text;
    return view_of(arena_format(arena, "%.*s, %.*s", VIEW(low), VIEW(high)));
}

/* Three numbers or more, where one is wanted that may be read several times.  Two might be one
 * with a comma for a point. */
static bool is_readings(const struct answer_context *with, enum field_id id, struct view typed)
{
    size_t commas = 0;
    for (size_t i = 0; i + 1 < typed.size; i++)
        commas += typed.data[i] == ',' && typed.data[i + 1] == ' ';
    return !with->part && commas > 1 && field_takes_readings(id);
}

/* Every part with its unit, `[` and `]` around them where it is a list; NULL where those are
 * more than PARTS_MAX.  `*bare`: one took the unit of the question. */
static const char *complete(const struct answer_context *with, enum field_id id,
                            struct view typed, bool *bare)
{
    enum field_kind kind = field_table[id].kind;
    bool readings = is_readings(with, id, typed);
    bool list = (kind == KIND_PAIR && !with->part) || kind == KIND_LIST || readings;
    struct view parts[PARTS_MAX];
    size_t count = 0;
    if (readings_stand(id, typed))
        return arena_copy(with->arena, typed.data, typed.size);
    struct view rest = list ? with_commas(with->arena, view_trim(bare_list(typed))) : typed;
    while (rest.size && count < PARTS_MAX) /* what is no list has no comma */
        parts[count++] = view_trim(view_take(&rest, ','));
    if (rest.size)
        return NULL;
    struct view unit = count ? unit_at_end(parts[count - 1]) : (struct view){0};
    struct buffer out;
    buffer_init(&out, with->arena);
    for (size_t i = 0; i < count; i++) {
        bool takes = is_bare(parts[i]);
        *bare |= takes && !unit.size;
        buffer_format(&out, "%s%.*s",
                      i          ? ", "
                      : readings ? "{readings: ["
                      : list     ? "["
                                 : "",
                      VIEW(parts[i]));
        if (takes)
            buffer_format(&out, " %.*s",
                          VIEW(unit.size ? unit : view_of(understand_unit(with, id))));
    }
    buffer_text(&out, readings ? "]}" : list ? "]" : "");
    return buffer_string(&out);
}

/* Numbers of several things typed in one line, not readings of one: their tolerance would be
 * half of what they come to, and more than a centimetre or ten seconds. */
static bool lie_too_far_apart(enum field_id id, const struct field_value *value)
{
    double steps = 100 * unit_step(value->unit);
    double large = unit_to_si(value->unit, field_table[id].dimension, steps);
    return value->tolerance > fabs(value->si) / 2 && value->tolerance > large;
}

/* The same in millimetres, seconds, ...; NULL where it is in that unit already. */
static const char *in_plain_unit(struct arena *arena, enum field_id id, bool pair,
                                 const struct field_value *value)
{
    const struct field *field = &field_table[id];
    unit_id plain = unit_read(view_of(field->unit)); /* speeds: a minute, as they are asked */
    if (plain == UNIT_UNKNOWN || !*field->unit)
        plain = unit_default(field->dimension);
    if (pair) {
        if (value->pair[0].unit == plain && value->pair[1].unit == plain)
            return NULL;
        return arena_format(arena, "%s to %s",
                            quantity_text(arena, value->pair[0].si, field->dimension, plain),
                            quantity_text(arena, value->pair[1].si, field->dimension, plain));
    }
    if (field->kind == KIND_LIST || value->unit == plain || plain == UNIT_BARE ||
        value->unit == UNIT_BARE)
        return NULL;
    return quantity_text_with(arena, value->si, value->tolerance, field->dimension, plain);
}

static const char *read_number(const struct answer_context *with, enum field_id id,
                               struct view typed, struct understood *out)
{
    struct arena *arena = with->arena;
    enum field_kind kind = field_table[id].kind;
    bool pair = kind == KIND_PAIR && !with->part;
    struct field_value value;
    bool bare = false;
    typed = view_trim(typed);
    bool readings = is_readings(with, id, typed) || readings_stand(id, typed);
    if (has_doubtful_comma(typed) && kind != KIND_LIST && !readings_stand(id, typed))
        return pair ? understand_comma(with, typed) : ask_about_comma(with, typed);
    if (kind != KIND_LIST && !pair && !readings && memchr(typed.data, ',', typed.size))
        return "one number is wanted here, and a point in it where it has a fraction";
    const char *whole = complete(with, id, typed, &bare);
    if (!whole)
        return arena_format(arena, "at most %d numbers are taken at a time", PARTS_MAX);
    if (pair && !strchr(whole, ','))
        return "a low and a high limit are wanted, as in 0 to 12";
    if (with->part)
        whole = with->part == 1 ? arena_format(arena, "[%s, %s]", whole, with->other)
                                : arena_format(arena, "[%s, %s]", with->other, whole);
    const char *wrong = field_read_text(arena, id, view_of(whole), &value);
    if (wrong)
        return wrong;
    const struct field_value *half = with->part ? &value.pair[with->part - 1] : NULL;
    const char *text = half ? quantity_text_with(arena, half->si, half->tolerance,
                                                 field_table[id].dimension, half->unit)
                            : field_value_text(arena, id, &value);
    if (readings && !readings_stand(id, typed) && lie_too_far_apart(id, &value))
        return arena_format(arena,
                            "these lie too far apart to be one thing read several times (it "
                            "would be %s): type one number",
                            text);
    if (readings)
        return set(out, view_of(whole),
                   arena_format(arena, "Read several times, so it is taken as %s.", text));
    const char *plain = in_plain_unit(arena, id, pair, half ? half : &value);
    const char *unit = understand_unit_said(with, id);
    const char *shown = escape_short(arena, typed, SHOWN);
    const char *said = pair ? understand_said(arena, view_of(text)) : text;
    bare = bare && *unit;
    *out = (struct understood){
        .text = view_of(text),
        .echo = bare ? arena_format(arena, "%s without a unit is taken in %s: %s%s%s.", shown,
                                    unit, said, plain ? " = " : "", plain ? plain : "")
                : plain ? arena_format(arena, "%s = %s.", shown, plain)
                        : arena_format(arena, "Taken as %s.", said),
        .plain = plain,
        .bare = bare,
    };
    return NULL;
}

/* Does it hold what would mean something else in a list of a file? */
static bool is_marked(struct view part)
{
    for (size_t i = 0; i < part.size; i++)
        if (!part.data[i] || (unsigned char)part.data[i] < ' ' ||
            strchr("[]{}#&*!|>'\"%@`:\\", part.data[i]))
            return true;
    return false;
}

size_t understand_readings(const struct answer_context *with, enum field_id id,
                           struct view typed, struct view *out, size_t room, const char **wrong)
{
    size_t count = 0;
    typed = view_trim(typed);
    *wrong = has_doubtful_comma(typed) ? understand_comma(with, typed) : NULL;
    while (!*wrong && typed.size) {
        struct view part = view_trim(view_take(&typed, ','));
        if (part.size > 1 && part.data[part.size - 1] == '"')
            part = view_of(arena_format(with->arena, "%.*s in", (int)part.size - 1, part.data));
        if (!part.size || is_marked(part))
            *wrong = "a reading is one number with its unit, as 12.5 or 12.5 mm";
        else if (count == room)
            *wrong =
                arena_format(with->arena, "at most %zu readings are taken at a time", room);
        else
            out[count++] = part;
    }
    struct view unit = count ? unit_at_end(out[count - 1]) : (struct view){0};
    for (size_t i = 0; !*wrong && i < count; i++) {
        struct field_value value;
        struct readings from;
        if (is_bare(out[i]))
            out[i] = view_of(
                arena_format(with->arena, "%.*s %.*s", VIEW(out[i]),
                             VIEW(unit.size ? unit : view_of(understand_unit(with, id)))));
        /* Twice, since one alone has no scatter. */
        *wrong =
            readings_read_text(with->arena, id,
                               view_of(arena_format(with->arena, "{readings: [%.*s, %.*s]}",
                                                    VIEW(out[i]), VIEW(out[i]))),
                               &value, &from);
    }
    return *wrong ? 0 : count;
}

/* The rest. */

/* In the words that a person would use: `Z, then X and Y together`. */
static const char *order_said(struct arena *arena, struct view text)
{
    struct buffer out;
    struct view rest = bare_list(text);
    if (view_is(text, "none"))
        return "none";
    buffer_init(&out, arena);
    while (rest.size) {
        struct view group = view_trim(view_take(&rest, ','));
        buffer_text(&out, out.size ? ", then " : "");
        for (size_t i = 0; i < group.size; i++)
            buffer_format(&out, "%s%c", i ? " and " : "", letter_upper(group.data[i]));
        buffer_text(&out, group.size > 1 ? " together" : "");
    }
    return buffer_string(&out);
}

/* `5 mm, 6 mm` of {readings: [5 mm, 6 mm]}. */
static const char *readings_said(struct arena *arena, struct view text)
{
    const char *first = memchr(text.data, '[', text.size);
    const char *end =
        first ? memchr(first, ']', text.size - (size_t)(first - text.data)) : NULL;
    if (!end)
        return arena_copy(arena, text.data, text.size);
    return arena_format(arena, "the readings %.*s", (int)(end - first - 1), first + 1);
}

const char *understand_value_said(struct arena *arena, enum field_id id, struct view text)
{
    if (view_is(text, "[]"))
        return "none";
    if (view_starts(text, "{readings:"))
        return readings_said(arena, text);
    switch (field_table[id].kind) {
    case KIND_ORDER:
        return order_said(arena, text);
    case KIND_PAIR:
        return understand_said(arena, text);
    case KIND_LIST:
        text = bare_list(text);
        return arena_copy(arena, text.data, text.size);
    default:
        return field_table[id].choices ? understand_spoken(arena, bare_list(text))
                                       : arena_copy(arena, text.data, text.size);
    }
}

static const char *read_order(const struct answer_context *with, enum field_id id,
                              struct view typed, struct understood *out)
{
    static const char *const never[] = {"no",
                                        "none",
                                        "never",
                                        "not at all",
                                        "it does not home",
                                        "it doesn't home",
                                        "does not home",
                                        "doesn't home"};
    struct arena *arena = with->arena;
    struct field_value value;
    bool doubt;
    for (size_t i = 0; i < sizeof never / sizeof *never; i++)
        if (is_word(typed, view_of(never[i]), true))
            typed = view_of("none");
    const char *order = spoken_order(arena, typed, &doubt);
    const char *wrong = field_read_text(arena, id, order ? view_of(order) : typed, &value);
    if (doubt)
        return "are they homed together or one after the other? Type xy for together, x, y for one after the other";
    if (wrong)
        return arena_format(
            arena,
            "%s; type the axes in their order, as z, xy for Z first and then X and Y together, or none",
            wrong);
    struct view text = view_of(field_value_text(arena, id, &value));
    return set(out, text, arena_format(arena, "Taken as: %s.", order_said(arena, text)));
}

static const char *read_text(const struct answer_context *with, enum field_id id,
                             struct view typed, struct understood *out)
{
    struct arena *arena = with->arena;
    enum field_kind kind = field_table[id].kind;
    struct field_value value;
    typed = view_trim(typed);
    if (kind == KIND_DATE && is_word(typed, (struct view)VIEW_LITERAL("today"), true))
        typed = with->today;
    if (kind == KIND_INPUT) {
        bool plain = typed.size <= 40;
        for (size_t i = 0; i < typed.size; i++) {
            char c = letter_lower(typed.data[i]);
            plain &= is_digit(c) || (c >= 'a' && c <= 'z') || ((c == '-' || c == '_') && i);
        }
        if (!plain || !typed.size)
            return "a name is made of letters, digits and dashes, as home-x";
        return set(out, typed, arena_format(arena, "Taken as the input %.*s.", VIEW(typed)));
    }
    const char *wrong = field_read_text(arena, id, typed, &value);
    if (wrong)
        return wrong;
    bool as_is = kind == KIND_TEXT || kind == KIND_TERMINAL;
    struct view text = as_is ? typed : view_of(field_value_text(arena, id, &value));
    return set(out, text,
               arena_format(arena, "Taken as: %s.", escape_short(arena, text, SHOWN)));
}

static const char *read_answer(const struct answer_context *with, enum field_id id,
                               struct view typed, struct understood *out)
{
    switch (field_table[id].kind) {
    case KIND_FLAG:
        return understand_flag(with, typed, out);
    case KIND_CHOICE:
    case KIND_WORDS:
        return read_choice(with, &field_table[id], typed, out);
    case KIND_ORDER:
        return read_order(with, id, typed, out);
    case KIND_QUANTITY:
    case KIND_POSITION:
    case KIND_PAIR:
    case KIND_LIST:
    case KIND_COUNT:
        return read_number(with, id, typed, out);
    default:
        return read_text(with, id, typed, out);
    }
}

void understand(const struct answer_context *with, enum field_id id, struct view typed,
                struct understood *out)
{
    out->wrong = read_answer(with, id, typed, out);
}

/* One line for several fields of a kind: `760, 40`, `0 to 800, 0 to 1200`.  It is only taken
 * apart here; each part is read as if it had been typed alone. */

/* What stands behind the `to` of a range; the whole where it is none. */
static struct view last_number(struct view part)
{
    for (size_t i = part.size; i > 1; i--) {
        struct view rest = view_skip(part, i - 2);
        if (view_starts(rest, "..") || view_starts(rest, "to "))
            return view_trim(view_skip(rest, 2));
        if (rest.data[0] == ',')
            return view_trim(view_skip(rest, 1));
    }
    return part;
}

static bool is_range(struct view part)
{
    return last_number(part).size < part.size;
}

static size_t split_at(struct view rest, char mark, struct view *parts)
{
    size_t count = 0;
    while (rest.size && count < PARTS_MAX)
        parts[count++] = view_trim(view_take(&rest, mark));
    return count;
}

/* `0, 800` and `0, 1200` from the numbers of ranges that were written with commas. */
static size_t join_ranges(struct arena *arena, struct view *parts, size_t count)
{
    size_t ranges = 0;
    for (size_t i = 0; i < count; i++) {
        bool alone = !is_range(parts[i]) && i + 1 < count && !is_range(parts[i + 1]);
        parts[ranges++] =
            alone
                ? view_of(arena_format(arena, "%.*s, %.*s", VIEW(parts[i]), VIEW(parts[i + 1])))
                : parts[i];
        i += alone;
    }
    return ranges;
}

/* `760 40`: numbers alone, and nothing that could be a fraction. */
static size_t split_blanks(struct view typed, struct view *parts)
{
    size_t count = memchr(typed.data, '/', typed.size) ? 0 : split_at(typed, ' ', parts),
           kept = 0;
    for (size_t i = 0; i < count; i++) {
        if (!parts[i].size)
            continue;
        if (!is_bare(parts[i]))
            return 0;
        parts[kept++] = parts[i];
    }
    return kept;
}

static size_t take_apart(struct arena *arena, enum field_id first, struct view typed,
                         struct view *parts)
{
    static const char *const marks[] = {" by ", " x ", " X ", " and ", " \xc3\x97 ", NULL};
    bool ranges = field_table[first].kind == KIND_PAIR;
    if (!ranges && *field_table[first].unit)
        typed = commas_for(arena, marks, typed);
    if (memchr(typed.data, ';', typed.size))
        return split_at(typed, ';', parts);
    size_t count = split_at(typed, ',', parts);
    if (ranges)
        return join_ranges(arena, parts, count);
    struct view apart[PARTS_MAX];
    size_t blanks = count == 1 ? split_blanks(typed, apart) : 0;
    if (blanks < 2)
        return count;
    memcpy(parts, apart, blanks * sizeof *parts);
    return blanks;
}

static size_t refuse(struct understood *out, const char *why)
{
    *out = (struct understood){.wrong = why};
    return 0;
}

size_t understand_several(const struct answer_context *with, const enum field_id *ids,
                          size_t count, struct view typed, struct understood *out)
{
    struct arena *arena = with->arena;
    struct view parts[PARTS_MAX];
    typed = view_trim(typed);
    if (*field_table[ids[0]].unit && has_doubtful_comma(typed))
        return refuse(out, understand_comma(with, typed));
    size_t found = take_apart(arena, ids[0], typed, parts);
    if (!found || found > count)
        return refuse(
            out,
            arena_format(
                arena,
                "%zu were typed, and there are %zu to answer; type so many, with commas between, or the first alone",
                found, count));
    /* The unit at the very end counts for all that have none. */
    struct view unit = unit_at_end(last_number(parts[found - 1]));
    for (size_t i = 0; i < found; i++) {
        struct view part = parts[i];
        if (unit.size && *field_table[ids[i]].unit && is_bare(last_number(part)))
            part = view_of(arena_format(arena, "%.*s %.*s", VIEW(part), VIEW(unit)));
        struct understood one;
        understand(with, ids[i], part, &one);
        if (one.wrong)
            return refuse(out, found == 1
                                   ? one.wrong
                                   : arena_format(arena, "in `%s`: %s",
                                                  escape_short(arena, part, SHOWN), one.wrong));
        out[i] = one;
    }
    return found;
}
