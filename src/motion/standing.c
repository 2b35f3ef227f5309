/* A look at things and bodies for whoever shows them. */
#include "motion/standing.h"

#include "motion/internal_bodies.h"

bool standing_thing(const struct machine *machine, enum clearance_to what, uint32_t record,
                    struct clearance_box *out)
{
    struct look look = {.machine = machine};
    return thing_find(&look, what, record, out);
}

void standing_spindle(const struct machine *machine, uint32_t cutter, double nose,
                      struct clearance_spindle *out)
{
    struct look look = {.machine = machine};
    const struct cutter_range one = {cutter, 1};
    const struct pose pose = {.kind = POSE_NOSE, .height = spread_exact(nose)};
    spindle_hang(&look, &one, &pose, out);
}
