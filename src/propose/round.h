/* Numbers as people set them. */
#ifndef PROVEOUT_PROPOSE_ROUND_H
#define PROVEOUT_PROPOSE_ROUND_H

#include "propose/seek.h"

/* Rounds each number of `inout` that differs from what the file has to whole steps, finer ones
 * where nothing else keeps the least margin at or above 0, and writes their texts: NULL for
 * what does not differ.  False where there are none. */
MUST_USE bool round_numbers(struct margins *margins, struct sought *inout, const char **texts);

#endif
