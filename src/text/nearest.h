/* The nearest known name to a mistyped one, by edit distance (insert, drop, change, swap of
 * neighbours), letters of either case alike. */
#ifndef PROVEOUT_TEXT_NEAREST_H
#define PROVEOUT_TEXT_NEAREST_H

#include "base/view.h"

enum {
    NEAREST_LENGTH_MAX = 64, /* longer names are near nothing */
};

/* Is `name` close enough to `known` to be a slip for it?  Returns the distance, or -1: at most
 * a third of the longer one's letters, and at most 3, may differ. */
int nearest_distance(struct view name, struct view known);

/* The index of the nearest of `count` names, the first of several equally near; -1 where none
 * is near. */
int nearest_of(struct view name, const struct view *names, size_t count);

#endif
