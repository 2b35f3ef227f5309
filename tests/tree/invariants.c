/* Spans lie in the file, within their parent's, in order, and look at what they should.
 * Messages hold none of the words that only programmers use, and no more than a line of them.
 */
#include "invariants.h"

#include "text/utf8.h"

enum { SENTENCE_MAX = 100 };

struct check {
    const struct source *source;
    struct span where;
    const char *fault;
};

static void demand(struct check *check, bool holds, struct span where, const char *fault)
{
    if (holds || check->fault)
        return;
    check->where = where;
    check->fault = fault;
}

static bool lies_in(struct span inner, struct span outer)
{
    return inner.start >= outer.start && inner.end <= outer.end && inner.start <= inner.end;
}

static bool has_break(struct view text)
{
    for (size_t i = 0; i < text.size; i++)
        if (text.data[i] == '\n' || text.data[i] == '\r')
            return true;
    return false;
}

/* Do the bytes of a text agree with what was made of it? */
static void check_text(struct check *check, struct span span, struct view text, int style)
{
    struct view slice = source_slice(check->source, span);
    char first = slice.size ? slice.data[0] : '\0';
    char last = slice.size ? slice.data[slice.size - 1] : '\0';
    if (style == STYLE_QUOTED)
        demand(check, slice.size >= 2 && (first == '"' || first == '\'') && last == first, span,
               "a quoted text lies between its quotes");
    else if (style == STYLE_BLOCK)
        demand(check, first == '|' || first == '>', span, "a block text begins with its sign");
    else if (!has_break(slice))
        demand(check, view_equal(slice, text), span, "a plain text is what stands there");
    else
        demand(check, first != ' ' && last != '\n' && last != ' ', span,
               "a plain text of several lines begins and ends with itself");
}

static int key_style(const struct check *check, struct span span)
{
    struct view slice = source_slice(check->source, span);
    if (slice.size == 0)
        return STYLE_PLAIN;
    if (slice.data[0] == '"' || slice.data[0] == '\'')
        return STYLE_QUOTED;
    return slice.data[0] == '|' || slice.data[0] == '>' ? STYLE_BLOCK : STYLE_PLAIN;
}

static void check_node(struct check *check, const struct tree_node *node);

static void check_children(struct check *check, const struct tree_node *node)
{
    uint32_t count = 0, from = node->span.start;
    for (const struct tree_node *child = node->first; child; child = child->next, count++) {
        if (node->kind == TREE_MAP) {
            struct view key = source_slice(check->source, child->key_span);
            demand(check, child->key_span.start >= from, child->key_span,
                   "keys follow each other");
            demand(check, child->key_span.end <= child->span.start, child->span,
                   "a value follows its key");
            if (key.size == 0 || key.data[0] != '*')
                check_text(check, child->key_span, child->key,
                           key_style(check, child->key_span));
        }
        demand(check, child->span.start >= from, child->span, "children follow each other");
        demand(check, lies_in(child->span, node->span), child->span,
               "a child lies within its parent");
        from = child->span.end;
        check_node(check, child);
    }
    demand(check, count == node->count, node->span, "children are counted");
}

static void check_node(struct check *check, const struct tree_node *node)
{
    struct view slice = source_slice(check->source, node->span);
    demand(check, lies_in(node->span, (struct span){0, (uint32_t)check->source->bytes.size}),
           node->span, "a span lies in the file");
    if (node->kind == TREE_TEXT)
        check_text(check, node->span, node->text, node->style);
    else if (node->kind == TREE_ALIAS)
        demand(check,
               slice.size > 1 && slice.data[0] == '*' && node->first &&
                   node->first->kind != TREE_ALIAS,
               node->span, "a reference is what stands there");
    else
        check_children(check, node);
}

const char *tree_fault(const struct tree *tree, struct span *where)
{
    struct check check = {.source = tree->source};
    demand(&check, (tree->root != NULL) == (tree->status != TREE_UNREADABLE), check.where,
           "there is a tree where it could be read");
    if (tree->root) {
        demand(&check, tree->root->kind == TREE_MAP, tree->root->span, "keys stand at the top");
        check_node(&check, tree->root);
    }
    *where = check.where;
    return check.fault;
}

const char *findings_fault(const struct finding_sink *sink, struct span *where)
{
    static const char *const banned[] = {"scalar", "mapping", "sequence", "token", "node",
                                         "null",   "regex",   "schema",   "parse", "!"};
    struct check check = {.source = sink->source};
    struct span file = {0, (uint32_t)sink->source->bytes.size};
    for (size_t i = 0; i < sink->findings.count; i++) {
        const struct finding *finding = &sink->findings.items[i];
        struct span span = finding->at.span;
        demand(&check, lies_in(span, file), span, "a finding lies in the file");
        demand(&check, utf8_cells(view_of(finding->message)) <= SENTENCE_MAX, span,
               "a sentence is short");
        demand(&check, utf8_check(view_of(finding->message)) == strlen(finding->message), span,
               "a message is UTF-8");
        for (size_t k = 0; k < finding->related_count; k++)
            demand(&check, lies_in(finding->related[k].span, file), finding->related[k].span,
                   "a related place lies in the file");
        for (size_t k = 0; k < sizeof banned / sizeof *banned; k++)
            /* What the file itself says comes in quotes and is free. */
            demand(&check,
                   strchr(finding->message, '\'') || !strstr(finding->message, banned[k]), span,
                   "a message speaks the trade's language");
    }
    *where = check.where;
    return check.fault;
}
