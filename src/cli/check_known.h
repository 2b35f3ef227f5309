/* `check --known` and `check --write-known`: findings that were there before. */
#ifndef PROVEOUT_CLI_CHECK_KNOWN_H
#define PROVEOUT_CLI_CHECK_KNOWN_H

#include "cli/batch.h"
#include "cli/command.h"
#include "rules/own.h"

struct check_known {
    struct known known; /* what to set aside */
    struct output *out; /* where to write what is there today, or NULL */
    bool sets_aside;
    size_t refused; /* findings that were not written, since they can hurt a person */
};

/* What --known and --write-known wish.  False: why not has been said. */
MUST_USE bool check_known_begin(struct run *run, struct check_known *out);

/* Of one file that was checked, `bytes`, in `arena`: sets aside in `report`, and leaves in
 * `piece` what is to be written and to be said.  For any thread. */
void check_known_file(const struct check_known *known, struct arena *arena, struct view bytes,
                      struct file_report *report, struct piece *piece);

/* Writes what a piece brings, in the order of the files. */
void check_known_deliver(struct check_known *known, const struct piece *piece);

/* Puts the file into its place, and says what is not in it.  Returns how the program ends that
 * would have ended with `status`. */
enum exit_status check_known_end(struct run *run, struct check_known *known,
                                 enum exit_status status);

#endif
