/* Windows: the range of one field within which every rule that depends on it holds.
 *
 * The rules are asked again with another value in the field, the rest of the machine as it is.
 * Starting from the present value, the range grows on either side until an instance fails; its
 * boundary is found by halving, and the whole is asked again at the new end until nothing fails
 * there.  Nothing about a margin is assumed but that, near the present value, it changes sign
 * once on each side: linear or not is all the same.  Both ends are verified before they are
 * given: at the end everything holds, and one step beyond something fails.
 */
#ifndef PROVEOUT_RULES_WINDOW_H
#define PROVEOUT_RULES_WINDOW_H

#include "rules/describe.h"

/* One end of a window. */
struct window_end {
    bool bounded;        /* false: no rule bounds this side; the rest is not set then */
    double exact;        /* where the bounding margin is nothing, SI */
    double si;           /* rounded inward to what a person would type in the field's unit */
    const char *text;    /* the same in that unit */
    const char *rule;    /* that bounds it */
    const char *subject; /* "cutter 3", or NULL */
};

struct window {
    const char *path; /* "change.standoff" */
    enum field_id field;
    uint32_t record;
    bool given;   /* is there a present value? */
    double value; /* SI; where none is given, where the search began */
    unit_id unit;
    bool asked; /* does any rule that can be checked depend on the field? */
    bool holds; /* at the present value */
    bool empty; /* no value will do */
    struct window_end low, high;
    const char *between[2]; /* of an empty one: the rules that exclude each other */
    const char *between_subject[2];
    double overlap; /* and by how much, SI: the distance between their boundaries; 0 where one
                       fails everywhere */
};

/* Finds the window of a chosen or other numeric field in one record of its group.  The
 * machine's value is changed while this runs and put back.  The runner's results are
 * overwritten.  False where the field is no single number. */
MUST_USE bool window_find(struct runner *runner, struct arena *arena, struct machine *machine,
                          enum field_id field, uint32_t record, struct window *out);

/* How a margin moves with a field: its value at each of `count` values of the field.  For tests
 * and drawings; exact differences of these are slopes where the margin is linear.  NAN where it
 * is not known. */
void window_margins(struct runner *runner, struct machine *machine, enum field_id field,
                    uint32_t record, const struct instance *instance, const double *values,
                    size_t count, double *margins);

/* The step to which people set a quantity in this unit, SI: 0.1 mm, 1/64 in, 0.1 s. */
double window_step(unit_id unit, struct dimension dimension);

#endif
