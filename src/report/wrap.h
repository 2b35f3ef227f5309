/* Prose for people, broken at blanks to keep within a width.
 *
 *     put right: lengthen the stroke, or list
 *         the stick-out of the short cutter
 *
 * The texts may come from anywhere: what must not reach a terminal is escaped here.  A line end
 * in the text counts as a blank.  A word longer than the width stands on a line of its own and
 * is not broken, so that paths can be copied whole.
 */
#ifndef PROVEOUT_REPORT_WRAP_H
#define PROVEOUT_REPORT_WRAP_H

#include "base/buffer.h"
#include "base/printf.h"

enum { WRAP_LEAST = 40, WRAP_MOST = 100 };

struct wrap {
    size_t width;       /* cells to keep within */
    size_t first, rest; /* cells of indentation, of the first line and of those that follow */
};

/* Adds `text` as one paragraph with its line end; nothing at all for an empty one. */
void wrap_add(struct buffer *out, const struct wrap *wrap, struct view text);

/* The same behind `begun` cells that the first line holds already. */
void wrap_after(struct buffer *out, const struct wrap *wrap, size_t begun, struct view text);

/* The same for what a printf format gives (no floating point). */
void wrap_format(struct buffer *out, const struct wrap *wrap, const char *format, ...)
    PRINTF(3, 4);

/* Two columns: `name` at the left, `text` wrapped from cell `column` on.  A name that reaches
 * into the second column has a line of its own.  `name` is escaped too. */
void wrap_row(struct buffer *out, size_t width, size_t column, const char *name,
              struct view text);

/* A width within WRAP_LEAST .. WRAP_MOST. */
size_t wrap_width(size_t width);

#endif
