/* The difference of two texts as a unified diff, three lines of context, as `patch -p1` takes
 * it. */
#ifndef PROVEOUT_TEXT_DIFF_H
#define PROVEOUT_TEXT_DIFF_H

#include "base/buffer.h"

/* Adds `--- a/NAME`, `+++ b/NAME` and the hunks; nothing where the texts are equal.  Lines are
 * bytes up to and with LF, so that every byte is accounted for; a last line without one is
 * marked as patch expects.  The bytes are the file's own: a caller that shows them on a
 * terminal escapes them. */
void diff_unified(struct buffer *out, struct view name, struct view before, struct view after);

#endif
