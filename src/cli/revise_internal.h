/* What the parts of a revision that ask share. */
#ifndef PROVEOUT_CLI_REVISE_INTERNAL_H
#define PROVEOUT_CLI_REVISE_INTERNAL_H

#include "cli/input.h"
#include "cli/revise.h"

/* One dialogue about the file of a revision. */
struct dialogue {
    struct revision *revision;
    struct beside beside;
    struct file_reader agreements;
    struct shared_files shared; /* what the machine takes in, as it would be */
    struct check_options rules;
    struct ask_setup setup;
    bool strict;     /* where nobody types, it ends at an answer that is refused */
    struct ask *ask; /* once it has run */
};

/* Sets up all but what is asked for; `dialogue` must stay where it is. */
void dialogue_init(struct dialogue *dialogue, struct revision *revision);

/* False: somebody said stop, or the answers came to an end. */
MUST_USE bool dialogue_run(struct dialogue *dialogue);

enum { FIELDS_MAX = 5 };

/* What is asked for, and what was answered. */
struct asked_places {
    struct revision *revision;
    const struct field_place *places;
    size_t count;
    struct machine_file *start;      /* as it was before the first answer, ... */
    size_t start_count;              /* ... and how many had been set then */
    struct view answers[FIELDS_MAX]; /* to each place; empty: none */
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

/* The same about one cutter, where the words are `cutter 3`, by its number or what it is, or
 * `add cutter`. */
MUST_USE bool revise_ask_cutter(struct revision *revision, const char *const *words,
                                size_t count, size_t *used, enum revise_end *end);

/* Makes an agreement about a field with the number that stands where --at says, where the words
 * are `agree FIELD`; false where they are not. */
MUST_USE bool revise_ask_agreement(struct revision *revision, const char *const *words,
                                   size_t count, size_t *used, enum revise_end *end);

#endif
