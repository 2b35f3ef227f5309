/* What the parts of a revision that ask share. */
#ifndef PROVEOUT_CLI_REVISE_INTERNAL_H
#define PROVEOUT_CLI_REVISE_INTERNAL_H

#include "cli/revise.h"

enum { FIELDS_MAX = 5 };

/* What is asked for, and what was answered. */
struct asked_places {
    struct revision *revision;
    const struct field_place *places;
    size_t count;
    struct machine_file *start;      /* as it was before the first answer, ... */
    size_t start_count;              /* ... and how many had been set then */
    struct view answers[FIELDS_MAX]; /* to each place; empty: none */
    struct shared_files shared;      /* what the machine takes in, as it would be */
};

/* Asks for the `places` of `asked`, of which `revision`, `places` and `count` are set.  False:
 * somebody said stop, or the answers came to an end. */
MUST_USE bool ask_places(struct asked_places *asked);

/* How many of them got another value. */
size_t asked_count(const struct asked_places *asked);

/* What goes before all questions about a machine that stands there. */
void say_cautions(struct revision *revision);

/* Asks for what has to be measured again where the first of the words is a thing that can be
 * moved; false where it is none.  `*used`, `*end` as of revise_ask. */
MUST_USE bool revise_ask_moved(struct revision *revision, const char *const *words,
                               size_t count, size_t *used, enum revise_end *end);

#endif
