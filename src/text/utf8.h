/* UTF-8: reading, checking, and how wide a text is on a terminal. */
#ifndef PROVEOUT_TEXT_UTF8_H
#define PROVEOUT_TEXT_UTF8_H

#include "base/view.h"

#include <stdint.h>

/* Reads the code point at the start of `text` (not empty).  Returns its length in bytes and
 * sets `*point`; at bytes that are no UTF-8 (overlong, surrogate, beyond U+10FFFF, cut off)
 * returns 0 and leaves `*point` alone. */
size_t utf8_read(struct view text, uint32_t *point);

/* Writes a code point; how many bytes, 0 for what is none (a surrogate, beyond U+10FFFF). */
size_t utf8_write(uint32_t point, char bytes[4]);

/* The offset of the first byte that is not UTF-8, or text.size where all is. */
size_t utf8_check(struct view text);

/* Is there nothing to see in it: white space of any kind (Unicode's White_Space), controls,
 * fillers and what else shows nothing? */
bool utf8_is_blank(struct view text);

/* Terminal cells of a code point: 0 for combining and other zero-width ones and for control
 * characters, 2 for East Asian wide and emoji, else 1.  From the Unicode data named beside the
 * table. */
int utf8_width(uint32_t point);

/* Terminal cells of a text that has no tabs; a byte that is not UTF-8 counts 1. */
size_t utf8_cells(struct view text);

#endif
