/* Numbers between a machine file and the controller's own files, by the agreements. */
#ifndef PROVEOUT_CLI_REVISE_CONTROLLER_H
#define PROVEOUT_CLI_REVISE_CONTROLLER_H

#include "cli/input.h"
#include "cli/revise.h"
#include "rules/agree.h"

/* The agreements that a run is about, as they come out. */
struct meant_agreements {
    struct beside beside;
    struct file_reader reader;
    struct agreement_list list; /* of the machine; has to stay where it is */
    bool *is_meant;             /* of each: it is about a field named, or none is named */
};

/* Looks at them: those about the fields that the arguments behind the file name, else all.
 * False: said what is wrong. */
MUST_USE bool meant_open(struct revision *revision, struct meant_agreements *out);

/* "agrees_with[2], about change.standoff", in the arena of the run, escaped. */
const char *meant_name(const struct revision *revision, const struct agreement_seen *seen);

/* "controller/change.txt:88:3", of one match, as the machine file names it; escaped. */
const char *meant_place(const struct revision *revision, const struct agreement_seen *seen,
                        size_t match);

/* Sets what the controller's files say, and tells of each number where it stands there. */
enum revise_end revise_from_controller(struct revision *revision);

/* Tells what the controller's files would have to say, and writes a copy that says so where that
 * is wished.  Returns how the program ends. */
enum exit_status revise_to_controller(struct revision *revision);

/* Why the options given do not go together; NULL: they do. */
MUST_USE const char *revise_refuse_controller(const struct run *run);

#endif
