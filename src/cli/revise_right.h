/* Putting right what failed: words that are sure, numbers one by one, sets of several. */
#ifndef PROVEOUT_CLI_REVISE_RIGHT_H
#define PROVEOUT_CLI_REVISE_RIGHT_H

#include "cli/revise.h"
#include "library/machine_file.h"

/* What was tried and does not help, as the file is now. */
struct in_vain {
    const char *what;  /* the path of a number, or what tells a finding from others */
    const char *words; /* why not, a sentence without a full stop; NULL: told elsewhere */
};

struct repair {
    struct revision *revision;
    struct runner runner;
    struct file_report report; /* of the file as it is now */
    struct field_places given; /* what the command line sets, which stays so */
    VECTOR(struct in_vain) vain;
    VECTOR(struct in_vain) declined; /* what would help, and is not done without a yes */
    /* Of the file as it is at the end; where there was nothing for one to do, all is 0. */
    struct report_proposal proposal;
    const char *refused; /* why sets were not looked for, or NULL */
};

/* What tells a finding of the reader from the others. */
const char *repair_name(struct arena *arena, const struct finding *finding);

/* Adds to the remarks of the revision what stays as it is, and why; and which measured number
 * is to be measured again first. */
void repair_tell_left(const struct repair *repair);

#endif
