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

#endif
