/* One list of bodies and one list of things, for the rules' view and for the dry run alike: what
 * hangs on the spindle in a pose, what it may meet there, and how near the two come.
 */
#ifndef PROVEOUT_MOTION_INTERNAL_BODIES_H
#define PROVEOUT_MOTION_INTERNAL_BODIES_H

#include "motion/change.h"
#include "motion/internal.h"
#include "motion/obstacles.h"

/* Cutters of the list. */
struct cutter_range {
    uint32_t first, count;
};

/* The bodies in a pose with any of the cutters: of the cutters' parts those that no other part
 * of the range is as low and as wide as; of the rest the lowest.  A body whose fields are missing
 * is left out. */
void spindle_hang(struct look *look, const struct cutter_range *range, const struct pose *pose,
                  struct clearance_spindle *out);

/* Reads once more what one of those parts rests on. */
void spindle_part_reads(struct look *look, const struct pose *pose,
                        const struct clearance_part *part);

/* Reads what decides which bodies there are besides the cutter. */
void spindle_others_read(struct look *look);

/* What the spindle does when it might meet something. */
enum situation {
    SITUATION_SIDEWAYS,
    SITUATION_DESCENT, /* onto the setter */
    SITUATION_PARK,
};

/* Looks for the least room between bodies and things. */
struct room_search {
    struct look *look;
    enum situation situation;
    const struct pose *pose;
    const struct clearance_spindle *spindle;
    const struct plane_hull *path;
    struct room_thing *kept; /* by enum clearance_to, what earlier searches along the path found of
                                setter, work and table; NULL: nothing is kept */
    bool whole; /* nothing was left out for want of a field */
    struct clearance clearance;
    enum clearance_to to;
    uint32_t record; /* of the obstacle */
};

void room_begin(struct room_search *search);

/* Takes one thing into account; `record` of an obstacle. */
void room_try(struct room_search *search, enum clearance_to what, uint32_t record);

/* The setter where it measures, work and table; and all obstacles. */
void room_try_fixed(struct room_search *search, bool by_setter);
void room_try_obstacles(struct room_search *search);

/* The gantry's beam over all of them, which no height of the spindle changes. */
void room_try_gantry(struct room_search *search, bool by_setter);

/* The footprint and the top of a thing; of the setter its middle. */
MUST_USE bool thing_find(struct look *look, enum clearance_to what, uint32_t record,
                         struct clearance_box *out);

/* change_plan() without room for the gantry, which comes as near with every cutter. */
MUST_USE bool change_plan_spindle(struct change *out, const struct machine *machine,
                                  const struct change_request *request);

#endif
