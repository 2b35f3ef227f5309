/* Private to `finding`. */
#ifndef PROVEOUT_FINDING_INTERNAL_H
#define PROVEOUT_FINDING_INTERNAL_H

#include "finding/finding.h"

/* The order of outputs: place, rule, subject; 0 for equal ones. */
int finding_compare(const struct finding *a, const struct finding *b);

#endif
