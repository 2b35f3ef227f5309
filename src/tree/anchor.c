/* Names given with `&` and references to them with `*`.
 *
 * A reference is never followed while reading: it points to what it stands for, and what
 * following it would cost is counted beforehand.
 */
#include "tree/internal.h"

#include "text/escape.h"

enum { NAME_CELLS = 32 };

bool anchor_add(struct reader *reader, const yaml_char_t *name, struct tree_node *node,
                struct span span)
{
    if (reader->anchors.count >= TREE_ANCHORS_MAX) {
        sink_report(reader->sink, READER_TOO_LONG, span, NULL,
                    "the file has more than %d names given with '&'; the rest is not read",
                    TREE_ANCHORS_MAX);
        return false;
    }
    struct view text = view_of((const char *)name);
    text.data = arena_copy(reader->arena, text.data, text.size);
    struct anchor anchor = {.name = text, .node = node, .size = 1};
    VECTOR_ADD(reader->arena, &reader->anchors, anchor);
    return true;
}

const struct anchor *anchor_find(const struct reader *reader, struct view name)
{
    for (size_t i = reader->anchors.count; i > 0; i--)
        if (view_equal(reader->anchors.items[i - 1].name, name))
            return &reader->anchors.items[i - 1];
    return NULL;
}

bool anchor_check(struct reader *reader, const struct anchor *anchor, struct view name,
                  struct span span)
{
    if (!anchor) {
        sink_report(reader->sink, READER_NOT_YAML, span, NULL,
                    "'*%s' refers to nothing, since nothing before it has that name",
                    escape_short(reader->arena, name, NAME_CELLS));
        return false;
    }
    if (anchor->is_open) {
        struct finding *finding =
            sink_report(reader->sink, READER_NOT_YAML, span, NULL,
                        "'*%s' stands inside the very thing that it refers to",
                        escape_short(reader->arena, name, NAME_CELLS));
        uint32_t start = anchor->node->span.start;
        finding_relate(reader->sink, finding, (struct span){start, start + 1}, NULL,
                       "it begins here");
        return false;
    }
    if (++reader->alias_count > TREE_ALIASES_MAX) {
        sink_report(reader->sink, READER_TOO_LONG, span, NULL,
                    "the file has more than %d references with '*'; the rest is not read",
                    TREE_ALIASES_MAX);
        return false;
    }
    if (reader->depth + anchor->height > TREE_DEPTH_MAX) {
        sink_report(reader->sink, READER_TOO_DEEP, span, NULL,
                    "lists and keys stand more than %d deep within each other here",
                    TREE_DEPTH_MAX);
        return false;
    }
    return true;
}
