/* Loading rulebooks: from YAML text to struct rulebook, every mistake at its line and column.
 *
 * Several files are compiled into one rulebook, definitions first, so that a file may use what
 * another defines.
 */
#ifndef PROVEOUT_RULES_LOAD_H
#define PROVEOUT_RULES_LOAD_H

#include "base/buffer.h"
#include "finding/sink.h"
#include "rules/rulebook.h"

/* A mistake in a rulebook. */
struct rulebook_mistake {
    struct source *source;
    struct span span;
    const char *message;
};

struct rulebook_mistakes {
    struct arena *arena;
    VECTOR(struct rulebook_mistake) list; /* in the order of files and places once it is done */
};

/* Loads `count` texts as one rulebook.  `shared` texts (may be none) give definitions only.
 * True when there was no mistake; `*out` is written only then.  A rule that lacks the examples
 * which each must carry is one. */
MUST_USE bool rulebook_load(struct rulebook_mistakes *mistakes,
                            const struct rulebook_text *texts, size_t count,
                            const struct rulebook_text *shared, size_t shared_count,
                            struct rulebook *out);

/* Is this text a rulebook (its first key is `rulebook`)?  The base machine of the examples and
 * the reader's own findings are not. */
bool rulebook_is_text(const struct rulebook_text *text);

/* The built-in texts that are rulebooks, in the order of the catalogue; `*out` is in `arena`.
 */
size_t rulebook_builtin_texts(struct arena *arena, struct rulebook_text **out);

/* The machine on which the examples of rules are run; NULL: it is not built in. */
const struct rulebook_text *rulebook_base_machine(void);

/* Loads `count` texts of a user, who may use the definitions of the built-in ones. */
MUST_USE bool rulebook_load_own(struct rulebook_mistakes *mistakes,
                                const struct rulebook_text *texts, size_t count,
                                struct rulebook *out);

/* The mistakes, a line each in the form of GNU error messages, the last without its end.  `add`
 * puts in what comes from the rulebooks: buffer_add, or something that makes it harmless. */
const char *rulebook_mistakes_text(const struct rulebook_mistakes *mistakes,
                                   void (*add)(struct buffer *out, struct view text));

#endif
