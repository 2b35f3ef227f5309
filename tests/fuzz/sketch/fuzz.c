/* sketch_read on any bytes, and every place of it asked about: nodes lie within what has them, places
 * lead to what they lie in, and a path leads back to its node.
 */
#include "base/bug.h"
#include "tree/sketch.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum { PLACES_MOST = 3000 };

static void look_at_node(struct arena *arena, const struct sketch *sketch,
                         const struct sketch_node *node)
{
    uint32_t size = (uint32_t)sketch->source->bytes.size;
    BUG_UNLESS(node->span.start <= node->span.end && node->span.end <= size);
    BUG_UNLESS(node->key_span.start <= node->key_span.end && node->key_span.end <= size);
    BUG_UNLESS(node->start <= node->span.end);
    BUG_UNLESS(!node->next || node->next->start >= node->start);
    BUG_UNLESS(!node->parent->next || node->start <= node->parent->next->start);
    bool container = node->kind == SKETCH_MAP || node->kind == SKETCH_LIST;
    BUG_UNLESS(container || !node->first);
    (void)sketch_path(arena, node);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct arena arena;
    struct source source;
    struct sketch sketch;
    arena_init(&arena, NULL);
    source_init(&source, &arena, (struct view){"fuzz", 4}, (struct view){(const char *)data, size});
    sketch_read(&sketch, &arena, &source);
    for (const struct sketch_node *node = sketch_next(&sketch.root, &sketch.root); node;
         node = sketch_next(node, &sketch.root))
        look_at_node(&arena, &sketch, node);
    for (uint32_t at = 0; at <= size && at < PLACES_MOST; at++) {
        struct sketch_context context;
        bool on_key;
        const struct sketch_node *node = sketch_touched(&sketch, at, &on_key);
        BUG_UNLESS(!node || on_key || node->kind == SKETCH_TEXT || node->kind == SKETCH_ALIAS);
        sketch_find_context(&sketch, at, &context);
        BUG_UNLESS(context.token.start <= at && at <= context.token.end);
        BUG_UNLESS(context.token.end <= size);
        BUG_UNLESS(context.wanted == WANTED_NOTHING || context.node);
    }
    arena_free(&arena);
    return 0;
}
