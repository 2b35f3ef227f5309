/* Where in its file something of a rulebook stands, down to a part of a formula that YAML has
 * folded over several lines.
 */
#include "rules/internal.h"

struct span loader_span(const struct tree_node *node)
{
    bool long_or_empty = node->kind != TREE_TEXT || node->span.end == node->span.start;
    if (long_or_empty && node->key_span.end > node->key_span.start)
        return node->key_span;
    if (node->kind != TREE_TEXT && node->first)
        return loader_span(tree_resolve(node->first));
    return node->span;
}

uint32_t loader_origin(struct loader *loader, const struct tree_node *node, size_t skip)
{
    VECTOR_ADD(loader->loading->arena, &loader->origins,
               (struct origin){loader->source, node, skip});
    return (uint32_t)(loader->origins.count - 1);
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

/* Follows decoded text and file side by side: a run of white space in one is a run in the
 * other. */
static uint32_t folded_offset(const struct origin *origin, size_t target)
{
    struct view text = origin->node->text;
    struct view file = source_slice(origin->source, origin->node->span);
    size_t t = 0, f = 0;
    if (file.size && (file.data[0] == '"' || file.data[0] == '\''))
        f++;
    else if (file.size && (file.data[0] == '>' || file.data[0] == '|'))
        while (f < file.size && file.data[f] != '\n')
            f++;
    while (f < file.size && t < text.size && is_blank(file.data[f]) && !is_blank(text.data[t]))
        f++;
    while (t < target && t < text.size && f < file.size) {
        if (is_blank(text.data[t])) {
            while (t < text.size && t < target && is_blank(text.data[t]))
                t++;
            while (f < file.size && is_blank(file.data[f]))
                f++;
        } else {
            t++;
            f++;
        }
    }
    return origin->node->span.start + (uint32_t)f;
}

struct span origin_span(const struct origin *origin, size_t start, size_t end)
{
    struct view text = origin->node->text;
    struct view file = origin->source->bytes;
    start += origin->skip;
    end += origin->skip;
    if (text.size && text.data >= file.data && text.data < file.data + file.size) {
        uint32_t base = (uint32_t)(text.data - file.data);
        return (struct span){base + (uint32_t)start, base + (uint32_t)end};
    }
    uint32_t first = folded_offset(origin, start), last = folded_offset(origin, end);
    return (struct span){first, last > first ? last : first};
}
