/* Formulas as they are written: words and trees.  Knows no names and no dimensions. */
#ifndef PROVEOUT_FORMULA_INTERNAL_SYNTAX_H
#define PROVEOUT_FORMULA_INTERNAL_SYNTAX_H

#include "base/arena.h"
#include "base/bug.h"
#include "base/view.h"
#include "quantity/unit.h"

#include <stdint.h>

enum lexeme_kind {
    LEX_END,
    LEX_NAME,    /* words of the language too; `word` tells */
    LEX_NUMBER,  /* with its unit */
    LEX_TEXT,    /* in quotes */
    LEX_SIGN,    /* an operator or punctuation; `word` tells */
    LEX_TROUBLE, /* `message` tells */
};

/* Words and signs of the language. */
enum word {
    WORD_NONE,
    WORD_IF,
    WORD_THEN,
    WORD_ELSE,
    WORD_OR,
    WORD_AND,
    WORD_NOT,
    WORD_INSIDE,
    WORD_IS,
    WORD_HAS,
    WORD_BEFORE,
    WORD_MATCHES,
    WORD_OTHERWISE,
    WORD_NOMINAL,
    WORD_KNOWN,
    WORD_EVERY,
    WORD_ANY,
    WORD_COUNT,
    WORD_DISTINCT,
    WORD_LARGEST,
    WORD_SMALLEST,
    WORD_FOR,
    WORD_IN,
    WORD_WHERE,
    WORD_PI,
    WORD_YES,
    WORD_NO,
    WORD_MIN,
    WORD_MAX,
    WORD_ABS,
    WORD_SQRT,
    WORD_HYPOT,
    WORD_DISTANCE,
    WORD_LAST_NAME = WORD_DISTANCE,
    SIGN_OPEN,
    SIGN_CLOSE,
    SIGN_COMMA,
    SIGN_DOT,
    SIGN_DOTS,
    SIGN_PLUS,
    SIGN_MINUS,
    SIGN_TIMES,
    SIGN_OVER,
    SIGN_POWER,
    SIGN_WIDEN,
    SIGN_LESS,
    SIGN_LEAST_LESS,
    SIGN_MORE,
    SIGN_LEAST_MORE,
    SIGN_EQUAL,
};

struct lexeme {
    enum lexeme_kind kind;
    enum word word;
    uint32_t start, end; /* bytes in the text */
    double number;       /* LEX_NUMBER: as typed */
    unit_id unit;        /* LEX_NUMBER: UNIT_BARE for none */
    const char *message; /* LEX_TROUBLE */
};

/* The lexeme that starts at or after byte `from`. */
void lex_next(struct view text, size_t from, struct arena *arena, struct lexeme *out);

enum ast_kind {
    AST_NUMBER,  /* number, unit */
    AST_TEXT,    /* name: what is between the quotes */
    AST_PATH,    /* names */
    AST_CALL,    /* name, items: arguments */
    AST_BUILTIN, /* word: min ... distance; items */
    AST_PI,
    AST_TRUTH, /* word: yes or no */
    AST_NEGATE,
    AST_NOMINAL,
    AST_KNOWN,
    AST_NOT, /* a */
    AST_ADD,
    AST_SUBTRACT,
    AST_MULTIPLY,
    AST_DIVIDE, /* a, b */
    AST_POWER,  /* a, number */
    AST_WIDEN,
    AST_OTHERWISE,
    AST_AND,
    AST_OR,         /* a, b */
    AST_COMPARE,    /* a, b, word */
    AST_INSIDE,     /* a, b, c */
    AST_IS_WORD,    /* a, name; negate */
    AST_IS,         /* a, b; negate */
    AST_HAS,        /* a, name */
    AST_BEFORE,     /* name, name2, a */
    AST_MATCHES,    /* a, b: AST_TEXT */
    AST_IF,         /* a, b, c */
    AST_QUANTIFIER, /* word; a: body, b: where or NULL, c: domain; name */
};

struct ast_name {
    struct view text;
    uint32_t start, end;
};

struct ast {
    enum ast_kind kind;
    enum word word;
    uint32_t start, end;
    uint32_t depth;
    bool negate;
    unit_id unit;
    double number;
    struct ast_name name, name2;
    const struct ast *a, *b, *c;
    const struct ast **items; /* arguments */
    const struct ast_name *names;
    uint32_t count; /* of items or names */
};

/* Where and why a text is no formula. */
struct syntax_trouble {
    uint32_t start, end;
    const char *message;
};

enum { SYNTAX_CHAIN_MAX = 100, SYNTAX_ITEMS_MAX = 32 };

/* Reads a whole text as a formula; NULL (trouble written) where it is none. */
MUST_USE const struct ast *syntax_read(struct arena *arena, struct view text,
                                       struct syntax_trouble *trouble);

/* "c in cutters" as an AST_QUANTIFIER without body; a definition's head "gap(c)" as an AST_CALL
 * whose items are AST_PATHs of one name each. */
MUST_USE const struct ast *syntax_each(struct arena *arena, struct view text,
                                       struct syntax_trouble *trouble);
MUST_USE const struct ast *syntax_head(struct arena *arena, struct view text,
                                       struct syntax_trouble *trouble);

#endif
