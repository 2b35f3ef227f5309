/* Places as editors have them: a line and how far into it, both from 0.
 *
 * How far is counted in UTF-16 units unless another unit was agreed on.  A byte that is no
 * UTF-8 counts one unit.  Lines end at LF, CRLF or a lone CR.  A byte order mark counts where
 * the editor has it in its text, and not in a file that it has not opened.
 */
#ifndef PROVEOUT_SERVER_LINES_H
#define PROVEOUT_SERVER_LINES_H

#include "base/arena.h"
#include "base/view.h"

enum line_units { UNITS_UTF16, UNITS_UTF8, UNITS_UTF32 };

struct position {
    size_t line, character;
};

/* The offset of a position.  One behind the end of its line is taken for that end, before what
 * ends the line; one behind the last line for the end of the text; one inside of a character
 * for its beginning. */
size_t position_offset(struct view text, struct position position, enum line_units units);

/* For many positions of one text: where its lines begin. */
struct lines {
    struct view text;
    size_t *starts;
    size_t count;    /* at least 1 */
    bool hides_mark; /* a byte order mark does not count */
};

/* In `arena`; `text` must outlive it. */
void lines_find(struct lines *lines, struct arena *arena, struct view text);

/* The position of an offset; one behind the end is taken for the end. */
struct position lines_position(const struct lines *lines, size_t offset, enum line_units units);

/* The same as position_offset. */
size_t lines_offset(const struct lines *lines, struct position position, enum line_units units);

/* The end of a line, before what ends it. */
size_t lines_end(const struct lines *lines, size_t line);

#endif
