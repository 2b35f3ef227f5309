/* Tests of words, texts and things, as one line: what was asked, and what is there. */
#include "formula/internal_say.h"

#include "text/escape.h"

enum { TEXT_CELLS = 60 };

static const char *is_or_not(const struct formula_node *n)
{
    return n->part & FLAG_NEGATE ? "is not" : "is";
}

static const char *say_quoted(const struct saying *saying, uint32_t node)
{
    return arena_format(saying->arena, "\"%s\"", say_value(saying, node));
}

static const char *test_leaf(const struct saying *saying, const struct formula_node *n)
{
    const struct formula_node *leaf = node_of(saying->evaluator, n->a);
    const char *path = say_leaf(saying, leaf);
    const char *now = say_value(saying, n->a);
    const char *not_it = n->part & FLAG_NEGATE ? "not " : "";
    switch (n->op) {
    case OP_IS_WORD:
        return arena_format(saying->arena, "%s %s %s: it is %s", path, is_or_not(n),
                            say_word(saying, leaf->leaf, n->b), now);
    case OP_IS_NONE:
        return arena_format(saying->arena, "%s %s none: it is %s", path, is_or_not(n), now);
    case OP_HAS:
        return arena_format(saying->arena, "%s%s has %s: it has %s", not_it, path,
                            say_word(saying, leaf->leaf, n->b), now);
    default:
        return arena_format(saying->arena, "%s%s before %s in %s: it has %s", not_it,
                            say_word(saying, leaf->leaf, n->b),
                            say_word(saying, leaf->leaf, n->c), path, now);
    }
}

static const char *test_flag(const struct saying *saying, uint32_t node)
{
    const struct formula_node *n = node_of(saying->evaluator, node);
    bool no = n->part & FLAG_NEGATE;
    struct outcome outcome;
    run_truth(saying->evaluator, node, &outcome);
    bool yes_now = (outcome.truth == TRUTH_TRUE) != no;
    return arena_format(saying->arena, "%s is %s: it is %s", say_leaf(saying, n),
                        no ? "no" : "yes", yes_now ? "yes" : "no");
}

/* What both sides are called, and what they are. */
static const char *test_two(const struct saying *saying, const struct formula_node *n)
{
    const struct evaluator *evaluator = saying->evaluator;
    const char *names[2], *values[2];
    for (int i = 0; i < 2; i++) {
        uint32_t side = i ? n->b : n->a;
        const struct formula_node *s = node_of(evaluator, side);
        bool leaf = s->op == OP_LEAF || s->op == OP_FLAG || s->op == OP_RECORD_LEAF;
        bool text = s->type == TYPE_TEXT;
        values[i] = text ? say_quoted(saying, side) : say_value(saying, side);
        names[i] = leaf ? say_leaf(saying, s)
                        : escape_short(saying->arena, say_text_of(evaluator, s), TEXT_CELLS);
        if (s->op == OP_TEXT)
            names[i] = values[i];
    }
    if (node_of(evaluator, n->b)->op == OP_TEXT)
        return arena_format(saying->arena, "%s %s %s: it is %s", names[0],
                            n->op == OP_MATCHES
                                ? (n->part & FLAG_NEGATE ? "does not match" : "matches")
                                : is_or_not(n),
                            names[1], values[0]);
    return arena_format(saying->arena, "%s %s %s: %s and %s", names[0], is_or_not(n), names[1],
                        values[0], values[1]);
}

static const char *test_known(const struct saying *saying, const struct formula_node *n)
{
    const struct formula_node *what = node_of(saying->evaluator, n->a);
    bool leaf = what->op == OP_LEAF || what->op == OP_FLAG || what->op == OP_RECORD_LEAF;
    const char *name =
        leaf ? say_leaf(saying, what)
             : escape_short(saying->arena, say_text_of(saying->evaluator, what), TEXT_CELLS);
    bool there = run_any(saying->evaluator, n->a) == ENV_KNOWN;
    return arena_format(saying->arena, "%s is%s wanted: it is %s", name,
                        n->part & FLAG_NEGATE ? " not" : "", there ? "given" : "not given");
}

static const char *test_distinct(const struct saying *saying, uint32_t node)
{
    struct evaluator *evaluator = saying->evaluator;
    const struct formula_node *n = node_of(evaluator, node);
    struct outcome outcome;
    struct decided decided;
    struct list list;
    run_list_truth(evaluator, node, &outcome, &decided);
    if (decided.element == NODE_NONE || decided.other == NODE_NONE ||
        run_list_open(evaluator, n, &list) != ENV_KNOWN)
        return NULL;
    const char *names[2];
    const uint32_t elements[2] = {decided.other, decided.element};
    for (int i = 0; i < 2; i++) {
        struct buffer name;
        struct saying symbols = *saying;
        symbols.values = false;
        buffer_init(&name, saying->arena);
        run_list_at(evaluator, &list, elements[i]);
        if (node_of(evaluator, n->a)->op == OP_LEAF)
            buffer_text(&name, say_leaf(saying, node_of(evaluator, n->a)));
        else if (node_of(evaluator, n->a)->type == TYPE_QUANTITY ||
                 node_of(evaluator, n->a)->op == OP_CALL)
            say_node(&symbols, &name, n->a);
        else
            buffer_add(&name, say_text_of(evaluator, node_of(evaluator, n->a)));
        names[i] = buffer_string(&name);
    }
    return arena_format(saying->arena, "%s and %s are both %s", names[0], names[1],
                        say_value(saying, n->a));
}

const char *say_test(const struct saying *saying, uint32_t node)
{
    const struct formula_node *n = node_of(saying->evaluator, node);
    switch (n->op) {
    case OP_FLAG:
        return test_flag(saying, node);
    case OP_IS_WORD:
    case OP_IS_NONE:
    case OP_HAS:
    case OP_BEFORE:
        return test_leaf(saying, n);
    case OP_IS_TEXT:
    case OP_IS_SAME:
    case OP_IS_RECORD:
    case OP_MATCHES:
        return test_two(saying, n);
    case OP_KNOWN:
        return test_known(saying, n);
    case OP_DISTINCT:
        return test_distinct(saying, node);
    default:
        return NULL;
    }
}
