/* Operators from the loosest to the tightest, one function a level. */
#include "formula/internal_reader.h"

#include "formula/compile.h"

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

const struct ast *reader_expression(struct reader *r)
{
    if (!reader_enter(r))
        return NULL;
    const struct ast *out = read_or(r);
    r->depth--;
    return out;
}
