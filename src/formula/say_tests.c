/* Tests of words, texts and things, as one line: what was asked, and what is there. */
#include "formula/internal_say.h"

#include "text/escape.h"

static bool reads_leaf(const struct formula_node *n)
{
    return n->op == OP_LEAF || n->op == OP_FLAG || n->op == OP_RECORD_LEAF;
}

/* A test that holds is told as it is; of one that does not, what it wants and what there is. */
static const char *test_said(const struct speaker *speaker, const struct entry *entry,
                             const char *path, const char *wanted, const char *now)
{
    return entry->of.outcome.truth == TRUTH_TRUE
               ? arena_format(speaker->arena, "%s is %s", path, now)
               : arena_format(speaker->arena, "%s wants %s; it is %s", path, wanted, now);
}

static const char *test_leaf(const struct speaker *speaker, const struct entry *entry)
{
    const struct formula_node *n = entry->node;
    const struct entry *read = say_part(speaker, entry, 0);
    uint16_t leaf = read->node->leaf;
    const char *wanted = "none";
    if (n->op != OP_IS_NONE)
        wanted = say_word(speaker, leaf, n->b);
    if (n->op == OP_BEFORE)
        wanted =
            arena_format(speaker->arena, "%s before %s", wanted, say_word(speaker, leaf, n->c));
    if (n->part & FLAG_NEGATE)
        wanted = arena_format(speaker->arena, "something other than %s", wanted);
    return test_said(speaker, entry, say_leaf(speaker, read), wanted, say_value(speaker, read));
}

static const char *test_flag(const struct speaker *speaker, const struct entry *entry)
{
    bool no = entry->node->part & FLAG_NEGATE;
    bool yes_now = (entry->of.outcome.truth == TRUTH_TRUE) != no;
    return test_said(speaker, entry, say_leaf(speaker, entry), no ? "no" : "yes",
                     yes_now ? "yes" : "no");
}

/* What both sides are called, and what they are. */
static const char *test_two(const struct speaker *speaker, const struct entry *entry)
{
    const struct formula_node *n = entry->node;
    const char *names[2], *values[2];
    bool literal = false;
    for (uint32_t i = 0; i < 2; i++) {
        const struct entry *side = say_part(speaker, entry, i);
        const struct formula_node *s = side->node;
        const char *value = say_value(speaker, side);
        literal = s->op == OP_TEXT;
        values[i] =
            s->type == TYPE_TEXT ? arena_format(speaker->arena, "\"%s\"", value) : value;
        names[i] = literal ? values[i]
                   : reads_leaf(s)
                       ? say_leaf(speaker, side)
                       : escape_short(speaker->arena, say_own(speaker, s), TEXT_CELLS);
    }
    bool differ = n->part & FLAG_NEGATE, holds = entry->of.outcome.truth == TRUTH_TRUE;
    if (!literal)
        return arena_format(speaker->arena, "%s is %s, %s is %s%s", names[0], values[0],
                            names[1], values[1],
                            holds    ? ""
                            : differ ? "; they are to differ"
                                     : "; they are to be the same");
    const char *wanted =
        arena_format(speaker->arena, "%s%s", differ ? "something other than " : "", names[1]);
    if (n->op == OP_MATCHES)
        wanted = arena_format(speaker->arena, "%s match of %s", differ ? "no" : "a", names[1]);
    return test_said(speaker, entry, names[0], wanted, values[0]);
}

static const char *test_known(const struct speaker *speaker, const struct entry *entry)
{
    const struct entry *what = say_part(speaker, entry, 0);
    const char *name =
        reads_leaf(what->node)
            ? say_leaf(speaker, what)
            : escape_short(speaker->arena, say_own(speaker, what->node), TEXT_CELLS);
    return arena_format(speaker->arena, "%s is%s wanted: it is %s", name,
                        entry->node->part & FLAG_NEGATE ? " not" : "",
                        what->state == ENV_KNOWN ? "given" : "not given");
}

/* The two elements that are alike are what was recorded last. */
static const char *test_distinct(const struct speaker *speaker, const struct entry *entry)
{
    const struct entry *last = say_last(speaker, entry), *element = say_part(speaker, entry, 0);
    const char *names[2];
    uint32_t count = 0;
    for (; element; element = entry_at(&speaker->evaluator->last, element->next)) {
        if (!element->is_element)
            continue;
        const struct entry *body = say_last(speaker, element);
        const struct formula_node *n = body->node;
        struct buffer name;
        buffer_init(&name, speaker->arena);
        if (n->op == OP_LEAF)
            buffer_text(&name, say_leaf(speaker, body));
        else if (n->type == TYPE_QUANTITY || n->op == OP_CALL)
            say_at(speaker, &name, body, LEVEL_ANY);
        else
            buffer_add(&name, say_own(speaker, n));
        names[count++ & 1] = buffer_string(&name);
    }
    if (count != 2)
        return NULL;
    return arena_format(speaker->arena, "%s and %s are both %s", names[0], names[1],
                        say_value(speaker, say_last(speaker, last)));
}

/* "change.no_contact wants stops; it is continues"; NULL where there is nothing to say. */
const char *say_test(const struct speaker *speaker, const struct entry *entry)
{
    switch (entry->node->op) {
    case OP_FLAG:
        return test_flag(speaker, entry);
    case OP_IS_WORD:
    case OP_IS_NONE:
    case OP_HAS:
    case OP_BEFORE:
        return test_leaf(speaker, entry);
    case OP_IS_TEXT:
    case OP_IS_SAME:
    case OP_IS_RECORD:
    case OP_MATCHES:
        return test_two(speaker, entry);
    case OP_KNOWN:
        return test_known(speaker, entry);
    case OP_DISTINCT:
        return test_distinct(speaker, entry);
    default:
        return NULL;
    }
}
