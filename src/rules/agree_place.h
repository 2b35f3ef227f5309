/* Making an agreement for a number that stands somewhere in the controller's own file.
 *
 * Nothing is known of that file's form.  A pattern is made of what stands beside the number on
 * its line: of the words before it, by which it is called there, and of as much more as it takes
 * to find that number and no other in the whole file.
 */
#ifndef PROVEOUT_RULES_AGREE_PLACE_H
#define PROVEOUT_RULES_AGREE_PLACE_H

#include "base/arena.h"
#include "base/bug.h"
#include "quantity/unit.h"
#include "text/source.h"

enum { LINE_NUMBERS_MAX = 32 };

/* The numbers on a line, from left to right, at most `room`; returns how many there are. */
size_t line_numbers(struct view bytes, struct span line, struct span *out, size_t room);

/* A pattern that finds `number`, one of these, as the group `value`, and nothing else in
 * `bytes`; what another number would be in its place it finds as well.  In `arena`, UTF-8.
 * NULL: `*why` says why there is none, a sentence without a full stop. */
MUST_USE const char *place_pattern(struct arena *arena, struct view bytes, struct span line,
                                   struct span number, const char **why);

/* The units of `dimension` in which a number as it is written says `si`, to its digits, usual
 * ones first; at most `room`. */
size_t place_units(struct view number, struct dimension dimension, double si, unit_id *out,
                   size_t room);

#endif
