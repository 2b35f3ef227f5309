/* Writing a machine file back: the whole new one, or the old one as it was. */
#ifndef PROVEOUT_CLI_SAVE_H
#define PROVEOUT_CLI_SAVE_H

#include "base/bug.h"
#include "base/view.h"

struct arena;

/* Puts `after` in the place of a file that said `before`: written beside it, synced and
 * renamed, with its rights and its owner; of a link the target.  NULL on success, else why not,
 * and the file is as it was.  Refuses where somebody else has changed it meanwhile. */
MUST_USE const char *save_over(struct arena *arena, const char *path, struct view before,
                               struct view after);

#endif
