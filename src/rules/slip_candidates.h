/* The slips that are tried: see rules/slip.h. */
#ifndef PROVEOUT_RULES_SLIP_CANDIDATES_H
#define PROVEOUT_RULES_SLIP_CANDIDATES_H

#include "base/vector.h"
#include "machine/machine.h"

/* One or two values as they would be without the slip. */
struct slip {
    enum field_id site; /* where it is told; of a place and an area, their X */
    struct {
        enum field_id field;
        uint32_t record;
        struct field_value value;
    } parts[2];
    size_t count;
    bool in_plan;      /* a place in plan: many others would do as well */
    bool by_window;    /* not taken back: another value taken, one of many that would do */
    bool by_others;    /* worked out from two other numbers, one of three of which is wrong */
    const char *words; /* "setter.nose_contact -153 mm in place of 153 mm would do" */
};

struct slip_list {
    VECTOR(struct slip) items;
};

/* Every slip that could have been made in this machine. */
void slips_list(struct arena *arena, const struct machine *machine, struct slip_list *out);

#endif
