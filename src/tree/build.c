/* Events to nodes: one pass over libyaml's event stream with a stack of what is open.
 *
 * Every limit stops the reading: what came before it stays, and the tree is partial.  A
 * reference is never followed while reading: it points to what it stands for, and what
 * following it would cost is counted beforehand.  Keys that stand twice are looked for when
 * their map ends.
 */
#include "tree/internal.h"

#include "text/escape.h"

#include <stdlib.h>

enum {
    ROOM_MOST = 512, /* nodes allocated at once */
    NAME_CELLS = 32, /* of a name or text in a message */
    KEY_CELLS = 40,  /* of a key */
};

/* Gives a node the name `name`; false where there are too many names, which is reported. */
static bool anchor_add(struct reader *reader, const yaml_char_t *name, struct tree_node *node,
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

/* The latest bearer of a name, or NULL. */
static const struct anchor *anchor_find(const struct reader *reader, struct view name)
{
    for (size_t i = reader->anchors.count; i > 0; i--)
        if (view_equal(reader->anchors.items[i - 1].name, name))
            return &reader->anchors.items[i - 1];
    return NULL;
}

/* May what `anchor_find` found (NULL: nothing) be referred to at `span`?  Reports why not. */
static bool anchor_check(struct reader *reader, const struct anchor *anchor, struct view name,
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
    const char *name = is_listed ? escape_short(reader->arena, second->key, KEY_CELLS) : "";
    struct finding *finding = sink_report(reader->sink, READER_DUPLICATE_KEY, second->key_span,
                                          path, "the key '%s' stands twice here", name);
    finding_relate(reader->sink, finding, first->key_span, path, "it stands here first");
}

/* Is a key before `child` the same? */
static bool is_repeated(const struct tree_node *map, const struct tree_node *child)
{
    const struct tree_node *before = map->first;
    while (before != child && !view_equal(before->key, child->key))
        before = before->next;
    return before != child;
}

/* Can two keys be alike?  Few of a map share their size and three of their letters. */
static bool may_repeat(const struct tree_node *map)
{
    enum { COMPARED = 8 }; /* else a file could be made that takes for ever */
    uint64_t seen[16] = {0};
    int compared = 0;
    for (const struct tree_node *child = map->first; child; child = child->next) {
        struct view key = child->key;
        size_t mark = key.size;
        if (key.size)
            mark += (size_t)key.data[0] * 5 + (size_t)key.data[key.size / 2] * 67 +
                    (size_t)key.data[key.size - 1] * 257;
        uint64_t bit = (uint64_t)1 << (mark & 63), *word = &seen[mark >> 6 & 15];
        if (*word & bit && (++compared > COMPARED || is_repeated(map, child)))
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

/* Reports each key of `frame` that stands twice and flags both nodes. */
static void report_duplicates(struct reader *reader, const struct frame *frame, size_t depth)
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

static struct tree_node *new_node(struct reader *reader)
{
    if (reader->room_left == 0) {
        reader->room_left = reader->room_next;
        reader->room = arena_alloc(reader->arena, reader->room_left * sizeof *reader->room);
        if (reader->room_next < ROOM_MOST)
            reader->room_next *= 2;
    }
    reader->room_left--;
    *reader->room = (struct tree_node){0};
    return reader->room++;
}

static struct frame *top_of(struct reader *reader)
{
    return reader->depth ? &reader->frames[reader->depth - 1] : NULL;
}

static const char *shown(struct reader *reader, struct view name)
{
    return escape_short(reader->arena, name, NAME_CELLS);
}

/* The node for what comes next: a map's value gets the one that has its key already. */
static struct tree_node *value_node(struct reader *reader, const struct frame *frame)
{
    return frame && frame->waiting ? frame->waiting : new_node(reader);
}

/* The text of an event: a look into the file where the file says it in the same bytes, as a
 * plain text within one line must. */
static struct view decoded(struct reader *reader, const yaml_event_t *event, struct span span)
{
    struct view text = {(const char *)event->data.scalar.value, event->data.scalar.length};
    const char *bytes = reader->source->bytes.data + span.start;
    size_t size = span.end - span.start;
    bool is_as_is = event->data.scalar.style == YAML_PLAIN_SCALAR_STYLE &&
                    event->start_mark.line == event->end_mark.line;
    if (size == text.size && (is_as_is || memcmp(bytes, text.data, size) == 0))
        return (struct view){bytes, size};
    if (size >= 2 && size - 2 == text.size && memcmp(bytes + 1, text.data, text.size) == 0)
        return (struct view){bytes + 1, text.size};
    return (struct view){arena_copy(reader->arena, text.data, text.size), text.size};
}

static enum tree_style text_style(yaml_scalar_style_t style)
{
    static const uint8_t styles[] = {
        [YAML_SINGLE_QUOTED_SCALAR_STYLE] = STYLE_QUOTED,
        [YAML_DOUBLE_QUOTED_SCALAR_STYLE] = STYLE_QUOTED,
        [YAML_LITERAL_SCALAR_STYLE] = STYLE_BLOCK,
        [YAML_FOLDED_SCALAR_STYLE] = STYLE_BLOCK,
    };
    return (enum tree_style)styles[style];
}

/* Where a text stands that begins or ends elsewhere than its event, which lies at `span`. */
static struct span odd_text_span(struct reader *reader, const yaml_event_t *event,
                                 struct span span)
{
    struct view bytes = reader->source->bytes;
    int properties = (event->data.scalar.anchor != NULL) + (event->data.scalar.tag != NULL);
    bool is_empty = event->data.scalar.length == 0;
    enum tree_style style = text_style(event->data.scalar.style);
    uint32_t end = span.start;
    if (properties)
        span.start = skip_properties(bytes, span.start, properties, &end);
    if (style == STYLE_PLAIN && is_empty) {
        const struct frame *frame = top_of(reader);
        if (!properties && frame && frame->waiting)
            end = after_colon(bytes, frame->waiting->key_span.end, span.start);
        return (struct span){end, end};
    }
    if (style == STYLE_BLOCK)
        return trim_block_text(bytes, span, is_empty);
    return span;
}

/* Where a text stands, without the `&name` and `!tag` that may come before it. */
static inline struct span text_span(struct reader *reader, const yaml_event_t *event)
{
    struct span span = locate_span(reader, event);
    bool is_usual = event->data.scalar.length && !event->data.scalar.anchor &&
                    !event->data.scalar.tag &&
                    text_style(event->data.scalar.style) <= STYLE_QUOTED;
    return is_usual ? span : odd_text_span(reader, event, span);
}

/* May one more child go into `frame`? */
static bool has_room(struct reader *reader, const struct frame *frame, struct span span)
{
    bool is_map = frame->node->kind == TREE_MAP;
    uint32_t most = is_map ? TREE_KEYS_MAX : TREE_ITEMS_MAX;
    if (frame->node->count < most)
        return true;
    sink_report(reader->sink, READER_TOO_LONG, span, NULL,
                is_map ? "more than %u keys stand in one place; the rest is not read"
                       : "this list has more than %u items; the rest is not read",
                (unsigned)most);
    return false;
}

/* Counts nodes, those that aliases repeat with; false where there are too many. */
static bool count_nodes(struct reader *reader, uint64_t more, struct span span)
{
    reader->size += more;
    if (reader->size <= TREE_EXPANSION_MAX)
        return true;
    sink_report(
        reader->sink, READER_TOO_LARGE, span, NULL,
        "the file holds more than %d values, repeated ones counted; the rest is not read",
        TREE_EXPANSION_MAX);
    return false;
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* Does the comma before a key without colon and value stand within a number, as in
 * `{scan: 1,0 ms}`?  It is then no separator: the value goes on to the key's end. */
static bool is_rest_of_number(struct reader *reader, const struct frame *frame,
                              const struct tree_node *child)
{
    const struct tree_node *before = frame->last;
    struct span key = child->key_span;
    if (!before || before->kind != TREE_TEXT ||
        (before->style != STYLE_PLAIN && before->style != STYLE_JOINED) ||
        before->span.end + 1 != key.start || child->span.start != key.end ||
        child->span.end != key.end)
        return false;
    struct view left = source_slice(reader->source, before->span);
    struct view right = source_slice(reader->source, key);
    return left.size && right.size && is_digit(left.data[left.size - 1]) &&
           is_digit(right.data[0]) && view_equal(left, before->text) &&
           view_equal(right, child->key);
}

/* Hangs `child` into `frame`, the innermost open list or map; NULL: it is the root. */
static inline void add_child(struct reader *reader, struct frame *frame,
                             struct tree_node *child)
{
    if (!frame) {
        reader->root = child;
        return;
    }
    if (frame->node->kind == TREE_MAP) {
        frame->waiting = NULL;
        if (frame->key_is_bad)
            return;
        if (is_rest_of_number(reader, frame, child)) {
            frame->last->style = STYLE_JOINED;
            frame->last->span.end = child->key_span.end;
            frame->last->text = source_slice(reader->source, frame->last->span);
            return;
        }
    }
    if (frame->last)
        frame->last->next = child;
    else
        frame->node->first = child;
    frame->last = child;
    frame->node->count++;
}

static bool wants_key(const struct frame *frame)
{
    return frame && frame->node->kind == TREE_MAP && !frame->waiting;
}

static inline bool set_key(struct reader *reader, struct frame *frame, struct view key,
                           struct span span)
{
    if (!has_room(reader, frame, span))
        return false;
    frame->waiting = new_node(reader);
    frame->waiting->key = key;
    frame->waiting->key_span = span;
    frame->key_is_bad = false;
    reader->has_merge_keys |= view_is(key, "<<");
    return true;
}

/* A key that is no text: says so once, and lets its value pass unread. */
static void set_bad_key(struct reader *reader, struct frame *frame, struct span span,
                        const char *kind)
{
    sink_report(reader->sink, READER_WRONG_KIND, span, NULL,
                "%s stands where a key is wanted; a key is a text", kind);
    frame->waiting = new_node(reader);
    frame->waiting->key_span = span;
    frame->key_is_bad = true;
}

static bool take_text(struct reader *reader, const yaml_event_t *event)
{
    struct span span = text_span(reader, event);
    if (event->data.scalar.length > TREE_TEXT_MAX) {
        sink_report(reader->sink, READER_TOO_LONG, span, NULL,
                    "this text has more than %d bytes; it and the rest are not read",
                    TREE_TEXT_MAX);
        return false;
    }
    struct view text = decoded(reader, event, span);
    struct frame *frame = top_of(reader);
    bool is_key = wants_key(frame);
    if (is_key && !event->data.scalar.anchor)
        return set_key(reader, frame, text, span);
    if (frame && !is_key && !has_room(reader, frame, span))
        return false;
    struct tree_node *node = value_node(reader, frame);
    node->kind = TREE_TEXT;
    node->style = (uint8_t)text_style(event->data.scalar.style);
    node->tagged = event->data.scalar.tag != NULL;
    node->span = span;
    node->text = text;
    if (event->data.scalar.anchor && !anchor_add(reader, event->data.scalar.anchor, node, span))
        return false;
    if (is_key)
        return set_key(reader, frame, text, span);
    if (!count_nodes(reader, 1, span))
        return false;
    add_child(reader, frame, node);
    return true;
}

static bool take_alias(struct reader *reader, const yaml_event_t *event)
{
    struct span span = locate_span(reader, event);
    struct view name = view_of((const char *)event->data.alias.anchor);
    const struct anchor *anchor = anchor_find(reader, name);
    if (!anchor_check(reader, anchor, name, span))
        return false;
    struct frame *frame = top_of(reader);
    if (wants_key(frame)) {
        if (anchor->node->kind == TREE_TEXT)
            return set_key(reader, frame, anchor->node->text, span);
        set_bad_key(reader, frame, span, "a reference to a list or to keys with values");
        return true;
    }
    if (frame && !has_room(reader, frame, span))
        return false;
    struct tree_node *node = value_node(reader, frame);
    node->kind = TREE_ALIAS;
    node->span = span;
    node->first = anchor->node;
    if (frame && anchor->height > frame->height)
        frame->height = anchor->height;
    if (!count_nodes(reader, anchor->size, span))
        return false;
    add_child(reader, frame, node);
    return true;
}

/* What the start events of lists and maps have in common. */
struct node_start {
    enum tree_kind kind;
    bool is_flow;
    const yaml_char_t *anchor, *tag;
};

static bool open_node(struct reader *reader, const yaml_event_t *event,
                      struct node_start opening)
{
    struct span span = locate_span(reader, event);
    int properties = (opening.anchor != NULL) + (opening.tag != NULL);
    uint32_t end;
    if (properties)
        span.start = skip_properties(reader->source->bytes, span.start, properties, &end);
    if (span.end < span.start)
        span.end = span.start;
    if (reader->depth == TREE_DEPTH_MAX) {
        sink_report(reader->sink, READER_TOO_DEEP, (struct span){span.start, span.start + 1},
                    NULL, "lists and keys stand more than %d deep within each other here",
                    TREE_DEPTH_MAX);
        return false;
    }
    struct frame *parent = top_of(reader);
    bool is_key = wants_key(parent);
    if (parent && !is_key && !has_room(reader, parent, span))
        return false;
    struct tree_node *node = value_node(reader, parent);
    node->kind = (uint8_t)opening.kind;
    node->style = opening.is_flow ? STYLE_FLOW : STYLE_BLOCK;
    node->tagged = opening.tag != NULL;
    node->span = span;
    struct frame frame = {.node = node, .is_key = is_key, .anchor = -1};
    if (opening.anchor) {
        if (!anchor_add(reader, opening.anchor, node, span))
            return false;
        frame.anchor = (int)reader->anchors.count - 1;
        reader->anchors.items[frame.anchor].is_open = true;
        reader->anchors.items[frame.anchor].size = reader->size;
    }
    reader->frames[reader->depth++] = frame;
    return count_nodes(reader, 1, span);
}

/* Closes the innermost list or map, whose brackets end at `end` where it has some. */
void build_close(struct reader *reader, uint32_t end)
{
    struct frame frame = *top_of(reader);
    struct tree_node *node = frame.node;
    if (frame.last && frame.last->span.end > node->span.end)
        node->span.end = frame.last->span.end;
    if (node->style == STYLE_FLOW && end > node->span.end)
        node->span.end = end;
    if (node->kind == TREE_MAP)
        report_duplicates(reader, &frame, reader->depth - 1);
    reader->depth--;
    if (frame.anchor >= 0) {
        struct anchor *anchor = &reader->anchors.items[frame.anchor];
        anchor->is_open = false;
        anchor->height = frame.height + 1;
        anchor->size = reader->size - anchor->size;
    }
    struct frame *parent = top_of(reader);
    if (frame.is_key) {
        set_bad_key(reader, parent, node->span,
                    node->kind == TREE_LIST ? "a list" : "something in braces");
        return;
    }
    if (parent && frame.height + 1 > parent->height)
        parent->height = frame.height + 1;
    add_child(reader, parent, node);
}

static void close_at(struct reader *reader, const yaml_event_t *event)
{
    bool has_bracket = event->end_mark.index > event->start_mark.index;
    build_close(reader, has_bracket ? locate_mark(reader, event->end_mark.index) : 0);
}

/* Only keys with values may stand at the top. */
static bool check_root(struct reader *reader, const yaml_event_t *event)
{
    if (event->type == YAML_SCALAR_EVENT) {
        struct span span = text_span(reader, event);
        struct view text = {(const char *)event->data.scalar.value, event->data.scalar.length};
        if (span.start == span.end)
            return false;
        struct view after = view_skip(reader->source->bytes, span.end);
        if (event->data.scalar.style == YAML_PLAIN_SCALAR_STYLE && view_starts(after, ":")) {
            report_no_colon(reader, span);
            return false;
        }
        sink_report(reader->sink, READER_WRONG_KIND, span, NULL,
                    "the file holds only the text '%s'; keys with values are wanted",
                    shown(reader, text));
        return false;
    }
    if (event->type != YAML_SEQUENCE_START_EVENT)
        return true;
    uint32_t start = locate_mark(reader, event->start_mark.index);
    sink_report(reader->sink, READER_WRONG_KIND, (struct span){start, start + 1}, NULL,
                "the file begins with a list; keys with values are wanted at its top");
    return false;
}

/* What comes after the document. */

static void report_second_document(struct reader *reader, uint32_t at)
{
    struct view bytes = reader->source->bytes;
    struct span span = {at, line_around(bytes, at).end};
    if (view_starts(view_skip(bytes, at), "---"))
        span.end = at + 3;
    struct finding *finding =
        sink_report(reader->sink, READER_SECOND_DOCUMENT, span, NULL,
                    "a second document begins here; one file describes one machine");
    if (finding)
        finding->put_right = "keep each in a file of its own";
}

/* Nothing, something that is reported here, or something that libyaml should look at.  True
 * where the reading goes on for that. */
static bool check_rest(struct reader *reader, uint32_t at, bool is_implicit)
{
    struct view bytes = reader->source->bytes;
    at = skip_to_content(bytes, at);
    while (line_around(bytes, at).start == at && view_starts(view_skip(bytes, at), "..."))
        at = skip_to_content(bytes, at + 3);
    reader->is_whole = true;
    if (at >= reader->base + reader->bytes.size)
        return false;
    bool is_line = line_around(bytes, at).start == at;
    if (is_implicit && is_line && bytes.data[at] == '%') {
        report_directive(reader, at);
        reader->is_whole = false;
    } else if (is_implicit && !(is_line && view_starts(view_skip(bytes, at), "---"))) {
        reader->is_whole = false;
        return true;
    } else {
        report_second_document(reader, at);
    }
    return false;
}

bool build_event(struct reader *reader, const yaml_event_t *event)
{
    if (reader->depth == 0 && !check_root(reader, event))
        return false;
    switch (event->type) {
    case YAML_SCALAR_EVENT:
        return take_text(reader, event);
    case YAML_ALIAS_EVENT:
        return take_alias(reader, event);
    case YAML_SEQUENCE_START_EVENT:
        return open_node(
            reader, event,
            (struct node_start){
                TREE_LIST, event->data.sequence_start.style == YAML_FLOW_SEQUENCE_STYLE,
                event->data.sequence_start.anchor, event->data.sequence_start.tag});
    case YAML_MAPPING_START_EVENT:
        return open_node(reader, event,
                         (struct node_start){
                             TREE_MAP,
                             event->data.mapping_start.style == YAML_FLOW_MAPPING_STYLE,
                             event->data.mapping_start.anchor, event->data.mapping_start.tag});
    case YAML_SEQUENCE_END_EVENT:
    case YAML_MAPPING_END_EVENT:
        close_at(reader, event);
        return true;
    case YAML_DOCUMENT_START_EVENT:
        if (!reader->root)
            return true;
        report_second_document(reader, locate_mark(reader, event->start_mark.index));
        return false;
    case YAML_DOCUMENT_END_EVENT:
        return check_rest(reader, locate_mark(reader, event->end_mark.index),
                          event->data.document_end.implicit);
    case YAML_STREAM_END_EVENT:
        return false;
    default:
        return true;
    }
}
