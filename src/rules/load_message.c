/* Messages with values in braces, and the examples each rule must carry. */
#include "rules/internal.h"

#include "base/buffer.h"

static void add_text(struct loader *loader, struct buffer *text)
{
    if (!text->size)
        return;
    struct arena *arena = loader->loading->arena;
    struct message_piece piece = {.text = arena_copy(arena, text->data, text->size),
                                  .node = NODE_NONE};
    VECTOR_ADD(arena, &loader->pieces, piece);
    buffer_init(text, arena);
}

/* The value in braces that starts at `start`, the offset after the brace; returns the offset
 * behind its closing brace, or the end of the text where there is none. */
static size_t add_value(struct loader *loader, const struct formula_scope *scope,
                        uint32_t requirement, const struct tree_node *node, size_t start)
{
    struct view text = node->text;
    size_t end = start;
    while (end < text.size && text.data[end] != '}')
        end++;
    uint32_t origin = loader_origin(loader, node, start);
    if (end == text.size) {
        struct origin *at = &loader->origins.items[origin];
        loader_mistake(loader, origin_span(at, 0, 0), "this brace is not closed");
        return end;
    }
    struct view formula = {text.data + start, end - start};
    struct message_piece piece = {
        .node = formula_shown(loader->builder, scope, requirement, formula, origin)};
    if (piece.node != NODE_NONE)
        VECTOR_ADD(loader->loading->arena, &loader->pieces, piece);
    return end + 1;
}

uint32_t load_message(struct loader *loader, const struct formula_scope *scope,
                      uint32_t requirement, const struct tree_node *node)
{
    struct arena *arena = loader->loading->arena;
    struct message message = {.first = (uint32_t)loader->pieces.count};
    struct view text = {node->text.data, strlen(loader_string(loader, node))};
    struct buffer plain;
    buffer_init(&plain, arena);
    for (size_t i = 0; i < text.size;) {
        char c = text.data[i];
        bool doubled = i + 1 < text.size && text.data[i + 1] == c;
        if ((c == '{' || c == '}') && doubled) {
            buffer_byte(&plain, c);
            i += 2;
        } else if (c == '{') {
            add_text(loader, &plain);
            i = add_value(loader, scope, requirement, node, i + 1);
        } else {
            buffer_byte(&plain, c == '\n' ? ' ' : c);
            i++;
        }
    }
    add_text(loader, &plain);
    message.count = (uint32_t)loader->pieces.count - message.first;
    VECTOR_ADD(arena, &loader->messages, message);
    return (uint32_t)loader->messages.count - 1;
}

static uint32_t example_count(struct loader *loader, const struct tree_node *examples,
                              const char *key)
{
    const struct tree_node *list = tree_child(examples, view_of(key));
    if (!list)
        return 0;
    list = tree_resolve(list);
    if (list->kind != TREE_LIST) {
        loader_mistake(loader, loader_span(list), "`%s` wants a list of changes to the machine",
                       key);
        return 0;
    }
    for (const struct tree_node *item = list->first; item; item = item->next)
        if (tree_resolve(item)->kind != TREE_MAP)
            loader_mistake(loader, loader_span(item), "an example is `{field: value, ...}`");
    return list->count;
}

static bool any_margin(const struct tree_node *examples)
{
    const struct tree_node *list = tree_child(examples, view_of("fails"));
    for (const struct tree_node *item = list ? tree_resolve(list)->first : NULL; item;
         item = item->next)
        if (tree_child(tree_resolve(item), view_of("margin")))
            return true;
    return false;
}

void load_examples(struct loader *loader, const struct tree_node *rule, const char *name,
                   bool has_margin)
{
    const struct tree_node *examples = tree_child(rule, view_of("examples"));
    if (examples)
        examples = tree_resolve(examples);
    if (!examples || examples->kind != TREE_MAP) {
        loader_mistake(loader, loader_span(rule), "rule `%s` has no examples", name);
        return;
    }
    uint32_t holds = example_count(loader, examples, "holds");
    uint32_t fails = example_count(loader, examples, "fails");
    uint32_t least = has_margin ? 2 : 1;
    if (holds < least || fails < least)
        loader_mistake(loader, examples->key_span,
                       has_margin
                           ? "rule `%s` compares quantities: it wants two examples that hold "
                             "and two that fail, one of each at the boundary"
                           : "rule `%s` wants an example that holds and one that fails",
                       name);
    if (has_margin && fails && !any_margin(examples))
        loader_mistake(loader, examples->key_span,
                       "rule `%s` wants the margin of an example that fails", name);
}
