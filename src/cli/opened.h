/* The machine file that a command is about, with all that a check of it wants. */
#ifndef PROVEOUT_CLI_OPENED_H
#define PROVEOUT_CLI_OPENED_H

#include "cli/books.h"
#include "cli/input.h"

struct opened {
    struct machine_file *file;
    struct check_options checking; /* points into this struct, which has to stay where it is */
    struct books books;
    struct beside beside;
    struct file_reader agreements;
};

/* Loads the rulebooks that the run names, and reads the machine file `path`.  NULL: what is
 * wrong has been said.  It lives in the arena of the run. */
MUST_USE const struct opened *opened_machine(struct run *run, const char *path);

#endif
