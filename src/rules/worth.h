/* What further readings of a measured value would be worth: its tolerance after more of them
 * with the scatter seen so far, and the tightest margin that grows with it. */
#ifndef PROVEOUT_RULES_WORTH_H
#define PROVEOUT_RULES_WORTH_H

#include "finding/finding.h"
#include "machine/machine.h"
#include "rules/check.h"

enum { WORTH_COUNTS = 3 };

struct worth {
    const struct readings *readings;
    struct worth_after {
        uint32_t count;    /* of readings in all */
        double half_width; /* of the tolerance, or of a scatter its value; SI */
    } after[WORTH_COUNTS]; /* 3, 5 and 10 */
    uint32_t count; /* as many as the margin is worked out for: 10, or twice as many as are
                       there already */
    const struct finding *tightest; /* as it is now; NULL: no margin grows */
    double gain;                    /* SI */
};

/* Is it worth the trouble: does the tightest margin grow by a tenth, or come so much nearer to
 * holding? */
bool worth_pays(const struct worth *worth);

/* "10 readings would bring 0.3 mm to the margin of approach-too-low (cutter 2), now 1.2 mm",
 * for a value in `unit`; "no margin would grow by 10 readings". */
const char *worth_text(struct arena *arena, const struct worth *worth, unit_id unit);

/* Works that out for one value of `machine`; false where it was not read several times.  `out`
 * points into `arena` and into the machine. */
MUST_USE bool worth_find(struct arena *arena, const struct check_options *options,
                         const struct machine *machine, const struct field_place *place,
                         struct worth *out);

#endif
