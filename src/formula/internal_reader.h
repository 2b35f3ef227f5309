/* What the files share that make trees of words. */
#ifndef PROVEOUT_FORMULA_INTERNAL_READER_H
#define PROVEOUT_FORMULA_INTERNAL_READER_H

#include "formula/internal_syntax.h"

struct reader {
    struct arena *arena;
    struct view text;
    struct lexeme now;
    uint32_t last_end; /* of the lexeme before */
    uint32_t depth;    /* of nesting */
    bool failed;
    struct syntax_trouble *trouble;
};

/* Notes what is wrong, if nothing was before.  Gives NULL. */
const struct ast *reader_fail(struct reader *r, uint32_t start, uint32_t end,
                              const char *message);
/* The same at the present lexeme, which is not what is wanted. */
const struct ast *reader_wanted(struct reader *r, const char *wanted);

void reader_advance(struct reader *r);
bool reader_at(const struct reader *r, enum word word);
bool reader_accept(struct reader *r, enum word word);
bool reader_expect(struct reader *r, enum word word, const char *wanted);
/* Nesting that takes the reader deeper; who calls it takes one off `depth` again. */
bool reader_enter(struct reader *r);

struct ast_name reader_here(const struct reader *r);
/* Any name, words of the language too. */
bool reader_name(struct reader *r, struct ast_name *out, const char *wanted);

/* A copy of `model` in the arena, ending where the last lexeme did. */
const struct ast *reader_make(struct reader *r, struct ast model);

const struct ast *reader_path(struct reader *r);
const struct ast *reader_primary(struct reader *r);
const struct ast *reader_expression(struct reader *r);

#endif
