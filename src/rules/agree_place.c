/* A pattern for a number that stands somewhere.
 *
 * What stands beside it is taken piece by piece, a piece being what stands between blanks: to
 * the left until there is a letter in it, then further to the left, then to the right.  The
 * first that finds this number alone is the shortest that does.
 */
#include "rules/agree.h"

#include <math.h>

#include "base/buffer.h"
#include "formula/pattern.h"
#include "quantity/number.h"
#include "text/utf8.h"

enum {
    PIECES_MAX = 12, /* taken one by one on either side; then all of them */
    UNITS_MAX = 32,
    SUBSTITUTE = 0x1a, /* what patterns see in the place of a byte that is no text */
};

/* A number, and not the start of what may be another one. */
#define NUMBER_PATTERN                                                                         \
    "(?<value>[-+\\x{2212}]?(?:\\d+\\.?\\d*|\\.\\d+)(?:[eE][-+]?\\d+)?)(?![-.,:/]?\\d|\\h+\\d+/)"

/* --- numbers on a line --- */

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_' ||
           (unsigned char)c >= 0x80;
}

static bool is_word(char c)
{
    return is_digit(c) || is_letter(c);
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

static char byte_at(struct view text, size_t at)
{
    return at < text.size ? text.data[at] : '\0';
}

static size_t digits_from(struct view text, size_t at)
{
    while (is_digit(byte_at(text, at)))
        at++;
    return at;
}

/* Bytes of the sign at `at`; one right behind a digit is none: 3-5. */
static size_t sign_size(struct view text, size_t at)
{
    if (at && is_digit(text.data[at - 1]))
        return 0;
    if (byte_at(text, at) == '-' || byte_at(text, at) == '+')
        return 1;
    return view_starts(view_skip(text, at), "\xE2\x88\x92") ? 3 : 0;
}

/* The end of the number that begins at `at`; `at` itself where none does. */
static size_t number_end(struct view text, size_t at)
{
    size_t start = at + sign_size(text, at), end = digits_from(text, start);
    bool has_digits = end > start;
    if (byte_at(text, end) == '.' && (has_digits || is_digit(byte_at(text, end + 1)))) {
        has_digits = true;
        end = digits_from(text, end + 1);
    }
    if (!has_digits)
        return at;
    if (byte_at(text, end) == 'e' || byte_at(text, end) == 'E') {
        char sign = byte_at(text, end + 1);
        size_t from = end + 1 + (sign == '-' || sign == '+');
        if (digits_from(text, from) > from)
            end = digits_from(text, from);
    }
    return end;
}

size_t line_numbers(struct view bytes, struct span line, struct span *out, size_t room)
{
    const struct view text = {bytes.data + line.start, line.end - line.start};
    size_t count = 0;
    for (size_t at = 0; at < text.size;) {
        size_t end = number_end(text, at);
        if (end == at) {
            at++;
            continue;
        }
        if (count < room)
            out[count] = (struct span){line.start + (uint32_t)at, line.start + (uint32_t)end};
        count++;
        at = end;
    }
    return count;
}

/* May more digits belong to it: a fraction, a date, a time, a comma, a version? */
static bool is_doubtful(struct view text, size_t start, size_t end)
{
    static const char joints[] = ",/:.-";
    double number;
    size_t used;
    struct view own = {text.data + start, end - start};
    char before = start ? text.data[start - 1] : '\0', after = byte_at(text, end);
    if (before && strchr(joints, before) && start > 1 && is_digit(text.data[start - 2]))
        return true;
    if (after && strchr(joints, after) && is_digit(byte_at(text, end + 1)))
        return true;
    size_t blank = end; /* 6 1/8 */
    while (is_blank(byte_at(text, blank)))
        blank++;
    size_t fraction = digits_from(text, blank);
    if (fraction > blank && byte_at(text, fraction) == '/')
        return true;
    if ((after == 'x' || after == 'X') && own.size == 1 && own.data[0] == '0')
        return true;
    return number_read(own, &number, &used) != NUMBER_OK || used != own.size;
}

/* --- what stands beside it --- */

/* Adds a text of the line so that it stands for itself. */
static void add_escaped(struct buffer *out, struct view text)
{
    for (size_t i = 0; i < text.size;) {
        unsigned char c = (unsigned char)text.data[i];
        uint32_t point;
        size_t size = c < 0x80 ? 1 : utf8_read(view_skip(text, i), &point);
        if (is_blank((char)c)) {
            size_t end = i;
            while (is_blank(byte_at(text, end)))
                end++;
            bool between = i && is_word(text.data[i - 1]) && is_word(byte_at(text, end));
            buffer_text(out, between ? "\\h+" : "\\h*");
            i = end;
            continue;
        }
        if (!size)
            buffer_format(out, "\\x{%x}", (unsigned)SUBSTITUTE);
        else if (c < ' ' || c == 0x7f)
            buffer_format(out, "\\x{%x}", (unsigned)c);
        else if (c >= 0x80 || is_word((char)c))
            buffer_add(out, (struct view){text.data + i, size});
        else
            buffer_format(out, "\\%c", c);
        i += size ? size : 1;
    }
}

/* How much of the line a pattern takes. */
struct context {
    struct view line;
    size_t start, end;  /* of the number */
    size_t left, right; /* what is taken: from here, to here */
    bool is_marked;     /* a byte order mark stands before the line */
};

/* Where the piece begins that ends before `at`. */
static size_t piece_before(struct view line, size_t at)
{
    while (at && is_blank(line.data[at - 1]))
        at--;
    while (at && !is_blank(line.data[at - 1]))
        at--;
    return at;
}

static size_t piece_behind(struct view line, size_t at)
{
    while (at < line.size && is_blank(line.data[at]))
        at++;
    while (at < line.size && !is_blank(line.data[at]))
        at++;
    return at;
}

static bool is_all_blank(struct view text)
{
    return !view_trim(text).size;
}

static const char *pattern_of(struct arena *arena, const struct context *context)
{
    struct buffer out;
    const struct view line = context->line;
    struct view left = {line.data + context->left, context->start - context->left};
    struct view right = {line.data + context->end, context->right - context->end};
    buffer_init(&out, arena);
    if (is_all_blank((struct view){line.data, context->left})) {
        buffer_text(&out, context->is_marked ? "^\\x{feff}?\\h*" : "^\\h*");
        while (left.size && is_blank(left.data[0]))
            left = view_skip(left, 1);
    } else if (left.size && is_word(left.data[0])) {
        buffer_text(&out, "(?<![A-Za-z0-9_])");
    }
    if (left.size && is_blank(left.data[left.size - 1])) { /* the number is a word of its own */
        while (left.size && is_blank(left.data[left.size - 1]))
            left.size--;
        add_escaped(&out, left);
        buffer_text(&out, left.size && is_word(left.data[left.size - 1]) ? "\\h+" : "\\h*");
    } else {
        add_escaped(&out, left);
    }
    buffer_text(&out, NUMBER_PATTERN);
    add_escaped(&out, right);
    if (context->right == line.size && context->right > context->end)
        buffer_text(&out, "\\h*$");
    return buffer_string(&out);
}

enum trial { TRIAL_FINDS_IT, TRIAL_FINDS_MORE, TRIAL_COSTLY };

/* Does it find that number alone? */
static enum trial try_pattern(struct arena *arena, const char *text,
                              struct pattern_text subject, struct span number)
{
    struct pattern_budget budget = PATTERN_BUDGET;
    const char *message;
    size_t offset, match[2], value[2], count = 0;
    bool is_it = false;
    if (strlen(text) > PATTERN_SIZE_MAX)
        return TRIAL_COSTLY;
    struct pattern *pattern = pattern_open(arena, view_of(text), &budget, &message, &offset);
    if (!pattern)
        return TRIAL_COSTLY;
    for (size_t from = 0; from <= subject.bytes.size && count < 2;
         from = pattern_after(subject, match), count++) {
        enum pattern_result result =
            pattern_search(pattern, subject, from, &budget, match, value);
        if (result == PATTERN_COSTLY)
            return TRIAL_COSTLY;
        if (result == PATTERN_NO_MATCH)
            break;
        is_it = value[0] == number.start && value[1] == number.end;
    }
    return count == 1 && is_it ? TRIAL_FINDS_IT : TRIAL_FINDS_MORE;
}

static bool has_letter(struct view text)
{
    for (size_t i = 0; i < text.size; i++)
        if (is_letter(text.data[i]))
            return true;
    return false;
}

/* More of the line; false: there is no more. */
static bool take_more(struct context *context, size_t taken)
{
    const struct view line = context->line;
    bool many = taken >= PIECES_MAX;
    struct view rest = {line.data, context->left};
    if (!is_all_blank(rest)) {
        context->left = many ? 0 : piece_before(line, context->left);
        return true;
    }
    if (context->right == line.size)
        return false;
    context->right = many && taken >= (size_t)2 * PIECES_MAX
                         ? line.size
                         : piece_behind(line, context->right);
    return true;
}

static bool has_digit(struct view text)
{
    for (size_t i = 0; i < text.size; i++)
        if (text.data[i] >= '0' && text.data[i] <= '9')
            return true;
    return false;
}

/* All words before the number that are a name for it, and no number themselves: a name in part
 * would soon find what is called alike. */
static void take_name(struct context *context)
{
    const struct view line = context->line;
    for (size_t taken = 0; taken < PIECES_MAX; taken++) {
        size_t left = piece_before(line, context->left);
        struct view piece = {line.data + left, context->left - left};
        bool is_named = has_letter(
            (struct view){line.data + context->left, context->start - context->left});
        if (is_all_blank(piece) || (is_named && has_digit(piece)))
            return;
        context->left = left;
    }
}

const char *place_pattern(struct arena *arena, struct view bytes, struct span line,
                          struct span number, const char **why)
{
    struct context context = {
        .line = {bytes.data + line.start, line.end - line.start},
        .start = number.start - line.start,
        .end = number.end - line.start,
        .is_marked = line.start == 3 && view_starts(bytes, "\xEF\xBB\xBF"),
    };
    const struct pattern_text subject = pattern_text(arena, bytes);
    context.left = context.start;
    context.right = context.end;
    if (is_doubtful(context.line, context.start, context.end)) {
        *why =
            "what stands beside its digits may belong to it, as in a fraction, a date or a number with a comma; its pattern has to be written by hand";
        return NULL;
    }
    take_name(&context);
    for (size_t taken = 0;; taken++) {
        const char *text = pattern_of(arena, &context);
        enum trial trial = try_pattern(arena, text, subject, number);
        if (trial == TRIAL_FINDS_IT)
            return text;
        if (trial == TRIAL_COSTLY) {
            *why = "a pattern of its line would be too long, or take too long on this file";
            return NULL;
        }
        if (!take_more(&context, taken))
            break;
    }
    *why = "all that stands on its line finds another number as well";
    return NULL;
}

size_t place_units(struct view number, struct dimension dimension, double si, unit_id *out,
                   size_t room)
{
    unit_id units[UNITS_MAX];
    size_t count = unit_choices(dimension, units, UNITS_MAX), found = 0, used;
    double value;
    if (number_read(number, &value, &used) != NUMBER_OK)
        return 0;
    double half_digit = agreement_last_digit(number) / 2;
    for (size_t i = 0; i < count && i < UNITS_MAX && found < room; i++) {
        double there = unit_to_si(units[i], dimension, value);
        double allowed = fabs(unit_to_si(units[i], dimension, half_digit)) + 1e-12 * fabs(si);
        if (fabs(there - si) <= allowed)
            out[found++] = units[i];
    }
    return found;
}
