/* Leaves that no file gives: what motion computes for an obstacle, under names of its own.
 *
 *     o.swept_clearance      least clearance that any sideways move of the change leaves to it
 *     o.swept_body, _way     texts: what comes that near, and on which way
 *     o.clearance_at_setter  clearance of everything on the spindle with the tip on the setter
 *     o.setter_body          text: what comes that near there
 *
 * Their numbers follow those of the fields.  A clearance carries a tolerance down to its worst
 * case.  It is computed when it is read; only the last one is kept, since rules are asked
 * record by record.  A clearance is absent where a field that it needs is, but where what is
 * known is too little already: no field could better that.
 */
#ifndef PROVEOUT_RULES_DERIVED_H
#define PROVEOUT_RULES_DERIVED_H

#include "formula/evaluate.h"
#include "motion/obstacles.h"

enum {
    DERIVED_FIRST = FIELD_COUNT,
    DERIVED_SWEPT_CLEARANCE = DERIVED_FIRST,
    DERIVED_SWEPT_BODY,
    DERIVED_SWEPT_WAY,
    DERIVED_SETTER_CLEARANCE,
    DERIVED_SETTER_BODY,
    LEAF_COUNT, /* fields and derived ones */
    DERIVED_COUNT = LEAF_COUNT - DERIVED_FIRST
};

/* What has been computed for the machine at hand. */
struct derived {
    const struct machine *machine;
    bool looked; /* `view` is of this machine */
    struct obstacles view;
    struct derived_room {
        uint32_t record; /* RECORD_NONE: none yet */
        struct obstacle_room room;
    } swept, at_setter;
};

static inline bool leaf_is_derived(uint16_t leaf)
{
    return leaf >= DERIVED_FIRST;
}

/* "swept_clearance", static; the field whose record it belongs to stands for its place. */
const char *derived_name(uint16_t leaf);

/* What it is, for people; static. */
const char *derived_meaning(uint16_t leaf);

/* The leaf of an obstacle called so; false where there is none. */
MUST_USE bool derived_find(struct view name, struct env_place *to);

/* Forgets what was computed: another machine, or changed values. */
void derived_reset(struct derived *derived, const struct machine *machine);

void derived_read(struct derived *derived, uint16_t leaf, uint32_t record,
                  struct env_value *out);

/* What a derived clearance rests on, and for want of what it is not whole. */
const struct obstacle_room *derived_room(struct derived *derived, uint16_t leaf,
                                         uint32_t record);

/* May a derived leaf depend on this field? */
bool derived_depends(uint16_t leaf, enum field_id field);

#endif
