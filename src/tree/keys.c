/* Keys that stand twice in one map.
 *
 * Looked for when the map ends, over its keys in order of their text: maps are bounded, but a
 * file may have many.
 */
#include "tree/internal.h"

#include "text/escape.h"

#include <stdlib.h>

enum {
    NAME_CELLS = 40,
};

/* The path of the list or map at `depth` on the way down, as far as it is open. */
static void add_path(struct buffer *path, const struct reader *reader, size_t depth)
{
    for (size_t i = 0; i < depth; i++) {
        const struct frame *frame = &reader->frames[i];
        if (frame->node->kind == TREE_LIST) {
            buffer_format(path, "[%u]", (unsigned)frame->node->count);
            continue;
        }
        if (!frame->waiting)
            continue; /* within a key that is no text */
        if (path->size)
            buffer_byte(path, '.');
        buffer_add(path, frame->waiting->key);
    }
}

static const char *path_of(const struct reader *reader, size_t depth, struct view key)
{
    struct buffer path;
    buffer_init(&path, reader->arena);
    add_path(&path, reader, depth);
    if (path.size)
        buffer_byte(&path, '.');
    buffer_add(&path, key);
    return buffer_string(&path);
}

static void report_one(struct reader *reader, size_t depth, struct tree_node *first,
                       struct tree_node *second)
{
    first->duplicate = second->duplicate = true;
    /* Beyond the limit it is only counted: no words for nothing. */
    bool is_listed = reader->sink->counts[READER_DUPLICATE_KEY] < FINDINGS_A_NAME;
    const char *path = is_listed ? path_of(reader, depth, second->key) : NULL;
    const char *name = is_listed ? escape_short(reader->arena, second->key, NAME_CELLS) : "";
    struct finding *finding = sink_report(reader->sink, READER_DUPLICATE_KEY, second->key_span,
                                          path, "the key '%s' stands twice here", name);
    finding_relate(reader->sink, finding, first->key_span, path, "it stands here first");
}

/* Can two keys be alike?  In most maps no two share their size and three of their letters. */
static bool may_repeat(const struct tree_node *map)
{
    uint64_t seen[16] = {0};
    for (const struct tree_node *child = map->first; child; child = child->next) {
        struct view key = child->key;
        size_t mark = key.size;
        if (key.size)
            mark += (size_t)key.data[0] * 5 + (size_t)key.data[key.size / 2] * 67 +
                    (size_t)key.data[key.size - 1] * 257;
        uint64_t bit = (uint64_t)1 << (mark & 63), *word = &seen[mark >> 6 & 15];
        if (*word & bit)
            return true;
        *word |= bit;
    }
    return false;
}

/* By key, then by place: the first of equal ones comes first. */
static int compare_nodes(const void *left, const void *right)
{
    const struct tree_node *a = *(struct tree_node *const *)left;
    const struct tree_node *b = *(struct tree_node *const *)right;
    int order = view_compare(a->key, b->key);
    return order ? order
                 : (a->key_span.start > b->key_span.start) -
                       (a->key_span.start < b->key_span.start);
}

void report_duplicates(struct reader *reader, const struct frame *frame, size_t depth)
{
    BUG_UNLESS(frame->node->count <= TREE_KEYS_MAX);
    if (!may_repeat(frame->node))
        return;
    struct tree_node *nodes[TREE_KEYS_MAX];
    size_t count = 0;
    for (struct tree_node *child = frame->node->first; child; child = child->next)
        nodes[count++] = child;
    qsort(nodes, count, sizeof *nodes, compare_nodes);
    size_t first = 0;
    for (size_t i = 1; i < count; i++) {
        if (view_equal(nodes[first]->key, nodes[i]->key))
            report_one(reader, depth, nodes[first], nodes[i]);
        else
            first = i;
    }
}
