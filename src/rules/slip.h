/* One slip of the pen that makes many rules fail: told once, at the number.
 *
 * A lost sign, two numbers exchanged, a height read in another frame: one such number makes rules
 * fail that blame others.  Each likely slip is taken back in a copy of the machine and all rules
 * are asked again.  It counts only where every failure that has to do with it is gone and no new
 * one has come, and where no other number would explain as much.
 */
#ifndef PROVEOUT_RULES_SLIP_H
#define PROVEOUT_RULES_SLIP_H

#include "finding/sink.h"
#include "rules/describe.h"

/* A failure that nothing explains and nobody has waived. */
struct open_failure {
    struct finding *finding;
    struct instance instance;
};

enum {
    SLIP_CUTTERS = 200, /* a longer list would take long */
};

/* The runner has asked the machine, and its results stay.  A slip that one of the findings
 * already points at is added to its advice; one that they all miss becomes a finding of its own
 * in `sink`; the other findings follow from that one. */
void slips_find(const struct describer *describer, struct finding_sink *sink,
                const struct open_failure *open, size_t count);

#endif
