/* In which units a machine is written, for numbers that come from no field of its own. */
#include "machine/internal.h"

/* Which fields tell: of pairs and lists the numbers may differ. */
static bool tells(const struct field *field, struct dimension dimension)
{
    return dimension_equal(field->dimension, dimension) &&
           (field->kind == KIND_QUANTITY || field->kind == KIND_POSITION);
}

static unit_id unit_given(const struct machine *machine, enum field_id id, uint32_t record)
{
    const struct field_value *value = machine_field(machine, id, record);
    return value->state == VALUE_GIVEN && value->unit != UNIT_BARE ? value->unit : UNIT_UNKNOWN;
}

/* That of the first records comes first: what is written once stands at the head of a list. */
static unit_id first_given(const struct machine *machine, struct dimension dimension)
{
    for (int later = 0; later < 2; later++)
        for (unsigned id = 0; id < FIELD_COUNT; id++) {
            uint32_t count = machine->groups[field_table[id].group].count;
            uint32_t end = later ? count : count > 0;
            for (uint32_t i = later ? 1 : 0; i < end && tells(&field_table[id], dimension);
                 i++) {
                unit_id unit = unit_given(machine, (enum field_id)id, i);
                if (unit != UNIT_UNKNOWN)
                    return unit;
            }
        }
    return UNIT_UNKNOWN;
}

/* What is said in inches, is said in inches a minute. */
static const char *const together[][2] = {
    {"mm", "mm/min"}, {"in", "in/min"}, {"mm", "mm/s^2"}, {"in", "in/s^2"}};

unit_id machine_unit(const struct machine *machine, struct dimension dimension)
{
    if (dimension_is_none(dimension))
        return unit_default(dimension);
    unit_id unit = first_given(machine, dimension);
    if (unit != UNIT_UNKNOWN)
        return unit;
    unit_id length = first_given(machine, DIMENSION_LENGTH);
    for (size_t i = 0; i < sizeof together / sizeof *together; i++) {
        unit = unit_read(view_of(together[i][1]));
        if (length == unit_read(view_of(together[i][0])) && unit_fits(unit, dimension))
            return unit;
    }
    return unit_default(dimension);
}

bool machine_in_inches(const struct machine *machine)
{
    unit_id unit = unit_given(machine, FIELD_TABLE_NOSE_CONTACT, 0);
    if (unit == UNIT_UNKNOWN)
        unit = first_given(machine, DIMENSION_LENGTH);
    return unit == unit_read(view_of("in"));
}
