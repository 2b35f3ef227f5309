/* Where what is read of a setter or of an obstacle stands in the file: the setter that the
 * change uses stands among several as one of `setters`, and the others are read as obstacles.
 */
#include "machine/internal.h"

_Static_assert(FIELD_SETTERS_END_OVERTRAVEL - LIST_FIRST == SETTER_WIDTH - 1,
               "an entry of setters is a setter with a name");

static bool is_of_setter(enum field_id id)
{
    return (int)id >= SETTER_FIRST && (int)id < SETTER_FIRST + SETTER_WIDTH;
}

/* A field of `setter` in a record of `setters`. */
static enum field_id in_list(enum field_id id)
{
    return (enum field_id)((int)id - SETTER_FIRST + LIST_FIRST);
}

/* The same field of `setter`; one without a name has its first. */
static enum field_id from_list(enum field_id id)
{
    return (enum field_id)(id == FIELD_SETTERS_NAME ? SETTER_FIRST
                                                    : (int)id - LIST_FIRST + SETTER_FIRST);
}

enum field_id field_of_setter(enum field_id id)
{
    bool listed = field_table[id].group == GROUP_SETTER && id != FIELD_SETTERS_NAME;
    return listed ? from_list(id) : id;
}

enum field_id field_of_setters(enum field_id id)
{
    return is_of_setter(id) ? in_list(id) : id;
}

static const struct field_value *value_in(const struct machine *machine, enum field_id id,
                                          uint32_t setter)
{
    return machine_field(machine, in_list(id), setter);
}

static bool is_absent(const struct machine *machine, enum field_id id, uint32_t setter)
{
    return value_in(machine, id, setter)->state == VALUE_ABSENT;
}

/* Of a setter that is an obstacle, where that field comes from; or for want of what it is not
 * known. */
static enum field_id idle_field(const struct machine *machine, enum field_id id,
                                uint32_t setter)
{
    if (id == FIELD_OBSTACLE_TOP)
        return is_absent(machine, FIELD_SETTER_HEIGHT, setter) &&
                       !is_absent(machine, FIELD_SETTER_NOSE_CONTACT, setter)
                   ? FIELD_SETTER_NOSE_CONTACT
                   : FIELD_SETTER_HEIGHT;
    enum field_id middle = id == FIELD_OBSTACLE_Y ? FIELD_SETTER_AT_Y : FIELD_SETTER_AT_X;
    bool wide =
        is_absent(machine, middle, setter) || !is_absent(machine, FIELD_SETTER_BODY, setter);
    return wide ? middle : FIELD_SETTER_BODY;
}

struct field_place machine_home(const struct machine *machine, enum field_id id,
                                uint32_t record)
{
    const struct machine_group *setters = &machine->groups[GROUP_SETTER];
    const struct machine_group *obstacles = &machine->groups[GROUP_OBSTACLE];
    if (is_of_setter(id) && machine->setter < setters->written)
        return (struct field_place){in_list(id), machine->setter, 0};
    if (field_table[id].group == GROUP_OBSTACLE && record >= obstacles->written) {
        record = machine->idle[record - obstacles->written];
        id = in_list(idle_field(machine, id, record));
    }
    if (field_table[id].group == GROUP_SETTER && record >= setters->written)
        return (struct field_place){from_list(id), 0, 0};
    return (struct field_place){id, record, 0};
}

struct field_place machine_stand_in(const struct machine *machine, enum field_id id,
                                    uint32_t record)
{
    bool used = field_table[id].group == GROUP_SETTER && record == machine->setter;
    if (!used || id == FIELD_SETTERS_NAME)
        return (struct field_place){id, record, 0};
    return (struct field_place){from_list(id), 0, 0};
}

bool machine_is_written(const struct machine *machine, enum field_id id, uint32_t record)
{
    struct field_place home = machine_home(machine, id, record);
    return home.field == id && home.record == record;
}

bool machine_uses_setter(const struct machine *machine)
{
    const struct field_value *with = machine_field(machine, FIELD_CHANGE_MEASURES_WITH, 0);
    return with->state != VALUE_GIVEN ||
           field_choice_is(&field_table[FIELD_CHANGE_MEASURES_WITH], with->choice, "setter");
}

bool machine_is_read_once(const struct machine *machine, enum field_id id, uint32_t record)
{
    const struct machine_group *obstacles = &machine->groups[GROUP_OBSTACLE];
    if (is_of_setter(id))
        return !machine_uses_setter(machine);
    if (field_table[id].group == GROUP_SETTER)
        return true;
    if (field_table[id].group == GROUP_OBSTACLE)
        return record >= obstacles->written;
    for (uint32_t i = obstacles->written; i < obstacles->count; i++)
        if (id == FIELD_TABLE_NOSE_CONTACT &&
            is_absent(machine, FIELD_SETTER_HEIGHT, machine->idle[i - obstacles->written]))
            return true;
    return false;
}
