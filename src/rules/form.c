/* The table of a rulebook's keys, what is read off its rows, and holding a map against it. */
#include "rules/internal.h"

#include <stdarg.h>

#include "base/bug.h"
#include "text/escape.h"
#include "text/nearest.h"

const struct book_key book_key_table[BOOK_KEY_COUNT] = {
#define BOOK_KEY(map, id, key, value, ...)                                                     \
    [BOOK_##id] = {BOOK_MAP_##map, key, BOOK_IS_##value, __VA_ARGS__},
#include "rules/form.inc"
#undef BOOK_KEY
};

size_t book_key_words(enum book_key_id id, struct view out[BOOK_NAMES_MOST])
{
    struct view rest = view_of(book_key_table[id].words);
    size_t count = 0;
    while (rest.size) {
        BUG_UNLESS(count < BOOK_NAMES_MOST);
        out[count++] = view_take(&rest, ' ');
    }
    return count;
}

struct span loader_span(const struct tree_node *node)
{
    bool long_or_empty = node->kind != TREE_TEXT || node->span.end == node->span.start;
    if (long_or_empty && node->key_span.end > node->key_span.start)
        return node->key_span;
    if (node->kind != TREE_TEXT && node->first)
        return loader_span(tree_resolve(node->first));
    return node->span;
}

void loader_mistake(struct loader *loader, struct span span, const char *format, ...)
{
    struct arena *arena = loader->mistakes->arena;
    struct buffer text;
    buffer_init(&text, arena);
    va_list arguments;
    va_start(arguments, format);
    buffer_format_list(&text, format, arguments);
    va_end(arguments);
    struct rulebook_mistake mistake = {loader->source, span, buffer_string(&text)};
    VECTOR_ADD(arena, &loader->mistakes->list, mistake);
}

/* The keys of a map; how many there are. */
static size_t map_keys(enum book_map map, struct view out[BOOK_NAMES_MOST])
{
    size_t count = 0;
    for (unsigned id = 0; id < BOOK_KEY_COUNT; id++)
        if (book_key_table[id].map == map) {
            BUG_UNLESS(count < BOOK_NAMES_MOST);
            out[count++] = view_of(book_key_table[id].key);
        }
    return count;
}

void loader_check_keys(struct loader *loader, const struct tree_node *map, enum book_map form)
{
    struct view known[BOOK_NAMES_MOST];
    size_t count = map_keys(form, known);
    struct arena *arena = loader->mistakes->arena;
    loader->mistyped.count = 0;
    for (const struct tree_node *child = map->first; child; child = child->next) {
        bool found = false;
        for (size_t i = 0; i < count && !found; i++)
            found = view_equal(child->key, known[i]);
        if (found)
            continue;
        const char *name = escape_short(arena, child->key, 40);
        int near = nearest_of(child->key, known, count);
        if (near < 0) {
            loader_mistake(loader, child->key_span, "unknown key `%s`", name);
            continue;
        }
        loader_mistake(loader, child->key_span, "unknown key `%s`; did you mean `%.*s`?", name,
                       VIEW(known[near]));
        VECTOR_ADD(arena, &loader->mistyped, known[near]);
    }
}

bool loader_misses(const struct loader *loader, const char *key)
{
    for (size_t i = 0; i < loader->mistyped.count; i++)
        if (view_is(loader->mistyped.items[i], key))
            return false;
    return !loader->broken_off;
}
