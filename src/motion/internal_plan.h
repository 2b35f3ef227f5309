/* The planner: where the nose is while the moves of a change are written down one after
 * another. */
#ifndef PROVEOUT_MOTION_INTERNAL_PLAN_H
#define PROVEOUT_MOTION_INTERNAL_PLAN_H

#include "motion/change.h"
#include "motion/internal.h"
#include "motion/profile.h"

struct planner {
    struct change *out;
    struct look look; /* keeps what is missing in `out` */
    struct route route;
    enum route_end where; /* the end of the route that the nose is over */
    struct move_place at;
    uint32_t cutter;
    enum spindle_act spindle;
    struct procedure procedure;
    struct procedure_state state; /* of the spindle, by the questions answered so far */
    uint32_t next;                /* the first question that is not yet answered */
    bool changed, plate_lies, clip_on, held_shown, started;
    bool machine_cut; /* isolating or unplugging takes the power of the axes too */
    bool motors_released, z_sinks, propped;
    bool no_gantry; /* it comes as near with every cutter */
};

/* change_plan() without room for the gantry, which comes as near with every cutter. */
MUST_USE bool change_plan_spindle(struct change *out, const struct machine *machine,
                                  const struct change_request *request);

/* A new step from where the nose is, to be filled in; it stays until the next one is added. */
struct move *plan_step(struct planner *planner, enum move_kind kind);

/* Notes the time of a step and sums it up; infinite or NAN: not known. */
void plan_time(struct planner *planner, struct move *move, enum move_time timed,
               double seconds);

/* A step of the operator's. */
struct move *plan_by_hand(struct planner *planner, enum move_kind kind);

/* The questions from the next one up to `end`, each a step of the operator's. */
void plan_answers(struct planner *planner, uint32_t end);

/* A step of the operator's hands that has to be done though nobody is asked for it. */
void plan_unasked(struct planner *planner, enum move_kind kind);

/* The spindle stops or starts: by the controller with its wait, or by hand. */
void plan_switch(struct planner *planner, enum move_kind kind);

/* A straight move along Z to a height, `known` or not, at a feed (INFINITY: rapid, NAN: not
 * known). */
struct move *plan_vertical(struct planner *planner, enum move_kind kind, bool known, double z,
                           double feed);

/* Up by a field's length, from wherever it is. */
struct move *plan_up_by(struct planner *planner, enum move_kind kind, enum field_id length);

/* Time of `distance` along Z. */
void plan_z_time(struct planner *planner, struct move *move, enum move_time timed,
                 double distance, double feed);

/* Sideways to an end of the route at the height where it is, with its clearance. */
void plan_sideways(struct planner *planner, enum move_kind kind, enum route_end to);

/* Fills in the least clearance of a sideways move along `path`; of a move down to a height at an
 * end of the route, or onto the setter. */
void plan_room_sideways(struct planner *planner, struct move *move,
                        const struct plane_hull *path);
void plan_room_at(struct planner *planner, struct move *move);

#endif
