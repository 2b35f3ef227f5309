/* The machine as formulas see it: its fields by their names, and what motion computes of them. */
#ifndef PROVEOUT_RULES_BIND_H
#define PROVEOUT_RULES_BIND_H

#include "formula/environment.h"
#include "formula/evaluate.h"
#include "machine/machine.h"
#include "motion/obstacles.h"
#include "motion/procedure.h"

/* Leaves that no file gives: what motion computes, under names of its own.
 *
 *     o.swept_clearance      least clearance that any sideways move of the change leaves to it
 *     o.swept_body, _way     texts: what comes that near, and on which way
 *     o.clearance_at_setter  clearance of everything on the spindle with the tip on the setter
 *     o.setter_body          text: what comes that near there
 *     c.clearance_sideways, sideways_body, _thing
 *                            the least that the sideways moves leave to setter, work and table
 *                            below all that hangs on the spindle but the cutter
 *     c.clearance_going_down, going_down_body, _thing
 *                            the same while the cutter goes down onto the setter
 *     c.clearance_at_park, park_body, _thing
 *                            of all that hangs on the spindle, with that cutter, to anything
 *     procedure.…            what the questions of the change come to, walked in their order
 *
 * Their numbers follow those of the fields, and each has a group and a key as a field has: it
 * stands wherever a field could.  A clearance carries a tolerance down to its worst case.  It
 * is computed when it is read; only the last one is kept, since rules are asked record by
 * record. A clearance is absent where a field that it needs is, but where what is known is too
 * little already: no field could better that.
 */

enum {
    DERIVED_FIRST = FIELD_COUNT,
    DERIVED_SWEPT_CLEARANCE = DERIVED_FIRST,
    DERIVED_SWEPT_BODY,
    DERIVED_SWEPT_WAY,
    DERIVED_SETTER_CLEARANCE,
    DERIVED_SETTER_BODY,
    DERIVED_WAY_CLEARANCE,
    DERIVED_WAY_BODY,
    DERIVED_WAY_THING,
    DERIVED_DOWN_CLEARANCE,
    DERIVED_DOWN_BODY,
    DERIVED_DOWN_THING,
    DERIVED_PARK_CLEARANCE,
    DERIVED_PARK_BODY,
    DERIVED_PARK_THING,
    DERIVED_HANDS,
    DERIVED_HANDS_HELD,
    DERIVED_EARLY_HAND,
    DERIVED_HOLD_ASKED,
    DERIVED_PROP_STANDS,
    DERIVED_STANDSTILL_SEEN,
    DERIVED_STANDSTILL_FIRST,
    DERIVED_PROPPED_FOR_POWER,
    DERIVED_PROPPED_FOR_HANDS,
    DERIVED_SUPPLY_LAST,
    DERIVED_PLATE_REMOVED,
    DERIVED_CLIP_REMOVED,
    DERIVED_PLATE_FOR_OLD,
    DERIVED_PLATE_FOR_NEW,
    DERIVED_BLOCK_FOR_NEW,
    DERIVED_BLOCK_REMOVED,
    DERIVED_SHOE_OFF_FIRST,
    LEAF_COUNT, /* fields and derived ones */
    DERIVED_COUNT = LEAF_COUNT - DERIVED_FIRST
};

/* Of which rooms the last one is kept. */
enum derived_source {
    FROM_SWEEP,
    FROM_SETTER,
    FROM_WAY,
    FROM_DOWN,
    FROM_PARK,
    DERIVED_ROOMS,
    FROM_PROCEDURE = DERIVED_ROOMS,
    DERIVED_SOURCES
};

/* What has been computed for the machine at hand. */
struct derived {
    const struct machine *machine;
    bool looked; /* `view` is of this machine */
    struct obstacles view;
    struct derived_room {
        uint32_t record; /* RECORD_NONE: none yet */
        struct obstacle_room room;
        char body[64]; /* what comes that near, with its number, once it is asked */
    } rooms[DERIVED_ROOMS];
    bool walked; /* `procedure` is of this machine */
    struct procedure procedure;
};

static inline bool leaf_is_derived(uint16_t leaf)
{
    return leaf >= DERIVED_FIRST;
}

/* "swept_clearance", "procedure.hands": below its group, as a field's key; static. */
const char *derived_key(uint16_t leaf);
enum field_group derived_group(uint16_t leaf);

/* The field whose place stands for it. */
enum field_id derived_field(uint16_t leaf);

/* What it is, for people; static. */
const char *derived_meaning(uint16_t leaf);

/* Type and place of the leaf in formulas. */
void derived_place(uint16_t leaf, struct env_place *to);

/* Forgets what was computed: another machine, or changed values. */
void derived_reset(struct derived *derived, const struct machine *machine);

void derived_read(struct derived *derived, uint16_t leaf, uint32_t record,
                  struct env_value *out);

/* After reading a leaf with two values of a field, of which `low` and `high` were computed:
 * what it is with all between, where no turn lies (see motion/turns.h), as environment.h has
 * `throughout`; `*out` is what was read with one, `other` with the other.
 *
 * Between two turns the room between one body and one thing on one way rises or falls, and does
 * not do both.  So the least of all is at one of the ends; and where the same two are nearest
 * at both ends, there is nowhere more.  Of the questions no more comes in than whether there is
 * a wait at all, so that what they come to at both ends they come to between. */
void derived_between(const struct derived *low, const struct derived *high, uint16_t leaf,
                     const struct env_value *other, struct env_value *out);

/* The fields that it rests on, or for want of which it is not whole. */
const struct field_uses *derived_uses(struct derived *derived, uint16_t leaf, uint32_t record,
                                      bool missing);

/* Tells of each derived leaf whether it depends on `field`, the rest of `machine` as it is;
 * leaves that are fields are not written.
 *
 * Those do that look at the field while they are worked out, whatever stands there now: up to
 * its first look at the field the way through is the same for all its values, so that one that
 * does not look at it now never does. */
void derived_dependents(const struct machine *machine, enum field_id field,
                        bool leaves[LEAF_COUNT]);

/* The machine as formulas see it: the field table as an environment of names, a typed machine
 * as its values.
 *
 * Leaves are numbers of fields (enum field_id); kinds of records are groups of fields (enum
 * field_group).
 */

/* The names; static, for every builder. */
extern const struct environment machine_environment;

/* A number that is asked about in all of a range at once (see formula/evaluate.h).  What is
 * computed from it is read at both ends (see derived_between). */
struct binding_range {
    struct field_value *value; /* in the machine */
    double ends[2];
    bool has_turn; /* within it, see motion/turns.h */
    bool failing;  /* see struct formula_range */
};

/* Where each field's values lie, worked out once for each worker. */
struct machine_binding {
    const struct machine *machine;
    struct {
        uint8_t group, kind;
        uint16_t slot;
    } leaves[FIELD_COUNT];
    struct derived *derived; /* what is computed, for leaves that are no fields */
    const struct binding_range *range; /* while one is asked about */
    struct derived *at_ends;           /* what is computed at its ends */
};

/* What it needs for itself is in `arena`. */
void binding_init(struct machine_binding *binding, struct arena *arena);

/* The values of `machine` through `binding`, which must stay as long as they are used. */
struct environment_values binding_values(struct machine_binding *binding,
                                         const struct machine *machine);

/* The value of a field's leaf, or of the low (1) or high (2) part of a pair. */
const struct field_value *binding_value(const struct machine_binding *binding, uint16_t leaf,
                                        uint8_t part, uint32_t record);

#endif
