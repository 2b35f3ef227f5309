/* Being started by itself, from a desktop: see doorstep.h. */
#ifndef PROVEOUT_CLI_DOORSTEP_RUN_H
#define PROVEOUT_CLI_DOORSTEP_RUN_H

#include "cli/command.h"

/* Is the window ours alone, and is no command given but at most files, as when they are dropped
 * on the program's picture? */
bool doorstep_is_it(int argc, char *const *argv);

/* Checks those files, and asks what else is wanted until nothing is. */
enum exit_status doorstep_run(struct run *run, int argc, char *const *argv);

#endif
