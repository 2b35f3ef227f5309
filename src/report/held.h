/* What an output holds back until the end of the run, since whoever takes it in sets a limit:
 * lines, of which the least are left out where there are too many.
 *
 * A line begins with two bytes: how grave it is, '0' the gravest, and the part of the output that
 * it belongs to.  Of lines alike in that, the first ones stay.  What is held never takes more
 * memory than some times the limit.
 */
#ifndef PROVEOUT_REPORT_HELD_H
#define PROVEOUT_REPORT_HELD_H

#include "report/internal.h"

struct report_limit {
    size_t lines, bytes;
};

/* Line after line of a part, in order: `at` is 0 at first.  False: there are no more. */
bool held_next(const struct report_held *held, char part, size_t *at, struct view *line);

/* Leaves out what is too much, and gives how many of a part that were. */
size_t held_left_out(struct report_held *held, char part);

#endif
