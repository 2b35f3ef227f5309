/* Findings about derived leaves, told by the fields that those were computed from. */
#ifndef PROVEOUT_RULES_DERIVED_TRACE_H
#define PROVEOUT_RULES_DERIVED_TRACE_H

#include "rules/describe.h"

enum { DERIVED_READS_MAX = 4 };

/* Derived leaves that a trace read. */
struct derived_reads {
    size_t count;
    struct {
        uint16_t leaf;
        uint32_t record;
    } items[DERIVED_READS_MAX];
};

/* Puts the fields in the place of each read of a derived leaf: those it rests on, or those for
 * want of which it is absent. */
void trace_expand(const struct describer *describer, struct trace *trace,
                  struct derived_reads *out);

/* The parts that fields have in the tolerance called `name`, which is `width` wide; at most
 * `room`.  0 where that is no derived leaf's.  Each part is in proportion to what its field
 * adds to the heights and radii that decide, all together `width`. */
size_t derived_shares(const struct describer *describer, const struct derived_reads *reads,
                      const char *name, double width, struct finding_share *out, size_t room);

#endif
