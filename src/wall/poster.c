/* A sheet in the making: of which machine it is, and how lengths are written on it. */
#include "wall/internal.h"

const char *poster_length(const struct poster *poster, double metres)
{
    return quantity_text(poster->arena, spread_settled(metres), DIMENSION_LENGTH,
                         poster->length);
}

const char *wall_machine_name(struct arena *arena, const struct machine *machine)
{
    const struct field_value *name = machine_field(machine, FIELD_MACHINE_NAME, 0);
    return name->state == VALUE_GIVEN ? arena_copy(arena, name->text.data, name->text.size)
                                      : "a machine without a name";
}

void wall_open(struct poster *poster, struct arena *arena, const struct wall *wall)
{
    *poster = (struct poster){.wall = wall, .machine = &wall->file->machine, .arena = arena};
    poster->length = machine_unit(poster->machine, DIMENSION_LENGTH);
    if (wall->cutter != RECORD_NONE)
        poster->subject =
            machine_record_name(arena, poster->machine, GROUP_CUTTER, wall->cutter);
}
