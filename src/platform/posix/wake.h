/* Waiting for what a terminal gives, and for signals. */
#ifndef PROVEOUT_PLATFORM_POSIX_WAKE_H
#define PROVEOUT_PLATFORM_POSIX_WAKE_H

#include "platform/internal.h"

enum { LINE_WOKEN_NONE = 0 };

/* Waits until there is something to read.  0, or the number of a signal that came first,
 * SIGPIPE where nobody can see the question; -1 where waiting fails. */
int line_wait(const struct line_place *place);

/* How a line ends that did not come because waiting gave `woken`. */
enum line_result line_woken(int woken);

#endif
