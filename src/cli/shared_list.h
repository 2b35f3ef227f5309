/* The shop's own list of agreements, as a file. */
#ifndef PROVEOUT_CLI_SHARED_LIST_H
#define PROVEOUT_CLI_SHARED_LIST_H

#include "cli/revise.h"
#include "rules/own.h"

/* Reads the list at `path`; false: said why not. */
MUST_USE bool shared_list_read(struct run *run, const char *path, struct shared_agreements *out);

/* The list at `path` with one more agreement, to be written with the machine file; one that is not
 * there would be new.  NULL, or why not. */
MUST_USE const char *shared_list_extend(struct run *run, const char *path,
                                        const struct shared_agreement *agreement,
                                        struct companion *out);

#endif
