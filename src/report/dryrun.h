/* The moves of one cutter change, for whoever stands at the machine and for programs (format
 * proveout-dryrun version 1).
 */
#ifndef PROVEOUT_REPORT_DRYRUN_H
#define PROVEOUT_REPORT_DRYRUN_H

#include "motion/change.h"
#include "report/report.h"

struct dryrun {
    const char *path;
    const struct machine *machine;
    const struct change *change;
    const struct cutter_pair *pair; /* why these two */
    size_t errors;                  /* that `check` finds in the file */
};

/* Step by step: what happens, what the operator does, what he sees when it is right. */
void dryrun_text(struct buffer *out, const struct report_options *options,
                 const struct dryrun *dryrun);

/* Clearances are those of the worst case. */
void dryrun_json(struct buffer *out, const struct dryrun *dryrun);

#endif
