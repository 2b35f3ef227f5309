/* The difference of two texts as a unified diff, three lines of context, as `patch -p1` takes
 * it. */
#ifndef PROVEOUT_TEXT_DIFF_H
#define PROVEOUT_TEXT_DIFF_H

#include "base/buffer.h"

#include <stdbool.h>

/* Adds `--- a/PATH`, `+++ b/PATH` and the hunks; nothing where the texts are equal.  Of the
 * path as much as patch takes: nothing absolute, nothing upwards, and as escape_patch_name has
 * it.  Lines are bytes up to and with LF, so that every byte is accounted for; a last line
 * without one is marked as patch expects.  Texts have less than 4 GB. */
void diff_unified(struct buffer *out, const char *path, struct view before, struct view after);

/* The same for a terminal: escaped, and with `color` what goes red and what comes green. */
void diff_shown(struct buffer *out, const char *path, struct view before, struct view after,
                bool color);

#endif
