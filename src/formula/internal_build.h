/* What the files of the compiler share.
 *
 * A context says where text stands and how it is meant; it is passed down and never changed,
 * only copied. Every emitter gives a node, or NODE_NONE after it has complained.
 */
#ifndef PROVEOUT_FORMULA_INTERNAL_BUILD_H
#define PROVEOUT_FORMULA_INTERNAL_BUILD_H

#include "base/printf.h"
#include "base/vector.h"
#include "formula/compile.h"
#include "formula/internal.h"

/* Formulas as they are written: words and trees, which know no names and no dimensions. */

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

/* Nodes. */

/* A name in scope that is no field: a parameter, or bound by `each` or a quantifier. */
struct binding {
    struct view name;
    uint32_t slot;
    uint8_t type; /* TYPE_RECORD, TYPE_QUANTITY */
    uint8_t kind; /* of records */
    struct dimension dimension;
    const struct binding *next; /* outer */
};

enum { PARAMETERS_MAX = 8, CALLS_MAX = 4096, CALL_DEPTH_MAX = 400, KEEP_KEYS = 4 };

/* A definition as compiled for one kind of arguments. */
struct instance {
    struct instance *next;
    bool nominal, negate, failed;
    const char *trouble; /* why it failed, where that is for the caller to mend; NULL */
    uint32_t call;
    uint32_t depth; /* of everything below, for the evaluator's stack */
    uint32_t calls; /* definitions within each other */
    struct binding parameters[PARAMETERS_MAX];
};

struct definition {
    struct definition *next_in_bucket, *next;
    struct view name;
    const struct ast *head, *body;  /* body NULL: it was wrong */
    uint32_t name_start, name_size; /* in the pool */
    uint32_t base, origin;          /* of the body */
    uint32_t head_origin;
    struct instance *instances;
    bool compiling; /* now: a call would be a circle */
    bool reported;  /* an error in it has been told */
    bool lent;      /* others wrote it: what is wrong in it is wrong with what it was given */
};

/* The call of a lent definition: what does not suit its body is told here, once. */
struct call_site {
    const struct context *caller;
    const struct ast *call;
    const char *trouble; /* what was told; NULL: nothing yet */
};

/* A name that a quantifier binds in a requirement. */
struct bound_in {
    uint32_t requirement;
    struct binding binding;
};

enum { DEFINITION_BUCKETS = 256 };

struct context;

/* Gives the node of an expression, or NODE_NONE after it has complained. */
typedef uint32_t emitter(const struct context *context, const struct ast *ast);

struct formula_builder {
    struct arena *arena;
    const struct environment *environment;
    formula_report *report;
    void *user;
    emitter *emit; /* of any expression: parts are compiled by it */
    VECTOR(struct formula_node) nodes;
    VECTOR(struct formula_call) calls;
    VECTOR(uint8_t) slots; /* their types */
    struct buffer text;    /* the pool */
    struct definition *buckets[DEFINITION_BUCKETS];
    struct definition *first, **last;
    VECTOR(struct bound_in) bound;
    uint32_t below;       /* greatest depth of what was called in the body at hand */
    uint32_t calls_below; /* and the most calls within each other */
    uint32_t compiling;   /* definitions being compiled within each other */
    uint32_t width_count; /* tolerances whose width reads no field */
    size_t errors;
    bool full; /* the limit on nodes was met and told */
};

struct context {
    struct formula_builder *builder;
    uint32_t origin,
        base; /* of the text: the caller's number, and where it starts in the pool */
    const struct binding *names;
    bool nominal; /* tolerances do not count */
    bool negate;  /* the opposite is wanted; only truths heed it */
    bool telling; /* of a message: words are chosen by what may be, not by nominal values */
    bool muted;   /* its errors have been told before */
    bool lenient; /* names that are not known may belong to a requirement that was wrong */
    const struct formula_node
        *margin_of;                /* shown values: the requirement `shortfall` speaks of */
    struct definition *definition; /* whose body this is */
    struct call_site *site;        /* the outermost call that led here from what was lent */
};

/* Something a path has led to. */
struct reached {
    struct env_place place;
    uint8_t part;    /* of a pair */
    uint32_t record; /* node: the record it belongs to, or is; NODE_NONE: the root */
    uint32_t node;   /* set instead where the path is a call or a bound quantity */
};

/* build.c: what compiling the parts of an expression has in common. */
void formula_complain(const struct context *context, uint32_t start, uint32_t end,
                      const char *format, ...) PRINTF(4, 5);
const char *name_of_type(const struct context *context, const struct formula_node *node);
const char *name_of_dimension(const struct context *context, struct dimension dimension);
uint32_t build_node(const struct context *context, const struct ast *ast,
                    struct formula_node model);
struct formula_node *build_at(const struct context *context, uint32_t node);
uint32_t build_slot(struct formula_builder *builder, enum value_type type);
uint32_t build_text(struct formula_builder *builder, struct view text);
struct definition *definition_find(const struct formula_builder *builder, struct view name);

/* A part: of any type, or of that which is wanted. */
emitter emit_any, emit_quantity, emit_truth;

/* Brings two nodes of differing dimension together where one is a number whose unit the trade
 * also writes for the other's. */
void emit_reconcile(const struct context *context, const struct ast *a, uint32_t node_a,
                    const struct ast *b, uint32_t node_b);
/* `a = b`, and the dimension of what a comparison has to spare. */
uint32_t emit_equal(const struct context *context, const struct ast *ast, uint32_t a,
                    uint32_t b);
struct dimension build_margin(const struct formula_node *side);

/* names.c */
bool name_reach(const struct context *context, const struct ast *path, struct reached *out);
bool name_reach_step(const struct context *context, const struct reached *from,
                     struct view name, struct reached *out);
uint32_t name_node(const struct context *context, const struct ast *ast,
                   const struct reached *reached);
bool name_is_free(const struct context *context, const struct ast_name *name, const char *what);
/* Does a definition of this name stand against binding it here?  What was lent may use any: it
 * knows nothing of the definitions of those who use it. */
bool name_is_defined(const struct context *context, struct view name);

/* definitions.c */
emitter emit_call;
void definitions_check(struct formula_builder *builder);

/* logic.c */
emitter emit_logic, emit_if, emit_otherwise, emit_known, emit_is_word, emit_is, emit_has,
    emit_before, emit_matches, emit_quantifier;
bool emit_domain(const struct context *context, const struct ast *path, struct reached *out,
                 struct binding *bound);

/* emit.c: any expression; what `emit` of the builder is. */
emitter emit_expression;

/* walk.c */
/* The first field that evaluating `node` reads, in the order of the text, as a new OP_LEAF or
 * OP_FLAG in terms of the names where `node` stands; NODE_NONE. */
uint32_t walk_first_leaf(struct formula_builder *builder, uint32_t node);

#endif
