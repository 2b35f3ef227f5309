/* Trouble with the run itself: sentences for standard error, and lack of memory. */
#ifndef PROVEOUT_CLI_TROUBLE_H
#define PROVEOUT_CLI_TROUBLE_H

#include <stdarg.h>

#include "base/buffer.h"

/* Tells standard error that memory ran out and ends the program with status 2.  Allocates
 * nothing. */
_Noreturn void trouble_no_memory(void);
extern const struct arena_host trouble_host; /* does so for arenas */

/* Writes `proveout: SENTENCE.` to standard error, escaped. */
void trouble_say(struct arena *arena, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* The same into a buffer, for saying later. */
void trouble_add(struct buffer *out, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

void trouble_collect(struct buffer *out, const char *format, va_list arguments)
    __attribute__((format(printf, 2, 0)));

/* Writes what was collected. */
void trouble_write(struct view text);

/* An errno in plain words, without a full stop: "there is no such file". */
const char *trouble_reason(struct arena *arena, int error);

#endif
