/* One key added among its neighbours, in their style. */
#include "tree/changing.h"

#include "base/buffer.h"

static size_t column_of(const struct changing *changing, size_t at)
{
    return at - changing_line_start(changing, at);
}

/* How much deeper the file sets what is within something: as its first section does, else two.
 */
static size_t indent_step(const struct changing *changing)
{
    const struct tree_node *child = changing->tree->root->first;
    for (; child; child = child->next)
        if (child->kind == TREE_MAP && child->style == STYLE_BLOCK && child->first) {
            size_t outer = column_of(changing, child->key_span.start);
            size_t inner = column_of(changing, child->first->key_span.start);
            if (inner > outer)
                return inner - outer;
        }
    return 2;
}

/* "park:" and below it "x: 400 mm", or "park: {x: 400 mm}": the key with what is to stand under
 * it.  `rest` is the path below the map it goes into. */
static void add_entry(const struct changing *changing, struct buffer *out, struct view rest,
                      const char *value, bool flow, size_t column)
{
    const char *dot = rest.size ? memchr(rest.data, '.', rest.size) : NULL;
    if (!dot) {
        buffer_format(out, "%.*s: %s", VIEW(rest), value);
        return;
    }
    struct view key = {rest.data, (size_t)(dot - rest.data)};
    struct view below = view_skip(rest, key.size + 1);
    if (flow) {
        buffer_format(out, "%.*s: {", VIEW(key));
        add_entry(changing, out, below, value, true, 0);
        buffer_byte(out, '}');
        return;
    }
    size_t inner = column + indent_step(changing);
    buffer_format(out, "%.*s:%s", VIEW(key), changing->line_end);
    buffer_fill(out, ' ', inner);
    add_entry(changing, out, below, value, false, inner);
}

/* Where a new key goes. */
struct gap {
    const struct tree_node *map;
    struct view map_path;           /* "" for the root */
    struct view rest;               /* of the path, below the map */
    const struct tree_node *before; /* the neighbour it follows; NULL: it comes first */
    bool flow;
};

static uint32_t rank_of(const struct changing *changing, struct view map_path, struct view key)
{
    const char *path =
        map_path.size ? arena_format(changing->arena, "%.*s.%.*s", VIEW(map_path), VIEW(key))
                      : arena_format(changing->arena, "%.*s", VIEW(key));
    return changing->order->rank(changing->order->user, view_of(path));
}

static const struct tree_node *predecessor(const struct changing *changing,
                                           const struct gap *gap)
{
    const char *dot = memchr(gap->rest.data, '.', gap->rest.size);
    struct view key = {gap->rest.data, dot ? (size_t)(dot - gap->rest.data) : gap->rest.size};
    uint32_t rank = rank_of(changing, gap->map_path, key);
    const struct tree_node *before = NULL;
    for (const struct tree_node *child = gap->map->first; child; child = child->next)
        if (rank_of(changing, gap->map_path, child->key) <= rank)
            before = child;
    return before;
}

static size_t end_of(const struct tree_node *node)
{
    return node->span.end > node->key_span.end ? node->span.end : node->key_span.end;
}

static struct view insert_flow(const struct changing *changing, const struct gap *gap,
                               const char *value)
{
    struct buffer text;
    buffer_init(&text, changing->arena);
    size_t at;
    if (gap->before) {
        at = end_of(gap->before);
        buffer_text(&text, ", ");
        add_entry(changing, &text, gap->rest, value, true, 0);
    } else {
        at = gap->map->first ? gap->map->first->key_span.start
                             : changing_behind_properties(changing, gap->map->span) + 1;
        add_entry(changing, &text, gap->rest, value, true, 0);
        if (gap->map->first)
            buffer_text(&text, ", ");
    }
    return changing_splice(changing, at, at, buffer_view(&text));
}

/* Above the first key of a section, and above the comment lines that belong to it. */
static size_t above(const struct changing *changing, const struct tree_node *first,
                    size_t limit)
{
    const char *data = changing->bytes.data;
    size_t at = changing_line_start(changing, first->key_span.start);
    while (at > limit) {
        bool pair = at >= 2 && data[at - 1] == '\n' && data[at - 2] == '\r';
        size_t earlier = changing_line_start(changing, at - (pair ? 2 : 1));
        size_t text = earlier;
        while (text < at && changing_is_blank(data[text]))
            text++;
        if (earlier < limit || data[text] != '#')
            break;
        at = earlier;
    }
    return at;
}

/* Is there nothing but blanks before this key on its line?  (A key on a list item's own line
 * has the dash before it.) */
static bool starts_its_line(const struct changing *changing, const struct tree_node *node)
{
    for (size_t i = changing_line_start(changing, node->key_span.start);
         i < node->key_span.start; i++)
        if (!changing_is_blank(changing->bytes.data[i]))
            return false;
    return true;
}

/* Behind comment lines that are set deeper than `column`: they belong to what came before. */
static size_t behind_its_comments(const struct changing *changing, size_t at, size_t column)
{
    struct view bytes = changing->bytes;
    for (;;) {
        size_t text = at;
        while (text < bytes.size && changing_is_blank(bytes.data[text]))
            text++;
        if (text == bytes.size || bytes.data[text] != '#' || text - at <= column ||
            changing_next_line(changing, text) == bytes.size)
            return at;
        at = changing_next_line(changing, text);
    }
}

static struct view insert_block(const struct changing *changing, const struct gap *gap,
                                const char *value)
{
    const struct tree_node *first = gap->map->first;
    size_t column = column_of(changing, first->key_span.start);
    const struct tree_node *before = gap->before;
    if (!before && !starts_its_line(changing, first))
        before = first;
    struct buffer text;
    buffer_init(&text, changing->arena);
    size_t at;
    if (before) {
        at = end_of(before);
        if (at == 0 || !changing_is_break(changing->bytes.data[at - 1]))
            at = changing_next_line(changing, at);
        if (at > 0 && !changing_is_break(changing->bytes.data[at - 1]))
            buffer_text(&text, changing->line_end); /* the last line had no end */
    } else {
        size_t limit = gap->map->key_span.end
                           ? changing_next_line(changing, gap->map->key_span.end)
                           : changing_line_start(changing, first->key_span.start);
        at = above(changing, first, limit);
    }
    if (before)
        at = behind_its_comments(changing, at, column);
    bool ends = text.size == 0;
    buffer_fill(&text, ' ', column);
    add_entry(changing, &text, gap->rest, value, false, column);
    if (ends)
        buffer_text(&text, changing->line_end);
    return changing_splice(changing, at, at, buffer_view(&text));
}

/* Under a key that has no value yet.  A comment behind its colon stays on the colon's line. */
static struct view insert_under(const struct changing *changing, const struct gap *gap,
                                const char *value)
{
    struct buffer text;
    buffer_init(&text, changing->arena);
    size_t at = gap->map->span.start, end = gap->map->span.end;
    if (gap->flow || end > at) {
        if (end == at)
            buffer_byte(&text, ' ');
        buffer_byte(&text, '{');
        add_entry(changing, &text, gap->rest, value, true, 0);
        buffer_byte(&text, '}');
        return changing_splice(changing, at, end, buffer_view(&text));
    }
    size_t column = column_of(changing, gap->map->key_span.start) + indent_step(changing);
    buffer_text(&text, changing->line_end);
    buffer_fill(&text, ' ', column);
    add_entry(changing, &text, gap->rest, value, false, column);
    while (at < changing->bytes.size && !changing_is_break(changing->bytes.data[at]))
        at++;
    return changing_splice(changing, at, at, buffer_view(&text));
}

/* The deepest thing that is there on the way to `path`. */
static void find_map(const struct changing *changing, struct view path, struct gap *gap)
{
    size_t split = path.size;
    for (;;) {
        while (split > 0 && path.data[split - 1] != '.')
            split--;
        struct view map_path = {path.data, split ? split - 1 : 0};
        const struct tree_node *node =
            split ? tree_at(changing->tree, map_path) : changing->tree->root;
        if (node) {
            *gap =
                (struct gap){.map = node, .map_path = map_path, .rest = view_skip(path, split)};
            return;
        }
        split--;
    }
}

/* A section whose key has nothing behind it, or a sign for that. */
static bool is_void(const struct tree_node *node)
{
    static const char *const signs[] = {"", "~", "null", "Null", "NULL"};
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++)
        if (node->kind == TREE_TEXT && node->style == STYLE_PLAIN &&
            view_is(node->text, signs[i]))
            return true;
    return false;
}

static bool find_gap(const struct changing *changing, struct view path, struct gap *gap,
                     const char **why)
{
    find_map(changing, path, gap);
    if (memchr(gap->rest.data, '[', gap->rest.size)) {
        *why = "there is no such item in the list";
        return false;
    }
    if (gap->map->kind == TREE_ALIAS) {
        *why = "its section is shared with another through an alias; change it by hand";
        return false;
    }
    bool empty = is_void(gap->map);
    if (gap->map->kind != TREE_MAP && !empty) {
        *why = "its section holds something else";
        return false;
    }
    if (gap->map->style == STYLE_BLOCK && !empty && !gap->map->first) {
        /* Keys that are no texts were read and forgotten. */
        *why = "its section has a mistake in it; mend that first";
        return false;
    }
    gap->flow = changing_in_brackets(changing, gap->map_path, true);
    if (!empty)
        gap->before = predecessor(changing, gap);
    return true;
}

bool changing_add(const struct changing *changing, const struct value_change *change,
                  struct view *out, const char **why)
{
    struct gap gap;
    if (!find_gap(changing, change->path, &gap, why))
        return false;
    bool flow =
        gap.flow || (gap.map->kind != TREE_MAP && gap.map->span.end > gap.map->span.start);
    const char *value = change->is_text
                            ? change_quoted(changing->arena, change->text, flow)
                            : arena_copy(changing->arena, change->text.data, change->text.size);
    if (gap.map->kind != TREE_MAP)
        *out = insert_under(changing, &gap, value);
    else if (gap.map->style == STYLE_FLOW)
        *out = insert_flow(changing, &gap, value);
    else
        *out = insert_block(changing, &gap, value);
    return true;
}
