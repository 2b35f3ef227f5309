/* Finding places in a sketch, and what may be written there. */
#include "tree/sketch.h"

#include "base/buffer.h"

const struct sketch_node *sketch_next(const struct sketch_node *node,
                                      const struct sketch_node *within)
{
    if (node->first)
        return node->first;
    while (node != within && !node->next)
        node = node->parent;
    return node == within ? NULL : node->next;
}

struct sketch_node *sketch_child(const struct sketch_node *map, struct view key)
{
    for (struct sketch_node *child = map->kind == SKETCH_MAP ? map->first : NULL; child;
         child = child->next)
        if (!child->bare && view_equal(child->key, key))
            return child;
    return NULL;
}

const char *sketch_path(struct arena *arena, const struct sketch_node *node)
{
    const struct sketch_node *way[4 * SKETCH_DEPTH_MAX];
    size_t depth = 0;
    struct buffer out;
    for (; node->parent && depth < sizeof way / sizeof *way; node = node->parent)
        way[depth++] = node;
    buffer_init(&out, arena);
    while (depth--) {
        if (way[depth]->parent->kind == SKETCH_LIST) {
            buffer_format(&out, "[%u]", (unsigned)way[depth]->index);
            continue;
        }
        if (out.size)
            buffer_byte(&out, '.');
        buffer_add(&out, way[depth]->key);
    }
    return out.size ? buffer_string(&out) : "";
}

/* The item of a list that `inside` names: its index, or a key and its value. */
static const struct sketch_node *find_item(const struct sketch_node *list, struct view inside)
{
    struct view value = inside;
    struct view key = view_take(&value, '=');
    bool indexed = key.size == inside.size;
    uint32_t index = 0;
    for (size_t i = 0; i < inside.size && indexed; i++) {
        if (inside.data[i] < '0' || inside.data[i] > '9' || index > 100000000)
            return NULL;
        index = index * 10 + (uint32_t)(inside.data[i] - '0');
    }
    for (const struct sketch_node *item = list->first; item; item = item->next) {
        const struct sketch_node *by = indexed ? NULL : sketch_child(item, view_trim(key));
        if (indexed ? item->index == index
                    : by && by->kind == SKETCH_TEXT && view_equal(by->text, view_trim(value)))
            return item;
    }
    return NULL;
}

/* The child of a map that the start of `path` names: the longest, since names may hold points.
 */
static const struct sketch_node *find_key(const struct sketch_node *map, struct view *path)
{
    const struct sketch_node *found = NULL;
    for (const struct sketch_node *child = map->first; child; child = child->next) {
        size_t size = child->key.size;
        if (child->bare || size > path->size ||
            memcmp(child->key.data, path->data, size) != 0 ||
            (size < path->size && path->data[size] != '.' && path->data[size] != '[') ||
            (found && size <= found->key.size))
            continue;
        found = child;
    }
    if (found)
        *path = view_skip(*path, found->key.size);
    return found;
}

const struct sketch_node *sketch_at(const struct sketch *sketch, struct view path)
{
    const struct sketch_node *node = &sketch->root;
    while (node && path.size) {
        if (*path.data == '.')
            path = view_skip(path, 1);
        if (path.size && *path.data == '[') {
            const char *close = memchr(path.data, ']', path.size);
            if (!close || node->kind != SKETCH_LIST)
                return NULL;
            size_t size = (size_t)(close - path.data);
            node = find_item(node, (struct view){path.data + 1, size - 1});
            path = view_skip(path, size + 1);
        } else if (path.size) {
            node = node->kind == SKETCH_MAP ? find_key(node, &path) : NULL;
        }
    }
    return node;
}

bool sketch_in_comment(const struct sketch *sketch, uint32_t offset)
{
    size_t low = 0, high = sketch->comments.count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (sketch->comments.items[middle].start < offset)
            low = middle + 1;
        else
            high = middle;
    }
    return low && offset <= sketch->comments.items[low - 1].end;
}

static bool touches(struct span span, uint32_t offset)
{
    return span.start <= offset && offset <= span.end && span.start < span.end;
}

const struct sketch_node *sketch_touched(const struct sketch *sketch, uint32_t offset,
                                         bool *on_key)
{
    const struct sketch_node *node = &sketch->root;
    while (node) {
        const struct sketch_node *inner = NULL;
        for (const struct sketch_node *child = node->first; child; child = child->next) {
            if (child->start > offset)
                break;
            if (offset <= child->span.end || touches(child->key_span, offset))
                inner = child;
        }
        if (!inner)
            break;
        *on_key = touches(inner->key_span, offset);
        if (*on_key)
            return inner;
        node = inner;
    }
    bool single = node && (node->kind == SKETCH_TEXT || node->kind == SKETCH_ALIAS);
    *on_key = false;
    return single && touches(node->span, offset) ? node : NULL;
}

/* Contexts. */

static bool is_container(const struct sketch_node *node)
{
    return node->kind == SKETCH_MAP || node->kind == SKETCH_LIST;
}

static struct view bytes_of(const struct sketch *sketch)
{
    return sketch->source->bytes;
}

static uint32_t line_start(const struct sketch *sketch, uint32_t at)
{
    const char *data = bytes_of(sketch).data;
    uint32_t least = source_mark_size(sketch->source);
    while (at > least && data[at - 1] != '\n' && data[at - 1] != '\r')
        at--;
    return at;
}

/* The deepest in brackets that hold the place. */
static const struct sketch_node *find_flow(const struct sketch *sketch, uint32_t offset)
{
    const struct sketch_node *found = NULL, *node = &sketch->root;
    while (node) {
        const struct sketch_node *inner = NULL;
        for (const struct sketch_node *child = node->first; child && child->start <= offset;
             child = child->next) {
            uint32_t end = child->span.end;
            /* What is not closed, and what it is in, goes on to the end of its last line. */
            if (!child->flow || child->open)
                while (end < bytes_of(sketch).size && bytes_of(sketch).data[end] == ' ')
                    end++;
            bool in = child->span.start < offset &&
                      (child->flow && !child->open ? offset < end : offset <= end);
            if (is_container(child) && in)
                inner = child;
        }
        if (inner && inner->flow)
            found = inner;
        node = inner;
    }
    return found;
}

/* From where `child` is written up to the place, is there none of `stops`? */
static bool reaches(const struct sketch *sketch, uint32_t from, uint32_t offset, char stop)
{
    struct view bytes = bytes_of(sketch);
    return from <= offset &&
           (from == offset || !memchr(bytes.data + from, stop, offset - from));
}

static void find_in_flow(const struct sketch *sketch, const struct sketch_node *flow,
                         uint32_t offset, struct sketch_context *out)
{
    const struct sketch_node *near = NULL;
    for (const struct sketch_node *child = flow->first; child && child->start <= offset;
         child = child->next)
        near = child;
    out->flow = true;
    out->token = (struct span){offset, offset};
    out->node = flow;
    out->wanted = flow->kind == SKETCH_MAP ? WANTED_KEY : WANTED_ITEM;
    if (!near)
        return;
    bool keyed = near->key_span.end > near->key_span.start;
    if (keyed && touches(near->key_span, offset)) {
        out->self = near;
        out->token = near->key_span;
    } else if (near->kind == SKETCH_TEXT && touches(near->span, offset)) {
        out->self = near;
        out->token = near->span;
        if (keyed) {
            out->wanted = WANTED_VALUE;
            out->node = near;
        }
    } else if (keyed && offset >= near->span.start &&
               reaches(sketch, near->span.end, offset, ',')) {
        out->wanted = is_container(near) ? WANTED_NOTHING : WANTED_VALUE;
        out->node = out->self = near;
        if (near->kind == SKETCH_TEXT)
            out->token = (struct span){near->span.start, offset};
    } else if (!reaches(sketch, near->span.end, offset, ',')) {
        return;
    } else {
        out->wanted = WANTED_NOTHING; /* a comma has to come first */
    }
}

/* The last node that begins before `limit`, as deep as it goes, that is a list or map in lines
 * or may become one. */
static const struct sketch_node *open_before(const struct sketch *sketch, uint32_t limit)
{
    const struct sketch_node *node = &sketch->root;
    for (;;) {
        const struct sketch_node *inner = NULL;
        for (const struct sketch_node *child = node->first; child && child->start < limit;
             child = child->next)
            inner = child;
        if (!inner || inner->flow || inner->bare || inner->kind == SKETCH_ALIAS)
            return node;
        bool begins_here = inner->kind == SKETCH_TEXT && inner->span.start >= limit;
        if (inner->kind == SKETCH_TEXT && !begins_here)
            return node;
        if (!is_container(inner) || inner->first->start >= limit)
            return inner; /* nothing behind its colon or dash so far */
        node = inner;
    }
}

static void want(struct sketch_context *out, enum sketch_wanted wanted,
                 const struct sketch_node *node)
{
    out->wanted = wanted;
    out->node = node;
}

/* What a line may hold that begins at `column`, of which no more stands there than the token.
 */
static void find_by_column(const struct sketch *sketch, uint32_t limit, uint32_t column,
                           struct sketch_context *out)
{
    const struct sketch_node *node = open_before(sketch, limit);
    bool begins = !is_container(node) || node->first->start >= limit;
    if (begins && !node->parent) {
        want(out, column == 0 ? WANTED_KEY : WANTED_NOTHING, node);
        return;
    }
    if (begins && column > node->parent->column) {
        want(out, WANTED_KEY, node); /* or the first item, of which the caller knows */
        return;
    }
    for (node = begins ? node->parent : node; node; node = node->parent) {
        if (!is_container(node) || node->column > column)
            continue;
        if (node->column == column && node->kind == SKETCH_MAP)
            want(out, WANTED_KEY, node);
        else if (node->column == column)
            want(out, WANTED_ITEM, node);
        return;
    }
}

/* The line of a node in lines on which the place lies: behind its colon or its dash. */
static const struct sketch_node *on_line(const struct sketch *sketch, uint32_t line,
                                         uint32_t offset)
{
    const struct sketch_node *found = NULL, *node = &sketch->root;
    while (node) {
        const struct sketch_node *inner = NULL;
        for (const struct sketch_node *child = node->first; child && child->start <= offset;
             child = child->next)
            inner = child;
        if (inner && inner->start >= line)
            found = inner;
        node = inner && !inner->flow ? inner : NULL;
    }
    return found;
}

static void find_on_line(const struct sketch_node *node, uint32_t line, uint32_t offset,
                         struct sketch_context *out)
{
    bool keyed = node->key_span.end > node->key_span.start;
    out->self = node;
    if (keyed && touches(node->key_span, offset)) {
        want(out, WANTED_KEY, node->parent);
        out->token = node->key_span;
        out->column = node->key_span.start - line;
    } else if (node->bare) {
        out->wanted = WANTED_NOTHING;
    } else if (node->kind == SKETCH_NOTHING || is_container(node)) {
        bool behind = offset > (keyed ? node->key_span.end : node->start);
        bool empty =
            node->kind == SKETCH_NOTHING || (node->first && node->first->start > offset);
        want(out, behind && empty && !node->flow ? WANTED_VALUE : WANTED_NOTHING, node);
    } else {
        want(out, WANTED_VALUE, node);
        if (touches(node->span, offset))
            out->token = node->span;
        else if (offset > node->span.end && node->plain)
            out->token = (struct span){node->span.start, offset};
        else if (offset > node->span.end)
            out->wanted = WANTED_NOTHING;
    }
}

void sketch_find_context(const struct sketch *sketch, uint32_t offset,
                         struct sketch_context *out)
{
    struct view bytes = bytes_of(sketch);
    *out = (struct sketch_context){.token = {offset, offset}};
    const struct sketch_node *flow = find_flow(sketch, offset);
    if (sketch_in_comment(sketch, offset))
        return;
    if (flow) {
        find_in_flow(sketch, flow, offset, out);
        return;
    }
    uint32_t line = line_start(sketch, offset), begin = line, end = offset;
    while (begin < offset && bytes.data[begin] == ' ')
        begin++;
    bool on_key;
    const struct sketch_node *block = sketch_touched(sketch, offset, &on_key);
    if (block && !on_key && block->kind == SKETCH_TEXT && !block->plain &&
        block->span.start < line)
        return; /* within a text of several lines */
    out->column = begin - line;
    const struct sketch_node *node = on_line(sketch, line, offset);
    if (node && !node->bare) {
        find_on_line(node, line, offset, out);
        return;
    }
    while (end < bytes.size && bytes.data[end] > ' ' && bytes.data[end] != '#')
        end++;
    for (uint32_t i = begin; i < offset; i++)
        if (bytes.data[i] <= ' ' && bytes.data[i] >= 0)
            return; /* a second word of what is no key */
    out->token = (struct span){begin, end};
    while (end < bytes.size && (bytes.data[end] == ' ' || bytes.data[end] == '\t'))
        end++;
    if (end < bytes.size && !strchr("\r\n#", bytes.data[end]))
        return; /* the line holds something else behind the place */
    find_by_column(sketch, line, out->column, out);
}
