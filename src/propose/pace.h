/* How long a change takes, as a function of the numbers that may change.
 *
 * Each cutter of the list goes out once and comes in once, and what that takes is divided by
 * their number: since the time of a change is one part of the outgoing cutter's and one of the
 * incoming one's, it is the mean over all changes of the list.  Times are those of `dryrun`;
 * what takes a person or the machine a time that nobody has told counts as nothing.
 */
#ifndef PROVEOUT_PROPOSE_PACE_H
#define PROVEOUT_PROPOSE_PACE_H

#include "motion/change.h"
#include "propose/margins.h"

struct pace {
    const struct machine *machine;
    struct knob *knobs; /* of that machine, set before it is asked */
    size_t knob_count;
    struct change *room; /* for one change */
    /* Of what was asked last: of the change that has most of them. */
    uint32_t untimed, by_hand; /* steps whose time is not counted */
    bool at_most;              /* somewhere the longest way there is was counted */
};

/* Of the machine in `margins`. */
void pace_open(struct pace *pace, const struct margins *margins);

/* `user`: a struct pace.  Seconds with the numbers x; HUGE_VAL where it is not known which
 * moves there are. */
double pace_seconds(void *user, const double *x);

/* Does the time rest on this number? */
bool pace_rests_on(struct arena *arena, const struct machine *machine,
                   const struct field_place *place);

#endif
