/* Quantities: a number, a unit, perhaps a tolerance; read, and shown.
 *
 * A text is cut at its plus-minus sign first; each part is then a number, and what is left over
 * is its unit.  `42 ± 0.5 mm` has one unit for both, wherever it stands.
 */
#include "quantity/quantity.h"

#include "base/buffer.h"
#include "quantity/internal.h"

#include <math.h>

/* Reading. */

/* A number with what follows it, cut out of a longer text. */
struct part {
    struct view text;  /* without blanks around it */
    size_t start;      /* in the whole text */
    size_t number_end; /* in `text`, and where the unit starts */
    size_t unit_start;
    double above, below; /* the number is their quotient */
    unit_id unit;        /* UNIT_BARE where none is written */
};

/* Bytes of the blank at the end of `text`. */
static size_t blank_at_end(struct view text)
{
    for (size_t size = 1; size <= 3 && size <= text.size; size++)
        if (blank_size(view_skip(text, text.size - size)) == size)
            return size;
    return 0;
}

static struct part cut(struct view whole, size_t start, size_t end)
{
    struct view text = view_skip(whole, start);
    text.size = end - start;
    size_t blank;
    while ((blank = blank_size(text)) > 0)
        text = view_skip(text, blank), start += blank;
    while ((blank = blank_at_end(text)) > 0)
        text.size -= blank;
    return (struct part){.text = text, .start = start};
}

/* The next plus-minus sign from `start` on: its offset, the end of the text where there is
 * none. */
static size_t find_sign(struct view text, size_t start, size_t *size)
{
    for (size_t at = start; at < text.size; at++) {
        struct view rest = view_skip(text, at);
        if (view_starts(rest, "\xC2\xB1") || view_starts(rest, "+/-")) {
            *size = rest.data[0] == '+' ? 3 : 2;
            return at;
        }
    }
    *size = 0;
    return text.size;
}

/* Where a thing that should have been a number ends: at a blank, or before its unit. */
static size_t end_of_number(struct view text)
{
    size_t end = 0;
    while (end < text.size && !blank_size(view_skip(text, end)))
        end++;
    return end;
}

static enum quantity_status not_a_number(const struct part *part, enum number_status number,
                                         struct quantity_trouble *trouble)
{
    size_t size = number == NUMBER_NONE ? part->text.size : end_of_number(part->text);
    *trouble = (struct quantity_trouble){number, part->start, part->start + size, UNIT_BARE};
    return QUANTITY_NOT_A_NUMBER;
}

static enum quantity_status read_part(struct part *part, struct quantity_trouble *trouble)
{
    size_t used;
    enum number_status number =
        number_read_ratio(part->text, &part->above, &part->below, &used);
    if (number != NUMBER_OK)
        return not_a_number(part, number, trouble);
    part->number_end = part->unit_start = used;
    size_t blank;
    while ((blank = blank_size(view_skip(part->text, part->unit_start))) > 0)
        part->unit_start += blank;
    struct view unit = view_skip(part->text, part->unit_start);
    part->unit = unit.size ? unit_read(unit) : UNIT_BARE;
    if (part->unit != UNIT_UNKNOWN)
        return QUANTITY_OK;
    *trouble = (struct quantity_trouble){NUMBER_OK, part->start + part->unit_start,
                                         part->start + part->text.size, UNIT_UNKNOWN};
    return QUANTITY_UNIT_UNKNOWN;
}

/* Does the unit of `part` serve `wanted`, and is the result a number? */
static enum quantity_status convert(const struct part *part, struct dimension wanted,
                                    double *si, struct quantity_trouble *trouble)
{
    if (!unit_fits(part->unit, wanted)) {
        bool missing = part->unit == UNIT_BARE;
        *trouble = (struct quantity_trouble){
            NUMBER_OK, part->start + (missing ? 0 : part->unit_start),
            part->start + (missing ? part->number_end : part->text.size), part->unit};
        return missing ? QUANTITY_UNIT_MISSING : QUANTITY_WRONG_DIMENSION;
    }
    double value = unit_ratio_to_si(part->unit, wanted, part->above, part->below);
    if (!isfinite(value))
        return not_a_number(part, NUMBER_INFINITE, trouble);
    *si = value;
    return QUANTITY_OK;
}

/* Is the tolerance a part of the number, and not added to it as it stands?  Per cent of per
 * cent nobody writes. */
static bool is_part_of_it(const struct part *value, const struct part *tolerance,
                          struct dimension wanted, unit_id usual)
{
    unit_id percent = unit_percent();
    if (tolerance->unit != percent || !dimension_is_none(wanted))
        return false;
    return value->unit != percent && !(value->unit == UNIT_BARE && usual == percent);
}

/* `0.2 mm/m ± 10 %`: as `0.2 mm/m ± 0.02 mm/m`. */
static void take_part(const struct part *value, struct part *tolerance)
{
    tolerance->unit = value->unit;
    tolerance->above *= fabs(value->above);
    tolerance->below *= value->below * 100;
}

/* `42 ± 0.5 mm`, `42 mm ± 0.5`: a part without a unit has the other's. */
static void share_unit(struct part *value, struct part *tolerance)
{
    if (tolerance->unit == UNIT_BARE)
        tolerance->unit = value->unit;
    else if (value->unit == UNIT_BARE)
        value->unit = tolerance->unit;
}

/* The part after the sign, which stands at `sign`; a second sign is trouble. */
static enum quantity_status read_tolerance(struct view text, size_t sign, size_t size,
                                           struct part *out, struct quantity_trouble *trouble)
{
    size_t again_size, again = find_sign(text, sign + size, &again_size);
    if (again < text.size) {
        *trouble = (struct quantity_trouble){NUMBER_OK, again, text.size, UNIT_BARE};
        return QUANTITY_TOLERANCE;
    }
    *out = cut(text, sign + size, text.size);
    enum quantity_status status = read_part(out, trouble);
    if (status != QUANTITY_OK) {
        if (out->text.size == 0)
            trouble->start = sign, trouble->end = sign + size;
        return QUANTITY_TOLERANCE;
    }
    if (out->above < 0) {
        *trouble = (struct quantity_trouble){NUMBER_OK, out->start, out->start + out->text.size,
                                             UNIT_BARE};
        return QUANTITY_TOLERANCE;
    }
    return QUANTITY_OK;
}

/* What nearly all texts are: `42`, or `42 mm` with one blank and the unit as the table has it.
 * False where it is anything else, or wrong. */
static bool read_plain(struct view text, struct dimension wanted, struct quantity *out)
{
    double above, below;
    size_t used;
    unit_id unit = UNIT_BARE;
    if (!number_read_plain(text, &above, &below, &used))
        return false;
    if (used < text.size) {
        if (text.data[used] != ' ' || used + 1 == text.size)
            return false;
        unit = unit_find(view_skip(text, used + 1));
    }
    if (!unit_fits(unit, wanted))
        return false;
    *out = (struct quantity){unit_ratio_to_si(unit, wanted, above, below), 0, unit};
    return true;
}

enum quantity_status quantity_read_usual(struct view text, struct dimension wanted,
                                         unit_id usual, struct quantity *out,
                                         struct quantity_trouble *trouble)
{
    if (read_plain(text, wanted, out))
        return QUANTITY_OK;
    size_t size, sign = find_sign(text, 0, &size);
    struct part value = cut(text, 0, sign), tolerance;
    double si, width = 0;
    enum quantity_status status = read_part(&value, trouble);
    if (status == QUANTITY_OK && size > 0) {
        status = read_tolerance(text, sign, size, &tolerance, trouble);
        if (status == QUANTITY_OK && value.unit == UNIT_BARE && tolerance.unit != UNIT_BARE &&
            !unit_fits(tolerance.unit, wanted))
            return convert(&tolerance, wanted, &width, trouble);
        if (status == QUANTITY_OK && is_part_of_it(&value, &tolerance, wanted, usual))
            take_part(&value, &tolerance);
        else if (status == QUANTITY_OK)
            share_unit(&value, &tolerance);
    }
    if (status == QUANTITY_OK)
        status = convert(&value, wanted, &si, trouble);
    if (status != QUANTITY_OK)
        return status;
    if (size > 0 && convert(&tolerance, wanted, &width, trouble) != QUANTITY_OK)
        return QUANTITY_TOLERANCE;
    *out = (struct quantity){si, width, value.unit};
    return QUANTITY_OK;
}

enum quantity_status quantity_read(struct view text, struct dimension wanted,
                                   struct quantity *out, struct quantity_trouble *trouble)
{
    return quantity_read_usual(text, wanted, unit_percent(), out, trouble);
}

/* Showing. */

enum {
    SHOWN_DIGITS = 6,  /* of what was computed */
    TYPED_DIGITS = 12, /* of what is repeated as the file has it */
    LEAST_DIGITS = 2, /* of what is finer than matters, so that it does not look like nothing */
};

/* At most `digits` digits as they are, more of them rounded to what matters in `unit`. */
static void add_number(struct buffer *out, double value, unit_id unit, int digits)
{
    if (!isfinite(value)) {
        buffer_text(out, number_exact(out->arena, value));
        return;
    }
    struct decimal decimal = decimal_shortest(value);
    if (decimal.count > digits) {
        int keep = decimal.point + unit_decimals(unit);
        if (keep > SHOWN_DIGITS)
            keep = SHOWN_DIGITS;
        decimal_round(&decimal, keep < LEAST_DIGITS ? LEAST_DIGITS : keep);
    }
    buffer_text(out, decimal_text(out->arena, &decimal));
}

/* A unit in which the dimension can be shown; UNIT_UNKNOWN where there is none but SI's own. */
static unit_id shown_in(struct dimension dimension, unit_id unit)
{
    if (!unit_fits(unit, dimension))
        unit = unit_default(dimension);
    return unit_fits(unit, dimension) ? unit : UNIT_UNKNOWN;
}

static void add_quantity(struct buffer *out, double si, struct dimension dimension,
                         unit_id unit, int digits)
{
    if (unit == UNIT_UNKNOWN) {
        add_number(out, si, UNIT_BARE, digits);
        buffer_byte(out, ' ');
        buffer_text(out, dimension_symbols(dimension, out->arena));
        return;
    }
    double number = unit_from_si(unit, dimension, si);
    add_number(out, number, unit, digits);
    if (unit != UNIT_BARE)
        buffer_byte(out, ' ');
    buffer_text(out, unit == unit_days() && fabs(number) == 1 ? "day" : unit_text(unit));
}

const char *quantity_text(struct arena *arena, double si, struct dimension dimension,
                          unit_id unit)
{
    struct buffer out;
    buffer_init(&out, arena);
    add_quantity(&out, si, dimension, shown_in(dimension, unit), SHOWN_DIGITS);
    return buffer_string(&out);
}

const char *quantity_text_signed(struct arena *arena, double si, struct dimension dimension,
                                 unit_id unit)
{
    struct buffer out;
    buffer_init(&out, arena);
    if (!(si < 0))
        buffer_byte(&out, '+');
    add_quantity(&out, si, dimension, shown_in(dimension, unit), SHOWN_DIGITS);
    return buffer_string(&out);
}

const char *quantity_text_with(struct arena *arena, double si, double tolerance,
                               struct dimension dimension, unit_id unit)
{
    struct buffer out;
    buffer_init(&out, arena);
    unit = shown_in(dimension, unit);
    add_quantity(&out, si, dimension, unit, TYPED_DIGITS);
    if (tolerance != 0) {
        buffer_text(&out, " \xC2\xB1 ");
        add_quantity(&out, tolerance, dimension, unit, TYPED_DIGITS);
    }
    return buffer_string(&out);
}
