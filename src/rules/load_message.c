/* The messages of a rule: text with values in braces. */
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
