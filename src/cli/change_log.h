/* The log of a machine's changes: a text file to which whole lines are added, and nothing else.
 *
 * Its first line tells what it is; without it nothing is added, so that no file is written into
 * that is something else.  Then a line for each value that was changed, its parts parted by
 * tabs: day, machine file, field, old value, new value, reason.  A value that was not given is
 * empty.
 */
#ifndef PROVEOUT_CLI_CHANGE_LOG_H
#define PROVEOUT_CLI_CHANGE_LOG_H

#include "base/buffer.h"
#include "base/bug.h"

struct change_log {
    const char *path;
    int file;   /* descriptor; -1: not open */
    bool begun; /* it has its first line already */
    bool whole; /* it ends with a line end, or is empty */
};

/* Opens it before anything is changed; a file that is not there is made.  `links`: a symbolic
 * link is followed, as somebody named it at the command line; else it is refused.  NULL on
 * success, else why not in one sentence, with nothing left to be closed. */
MUST_USE const char *change_log_open(struct arena *arena, const char *path, bool links,
                                     struct change_log *out);

/* Adds a part of a line: a text of the file or of the user, in which no byte can end the part
 * or the line, or steer a terminal. */
void change_log_part(struct buffer *lines, struct view text);

/* Adds whole lines at once, and closes it.  NULL on success, else why not. */
MUST_USE const char *change_log_add(struct arena *arena, struct change_log *log,
                                    struct view lines);

#endif
