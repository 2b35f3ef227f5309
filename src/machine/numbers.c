/* Quantities and counts, and the words for what can be wrong with them. */
#include "machine/internal.h"

#include "quantity/quantity.h"
#include "text/escape.h"
#include "text/nearest.h"

#include <math.h>

/* Larger whole numbers are not exact in a double. */
static const double count_most = 9007199254740992.0;

/* Units as people spell them out, for the remark on an unknown one. */
static const struct {
    const char *word, *unit;
} unit_words[] = {
    {"millimetres", "mm"},
    {"millimeters", "mm"},
    {"millimetre", "mm"},
    {"millimeter", "mm"},
    {"centimetre", "cm"},
    {"centimeter", "cm"},
    {"metre", "m"},
    {"meter", "m"},
    {"inch", "in"},
    {"inches", "in"},
    {"''", "in"},
    {"mil", "thou"},
    {"mils", "thou"},
    {"foot", "ft"},
    {"feet", "ft"},
    {"'", "ft"},
    {"seconds", "s"},
    {"second", "s"},
    {"sec", "s"},
    {"secs", "s"},
    {"milliseconds", "ms"},
    {"msec", "ms"},
    {"minutes", "min"},
    {"minute", "min"},
    {"mins", "min"},
    {"mm/minute", "mm/min"},
    {"mm/sec", "mm/s"},
    {"mm/m", "mm/min"},
    {"mmpm", "mm/min"},
    {"mmps", "mm/s"},
    {"ipm", "in/min"},
    {"ips", "in/s"},
    {"in/m", "in/min"},
    {"inch/min", "in/min"},
    {"u/min", "rpm"},
    {"1/min", "rpm"},
    {"r/min", "rpm"},
    {"hertz", "Hz"},
    {"khz", "kHz"},
    {"percent", "%"},
    {"Nm", "N*m"},
    {"Ncm", "N*cm"},
    {"kgm^2", "kg*m^2"},
    {"kgcm^2", "kg*cm^2"},
    {"mm/sec^2", "mm/s^2"},
    {"mm per minute", "mm/min"},
    {"mm per second", "mm/s"},
    {"steps per mm", "steps/mm"},
};

enum { UNIT_WORDS = sizeof unit_words / sizeof unit_words[0], UNITS_MOST = 64 };

/* The unit that `text` was meant for, among those the dimension may have; NULL where none is
 * near. */
static const char *nearest_unit(struct view text, struct dimension wanted)
{
    unit_id units[UNITS_MOST];
    struct view names[UNITS_MOST + UNIT_WORDS];
    const char *meant[UNITS_MOST + UNIT_WORDS];
    size_t known = unit_choices(wanted, units, UNITS_MOST), count = 0;
    for (size_t i = 0; i < known && i < UNITS_MOST; i++) {
        meant[count] = unit_text(units[i]);
        names[count] = view_of(meant[count]);
        count++;
    }
    for (size_t i = 0; i < UNIT_WORDS; i++) {
        if (!unit_fits(unit_read(view_of(unit_words[i].unit)), wanted))
            continue;
        meant[count] = unit_words[i].unit;
        names[count++] = view_of(unit_words[i].word);
    }
    int found = nearest_of(text, names, count);
    return found < 0 ? NULL : meant[found];
}

static const char *shown(const struct value_reader *r, const struct item *item)
{
    return escape_short(r->arena, view_trim(item->text), VALUE_CELLS);
}

static void complain_number(struct value_reader *r, const struct item *item,
                            enum number_status status)
{
    switch (status) {
    case NUMBER_COMMA:
        machine_complain(r, item, READER_NOT_A_NUMBER,
                         "write a point as the decimal sign, and nothing between thousands",
                         "%s has a comma in its number", shown(r, item));
        return;
    case NUMBER_INFINITE:
        machine_complain(r, item, READER_NOT_A_NUMBER, NULL,
                         "%s is infinite, too large or no number", shown(r, item));
        return;
    case NUMBER_ZERO_DIV:
        machine_complain(r, item, READER_NOT_A_NUMBER, NULL, "%s divides by zero",
                         shown(r, item));
        return;
    case NUMBER_FORM:
        machine_complain(
            r, item, READER_NOT_A_NUMBER,
            "write a plain decimal number, without leading zeros, colons or underscores",
            "%s can be read in two ways", shown(r, item));
        return;
    case NUMBER_NONE:
    case NUMBER_OK:
        break;
    }
    machine_complain(r, item, READER_NOT_A_NUMBER, NULL, "%s is no number",
                     machine_quoted(r->arena, item->text));
}

/* Asks which unit was meant: "9 mm, 9 cm, 9 m or 9 in?" */
static void complain_missing_unit(struct value_reader *r, const struct item *item)
{
    unit_id units[UNITS_NAMED];
    size_t count = machine_usual_units(field_table[r->id].dimension, units);
    struct buffer hint;
    buffer_init(&hint, r->arena);
    buffer_text(&hint, "write the unit that was meant: ");
    for (size_t i = 0; i < count; i++)
        buffer_format(&hint, "%s%s %s",
                      i == 0          ? ""
                      : i + 1 < count ? ", "
                                      : " or ",
                      shown(r, item), unit_text(units[i]));
    machine_complain(r, item, READER_UNIT_MISSING, buffer_string(&hint), "%s has no unit",
                     shown(r, item));
}

static void complain_unit(struct value_reader *r, const struct item *item,
                          const struct quantity_trouble *trouble)
{
    struct view unit = {item->text.data + trouble->start, trouble->end - trouble->start};
    unit = view_trim(unit);
    const char *near = nearest_unit(unit, field_table[r->id].dimension);
    const char *hint =
        near ? arena_format(r->arena, "if that is what was meant, write %s", near) : NULL;
    struct finding *finding =
        machine_complain(r, item, READER_UNIT_UNKNOWN, hint, "%s is no unit known here",
                         machine_quoted(r->arena, unit));
    if (near)
        machine_replace(r, finding, item, unit, near);
}

static void complain_dimension(struct value_reader *r, const struct item *item, unit_id unit)
{
    struct dimension found = unit_dimension(unit);
    const char *name = dimension_is_none(found) ? "ratio" : dimension_name(found, r->arena);
    machine_complain(r, item, READER_WRONG_DIMENSION, NULL, "%s is %s%s", shown(r, item),
                     machine_article(name), name);
}

static void complain_quantity(struct value_reader *r, const struct item *item,
                              enum quantity_status status,
                              const struct quantity_trouble *trouble)
{
    static const enum reader_finding names[] = {
        [QUANTITY_NOT_A_NUMBER] = READER_NOT_A_NUMBER,
        [QUANTITY_UNIT_MISSING] = READER_UNIT_MISSING,
        [QUANTITY_UNIT_UNKNOWN] = READER_UNIT_UNKNOWN,
        [QUANTITY_WRONG_DIMENSION] = READER_WRONG_DIMENSION,
        [QUANTITY_TOLERANCE] = READER_NOT_A_NUMBER,
    };
    if (machine_only_counts(r, item, names[status]))
        return;
    switch (status) {
    case QUANTITY_UNIT_MISSING:
        complain_missing_unit(r, item);
        return;
    case QUANTITY_UNIT_UNKNOWN:
        complain_unit(r, item, trouble);
        return;
    case QUANTITY_WRONG_DIMENSION:
        complain_dimension(r, item, trouble->unit);
        return;
    case QUANTITY_TOLERANCE:
        machine_complain(r, item, READER_NOT_A_NUMBER,
                         "write one tolerance after the number, as in 42 mm ± 0.5 mm",
                         "the tolerance in %s cannot be used", shown(r, item));
        return;
    case QUANTITY_NOT_A_NUMBER:
    case QUANTITY_OK:
        break;
    }
    complain_number(r, item, trouble->number);
}

bool value_read_number(struct value_reader *r, const struct item *item, struct field_value *out)
{
    struct quantity quantity;
    struct quantity_trouble trouble;
    const struct field *field = &field_table[r->id];
    bool ratio = dimension_is_none(field->dimension) && *field->unit;
    unit_id usual = ratio ? unit_read(view_of(field->unit)) : (unit_id)UNIT_BARE;
    enum quantity_status status =
        quantity_read_usual(item->text, field->dimension, usual, &quantity, &trouble);
    if (status != QUANTITY_OK) {
        complain_quantity(r, item, status, &trouble);
        return false;
    }
    *out = (struct field_value){.state = VALUE_GIVEN,
                                .unit = quantity.unit,
                                .si = quantity.si,
                                .tolerance = quantity.tolerance,
                                .node = item->node};
    return true;
}

bool value_read_quantity(struct value_reader *r, const struct item *item,
                         struct field_value *out)
{
    struct field_value value;
    if (!value_read_number(r, item, &value))
        return false;
    if (value.si < 0 && !field_is_signed(r->id)) {
        const char *unit = unit_text(value.unit);
        machine_want(r, item, READER_WRONG_KIND, NULL,
                     arena_format(r->arena, "%s is negative", shown(r, item)),
                     arena_format(r->arena, "0%s%s or more", *unit ? " " : "", unit));
        return false;
    }
    *out = value;
    machine_judge_number(r, item, out);
    return true;
}

bool value_read_count(struct value_reader *r, const struct item *item, struct field_value *out)
{
    struct quantity quantity;
    struct quantity_trouble trouble;
    enum quantity_status status =
        quantity_read(item->text, DIMENSION_NONE, &quantity, &trouble);
    if (status != QUANTITY_OK) {
        complain_quantity(r, item, status, &trouble);
    } else if (quantity.unit != UNIT_BARE) {
        complain_dimension(r, item, quantity.unit);
    } else if (quantity.tolerance > 0 || quantity.si != floor(quantity.si) ||
               quantity.si > count_most) {
        machine_complain(r, item, READER_WRONG_KIND, NULL, "%s is no whole number",
                         shown(r, item));
    } else if (quantity.si < 1) {
        machine_complain(r, item, READER_WRONG_KIND, NULL, "%s is below 1", shown(r, item));
    } else {
        *out =
            (struct field_value){.state = VALUE_GIVEN, .si = quantity.si, .node = item->node};
        machine_judge_number(r, item, out);
        return true;
    }
    return false;
}
