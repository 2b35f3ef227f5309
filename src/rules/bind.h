/* The machine as formulas see it: the field table as an environment of names, a typed machine
 * as its values.
 *
 * Leaves are numbers of fields (enum field_id); kinds of records are groups of fields (enum
 * field_group).
 */
#ifndef PROVEOUT_RULES_BIND_H
#define PROVEOUT_RULES_BIND_H

#include "formula/environment.h"
#include "machine/machine.h"
#include "rules/derived.h"

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
    uint32_t widths[GROUP_COUNT];
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
