/* The machine file that the answers give: a new one, or the old one with what has changed. */
#ifndef PROVEOUT_ASK_WRITE_H
#define PROVEOUT_ASK_WRITE_H

#include "ask/questions.h"

/* A new file, written from nothing.  `until`: only the first so many entries of the sequence.
 * `explained`: each key with a comment; else bare, for checking. */
struct view compose_new(struct arena *arena, const struct answers *answers,
                        const struct ask_sequence *sequence, size_t until, bool explained);

/* `base` with every answer in it that is not the file's own.  NULL on success (`*out` is the
 * new bytes), else why not, with the answer that cannot be put in. */
MUST_USE const char *compose_amended(struct arena *arena, const struct answers *answers,
                                     const struct ask_sequence *sequence, struct view base,
                                     struct view *out);

const char *answer_source_name(enum answer_source source); /* "asked", "default", "computed" */

#endif
