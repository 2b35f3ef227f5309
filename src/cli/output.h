/* Where a command's output goes: standard output, or a file that appears only when it is whole.
 *
 * A file is saved as platform.h has it; what is no plain file (a device, a pipe) is written
 * straight.
 *
 * The first write that fails is kept; what is written after it goes nowhere.  output_finish
 * tells.
 *
 * Trouble with the run itself goes to standard error in a sentence.
 */
#ifndef PROVEOUT_CLI_OUTPUT_H
#define PROVEOUT_CLI_OUTPUT_H

#include <stdarg.h>

#include "base/buffer.h"
#include "base/bug.h"
#include "base/printf.h"
#include "platform/platform.h"

enum { OUTPUT_ROOM = 65536 };

struct output {
    int file;          /* descriptor */
    int error;         /* errno of the first write that failed, else 0 */
    const char *name;  /* as the user gave it; NULL: standard output */
    struct save *save; /* NULL where it is written straight */
    bool is_terminal;
    bool discarded; /* see output_discard */
    size_t used;
    char *room; /* OUTPUT_ROOM bytes: not yet written */
};

/* `name` NULL: standard output.  NULL on success, else why not. */
MUST_USE const char *output_open(struct output *out, struct arena *arena, const char *name);

void output_write(struct output *out, struct view text);

/* Writes what is held back.  For a terminal that happens after each output_write. */
void output_flush(struct output *out);

/* Does writing still make sense?  Not after a write that failed, nor into the place of a file
 * that was read. */
bool output_is_alive(const struct output *out);

/* Gives up what was written: a file stays as it was. */
void output_discard(struct output *out);

/* Ends the output and puts a file into its place.  NULL on success, else why not; empty where
 * the reader of a pipe has gone, of which nothing needs to be said. */
MUST_USE const char *output_finish(struct output *out, struct arena *arena);

/* Tells that this file is read: an output that would replace it is not written.  For any
 * thread. */
void output_spare(const struct file_about *about);

/* Tells standard error that memory ran out and ends the program with status 2.  Allocates
 * nothing. */
_Noreturn void trouble_no_memory(void);
extern const struct arena_host trouble_host; /* does so for arenas */

/* Writes `proveout: SENTENCE.` to standard error, escaped. */
void trouble_say(struct arena *arena, const char *format, ...) PRINTF(2, 3);

/* The same into a buffer, for saying later. */
void trouble_add(struct buffer *out, const char *format, ...) PRINTF(2, 3);

void trouble_collect(struct buffer *out, const char *format, va_list arguments) PRINTF(2, 0);

/* Writes what was collected. */
void trouble_write(struct view text);

#endif
