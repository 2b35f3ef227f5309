/* Private to `text`: the tables behind utf8_width and escape_is_hidden, and escaping step by
 * step. */
#ifndef PROVEOUT_TEXT_INTERNAL_H
#define PROVEOUT_TEXT_INTERNAL_H

#include "base/view.h"

#include <stdint.h>

/* Code points from `first` to `last`, both with. */
struct point_range {
    uint32_t first, last;
};

/* A sorted list of ranges that do not touch. */
struct point_set {
    const struct point_range *ranges;
    size_t count;
};

extern const struct point_set width_zero; /* combining and other zero-width ones */
extern const struct point_set width_two;  /* East Asian wide and full-width, emoji */
extern const struct point_set
    points_invisible; /* format characters and fillers that show nothing */

bool point_set_has(const struct point_set *set, uint32_t point);

enum { ESCAPE_ROOM = 12 }; /* the longest: \U000e0041 and its terminator */

/* How one code point (or one byte that is not UTF-8) is shown. */
struct escape_piece {
    struct view shown; /* in the text itself, or in `room` */
    size_t cells;
    char room[ESCAPE_ROOM];
};

/* Reads one from the start of `text` (not empty); returns its bytes. */
size_t escape_next(struct view text, struct escape_piece *out);

#endif
