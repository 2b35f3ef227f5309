/* Formulas from words to trees.
 *
 * Plain descent, one function a level of precedence.  The first thing that does not fit ends
 * the reading: what follows could only be guessed at.  Depth is counted, so that no text can
 * exhaust the stack here or in what walks the tree later.
 */
#include "formula/internal_build.h"

#include "base/buffer.h"
#include "text/escape.h"

enum { FOUND_CELLS = 40 };

struct reader {
    struct arena *arena;
    struct view text;
    struct lexeme now;
    uint32_t last_end; /* of the lexeme before */
    uint32_t depth;    /* of nesting */
    bool failed;
    struct syntax_trouble *trouble;
};

static const struct ast *reader_expression(struct reader *r);

static const struct ast *reader_fail(struct reader *r, uint32_t start, uint32_t end,
                                     const char *message)
{
    if (!r->failed)
        *r->trouble = (struct syntax_trouble){start, end, message};
    r->failed = true;
    return NULL;
}

/* "expected ..., found ..." at the present lexeme. */
static const struct ast *reader_wanted(struct reader *r, const char *wanted)
{
    if (r->now.kind == LEX_TROUBLE)
        return reader_fail(r, r->now.start, r->now.end, r->now.message);
    if (r->now.kind == LEX_END)
        return reader_fail(
            r, r->now.start, r->now.end,
            arena_format(r->arena, "the formula ends where %s is expected", wanted));
    struct view found = {r->text.data + r->now.start, r->now.end - r->now.start};
    return reader_fail(r, r->now.start, r->now.end,
                       arena_format(r->arena, "`%s` stands where %s is expected",
                                    escape_short(r->arena, found, FOUND_CELLS), wanted));
}

static void reader_advance(struct reader *r)
{
    r->last_end = r->now.end;
    lex_next(r->text, r->now.end, r->arena, &r->now);
}

static bool reader_at(const struct reader *r, enum word word)
{
    return (r->now.kind == LEX_NAME || r->now.kind == LEX_SIGN) && r->now.word == word;
}

static bool reader_accept(struct reader *r, enum word word)
{
    if (!reader_at(r, word))
        return false;
    reader_advance(r);
    return true;
}

static bool reader_expect(struct reader *r, enum word word, const char *wanted)
{
    if (reader_accept(r, word))
        return true;
    reader_wanted(r, wanted);
    return false;
}

/* Nesting that takes the reader deeper. */
static bool reader_enter(struct reader *r)
{
    if (++r->depth <= FORMULA_DEPTH_MAX)
        return true;
    reader_fail(r, r->now.start, r->now.end, "this formula is nested too deep");
    return false;
}

static uint32_t deeper(uint32_t depth, const struct ast *below)
{
    return below && below->depth >= depth ? below->depth + 1 : depth;
}

/* A copy of `model` in the arena, ending where the last lexeme did. */
static const struct ast *reader_make(struct reader *r, struct ast model)
{
    if (r->failed)
        return NULL;
    model.end = r->last_end;
    model.depth = deeper(deeper(deeper(1, model.a), model.b), model.c);
    for (uint32_t i = 0; model.items && i < model.count; i++)
        model.depth = deeper(model.depth, model.items[i]);
    if (model.depth > SYNTAX_CHAIN_MAX)
        return reader_fail(r, model.start, model.end,
                           "this formula is too long: give parts of it names of their own");
    struct ast *out = ARENA_NEW(r->arena, struct ast);
    *out = model;
    return out;
}

static struct ast_name reader_here(const struct reader *r)
{
    return (struct ast_name){
        {r->text.data + r->now.start, r->now.end - r->now.start}, r->now.start, r->now.end};
}

/* Any name, words of the language too. */
static bool reader_name(struct reader *r, struct ast_name *out, const char *wanted)
{
    if (r->now.kind != LEX_NAME) {
        reader_wanted(r, wanted);
        return false;
    }
    *out = reader_here(r);
    reader_advance(r);
    return true;
}

/* A name that is no word of the language. */
static bool read_own_name(struct reader *r, struct ast_name *out, const char *wanted)
{
    if (r->now.kind == LEX_NAME && r->now.word != WORD_NONE) {
        reader_wanted(r, wanted);
        return false;
    }
    return reader_name(r, out, wanted);
}

static const struct ast *reader_path(struct reader *r)
{
    uint32_t start = r->now.start;
    VECTOR(struct ast_name) names = {0};
    struct ast_name name;
    if (!read_own_name(r, &name, "a field"))
        return NULL;
    VECTOR_ADD(r->arena, &names, name);
    while (reader_accept(r, SIGN_DOT)) {
        if (!reader_name(r, &name, "a name"))
            return NULL;
        VECTOR_ADD(r->arena, &names, name);
    }
    return reader_make(r, (struct ast){.kind = AST_PATH,
                                       .start = start,
                                       .names = names.items,
                                       .count = (uint32_t)names.count});
}

/* Arguments up to the closing parenthesis; the opening one is behind us. */
static bool read_arguments(struct reader *r, struct ast *call)
{
    VECTOR(const struct ast *) items = {0};
    do {
        if (items.count == SYNTAX_ITEMS_MAX) {
            reader_fail(r, r->now.start, r->now.end,
                        "there are too many values in these parentheses");
            return false;
        }
        const struct ast *item = reader_expression(r);
        if (!item)
            return false;
        VECTOR_ADD(r->arena, &items, item);
    } while (reader_accept(r, SIGN_COMMA));
    call->items = items.items;
    call->count = (uint32_t)items.count;
    return reader_expect(r, SIGN_CLOSE, "`,` or `)`");
}

static const struct ast *read_named(struct reader *r)
{
    struct ast_name name = reader_here(r);
    struct lexeme after;
    lex_next(r->text, r->now.end, r->arena, &after);
    bool calls = after.kind == LEX_SIGN && after.word == SIGN_OPEN;
    if (!calls)
        return reader_path(r);
    struct ast call = {.kind = AST_CALL, .start = name.start, .name = name};
    reader_advance(r);
    reader_advance(r);
    if (!read_arguments(r, &call))
        return NULL;
    if (reader_at(r, SIGN_DOT))
        return reader_fail(r, r->now.start, r->now.end,
                           "only a field can be followed by `.` and a name");
    return reader_make(r, call);
}

static const struct ast *read_builtin(struct reader *r)
{
    struct ast call = {.kind = AST_BUILTIN,
                       .word = r->now.word,
                       .start = r->now.start,
                       .name = reader_here(r)};
    reader_advance(r);
    if (!reader_expect(r, SIGN_OPEN, "`(`") || !read_arguments(r, &call))
        return NULL;
    return reader_make(r, call);
}

static const struct ast *read_if(struct reader *r)
{
    struct ast out = {.kind = AST_IF, .start = r->now.start};
    reader_advance(r);
    out.a = reader_expression(r);
    if (!out.a || !reader_expect(r, WORD_THEN, "`then`"))
        return NULL;
    out.b = reader_expression(r);
    if (!out.b || !reader_expect(r, WORD_ELSE, "`else`"))
        return NULL;
    out.c = reader_expression(r);
    return reader_make(r, out);
}

/* "c in cutters" */
static bool read_each(struct reader *r, struct ast *out)
{
    if (!read_own_name(r, &out->name, "a name for each of them") ||
        !reader_expect(r, WORD_IN, "`in`"))
        return false;
    out->c = reader_path(r);
    return out->c != NULL;
}

static const struct ast *read_quantifier(struct reader *r)
{
    struct ast out = {.kind = AST_QUANTIFIER, .word = r->now.word, .start = r->now.start};
    reader_advance(r);
    out.a = reader_expression(r);
    if (!out.a || !reader_expect(r, WORD_FOR, "`for`") || !read_each(r, &out))
        return NULL;
    if (reader_accept(r, WORD_WHERE)) {
        out.b = reader_expression(r);
        if (!out.b)
            return NULL;
    }
    return reader_make(r, out);
}

static const struct ast *read_parentheses(struct reader *r)
{
    uint32_t start = r->now.start;
    reader_advance(r);
    const struct ast *inner = reader_expression(r);
    if (!inner || !reader_expect(r, SIGN_CLOSE, "`)`"))
        return NULL;
    if (reader_at(r, SIGN_DOT))
        return reader_fail(r, r->now.start, r->now.end,
                           "only a field can be followed by `.` and a name");
    bool plain =
        inner->kind == AST_NUMBER || inner->kind == AST_PATH || inner->kind == AST_TEXT;
    if (plain)
        return inner;
    struct ast *out = ARENA_NEW(r->arena, struct ast);
    *out = *inner;
    out->start = start; /* what messages point at includes them */
    out->end = r->last_end;
    return out;
}

static const struct ast *read_literal(struct reader *r, struct ast model)
{
    model.start = r->now.start;
    model.word = r->now.word;
    reader_advance(r);
    return reader_make(r, model);
}

static const struct ast *read_word_primary(struct reader *r)
{
    switch (r->now.word) {
    case WORD_NONE:
        return read_named(r);
    case WORD_IF:
        return read_if(r);
    case WORD_PI:
        return read_literal(r, (struct ast){.kind = AST_PI});
    case WORD_YES:
    case WORD_NO:
        return read_literal(r, (struct ast){.kind = AST_TRUTH});
    case WORD_MIN:
    case WORD_MAX:
    case WORD_ABS:
    case WORD_SQRT:
    case WORD_HYPOT:
    case WORD_DISTANCE:
        return read_builtin(r);
    case WORD_EVERY:
    case WORD_ANY:
    case WORD_COUNT:
    case WORD_DISTINCT:
    case WORD_LARGEST:
    case WORD_SMALLEST:
        return read_quantifier(r);
    default:
        return reader_wanted(r, "a value");
    }
}

static const struct ast *reader_primary(struct reader *r)
{
    if (r->now.kind == LEX_NAME)
        return read_word_primary(r);
    if (r->now.kind == LEX_NUMBER)
        return read_literal(
            r, (struct ast){.kind = AST_NUMBER, .number = r->now.number, .unit = r->now.unit});
    if (r->now.kind == LEX_TEXT) {
        struct ast_name name = reader_here(r);
        name.text = (struct view){name.text.data + 1, name.text.size - 2};
        name.start++;
        name.end--;
        return read_literal(r, (struct ast){.kind = AST_TEXT, .name = name});
    }
    if (reader_at(r, SIGN_OPEN))
        return read_parentheses(r);
    return reader_wanted(r, "a value");
}

static struct reader reader_start(struct arena *arena, struct view text,
                                  struct syntax_trouble *trouble)
{
    struct reader r = {.arena = arena, .text = text, .trouble = trouble};
    lex_next(text, 0, arena, &r.now);
    return r;
}

static const struct ast *finish(struct reader *r, const struct ast *out)
{
    if (!out || r->failed)
        return NULL;
    if (r->now.kind != LEX_END)
        return reader_wanted(r, "the end or an operator");
    return out;
}

const struct ast *syntax_read(struct arena *arena, struct view text,
                              struct syntax_trouble *trouble)
{
    struct reader r = reader_start(arena, text, trouble);
    return finish(&r, reader_expression(&r));
}

const struct ast *syntax_each(struct arena *arena, struct view text,
                              struct syntax_trouble *trouble)
{
    struct reader r = reader_start(arena, text, trouble);
    struct ast out = {.kind = AST_QUANTIFIER, .start = r.now.start};
    if (!read_each(&r, &out))
        return NULL;
    return finish(&r, reader_make(&r, out));
}

const struct ast *syntax_head(struct arena *arena, struct view text,
                              struct syntax_trouble *trouble)
{
    struct reader r = reader_start(arena, text, trouble);
    struct ast out = {.kind = AST_CALL, .start = r.now.start};
    if (!read_own_name(&r, &out.name, "the name of a definition"))
        return NULL;
    if (reader_accept(&r, SIGN_OPEN) && !read_arguments(&r, &out))
        return NULL;
    for (uint32_t i = 0; i < out.count; i++)
        if (out.items[i]->kind != AST_PATH || out.items[i]->count != 1)
            return reader_fail(&r, out.items[i]->start, out.items[i]->end,
                               "the names of a definition's values are single words");
    return finish(&r, reader_make(&r, out));
}

/* Operators from the loosest to the tightest, one function a level. */

static const struct ast *read_power(struct reader *r)
{
    uint32_t start = r->now.start;
    const struct ast *base = reader_primary(r);
    if (!base || !reader_accept(r, SIGN_POWER))
        return base;
    bool negative = reader_accept(r, SIGN_MINUS);
    double power = r->now.number;
    bool whole = r->now.kind == LEX_NUMBER && r->now.unit == UNIT_BARE && power <= 100 &&
                 power == (double)(int)power;
    if (!whole)
        return r->now.kind == LEX_NUMBER ? reader_fail(r, r->now.start, r->now.end,
                                                       "a power is a whole number, 100 at most")
                                         : reader_wanted(r, "a whole number");
    reader_advance(r);
    if (reader_at(r, SIGN_POWER))
        return reader_fail(r, r->now.start, r->now.end, "a power of a power wants parentheses");
    return reader_make(r, (struct ast){.kind = AST_POWER,
                                       .start = start,
                                       .a = base,
                                       .number = negative ? -power : power});
}

static const struct ast *read_unary(struct reader *r)
{
    enum ast_kind kind = reader_at(r, SIGN_MINUS)     ? AST_NEGATE
                         : reader_at(r, WORD_NOMINAL) ? AST_NOMINAL
                         : reader_at(r, WORD_KNOWN)   ? AST_KNOWN
                                                      : AST_NUMBER;
    if (kind == AST_NUMBER)
        return read_power(r);
    struct ast out = {.kind = kind, .start = r->now.start};
    if (!reader_enter(r))
        return NULL;
    reader_advance(r);
    out.a = read_unary(r);
    r->depth--;
    return reader_make(r, out);
}

static const struct ast *read_product(struct reader *r)
{
    uint32_t start = r->now.start;
    const struct ast *left = read_unary(r);
    while (left && (reader_at(r, SIGN_TIMES) || reader_at(r, SIGN_OVER))) {
        enum ast_kind kind = reader_at(r, SIGN_TIMES) ? AST_MULTIPLY : AST_DIVIDE;
        reader_advance(r);
        const struct ast *right = read_unary(r);
        left = right ? reader_make(
                           r, (struct ast){.kind = kind, .start = start, .a = left, .b = right})
                     : NULL;
    }
    return left;
}

static const struct ast *read_sum(struct reader *r)
{
    uint32_t start = r->now.start;
    const struct ast *left = read_product(r);
    while (left && (reader_at(r, SIGN_PLUS) || reader_at(r, SIGN_MINUS))) {
        enum ast_kind kind = reader_at(r, SIGN_PLUS) ? AST_ADD : AST_SUBTRACT;
        reader_advance(r);
        const struct ast *right = read_product(r);
        left = right ? reader_make(
                           r, (struct ast){.kind = kind, .start = start, .a = left, .b = right})
                     : NULL;
    }
    return left;
}

static const struct ast *read_widened(struct reader *r)
{
    uint32_t start = r->now.start;
    const struct ast *left = read_sum(r);
    while (left && reader_accept(r, SIGN_WIDEN)) {
        const struct ast *width = read_sum(r);
        left =
            width
                ? reader_make(
                      r, (struct ast){.kind = AST_WIDEN, .start = start, .a = left, .b = width})
                : NULL;
    }
    return left;
}

static const struct ast *read_otherwise(struct reader *r)
{
    uint32_t start = r->now.start;
    const struct ast *left = read_widened(r);
    if (!left || !reader_accept(r, WORD_OTHERWISE) || !reader_enter(r))
        return r->failed ? NULL : left;
    const struct ast *right = read_otherwise(r);
    r->depth--;
    return right
               ? reader_make(
                     r,
                     (struct ast){.kind = AST_OTHERWISE, .start = start, .a = left, .b = right})
               : NULL;
}

/* What follows `is`: a word stands alone, a field has a dot, anything else is said in full. */
static const struct ast *read_is(struct reader *r, const struct ast *left, uint32_t start)
{
    struct ast out = {
        .kind = AST_IS, .start = start, .a = left, .negate = reader_accept(r, WORD_NOT)};
    if (r->now.kind == LEX_TEXT) {
        out.b = reader_primary(r);
        return reader_make(r, out);
    }
    if (r->now.kind != LEX_NAME)
        return reader_wanted(r, "a word, a text or a field");
    struct lexeme after;
    lex_next(r->text, r->now.end, r->arena, &after);
    if (after.kind == LEX_SIGN && (after.word == SIGN_DOT || after.word == SIGN_OPEN)) {
        out.b = reader_primary(r);
        return out.b ? reader_make(r, out) : NULL;
    }
    out.kind = AST_IS_WORD;
    out.word = r->now.word;
    out.name = reader_here(r);
    reader_advance(r);
    return reader_make(r, out);
}

static const struct ast *read_before(struct reader *r, const struct ast *left, uint32_t start)
{
    if (left->kind != AST_PATH || left->count != 1)
        return reader_fail(r, left->start, left->end, "a word stands before `before`");
    struct ast out = {.kind = AST_BEFORE, .start = start, .name = left->names[0]};
    if (!reader_name(r, &out.name2, "a word") || !reader_expect(r, WORD_IN, "`in`"))
        return NULL;
    out.a = reader_path(r);
    return out.a ? reader_make(r, out) : NULL;
}

static const struct ast *read_inside(struct reader *r, const struct ast *left, uint32_t start)
{
    struct ast out = {.kind = AST_INSIDE, .start = start, .a = left};
    out.b = read_otherwise(r);
    if (!out.b || !reader_expect(r, SIGN_DOTS, "`..` between low and high"))
        return NULL;
    out.c = read_otherwise(r);
    return out.c ? reader_make(r, out) : NULL;
}

static const struct ast *read_matches(struct reader *r, const struct ast *left, uint32_t start)
{
    if (r->now.kind != LEX_TEXT)
        return reader_wanted(r, "a pattern in double quotes");
    struct ast out = {.kind = AST_MATCHES, .start = start, .a = left, .b = reader_primary(r)};
    return reader_make(r, out);
}

static const struct ast *read_has(struct reader *r, const struct ast *left, uint32_t start)
{
    struct ast out = {.kind = AST_HAS, .start = start, .a = left};
    if (!reader_name(r, &out.name, "a word"))
        return NULL;
    return reader_make(r, out);
}

static bool at_comparison(const struct reader *r)
{
    return reader_at(r, SIGN_LESS) || reader_at(r, SIGN_LEAST_LESS) ||
           reader_at(r, SIGN_MORE) || reader_at(r, SIGN_LEAST_MORE) ||
           reader_at(r, SIGN_EQUAL) || reader_at(r, WORD_IS) || reader_at(r, WORD_HAS) ||
           reader_at(r, WORD_BEFORE) || reader_at(r, WORD_INSIDE) || reader_at(r, WORD_MATCHES);
}

static const struct ast *read_comparison(struct reader *r)
{
    uint32_t start = r->now.start;
    const struct ast *left = read_otherwise(r);
    if (!left || !at_comparison(r))
        return left;
    enum word word = r->now.word;
    reader_advance(r);
    const struct ast *out;
    if (word == WORD_IS) {
        out = read_is(r, left, start);
    } else if (word == WORD_HAS) {
        out = read_has(r, left, start);
    } else if (word == WORD_BEFORE) {
        out = read_before(r, left, start);
    } else if (word == WORD_INSIDE) {
        out = read_inside(r, left, start);
    } else if (word == WORD_MATCHES) {
        out = read_matches(r, left, start);
    } else {
        const struct ast *right = read_otherwise(r);
        out = right ? reader_make(r, (struct ast){.kind = AST_COMPARE,
                                                  .word = word,
                                                  .start = start,
                                                  .a = left,
                                                  .b = right})
                    : NULL;
    }
    if (out && at_comparison(r))
        return reader_fail(r, r->now.start, r->now.end,
                           "two comparisons in a row: join them with `and`");
    return out;
}

static const struct ast *read_not(struct reader *r)
{
    if (!reader_at(r, WORD_NOT))
        return read_comparison(r);
    struct ast out = {.kind = AST_NOT, .start = r->now.start};
    if (!reader_enter(r))
        return NULL;
    reader_advance(r);
    out.a = read_not(r);
    r->depth--;
    return out.a ? reader_make(r, out) : NULL;
}

static const struct ast *read_and(struct reader *r)
{
    uint32_t start = r->now.start;
    const struct ast *left = read_not(r);
    while (left && reader_accept(r, WORD_AND)) {
        const struct ast *right = read_not(r);
        left =
            right ? reader_make(
                        r, (struct ast){.kind = AST_AND, .start = start, .a = left, .b = right})
                  : NULL;
    }
    return left;
}

static const struct ast *read_or(struct reader *r)
{
    uint32_t start = r->now.start;
    const struct ast *left = read_and(r);
    while (left && reader_accept(r, WORD_OR)) {
        const struct ast *right = read_and(r);
        left = right
                   ? reader_make(
                         r, (struct ast){.kind = AST_OR, .start = start, .a = left, .b = right})
                   : NULL;
    }
    return left;
}

static const struct ast *reader_expression(struct reader *r)
{
    if (!reader_enter(r))
        return NULL;
    const struct ast *out = read_or(r);
    r->depth--;
    return out;
}
