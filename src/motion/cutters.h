/* The cutters of the list as motion needs them: how far they stick out, and which of them are
 * the worst.
 *
 * A list of n cutters has n * n changes, but clearance falls with length and with diameter
 * alone: a cutter as long as the longest and as wide as the widest is at least as near to
 * everything as any of them.  So the list is gone through once.
 */
#ifndef PROVEOUT_MOTION_CUTTERS_H
#define PROVEOUT_MOTION_CUTTERS_H

#include "motion/clearance.h"
#include "motion/use.h"

/* Records of GROUP_CUTTER; of equals the first in the list; RECORD_NONE where no cutter has the
 * field. */
struct cutter_extremes {
    uint32_t longest;  /* by the highest true stick-out */
    uint32_t shortest; /* by the lowest */
    uint32_t widest;   /* by the largest diameter */
    /* The first fields for want of which others of the list could not be compared. */
    struct field_uses lengths_missing, widths_missing;
};

/* Looks through the whole list. */
void cutters_extremes(struct cutter_extremes *out, const struct machine *machine);

/* How far a cutter sticks out, with its tolerances; false where that is not known. */
MUST_USE bool cutter_true_stickout(const struct machine *machine, uint32_t record,
                                   struct spread *out);

/* How far its tip is below the nose as commanded: with its own tolerances and that of homing;
 * false where that is not known. */
MUST_USE bool cutter_tip_below(const struct machine *machine, uint32_t record,
                               struct spread *out);

enum pair_reason {
    PAIR_GIVEN,
    PAIR_NEAREST,        /* of all that may be in its place it comes nearest to anything */
    PAIR_LONGEST,        /* the longest, by its highest true stick-out */
    PAIR_WIDEST,         /* the widest, and not the longest */
    PAIR_SECOND_LONGEST, /* where the longest is the widest, or no widths are known */
    PAIR_ONLY,           /* there is one cutter */
    PAIR_FIRST,          /* no stick-outs are known */
};

/* A change from one cutter to another. */
struct cutter_pair {
    uint32_t from, to; /* records */
    enum pair_reason from_reason, to_reason;
};

/* The pair worth looking at where nobody names one: the longest comes in, since it is the one
 * that goes down to the setter and back over the work, and the widest goes out.  False where
 * there are no cutters. */
MUST_USE bool cutters_worst_pair(struct cutter_pair *out, const struct machine *machine);

/* "the longest of the list", "the widest of the list" ...; "" for PAIR_GIVEN. */
const char *pair_reason_text(enum pair_reason reason);

#endif
