/* How far a long run is, on one line of standard error, where that is a terminal: never in a
 * pipe, never before a second has gone, and never below lines of output that tell it anyway.
 */
#ifndef PROVEOUT_CLI_PROGRESS_H
#define PROVEOUT_CLI_PROGRESS_H

#include <stdbool.h>
#include <stddef.h>

struct progress {
    bool is_shown; /* wanted at all */
    bool is_there; /* a line stands on the terminal */
    size_t done, count;
    double start, last; /* seconds of a clock that only goes forward */
};

/* `is_told`: whoever waits sees it by the output. */
void progress_begin(struct progress *progress, size_t count, bool is_told);
void progress_step(struct progress *progress, size_t done);

/* Takes the line away: also before anything else is said. */
void progress_end(struct progress *progress);

#endif
