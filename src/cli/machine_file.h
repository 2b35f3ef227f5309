/* Opening the machine file that a command works on. */
#ifndef PROVEOUT_CLI_MACHINE_FILE_H
#define PROVEOUT_CLI_MACHINE_FILE_H

#include "cli/command.h"
#include "library/machine_file.h"

/* Reads the file named, or standard input for `-`.  False: why not has been said. */
MUST_USE bool machine_file_open(struct run *run, const char *path, struct machine_file *out);

/* Does --output name a machine file?  A slip in the order of arguments must not cost anybody
 * one: it is refused, and that has been said. */
MUST_USE bool machine_file_is_output(struct run *run);

#endif
