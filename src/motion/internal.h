/* What the files of motion share: reading fields with a record of what was read and what is
 * missing, and the ends of the sideways moves.
 */
#ifndef PROVEOUT_MOTION_INTERNAL_H
#define PROVEOUT_MOTION_INTERNAL_H

#include "motion/clearance.h"
#include "motion/cutters.h"

enum { AXIS_X, AXIS_Y, AXIS_Z, AXES };

/* A machine being read.  Either list may be NULL: not wanted. */
struct look {
    const struct machine *machine;
    struct field_uses *read, *missing;
};

/* A reader of one list's fields that keeps the first field missing in it and no more: the
 * others would only say the same of other cutters. */
static inline struct look look_first_missing(const struct machine *machine,
                                             struct field_uses *missing)
{
    return (struct look){.machine = machine, .missing = missing->count ? NULL : missing};
}

/* Notes that the list of `id` carries an error, so that nobody knows what is in it. */
static inline void miss_list(struct field_uses *missing, enum field_id id)
{
    struct field_use use = {.field = id, .record = RECORD_NONE, .wrong = true};
    field_uses_add(missing, &use);
}

/* Each returns whether the field is there and free of errors; else it is added to the missing
 * ones and nothing is written. */
MUST_USE bool look_spread(struct look *look, enum field_id id, uint32_t record,
                          struct spread *out);
MUST_USE bool look_nominal(struct look *look, enum field_id id, uint32_t record, double *out);
MUST_USE bool look_pair(struct look *look, enum field_id id, uint32_t record,
                        struct spread out[2]);
MUST_USE bool look_flag(struct look *look, enum field_id id, bool *out);
MUST_USE bool look_flag_of(struct look *look, enum field_id id, uint32_t record, bool *out);
MUST_USE bool look_word(struct look *look, enum field_id id, const char *word, bool *is);
MUST_USE bool look_words(struct look *look, enum field_id id, const struct word_list **out);

/* Is the field there, or at least something that carries an error? */
bool look_given(const struct look *look, enum field_id id, uint32_t record);

/* Does the machine home? */
MUST_USE bool look_homes(struct look *look, bool *homes);

/* Named quantities, as the rules have them. */
MUST_USE bool look_true_stickout(struct look *look, uint32_t cutter, struct spread *out);
MUST_USE bool look_used_stickout(struct look *look, uint32_t cutter, double *out);
/* The nose height at which the fast approach ends. */
MUST_USE bool look_approach_nose(struct look *look, uint32_t cutter, double *out);
MUST_USE bool look_radius(struct look *look, enum field_id diameter, uint32_t record,
                          struct spread *out);
/* 0 with the Z repeatability of homing as its tolerance; 0 alone where that is not given. */
MUST_USE bool look_height_error(struct look *look, struct spread *out);
/* Heights are those of the nose, machine frame: a thing is as high as the nose that would touch
 * it.  Measured from the table instead, its own tolerance would count twice where setter and
 * nose are compared. */
MUST_USE bool look_height(struct look *look, double z, struct spread *out); /* commanded to z */
/* What the spoilboard has lost since the table was touched off, nothing where nobody says so; and
 * the table's top as it is now. */
MUST_USE bool look_board_lost(struct look *look, struct spread *out);
MUST_USE bool look_table(struct look *look, struct spread *out);
/* How high it reaches over the table: of a rotary axis also what its jaws sweep. */
MUST_USE bool look_obstacle_height(struct look *look, uint32_t obstacle, struct spread *out);
/* The footprint and top of an obstacle. */
MUST_USE bool look_obstacle(struct look *look, uint32_t obstacle, struct clearance_box *out);

/* Does the gantry carry the setter along Y? */
MUST_USE bool look_carried(struct look *look, bool *carried);

/* Is it on a lift?  Whatever is told of one tells that. */
bool look_lifts(const struct look *look);

/* Where the sideways moves of a change begin and end.  A setter that the gantry carries is met
 * where the gantry stands: after the cutter was changed that is as far along Y as the park
 * position, and with the outgoing cutter, END_SETTER_FIRST, anywhere over the work. */
enum route_end { END_START, END_SETTER, END_SETTER_FIRST, END_PARK, END_SPOT };

enum { ROUTE_ENDS = 5 };

struct route {
    uint32_t count; /* ends, one after another; END_SPOT is reached by hand */
    enum route_end ends[ROUTE_ENDS];
    bool homes, touches_old, returns;
    bool setter, plate, hand; /* which of them measures; none where lengths come from a list */
    bool carried; /* the gantry carries the setter */
};

/* False where a field that decides the order of moves is missing. */
MUST_USE bool route_find(struct look *look, struct route *out);

bool route_has(const struct route *route, enum route_end end);

/* The plan of an end; the start is anywhere in the work area.  False where a field is missing,
 * and for END_SPOT. */
MUST_USE bool route_area(struct look *look, enum route_end end, struct plane_rectangle *out);

#endif
