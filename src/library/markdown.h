/* Markdown (CommonMark, with what editors add to it) for what is told of a place. */
#ifndef PROVEOUT_LIBRARY_MARKDOWN_H
#define PROVEOUT_LIBRARY_MARKDOWN_H

#include "base/buffer.h"

/* Adds a text that is shown as it is, whatever it holds, on one line: no mark-up, no link,
 * nothing hidden.  It must not stand first in a line where it may begin like an item. */
void markdown_text(struct buffer *out, struct view text);

/* The same in the letters of code. */
void markdown_code(struct buffer *out, struct view text);

/* Begins another paragraph, where something stands before. */
void markdown_paragraph(struct buffer *out);

/* Begins an item of a list. */
void markdown_item(struct buffer *out);

#endif
