/* A growing text in an arena.
 *
 * It doubles.  What it outgrows stays in the arena until that goes, if it is
 * small.  The text is always terminated.
 */
#ifndef PROVEOUT_BASE_BUFFER_H
#define PROVEOUT_BASE_BUFFER_H

#include <stdarg.h>

#include "base/arena.h"
#include "base/printf.h"
#include "base/view.h"

struct buffer {
    struct arena *arena;
    char *data; /* NULL until the first byte */
    size_t size, capacity;
};

void buffer_init(struct buffer *buffer, struct arena *arena);
void buffer_add(struct buffer *buffer, struct view text);
void buffer_text(struct buffer *buffer, const char *text); /* terminated */
void buffer_byte(struct buffer *buffer, char byte);
void buffer_fill(struct buffer *buffer, char byte, size_t count);

/* printf into the buffer.  No floating point: numbers are written by `quantity`. */
void buffer_format(struct buffer *buffer, const char *format, ...) PRINTF(2, 3);
void buffer_format_list(struct buffer *buffer, const char *format, va_list arguments)
    PRINTF(2, 0);

/* Its text so far, terminated; good until the next addition. */
const char *buffer_string(struct buffer *buffer);
struct view buffer_view(const struct buffer *buffer);

/* Shorthand: a formatted, terminated text in `arena`. */
char *arena_format(struct arena *arena, const char *format, ...) PRINTF(2, 3);

#endif
