/* Where things stand and what hangs on the spindle, for whoever shows it: the same boxes and
 * bodies as the moves and their clearances rest on, so that what is drawn is what was reckoned.
 */
#ifndef PROVEOUT_MOTION_STANDING_H
#define PROVEOUT_MOTION_STANDING_H

#include "motion/change.h"

/* The footprint and the top of a thing, machine frame, m: heights are those of the nose that
 * would touch it.  `record` of an obstacle; of the setter its middle, without its width.  False
 * where a field of it is missing. */
MUST_USE bool standing_thing(const struct machine *machine, enum clearance_to what,
                             uint32_t record, struct clearance_box *out);

/* The bodies on the spindle with one cutter, the nose at height `nose` as it is commanded; what
 * is not known is left out, and `whole` then not set. */
void standing_spindle(const struct machine *machine, uint32_t cutter, double nose,
                      struct clearance_spindle *out);

#endif
