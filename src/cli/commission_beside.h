/* Numbers that a shop's list of agreements finds in the files beside a machine file. */
#ifndef PROVEOUT_CLI_COMMISSION_BESIDE_H
#define PROVEOUT_CLI_COMMISSION_BESIDE_H

#include "cli/lines.h"
#include "rules/own.h"

/* What was found, and the agreement that it would be. */
struct found_agreement {
    const struct shared_agreement *by;
    struct view file; /* from the machine file's folder */
    const char *unit; /* "": it stands beside the number, or there is none */
};

struct found_beside {
    VECTOR(struct ask_found) shown;            /* for the dialogue, ... */
    VECTOR(struct found_agreement) agreements; /* ... and of each, in the same order */
};

/* Looks through the folder of --beside, if it is given; asks once for each file in which unit it
 * gives numbers of one kind, where the list does not say so.  False: said why not, or the
 * answers came to an end. */
MUST_USE bool found_open(struct lines *lines, const char *path, struct found_beside *out);

/* Adds to the bytes of a machine file, called `path`, an agreement for each number that was taken.
 * NULL, or why one cannot be added. */
MUST_USE const char *found_write(struct arena *arena, const struct found_beside *found,
                                 const struct ask *ask, const char *path, struct view *bytes);

/* Says which of them were not taken. */
void found_say_left(struct lines *lines, const struct found_beside *found);

#endif
