/* Text of any kind as mdoc: nothing in it is ever taken for a request, a macro or an escape. */
#ifndef PROVEOUT_MANUAL_ROFF_H
#define PROVEOUT_MANUAL_ROFF_H

#include "base/buffer.h"

/* Adds prose as lines of its own, each sentence beginning one; what stands in backquotes is
 * literal.  Nothing for an empty text. */
void roff_prose(struct buffer *out, struct view text);

/* Adds words behind a macro on its line, a blank before each. */
void roff_words(struct buffer *out, struct view text);

/* Adds a line that is shown as it is. */
void roff_line(struct buffer *out, struct view text);

#endif
