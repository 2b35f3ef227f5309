/* What is offered where nothing has been answered yet. */
#include "ask/usual.h"

#include <math.h>

#include "quantity/number.h"
#include "quantity/quantity.h"

/* How far from the edges things are put, in m. */
#define BELOW_TOP  0.003
#define FROM_FRONT 0.04

static bool value_of(const struct understanding *with, const struct answers *answers,
                     uint16_t what, uint32_t record, struct field_value *out)
{
    const struct answer *answer = answers_get(answers, what, record);
    return answer_has_value(answer) &&
           !field_read_text(with->arena, (enum field_id)what, answer->text, out);
}

/* In the unit of the question, to steps that people like: 1 mm or 0.05 in, else two digits. */
static const char *rounded(const struct understanding *with, enum field_id id, double si,
                           bool position)
{
    const struct field *field = &field_table[id];
    unit_id unit = unit_read(view_of(understand_unit(with, id)));
    double value = unit_from_si(unit, field->dimension, si);
    double step =
        position ? with->inches ? 0.05 : 1 : number_decade(fabs(value) > 0 ? value : 1, -1);
    value = round(value / step) * step;
    return quantity_text(with->arena, unit_to_si(unit, field->dimension, value),
                         field->dimension, unit);
}

static const char *from_text(const struct understanding *with, const struct question *row)
{
    struct field_value value;
    enum field_id id = (enum field_id)row->what;
    if (!with->inches || row->what >= FIELD_COUNT || field_table[id].kind != KIND_QUANTITY ||
        strcmp(understand_unit(with, id), field_table[id].unit) == 0 ||
        field_read_text(with->arena, id, view_of(row->text), &value))
        return row->text;
    return rounded(with, id, value.si, false);
}

static const char *next_number(const struct understanding *with, const struct answers *answers,
                               uint32_t record)
{
    double next = 1;
    for (uint32_t i = 0; i < record; i++) {
        struct field_value value;
        if (value_of(with, answers, FIELD_CUTTER_NUMBER, i, &value) && value.si >= next)
            next = value.si + 1;
    }
    return number_exact(with->arena, next);
}

static const char *longest(const struct understanding *with, const struct answers *answers)
{
    double most = 0;
    const char *text = NULL;
    for (uint32_t i = 0; i < question_records(answers, GROUP_CUTTER); i++) {
        struct field_value value;
        if (!value_of(with, answers, FIELD_CUTTER_STICKOUT, i, &value) || value.si <= most)
            continue;
        most = value.si;
        text = field_value_text(with->arena, FIELD_CUTTER_STICKOUT, &value);
    }
    return text;
}

/* From the travel of an axis: its high end, its middle, or its low end. */
static const char *from_travel(const struct understanding *with, const struct answers *answers,
                               const struct question *row)
{
    static const uint32_t axis[] = {
        [USUAL_TRAVERSE] = 2, [USUAL_PARK_X] = 0, [USUAL_PARK_Y] = 1};
    struct field_value value;
    if (!value_of(with, answers, FIELD_AXIS_TRAVEL, axis[row->usual], &value))
        return NULL;
    double low = value.pair[0].si, high = value.pair[1].si, si = high - BELOW_TOP;
    if (row->usual == USUAL_PARK_X)
        si = (low + high) / 2;
    if (row->usual == USUAL_PARK_Y)
        si = low + FROM_FRONT;
    return rounded(with, (enum field_id)row->what, si, true);
}

static bool says(const struct answers *answers, enum field_id id, const char *word)
{
    const struct answer *answer = answers_get(answers, (uint16_t)id, 0);
    return answer_has_value(answer) && view_is(answer->text, word);
}

/* The questions of a change that suits the earlier answers, in the order of the work. */
static const char *asks(const struct understanding *with, const struct answers *answers)
{
    struct buffer out;
    bool hand = says(answers, FIELD_SPINDLE_SWITCHED_BY, "hand");
    bool isolated = says(answers, FIELD_CHANGE_SPINDLE_HELD_OFF, "isolated");
    bool unplugged = says(answers, FIELD_CHANGE_SPINDLE_HELD_OFF, "unplugged");
    bool machine = says(answers, FIELD_CHANGE_CUTS_POWER_TO, "machine");
    bool plate = says(answers, FIELD_CHANGE_MEASURES_WITH, "plate");
    bool old = plate && says(answers, FIELD_CHANGE_TOUCHES_OLD, "yes");
    bool clip = plate && !says(answers, FIELD_PLATE_RETURN_PATH, "bearings");
    bool cut = isolated || unplugged;
    const struct {
        bool wanted;
        const char *word;
    } steps[] = {
        {hand, "spindle_off"},
        {true, "standstill"},
        {machine && cut, "z_propped"},
        {isolated, "isolated"},
        {unplugged, "unplugged"},
        {says(answers, FIELD_SPINDLE_SHOE_REMOVED, "yes"), "shoe_off"},
        {old && clip, "clip_on"},
        {old, "plate_on"},
        {old, "plate_off"},
        {old && clip, "clip_off"},
        {!plate, "setter_clean"},
        {true, "cutter_in"},
        {clip, "clip_on"},
        {plate, "plate_on"},
        {plate, "plate_off"},
        {clip, "clip_off"},
        {cut, "supply_on"},
        {hand, "speed_set"},
        {hand, "spindle_on"},
    };
    buffer_init(&out, with->arena);
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++)
        if (steps[i].wanted)
            buffer_format(&out, "%s%s", out.size ? ", " : "[", steps[i].word);
    buffer_byte(&out, ']');
    return buffer_string(&out);
}

/* What the file is called is a name for the machine too. */
static const char *from_file(const struct understanding *with, const struct question *row)
{
    struct field_value value;
    if (!with->name.size ||
        field_read_text(with->arena, (enum field_id)row->what, with->name, &value))
        return NULL;
    return arena_copy(with->arena, with->name.data, with->name.size);
}

const char *usual_value(const struct understanding *with, const struct answers *answers,
                        const struct question *row, uint32_t record, bool *computed)
{
    struct field_value value;
    *computed = row->usual > USUAL_FILE;
    switch ((enum ask_usual)row->usual) {
    case USUAL_TEXT:
        return from_text(with, row);
    case USUAL_NUMBER:
        return next_number(with, answers, record);
    case USUAL_FILE:
        return from_file(with, row);
    case USUAL_TRAVERSE:
    case USUAL_PARK_X:
    case USUAL_PARK_Y:
        return from_travel(with, answers, row);
    case USUAL_PARK_Z:
        if (!value_of(with, answers, FIELD_CHANGE_TRAVERSE_Z, 0, &value))
            return NULL;
        return field_value_text(with->arena, FIELD_CHANGE_TRAVERSE_Z, &value);
    case USUAL_STOP:
        if (!value_of(with, answers, FIELD_SPINDLE_RUN_DOWN, 0, &value))
            return NULL;
        return rounded(with, (enum field_id)row->what, value.si * 1.25, false);
    case USUAL_LONGEST:
        return longest(with, answers);
    case USUAL_ASKS:
        return asks(with, answers);
    case USUAL_NONE:
        break;
    }
    return row->what < FIELD_COUNT ? field_table[row->what].fallback : NULL;
}
