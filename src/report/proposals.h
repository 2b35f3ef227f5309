/* A proposal as outputs tell it. */
#ifndef PROVEOUT_REPORT_PROPOSALS_H
#define PROVEOUT_REPORT_PROPOSALS_H

#include "propose/propose.h"

/* A set that the file was checked with. */
struct verified_set {
    const struct proposed_set *set;
    size_t left; /* errors and warnings that stay: others than these numbers would mend */
};

struct report_proposal {
    struct proposal proposal;
    const char *refuted; /* why `widest` did not stand the check; NULL: it did */
    struct verified_set widest, fewest;
};

/* A rule by name, for the first of several; `*same` of them are of that rule, and counted in
 * it. */
const char *proposals_rule(struct arena *arena, const struct excluded *items, size_t count,
                           size_t *same);

/* How sure it is that the rules of a proposal exclude each other, where there are some. */
const char *proposals_exclusion(const struct proposal *proposal);

#endif
