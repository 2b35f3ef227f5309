/* The line of a file with a range of it marked, as people see it below a finding.
 *
 *        41 |   probe_stroke: 9 mm
 *           |                 ^^^^
 *
 * Right under tabs, CRLF, a byte order mark, wide and combining characters.  Control characters
 * are shown escaped.  A line longer than the width is cut around the mark, `...` at each cut.
 * A span over several lines is marked to the end of its first.
 */
#ifndef PROVEOUT_TEXT_EXCERPT_H
#define PROVEOUT_TEXT_EXCERPT_H

#include "base/buffer.h"
#include "text/source.h"

/* Adds the two lines, each with its line end, to `out`.  `width`: cells to keep within, at
 * least 40. */
void excerpt_add(struct buffer *out, struct source *source, struct span span, size_t width);

/* Adds one line as it is shown there, without number, mark and line end, in at most `room`
 * cells, at least 12; `mark` are bytes of it. */
void excerpt_line(struct buffer *out, struct view line, struct span mark, size_t room);

#endif
