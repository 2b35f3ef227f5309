/* Running the examples that every rule carries. */
#ifndef PROVEOUT_RULES_PROVE_H
#define PROVEOUT_RULES_PROVE_H

#include "base/buffer.h"
#include "rules/load.h"

/* Loads `texts` as a rulebook (`user_book`: on top of the built-in definitions, beside the
 * built-in rules) and runs each example of each rule on the base machine of the built-in texts.
 * Writes TAP, version 14, into `tap`.  Mistakes of a rulebook that does not load are left in
 * `mistakes`, and nothing is written.  True when every example came out as it says. */
MUST_USE bool rules_prove(struct rulebook_mistakes *mistakes, const struct rulebook_text *texts,
                          size_t count, bool user_book, struct buffer *tap);

/* An example that did not come out as it says. */
struct differing_example {
    struct source *source;
    struct span span; /* of the example */
    const char *rule, *message;
};

struct differing_examples {
    VECTOR(struct differing_example) list;
};

/* The same of the first of a user's texts; false where they do not load, with why in `mistakes`.
 * What is found lives in its arena. */
MUST_USE bool rules_prove_first(struct rulebook_mistakes *mistakes,
                                const struct rulebook_text *texts, size_t count,
                                struct differing_examples *out);

#endif
