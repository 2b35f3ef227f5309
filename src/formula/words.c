/* Tests of words, lists of words, texts and things: is, has, before, matches. */
#include "formula/internal_build.h"

#include "formula/pattern.h"
#include "text/nearest.h"

enum { WORDS_MAX = 64, LIST_TEXT_MAX = 200 };

/* `none`, or the words a field may have: "fixed, computed". */
static const char *list_words(const struct context *context, const struct view *words,
                              size_t count)
{
    struct buffer list;
    buffer_init(&list, context->builder->arena);
    for (size_t i = 0; i < count && list.size < LIST_TEXT_MAX; i++) {
        buffer_text(&list, i ? ", " : "");
        buffer_add(&list, words[i]);
    }
    return buffer_string(&list);
}

static bool find_word(const struct context *context, const struct ast_name *name, uint16_t leaf,
                      uint32_t *out)
{
    const struct environment *environment = context->builder->environment;
    int index = environment->word(environment->user, leaf, name->text);
    if (index >= 0) {
        *out = (uint32_t)index;
        return true;
    }
    const char *field = environment->leaf_path(environment->user, leaf);
    struct view words[WORDS_MAX];
    size_t count = 0;
    while (environment->choice && count < WORDS_MAX &&
           environment->choice(environment->user, leaf, count, &words[count]))
        count++;
    int nearest = nearest_of(name->text, words, count);
    if (nearest >= 0)
        formula_complain(context, name->start, name->end,
                         "`%.*s` is no word of `%s`; `%.*s` is", VIEW(name->text), field,
                         VIEW(words[nearest]));
    else if (count)
        formula_complain(context, name->start, name->end,
                         "`%.*s` is no word of `%s`, which takes %s", VIEW(name->text), field,
                         list_words(context, words, count));
    else
        formula_complain(context, name->start, name->end, "`%.*s` is no word of `%s`",
                         VIEW(name->text), field);
    return false;
}

static struct formula_node test_node(const struct context *context, enum formula_op op,
                                     const struct ast *ast)
{
    return (struct formula_node){
        .op = (uint8_t)op,
        .type = TYPE_FLAG,
        .part = (ast->negate != context->negate) ? FLAG_NEGATE : 0,
    };
}

static uint32_t emit_is_word(const struct context *context, const struct ast *ast)
{
    bool yes = ast->word == WORD_YES, no = ast->word == WORD_NO;
    struct context inner = *context;
    inner.negate = (yes || no) && ((context->negate != ast->negate) != no);
    uint32_t left = emit_any(&inner, ast->a);
    if (left == NODE_NONE)
        return NODE_NONE;
    uint8_t type = build_at(context, left)->type;
    struct formula_node node = test_node(context, OP_IS_WORD, ast);
    node.a = left;
    if (type == TYPE_FLAG && (yes || no))
        return left;
    if (type == TYPE_WORDS && view_is(ast->name.text, "none")) {
        node.op = OP_IS_NONE;
    } else if (type == TYPE_CHOICE) {
        if (!find_word(context, &ast->name, build_at(context, left)->leaf, &node.b))
            return NODE_NONE;
    } else {
        const char *hint = type == TYPE_FLAG    ? "only `yes` or `no` can follow"
                           : type == TYPE_WORDS ? "ask for its words with `has`"
                           : type == TYPE_TEXT  ? "a text stands in double quotes"
                                                : "words cannot be asked of it";
        formula_complain(context, ast->name.start, ast->name.end, "this is %s: %s",
                         name_of_type(context, build_at(context, left)), hint);
        return NODE_NONE;
    }
    return build_node(context, ast, node);
}

static uint32_t emit_is(const struct context *context, const struct ast *ast)
{
    struct context inner = *context;
    inner.negate = false;
    uint32_t a = emit_any(&inner, ast->a), b = emit_any(&inner, ast->b);
    if (a == NODE_NONE || b == NODE_NONE)
        return NODE_NONE;
    emit_reconcile(context, ast->a, a, ast->b, b);
    const struct formula_node *x = build_at(context, a), *y = build_at(context, b);
    struct formula_node node = test_node(context, OP_IS_TEXT, ast);
    node.a = a;
    node.b = b;
    bool leaves = (x->op == OP_LEAF && y->op == OP_LEAF && x->leaf == y->leaf) ||
                  (x->op == OP_FLAG && y->op == OP_FLAG);
    bool quantities = x->type == TYPE_QUANTITY && dimension_equal(x->dimension, y->dimension);
    if (x->type == y->type && (quantities || x->type == TYPE_DATE)) {
        inner.negate = ast->negate != context->negate;
        return emit_equal(&inner, ast, a, b);
    }
    if (x->type == TYPE_TEXT && y->type == TYPE_TEXT) {
        node.op = OP_IS_TEXT;
    } else if (x->type == y->type && (x->type == TYPE_CHOICE || x->type == TYPE_FLAG) &&
               leaves) {
        node.op = OP_IS_SAME;
    } else if (x->type == TYPE_RECORD && y->type == TYPE_RECORD && x->kind == y->kind) {
        node.op = OP_IS_RECORD;
    } else {
        formula_complain(context, ast->start, ast->end,
                         "%s and %s cannot be compared with `is`", name_of_type(context, x),
                         name_of_type(context, y));
        return NODE_NONE;
    }
    return build_node(context, ast, node);
}

/* The list of words that `has` and `before` ask. */
static uint32_t emit_list(const struct context *context, const struct ast *ast)
{
    uint32_t list = emit_any(context, ast);
    if (list == NODE_NONE || build_at(context, list)->type == TYPE_WORDS)
        return list;
    formula_complain(context, ast->start, ast->end, "a list of words is expected; this is %s",
                     name_of_type(context, build_at(context, list)));
    return NODE_NONE;
}

static uint32_t emit_has(const struct context *context, const struct ast *ast)
{
    struct formula_node node = test_node(context, OP_HAS, ast);
    node.a = emit_list(context, ast->a);
    if (node.a == NODE_NONE ||
        !find_word(context, &ast->name, build_at(context, node.a)->leaf, &node.b))
        return NODE_NONE;
    return build_node(context, ast, node);
}

static uint32_t emit_before(const struct context *context, const struct ast *ast)
{
    struct formula_node node = test_node(context, OP_BEFORE, ast);
    node.a = emit_list(context, ast->a);
    if (node.a == NODE_NONE)
        return NODE_NONE;
    uint16_t leaf = build_at(context, node.a)->leaf;
    bool first = find_word(context, &ast->name, leaf, &node.b);
    bool second = find_word(context, &ast->name2, leaf, &node.c);
    return first && second ? build_node(context, ast, node) : NODE_NONE;
}

static uint32_t emit_matches(const struct context *context, const struct ast *ast)
{
    struct formula_node node = test_node(context, OP_MATCHES, ast);
    node.a = emit_any(context, ast->a);
    node.b = emit_any(context, ast->b);
    if (node.a == NODE_NONE || node.b == NODE_NONE)
        return NODE_NONE;
    if (build_at(context, node.a)->type != TYPE_TEXT) {
        formula_complain(context, ast->a->start, ast->a->end,
                         "only a text can match a pattern; this is %s",
                         name_of_type(context, build_at(context, node.a)));
        return NODE_NONE;
    }
    const char *message;
    size_t offset;
    struct pattern *pattern =
        pattern_open(context->builder->arena, ast->b->name.text, &message, &offset);
    if (!pattern) {
        uint32_t at = ast->b->name.start + (uint32_t)offset;
        formula_complain(context, at, at, "%s", message);
        return NODE_NONE;
    }
    pattern_close(pattern);
    return build_node(context, ast, node);
}

uint32_t emit_word_test(const struct context *context, const struct ast *ast)
{
    switch (ast->kind) {
    case AST_IS_WORD:
        return emit_is_word(context, ast);
    case AST_IS:
        return emit_is(context, ast);
    case AST_HAS:
        return emit_has(context, ast);
    case AST_BEFORE:
        return emit_before(context, ast);
    case AST_MATCHES:
        return emit_matches(context, ast);
    default:
        BUG("no test of words");
    }
}
