/* Values as a file would write them. */
#include "machine/internal.h"

#include <math.h>

#include "quantity/number.h"
#include "text/escape.h"

enum { DIGITS = 12 }; /* more than anybody measures, fewer than rounding shows in */

static void add_number(struct buffer *out, double si, struct dimension dimension, unit_id unit)
{
    double number = unit_from_si(unit, dimension, si);
    buffer_text(out, number_plain(out->arena, number, DIGITS));
    if (unit != UNIT_BARE)
        buffer_format(out, " %s", unit_text(unit));
}

static void add_quantity(struct buffer *out, const struct field *field,
                         const struct field_value *value)
{
    add_number(out, value->si, field->dimension, value->unit);
    if (value->tolerance > 0) {
        buffer_text(out, " ± ");
        add_number(out, value->tolerance, field->dimension, value->unit);
    }
}

static void add_list(struct buffer *out, const struct field *field,
                     const struct field_value *items, size_t count)
{
    buffer_byte(out, '[');
    for (size_t i = 0; i < count; i++) {
        if (i)
            buffer_text(out, ", ");
        add_quantity(out, field, &items[i]);
    }
    buffer_byte(out, ']');
}

static void add_words(struct buffer *out, const struct field *field,
                      const struct word_list *words)
{
    if (words->none) {
        buffer_text(out, "none");
        return;
    }
    buffer_byte(out, '[');
    for (uint32_t i = 0; i < words->count; i++) {
        bool same = i && words->rank[i] == words->rank[i - 1];
        if (i && !same)
            buffer_text(out, ", ");
        if (field->kind == KIND_ORDER)
            buffer_text(out, axis_names[words->word[i]]);
        else
            buffer_add(out, field_choice(field, words->word[i]));
    }
    buffer_byte(out, ']');
}

/* The day of a time counted from 1970: the inverse of reading one. */
static void add_date(struct buffer *out, double seconds)
{
    int days = (int)floor(seconds / 86400) + 719468; /* from 0000-03-01 */
    int era = (days >= 0 ? days : days - 146096) / 146097;
    int of_era = days - era * 146097;
    int years = (of_era - of_era / 1460 + of_era / 36524 - of_era / 146096) / 365;
    int of_year = of_era - (365 * years + years / 4 - years / 100);
    int from_march = (5 * of_year + 2) / 153;
    int day = of_year - (153 * from_march + 2) / 5 + 1;
    int month = from_march < 10 ? from_march + 3 : from_march - 9;
    buffer_format(out, "%04d-%02d-%02d", era * 400 + years + (month <= 2), month, day);
}

bool text_is_void(struct view text)
{
    static const char *const words[] = {"", "~", "null", "Null", "NULL"};
    char first = text.size ? text.data[0] : '~';
    if (first != '~' && first != 'n' && first != 'N')
        return false; /* nearly always */
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (view_is(text, words[i]))
            return true;
    return false;
}

/* May it stand in a file as it is, and be read back as the same text? */
static bool is_plain(struct view text)
{
    if (!text.size || text.data[0] == ' ' || text.data[text.size - 1] == ' ')
        return false;
    for (size_t i = 0; i < text.size; i++) {
        unsigned char c = (unsigned char)text.data[i];
        bool word = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
                    (c >= '0' && c <= '9') || c >= 0x80;
        if (!word && (i == 0 || !strchr(" ._/()+-", c) || c == '\0'))
            return false;
    }
    return !text_is_void(text);
}

/* In double quotes where it has to be. */
static void add_text(struct buffer *out, struct view text)
{
    if (is_plain(text))
        buffer_add(out, text);
    else
        escape_quoted(out, text);
}

const char *field_value_text(struct arena *arena, enum field_id id,
                             const struct field_value *value)
{
    const struct field *field = &field_table[id];
    struct buffer out;
    buffer_init(&out, arena);
    if (value->state != VALUE_GIVEN && value->state != VALUE_DEFAULTED)
        return "";
    switch (field->kind) {
    case KIND_TEXT:
    case KIND_INPUT:
    case KIND_TERMINAL:
        add_text(&out, value->text);
        break;
    case KIND_FLAG:
        buffer_text(&out, value->flag ? "yes" : "no");
        break;
    case KIND_CHOICE:
        buffer_add(&out, field_choice(field, value->choice));
        break;
    case KIND_WORDS:
    case KIND_ORDER:
        add_words(&out, field, value->words);
        break;
    case KIND_COUNT:
    case KIND_VERSION:
    case KIND_QUANTITY:
    case KIND_POSITION:
        add_quantity(&out, field, value);
        break;
    case KIND_PAIR:
        add_list(&out, field, value->pair, 2);
        break;
    case KIND_LIST:
        add_list(&out, field, value->list->items, value->list->count);
        break;
    case KIND_DATE:
        add_date(&out, value->si);
        break;
    }
    return buffer_string(&out);
}
