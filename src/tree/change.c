/* One value changed in place, or one key added among its neighbours. */
#include "tree/change.h"

#include "base/buffer.h"

/* The change being made. */
struct changing {
    struct arena *arena;
    const struct tree *tree;
    struct view bytes;
    const struct change_order *order;
    const char *line_end; /* the file's own */
};

static struct view splice(const struct changing *changing, size_t start, size_t end,
                          struct view text)
{
    struct buffer out;
    buffer_init(&out, changing->arena);
    buffer_add(&out, (struct view){changing->bytes.data, start});
    buffer_add(&out, text);
    buffer_add(&out, view_skip(changing->bytes, end));
    return buffer_view(&out);
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

static bool is_break(char c)
{
    return c == '\n' || c == '\r';
}

/* May a text start so without quotes? */
static bool starts_plain(struct view text, bool in_brackets)
{
    static const char never_first[] = "!&*%@`\"'#|>{}[],";
    char first = text.data[0];
    if (is_blank(first) || strchr(never_first, first))
        return false;
    if (first == '-')
        return text.size > 1 && !is_blank(text.data[1]);
    if (first == '?' || first == ':')
        return text.size > 1 && !is_blank(text.data[1]) && !in_brackets;
    return true;
}

/* Does this text in YAML say itself? */
static bool reads_as_itself(struct view text, bool in_brackets)
{
    if (text.size == 0 || !starts_plain(text, in_brackets) ||
        is_blank(text.data[text.size - 1]))
        return false;
    if (view_is(text, "~") || view_is(text, "---") || view_is(text, "..."))
        return false;
    for (size_t i = 0; i < text.size; i++) {
        char c = text.data[i];
        if ((unsigned char)c < 0x20 || c == 0x7f)
            return false;
        if (c == '#' && i > 0 && is_blank(text.data[i - 1]))
            return false;
        if (c == ':' && (i + 1 == text.size || is_blank(text.data[i + 1])))
            return false;
        if (in_brackets && strchr(",[]{}", c))
            return false;
    }
    return true;
}

static void add_quoted(struct buffer *out, struct view text)
{
    buffer_byte(out, '"');
    for (size_t i = 0; i < text.size; i++) {
        unsigned char c = (unsigned char)text.data[i];
        if (c == '"' || c == '\\')
            buffer_format(out, "\\%c", c);
        else if (c == '\n')
            buffer_text(out, "\\n");
        else if (c < 0x20 || c == 0x7f)
            buffer_format(out, "\\x%02x", c);
        else
            buffer_byte(out, (char)c);
    }
    buffer_byte(out, '"');
}

const char *change_quoted(struct arena *arena, struct view text, bool in_brackets)
{
    if (reads_as_itself(text, in_brackets))
        return arena_copy(arena, text.data, text.size);
    struct buffer out;
    buffer_init(&out, arena);
    add_quoted(&out, text);
    return buffer_string(&out);
}

/* The new text in the style of the old: its quotes are kept. */
static struct view styled(const struct changing *changing, const struct tree_node *node,
                          struct view text, bool in_brackets)
{
    struct buffer out;
    buffer_init(&out, changing->arena);
    char quote = node->style == STYLE_QUOTED ? changing->bytes.data[node->span.end - 1] : '\0';
    if (quote == '\'' && !memchr(text.data, '\n', text.size)) {
        buffer_byte(&out, '\'');
        for (size_t i = 0; i < text.size; i++) {
            buffer_byte(&out, text.data[i]);
            if (text.data[i] == '\'')
                buffer_byte(&out, '\'');
        }
        buffer_byte(&out, '\'');
        return buffer_view(&out);
    }
    if (quote == '"') {
        add_quoted(&out, text);
        return buffer_view(&out);
    }
    return view_of(change_quoted(changing->arena, text, in_brackets));
}

/* Behind an anchor and a tag, which stay. */
static size_t behind_properties(const struct changing *changing, struct span span)
{
    size_t at = span.start;
    const char *data = changing->bytes.data;
    while (at < span.end && (data[at] == '&' || data[at] == '!')) {
        while (at < span.end && !is_blank(data[at]) && !is_break(data[at]))
            at++;
        while (at < span.end && (is_blank(data[at]) || is_break(data[at])))
            at++;
    }
    return at;
}

static size_t line_start(const struct changing *changing, size_t at)
{
    while (at > 0 && !is_break(changing->bytes.data[at - 1]))
        at--;
    if (at == 0)
        at = source_mark_size(changing->tree->source);
    return at;
}

/* The start of the line after the one that holds `at`; the end of the bytes where that is the
 * last. */
static size_t next_line(const struct changing *changing, size_t at)
{
    const char *data = changing->bytes.data;
    size_t size = changing->bytes.size;
    while (at < size && !is_break(data[at]))
        at++;
    if (at < size && data[at] == '\r')
        at++;
    if (at < size && data[at] == '\n')
        at++;
    return at;
}

static size_t column_of(const struct changing *changing, size_t at)
{
    return at - line_start(changing, at);
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
                             : behind_properties(changing, gap->map->span) + 1;
        add_entry(changing, &text, gap->rest, value, true, 0);
        if (gap->map->first)
            buffer_text(&text, ", ");
    }
    return splice(changing, at, at, buffer_view(&text));
}

/* Above the first key of a section, and above the comment lines that belong to it. */
static size_t above(const struct changing *changing, const struct tree_node *first,
                    size_t limit)
{
    const char *data = changing->bytes.data;
    size_t at = line_start(changing, first->key_span.start);
    while (at > limit) {
        bool pair = at >= 2 && data[at - 1] == '\n' && data[at - 2] == '\r';
        size_t earlier = line_start(changing, at - (pair ? 2 : 1));
        size_t text = earlier;
        while (text < at && is_blank(data[text]))
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
    for (size_t i = line_start(changing, node->key_span.start); i < node->key_span.start; i++)
        if (!is_blank(changing->bytes.data[i]))
            return false;
    return true;
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
        if (at == 0 || !is_break(changing->bytes.data[at - 1]))
            at = next_line(changing, at);
        if (at > 0 && !is_break(changing->bytes.data[at - 1]))
            buffer_text(&text, changing->line_end); /* the last line had no end */
    } else {
        size_t limit = gap->map->key_span.end ? next_line(changing, gap->map->key_span.end)
                                              : line_start(changing, first->key_span.start);
        at = above(changing, first, limit);
    }
    bool ends = text.size == 0;
    buffer_fill(&text, ' ', column);
    add_entry(changing, &text, gap->rest, value, false, column);
    if (ends)
        buffer_text(&text, changing->line_end);
    return splice(changing, at, at, buffer_view(&text));
}

/* Under a key that has no value yet.  A comment behind its colon stays on the colon's line. */
static struct view insert_under(const struct changing *changing, const struct gap *gap,
                                const char *value)
{
    struct buffer text;
    buffer_init(&text, changing->arena);
    size_t at = gap->map->span.start;
    if (gap->flow) {
        buffer_text(&text, " {");
        add_entry(changing, &text, gap->rest, value, true, 0);
        buffer_byte(&text, '}');
        return splice(changing, at, at, buffer_view(&text));
    }
    size_t column = column_of(changing, gap->map->key_span.start) + indent_step(changing);
    buffer_text(&text, changing->line_end);
    buffer_fill(&text, ' ', column);
    add_entry(changing, &text, gap->rest, value, false, column);
    while (at < changing->bytes.size && !is_break(changing->bytes.data[at]))
        at++;
    return splice(changing, at, at, buffer_view(&text));
}

/* Is anything around the node at `path`, or (`itself`) the node, in brackets? */
static bool in_brackets(const struct changing *changing, struct view path, bool itself)
{
    for (size_t i = 1; i <= path.size; i++) {
        bool ends = i == path.size || path.data[i] == '.' || path.data[i] == '[';
        if (!ends || (i == path.size && !itself))
            continue;
        const struct tree_node *node = tree_at(changing->tree, (struct view){path.data, i});
        if (node && node->kind != TREE_TEXT && node->style == STYLE_FLOW)
            return true;
    }
    return changing->tree->root->style == STYLE_FLOW;
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
    bool empty = gap->map->kind == TREE_TEXT && gap->map->span.start == gap->map->span.end;
    if (gap->map->kind != TREE_MAP && !empty) {
        *why = "its section holds something else";
        return false;
    }
    gap->flow = in_brackets(changing, gap->map_path, true);
    if (!empty)
        gap->before = predecessor(changing, gap);
    return true;
}

static struct view add_key(const struct changing *changing, const struct gap *gap,
                           struct view text, bool is_text)
{
    const char *value = is_text ? change_quoted(changing->arena, text, gap->flow)
                                : arena_copy(changing->arena, text.data, text.size);
    if (gap->map->kind != TREE_MAP)
        return insert_under(changing, gap, value);
    if (gap->map->style == STYLE_FLOW)
        return insert_flow(changing, gap, value);
    return insert_block(changing, gap, value);
}

static struct view replace(const struct changing *changing, const struct tree_node *node,
                           struct view path, struct view text, bool is_text)
{
    const char *data = changing->bytes.data;
    struct view value =
        is_text ? styled(changing, node, text, in_brackets(changing, path, false)) : text;
    size_t end = node->span.end;
    size_t start =
        node->kind == TREE_ALIAS ? node->span.start : behind_properties(changing, node->span);
    struct buffer out;
    buffer_init(&out, changing->arena);
    if (start == end && start > 0 && !is_blank(data[start - 1]))
        buffer_byte(&out, ' ');
    buffer_add(&out, value);
    if (node->style == STYLE_BLOCK && end > start && is_break(data[end - 1]))
        buffer_text(&out, changing->line_end);
    return splice(changing, start, end, buffer_view(&out));
}

static const char *line_end_of(struct view bytes)
{
    const char *feed = bytes.size ? memchr(bytes.data, '\n', bytes.size) : NULL;
    if (feed)
        return feed > bytes.data && feed[-1] == '\r' ? "\r\n" : "\n";
    return bytes.size && memchr(bytes.data, '\r', bytes.size) ? "\r" : "\n";
}

enum change_result change_value(struct arena *arena, const struct tree *tree, struct view path,
                                struct view text, bool is_text,
                                const struct change_order *order, struct view *out,
                                const char **why)
{
    *why = "the file breaks off at a mistake of form; mend that first";
    if (tree->status != TREE_WHOLE || !tree->root)
        return CHANGE_REFUSED;
    struct changing changing = {arena, tree, tree->source->bytes, order,
                                line_end_of(tree->source->bytes)};
    const struct tree_node *node = tree_at(tree, path);
    if (node && node->duplicate) {
        *why = "it stands there twice; take one away first";
        return CHANGE_REFUSED;
    }
    if (node) {
        *out = replace(&changing, node, path, text, is_text);
    } else {
        struct gap gap;
        if (!find_gap(&changing, path, &gap, why))
            return CHANGE_REFUSED;
        *out = add_key(&changing, &gap, text, is_text);
    }
    return view_equal(*out, changing.bytes) ? CHANGE_SAME : CHANGE_DONE;
}
