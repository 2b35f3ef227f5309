/* Signals as something to wait for: their numbers come out of a pipe. */
#ifndef PROVEOUT_CLI_WAKE_H
#define PROVEOUT_CLI_WAKE_H

#include <stdbool.h>

/* Catches SIGINT, SIGHUP and SIGTERM, and where lines are edited SIGTSTP and SIGWINCH.  Returns
 * the descriptor to wait for, -1 where there is none. */
int wake_open(bool edits);

#endif
