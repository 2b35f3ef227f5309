/* Numbers, read and written without the locale.
 *
 * Reading: a decimal of up to 19 digits and a small exponent is one exact product or quotient;
 * the others go to strtod as digits and an exponent, without a decimal sign, which every locale
 * reads alike.  Writing: printf gives the digits (what it puts between them is skipped), and
 * the text is set from those.
 *
 * `5.` and `.5` are read, as is a typeset minus sign.  What means different things to different
 * readers is refused with its place: 007, 1_000, 0x1F, 1:30, 1 500, 1.2.3, 6-8.
 */
#include "quantity/number.h"

#include "base/buffer.h"
#include "quantity/internal.h"

#include <float.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

enum {
    EXACT_POWER = 22,     /* 10^22 is the last power of ten that is a double */
    FRACTION_DIGITS = 9,  /* of each part of a fraction, so that its arithmetic is exact */
    KEPT_DIGITS = 780,    /* more cannot change how a decimal rounds, but for not being zero */
    EXPONENT_CAP = 99999, /* far beyond any double */
    PLAIN_LENGTH = 15,    /* digits that are always exact */
};

static const double powers[EXACT_POWER + 1] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                               1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                               1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

/* Reading. */

struct reader {
    struct view text;
    size_t at;
};

static char peek(const struct reader *reader, size_t ahead)
{
    size_t at = reader->at + ahead;
    return at < reader->text.size ? reader->text.data[at] : '\0';
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

size_t blank_size(struct view text)
{
    if (text.size && (text.data[0] == ' ' || text.data[0] == '\t'))
        return 1;
    if (view_starts(text, "\xC2\xA0"))
        return 2;
    return view_starts(text, "\xE2\x80\xAF") || view_starts(text, "\xE2\x80\x89") ? 3 : 0;
}

static size_t run_of_digits(const struct reader *reader, size_t ahead)
{
    size_t count = 0;
    while (is_digit(peek(reader, ahead + count)))
        count++;
    return count;
}

/* `digits` times 10 to the power `exponent`, by way of strtod. */
static double convert(const char *digits, size_t count, int64_t exponent)
{
    char text[KEPT_DIGITS + 16];
    if (exponent > EXPONENT_CAP)
        exponent = EXPONENT_CAP;
    else if (exponent < -EXPONENT_CAP)
        exponent = -EXPONENT_CAP;
    memcpy(text, digits, count);
    snprintf(text + count, sizeof text - count, "e%d", (int)exponent);
    return strtod(text, NULL);
}

/* The digits of a decimal as they come by. */
struct mantissa {
    char digits[KEPT_DIGITS + 1];
    size_t count;     /* kept */
    uint64_t value;   /* of the first 19 of them */
    int64_t exponent; /* of ten, for the kept ones */
};

static void take_digit(struct mantissa *mantissa, char digit, bool after_point)
{
    if (after_point)
        mantissa->exponent--;
    if (digit == '0' && mantissa->count == 0)
        return;
    if (mantissa->count == KEPT_DIGITS) {
        mantissa->exponent++;
        if (digit != '0')
            mantissa->digits[KEPT_DIGITS - 1] = '1';
        return;
    }
    if (mantissa->count < 19)
        mantissa->value = mantissa->value * 10 + (uint64_t)(digit - '0');
    mantissa->digits[mantissa->count++] = digit;
}

/* A number as a quotient of two doubles that rounds only when it is divided. */
struct exact {
    double above, below;
};

static struct exact mantissa_value(const struct mantissa *mantissa)
{
    if (mantissa->count == 0)
        return (struct exact){0, 1};
    int64_t power = mantissa->exponent;
    if (mantissa->count <= 19 && mantissa->value <= UINT64_C(1) << 53 &&
        power >= -EXACT_POWER && power <= EXACT_POWER) {
        double digits = (double)mantissa->value;
        if (power < 0)
            return (struct exact){digits, powers[-power]};
        return (struct exact){digits * powers[power], 1};
    }
    return (struct exact){convert(mantissa->digits, mantissa->count, power), 1};
}

/* The exponent after a mantissa, where there is one: `e` must be followed by digits. */
static int64_t read_exponent(struct reader *reader)
{
    if (peek(reader, 0) != 'e' && peek(reader, 0) != 'E')
        return 0;
    char sign = peek(reader, 1);
    size_t ahead = sign == '+' || sign == '-' ? 2 : 1;
    if (!is_digit(peek(reader, ahead)))
        return 0;
    int64_t exponent = 0;
    for (reader->at += ahead; is_digit(peek(reader, 0)); reader->at++)
        if (exponent < EXPONENT_CAP)
            exponent = exponent * 10 + (peek(reader, 0) - '0');
    return sign == '-' ? -exponent : exponent;
}

static struct exact read_decimal(struct reader *reader)
{
    struct mantissa mantissa;
    mantissa.count = 0;
    mantissa.value = 0;
    mantissa.exponent = 0;
    for (; is_digit(peek(reader, 0)); reader->at++)
        take_digit(&mantissa, peek(reader, 0), false);
    /* Two points are not the decimal sign: `5 .. 10` is also written `5..10`. */
    if (peek(reader, 0) == '.' && peek(reader, 1) != '.') {
        reader->at++;
        for (; is_digit(peek(reader, 0)); reader->at++)
            take_digit(&mantissa, peek(reader, 0), true);
    }
    mantissa.exponent += read_exponent(reader);
    return mantissa_value(&mantissa);
}

/* A whole number of at most FRACTION_DIGITS digits without needless zeros in front. */
static bool read_part(struct reader *reader, double *out)
{
    size_t count = run_of_digits(reader, 0);
    if (count == 0 || count > FRACTION_DIGITS || (count > 1 && peek(reader, 0) == '0'))
        return false;
    *out = 0;
    for (; count; count--, reader->at++)
        *out = *out * 10 + (peek(reader, 0) - '0');
    return true;
}

/* `1/4`, `6 1/8`, `6-1/8`: is the text ahead one of these?  Gives the offset of the part that
 * is divided. */
static bool fraction_ahead(const struct reader *reader, size_t *upper)
{
    size_t at = run_of_digits(reader, 0);
    if (peek(reader, at) == '/') {
        *upper = 0;
        return is_digit(peek(reader, at + 1));
    }
    size_t gap = 0, size;
    while ((size = blank_size(view_skip(reader->text, reader->at + at + gap))) > 0)
        gap += size;
    if (gap == 0 && peek(reader, at) == '-')
        gap = 1;
    if (gap == 0)
        return false;
    *upper = at + gap;
    at = *upper + run_of_digits(reader, *upper);
    return at > *upper && peek(reader, at) == '/' && is_digit(peek(reader, at + 1));
}

static enum number_status read_fraction(struct reader *reader, size_t upper, struct exact *out)
{
    double whole = 0, above, below;
    size_t start = reader->at;
    if (upper > 0 && !read_part(reader, &whole))
        return NUMBER_FORM;
    reader->at = start + upper;
    if (!read_part(reader, &above))
        return NUMBER_FORM;
    reader->at++; /* the stroke */
    size_t divisor = reader->at;
    if (!read_part(reader, &below))
        return NUMBER_FORM;
    if (below == 0) {
        reader->at = divisor;
        return NUMBER_ZERO_DIV;
    }
    if (upper > 0 && above >= below) {
        /* 6 9/8 is more likely a slip than seven and an eighth. */
        reader->at = start + upper;
        return NUMBER_FORM;
    }
    *out = (struct exact){whole * below + above, below};
    if (whole * below > 1e15) /* more than a double holds */
        *out = (struct exact){whole + above / below, 1};
    return NUMBER_OK;
}

/* What must not come right after a number, since it shows that it was meant otherwise. */
static enum number_status look_after(const struct reader *reader, bool fraction)
{
    char next = peek(reader, 0);
    bool digit_follows = is_digit(peek(reader, 1));
    if (next == ',' && digit_follows)
        return NUMBER_COMMA;
    if (next && strchr("_:'-./", next) && digit_follows)
        return NUMBER_FORM;
    if (fraction && (next == 'e' || next == 'E') && digit_follows)
        return NUMBER_FORM;
    size_t gap = 0, size;
    while ((size = blank_size(view_skip(reader->text, reader->at + gap))) > 0)
        gap += size;
    return gap && is_digit(peek(reader, gap)) ? NUMBER_FORM : NUMBER_OK;
}

/* "inf", ".inf", "nan", ".nan", "infinity" as whole words, capitals or not. */
static bool infinity_ahead(const struct reader *reader)
{
    static const char *const words[] = {"inf", "nan", "infinity"};
    size_t dot = peek(reader, 0) == '.';
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        size_t at = 0;
        while (words[i][at] && (peek(reader, dot + at) | 0x20) == words[i][at])
            at++;
        if (!words[i][at] && !is_letter(peek(reader, dot + at)))
            return true;
    }
    return false;
}

/* Zeros in front, and bases other than ten: 007, 0x1F, 0b1, 0o17. */
static bool odd_start(const struct reader *reader)
{
    if (peek(reader, 0) != '0')
        return false;
    char next = peek(reader, 1);
    return is_digit(next) || (next && strchr("xXoObB", next) && is_digit(peek(reader, 2))) ||
           ((next == 'x' || next == 'X') && is_letter(peek(reader, 2)));
}

static enum number_status read_unsigned(struct reader *reader, struct exact *out)
{
    bool digit = is_digit(peek(reader, 0));
    if (!digit && peek(reader, 0) == ',' && is_digit(peek(reader, 1)))
        return NUMBER_COMMA;
    if (infinity_ahead(reader))
        return NUMBER_INFINITE;
    if (!digit && !(peek(reader, 0) == '.' && is_digit(peek(reader, 1))))
        return NUMBER_NONE;
    if (odd_start(reader))
        return NUMBER_FORM;
    size_t start = reader->at, upper;
    bool fraction = fraction_ahead(reader, &upper);
    enum number_status status = NUMBER_OK;
    if (fraction)
        status = read_fraction(reader, upper, out);
    else
        *out = read_decimal(reader);
    if (status == NUMBER_OK)
        status = look_after(reader, fraction);
    if (status == NUMBER_OK && isinf(out->above)) {
        reader->at = start;
        status = NUMBER_INFINITE;
    }
    return status;
}

enum number_status number_read_ratio(struct view text, double *above, double *below,
                                     size_t *used)
{
    struct reader reader = {text, 0};
    bool negative = true;
    if (peek(&reader, 0) == '-')
        reader.at = 1;
    else if (view_starts(text, "\xE2\x88\x92"))
        reader.at = 3;
    else {
        negative = false;
        reader.at = peek(&reader, 0) == '+';
    }
    struct exact size;
    enum number_status status = read_unsigned(&reader, &size);
    *used = status == NUMBER_NONE ? 0 : reader.at;
    if (status == NUMBER_OK) {
        *above = negative && size.above != 0 ? -size.above : size.above;
        *below = size.below;
    }
    return status;
}

bool number_read_plain(struct view text, double *above, double *below, size_t *used)
{
    size_t negative = text.size > 0 && text.data[0] == '-', at = negative, point = 0;
    uint64_t value = 0;
    for (; at < text.size; at++) {
        if (is_digit(text.data[at]))
            value = value * 10 + (uint64_t)(text.data[at] - '0');
        else if (text.data[at] == '.' && !point && at > negative)
            point = at;
        else
            break;
    }
    size_t decimals = point ? at - point - 1 : 0, before = (point ? point : at) - negative;
    if (before == 0 || at - negative > PLAIN_LENGTH || (point && !decimals) ||
        (before > 1 && text.data[negative] == '0'))
        return false;
    *above = negative && value ? -(double)value : (double)value;
    *below = value ? powers[decimals] : 1;
    *used = at;
    return true;
}

enum number_status number_read(struct view text, double *value, size_t *used)
{
    double above, below;
    enum number_status status = number_read_ratio(text, &above, &below, used);
    if (status == NUMBER_OK)
        *value = above / below;
    return status;
}

/* Writing. */

/* `value` to `count` digits as printf rounds it; `text` is its own writing, good for strtod
 * now. */
static struct decimal print(double value, int count, char text[static 40])
{
    struct decimal decimal = {.negative = value < 0};
    snprintf(text, 40, "%.*e", count - 1, value);
    const char *at = text;
    for (; *at && *at != 'e'; at++)
        if (is_digit(*at) && decimal.count < DECIMAL_DIGITS)
            decimal.digits[decimal.count++] = *at;
    decimal.point = *at ? (int)strtol(at + 1, NULL, 10) + 1 : 0;
    while (decimal.count && decimal.digits[decimal.count - 1] == '0')
        decimal.count--;
    return decimal;
}

/* Nearly all numbers have few decimals.  The nearest that has: a whole number of millionths, of
 * at most 15 digits, divided correctly rounded is the double that its text would be read as. */
static double few_decimals(double value, int64_t *millionths)
{
    double scaled = nearbyint(value * 1e6);
    if (!(fabs(scaled) < 1e15))
        return NAN;
    *millionths = (int64_t)scaled;
    return scaled / 1e6;
}

static struct decimal decimal_of_millionths(int64_t millionths)
{
    struct decimal decimal = {.negative = millionths < 0};
    char text[24];
    int count = 0;
    for (uint64_t rest = (uint64_t)llabs(millionths); rest; rest /= 10)
        text[count++] = (char)('0' + rest % 10);
    decimal.point = count - 6;
    while (count)
        decimal.digits[decimal.count++] = text[--count];
    while (decimal.count && decimal.digits[decimal.count - 1] == '0')
        decimal.count--;
    return decimal;
}

struct decimal decimal_shortest(double value)
{
    char text[40];
    int64_t millionths;
    if (value == 0)
        return (struct decimal){0};
    if (few_decimals(value, &millionths) == value)
        return decimal_of_millionths(millionths);
    for (int count = 15; count < DECIMAL_DIGITS; count++) {
        struct decimal decimal = print(value, count, text);
        if (strtod(text, NULL) == value)
            return decimal;
    }
    return print(value, DECIMAL_DIGITS, text);
}

double number_tidy(double value)
{
    char text[40];
    int64_t millionths;
    /* within half a unit of the 15th digit, which is at least 5e-16 of the value */
    double near = few_decimals(value, &millionths);
    if (fabs(value - near) <= 4e-16 * fabs(value))
        return near;
    snprintf(text, sizeof text, "%.14e", value);
    return strtod(text, NULL);
}

double number_decade(double value, int more)
{
    char text[40];
    return convert("1", 1, print(value, DECIMAL_DIGITS, text).point - 1 + more);
}

void decimal_round(struct decimal *decimal, int count)
{
    if (count >= decimal->count)
        return;
    bool up = count >= 0 && decimal->digits[count] >= '5';
    decimal->count = count > 0 ? count : 0;
    while (up && decimal->count && decimal->digits[decimal->count - 1] == '9')
        decimal->count--;
    if (up && decimal->count)
        decimal->digits[decimal->count - 1]++;
    else if (up) {
        decimal->digits[decimal->count++] = '1';
        decimal->point++;
    }
    while (decimal->count && decimal->digits[decimal->count - 1] == '0')
        decimal->count--;
    if (decimal->count == 0)
        *decimal = (struct decimal){0};
}

/* Digits `from` up to `to`, with zeros where there are none. */
static void add_digits(struct buffer *out, const struct decimal *decimal, int from, int to)
{
    for (int i = from; i < to; i++)
        buffer_byte(out, i >= 0 && i < decimal->count ? decimal->digits[i] : '0');
}

const char *decimal_text(struct arena *arena, const struct decimal *decimal)
{
    struct buffer out;
    buffer_init(&out, arena);
    if (decimal->negative)
        buffer_byte(&out, '-');
    int point = decimal->point;
    bool far = decimal->count && (point < -3 || point > DECIMAL_DIGITS);
    if (far)
        point = 1;
    if (decimal->count == 0 || point <= 0)
        buffer_byte(&out, '0');
    else
        add_digits(&out, decimal, 0, point);
    if (decimal->count > point) {
        buffer_byte(&out, '.');
        add_digits(&out, decimal, point, decimal->count);
    }
    if (far)
        buffer_format(&out, "e%+03d", decimal->point - 1);
    return buffer_string(&out);
}

/* What stands for a value that is not finite: a number that reads as infinite everywhere. */
static const char *not_finite(struct arena *arena, double value)
{
    return arena_format(arena, "%s", isnan(value) ? "nan" : value < 0 ? "-1e999" : "1e999");
}

const char *number_exact(struct arena *arena, double value)
{
    if (!isfinite(value))
        return not_finite(arena, value);
    struct decimal decimal = decimal_shortest(value);
    return decimal_text(arena, &decimal);
}

const char *number_rounded(struct arena *arena, double value, int decimals)
{
    if (!isfinite(value))
        return not_finite(arena, value);
    struct decimal decimal = decimal_shortest(value);
    decimal_round(&decimal, decimal.point + decimals);
    return decimal_text(arena, &decimal);
}

const char *number_plain(struct arena *arena, double value, int digits)
{
    if (!isfinite(value))
        return not_finite(arena, value);
    struct decimal decimal = decimal_shortest(value);
    decimal_round(&decimal, digits);
    return decimal_text(arena, &decimal);
}
