/* The rulebooks of a run: those built in, and the user's own. */
#ifndef PROVEOUT_CLI_BOOKS_H
#define PROVEOUT_CLI_BOOKS_H

#include "cli/command.h"
#include "rules/rulebook.h"

/* Texts of rulebooks. */
struct book_texts {
    struct rulebook_text *items;
    size_t count;
};

struct policy;

struct books {
    const struct rulebook *list[2]; /* the built-in one first */
    size_t count;
    struct book_texts own;       /* of the user */
    const struct policy *policy; /* that holds where they are asked; NULL: none */
};

/* Loads the rulebooks that --rulebook names.  False: every mistake in them has been said. */
MUST_USE bool books_load(struct run *run, struct books *out);

/* Reads files as texts of rulebooks.  False: said. */
MUST_USE bool books_read(struct run *run, const char *const *paths, size_t count,
                         struct book_texts *out);

/* Says what is wrong in rulebooks, in the form of GNU error messages. */
void books_complain(struct run *run, const struct rulebook_mistakes *mistakes);

#endif
