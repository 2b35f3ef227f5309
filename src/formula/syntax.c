/* Formulas from words to trees.
 *
 * Plain descent, one function a level of precedence.  The first thing that does not fit ends
 * the reading: what follows could only be guessed at.  Depth is counted, so that no text can
 * exhaust the stack here or in what walks the tree later.
 */
#include "formula/internal_reader.h"

#include "base/buffer.h"
#include "base/vector.h"
#include "formula/compile.h"
#include "text/escape.h"

enum { FOUND_CELLS = 40 };

const struct ast *reader_fail(struct reader *r, uint32_t start, uint32_t end,
                              const char *message)
{
    if (!r->failed)
        *r->trouble = (struct syntax_trouble){start, end, message};
    r->failed = true;
    return NULL;
}

/* "expected ..., found ..." at the present lexeme. */
const struct ast *reader_wanted(struct reader *r, const char *wanted)
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

void reader_advance(struct reader *r)
{
    r->last_end = r->now.end;
    lex_next(r->text, r->now.end, r->arena, &r->now);
}

bool reader_at(const struct reader *r, enum word word)
{
    return (r->now.kind == LEX_NAME || r->now.kind == LEX_SIGN) && r->now.word == word;
}

bool reader_accept(struct reader *r, enum word word)
{
    if (!reader_at(r, word))
        return false;
    reader_advance(r);
    return true;
}

bool reader_expect(struct reader *r, enum word word, const char *wanted)
{
    if (reader_accept(r, word))
        return true;
    reader_wanted(r, wanted);
    return false;
}

/* Nesting that takes the reader deeper. */
bool reader_enter(struct reader *r)
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
const struct ast *reader_make(struct reader *r, struct ast model)
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

struct ast_name reader_here(const struct reader *r)
{
    return (struct ast_name){
        {r->text.data + r->now.start, r->now.end - r->now.start}, r->now.start, r->now.end};
}

/* Any name, words of the language too. */
bool reader_name(struct reader *r, struct ast_name *out, const char *wanted)
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

const struct ast *reader_path(struct reader *r)
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

const struct ast *reader_primary(struct reader *r)
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
