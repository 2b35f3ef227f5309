/* One value changed in place, or a key added among its neighbours in their style.
 *
 * YAML has more ways to write a value than anybody foresees; so the new bytes are read, and all
 * that was not meant must say what it said.
 */
#include "tree/change.h"

#include "base/buffer.h"
#include "text/escape.h"
#include "tree/internal.h"

/* The change being made. */
struct rewrite {
    struct arena *arena;
    const struct tree *tree;
    struct view bytes;
    const struct change_order *order;
    const char *line_end; /* the file's own */
};

/* The bytes with `text` in the place of start..end. */
static struct view splice(const struct rewrite *rewrite, size_t start, size_t end,
                          struct view text)
{
    struct buffer out;
    buffer_init(&out, rewrite->arena);
    buffer_add(&out, (struct view){rewrite->bytes.data, start});
    buffer_add(&out, text);
    buffer_add(&out, view_skip(rewrite->bytes, end));
    return buffer_view(&out);
}

/* Behind an anchor and a tag, which stay. */
static size_t behind_properties(const struct rewrite *rewrite, struct span span)
{
    size_t at = span.start;
    const char *data = rewrite->bytes.data;
    while (at < span.end && (data[at] == '&' || data[at] == '!')) {
        while (at < span.end && !is_blank(data[at]) && !is_break(data[at]))
            at++;
        while (at < span.end && (is_blank(data[at]) || is_break(data[at])))
            at++;
    }
    return at;
}

/* Where the line that holds `at` starts, behind a byte order mark. */
static size_t line_start(const struct rewrite *rewrite, size_t at)
{
    while (at > 0 && !is_break(rewrite->bytes.data[at - 1]))
        at--;
    if (at == 0)
        at = source_mark_size(rewrite->tree->source);
    return at;
}

/* The start of the line after the one that holds `at`; the end of the bytes where that is the
 * last. */
static size_t next_line(const struct rewrite *rewrite, size_t at)
{
    const char *data = rewrite->bytes.data;
    size_t size = rewrite->bytes.size;
    while (at < size && !is_break(data[at]))
        at++;
    if (at < size && data[at] == '\r')
        at++;
    if (at < size && data[at] == '\n')
        at++;
    return at;
}

/* Is anything around the node at `path`, or (`itself`) the node, in brackets? */
static bool is_in_brackets(const struct rewrite *rewrite, struct view path, bool itself)
{
    for (size_t i = 1; i <= path.size; i++) {
        bool ends = i == path.size || path.data[i] == '.' || path.data[i] == '[';
        if (!ends || (i == path.size && !itself))
            continue;
        const struct tree_node *node = tree_at(rewrite->tree, (struct view){path.data, i});
        if (node && node->kind != TREE_TEXT && node->style == STYLE_FLOW)
            return true;
    }
    return rewrite->tree->root->style == STYLE_FLOW;
}

static size_t column_of(const struct rewrite *rewrite, size_t at)
{
    return at - line_start(rewrite, at);
}

/* How much deeper the file sets what is within something: as its first section does, else two.
 */
static size_t indent_step(const struct rewrite *rewrite)
{
    const struct tree_node *child = rewrite->tree->root->first;
    for (; child; child = child->next)
        if (child->kind == TREE_MAP && child->style == STYLE_BLOCK && child->first) {
            size_t outer = column_of(rewrite, child->key_span.start);
            size_t inner = column_of(rewrite, child->first->key_span.start);
            if (inner > outer)
                return inner - outer;
        }
    return 2;
}

/* The first step of a path, `park` or `[2]`; `*below` is the rest behind it. */
static struct view first_step(struct view path, struct view *below)
{
    bool item = path.size && path.data[0] == '[';
    size_t size = item;
    while (size < path.size && path.data[size] != '[' && path.data[size] != '.' &&
           path.data[size - item] != ']')
        size++;
    *below = view_skip(path, size + (size < path.size && path.data[size] == '.'));
    return (struct view){path.data, size};
}

static void add_in_brackets(struct buffer *out, struct view path, const char *value);

/* A key or an item with what is to stand under it, in brackets: `park: {x: 400 mm}`. */
static void add_flow(struct buffer *out, struct view path, const char *value)
{
    struct view below, step = first_step(path, &below);
    if (step.data[0] != '[')
        buffer_format(out, "%.*s: ", VIEW(step));
    if (below.size)
        add_in_brackets(out, below, value);
    else
        buffer_text(out, value);
}

static void add_in_brackets(struct buffer *out, struct view path, const char *value)
{
    bool list = path.data[0] == '[';
    buffer_byte(out, list ? '[' : '{');
    add_flow(out, path, value);
    buffer_byte(out, list ? ']' : '}');
}

/* Is it an item in brackets, so that one beside it is written in brackets too? */
static bool is_flow_item(const struct tree_node *beside)
{
    return beside && beside->kind != TREE_TEXT && beside->kind != TREE_ALIAS &&
           beside->style == STYLE_FLOW;
}

/* From the dash of an item in lines to what stands in it, as in the item `beside` it. */
static size_t item_step(const struct rewrite *rewrite, const struct tree_node *beside,
                        size_t column)
{
    bool known =
        beside && beside->kind == TREE_MAP && beside->style == STYLE_BLOCK && beside->first;
    size_t key = known ? column_of(rewrite, beside->first->key_span.start) : 0;
    return key > column + 1 ? key - column : 2;
}

/* The same in lines, from `column` on: `park:` and below it `x: 400 mm`.  `beside`: of an item
 * the one before it, or NULL. */
static void add_lines(const struct rewrite *rewrite, struct buffer *out, struct view path,
                      const char *value, size_t column, const struct tree_node *beside)
{
    while (path.size) {
        struct view below, step = first_step(path, &below);
        bool item = step.data[0] == '[';
        size_t deeper = item ? item_step(rewrite, beside, column) : indent_step(rewrite);
        if (item) {
            buffer_byte(out, '-');
            buffer_fill(out, ' ', deeper - 1);
        }
        if (item && below.size && is_flow_item(beside)) {
            add_in_brackets(out, below, value);
            return;
        }
        if (!item)
            buffer_format(out, "%.*s:%s", VIEW(step), below.size ? rewrite->line_end : " ");
        column += deeper;
        if (below.size && !item)
            buffer_fill(out, ' ', column);
        beside = NULL;
        path = below;
    }
    buffer_text(out, value);
}

/* Where a new key goes, or a new item. */
struct gap {
    const struct tree_node *map;    /* or list */
    struct view map_path;           /* "" for the root */
    struct view rest;               /* of the path, below the map */
    const struct tree_node *before; /* the neighbour it follows; NULL: it comes first */
    bool flow;
};

static uint32_t rank_of(const struct rewrite *rewrite, struct view map_path, struct view key)
{
    const char *path =
        map_path.size ? arena_format(rewrite->arena, "%.*s.%.*s", VIEW(map_path), VIEW(key))
                      : arena_format(rewrite->arena, "%.*s", VIEW(key));
    return rewrite->order->rank(rewrite->order->user, view_of(path));
}

/* The neighbour that it follows: of an item the last one. */
static const struct tree_node *predecessor(const struct rewrite *rewrite, const struct gap *gap)
{
    struct view below, key = first_step(gap->rest, &below);
    bool item = key.data[0] == '[';
    uint32_t rank = item ? 0 : rank_of(rewrite, gap->map_path, key);
    const struct tree_node *before = NULL;
    for (const struct tree_node *child = gap->map->first; child; child = child->next)
        if (item || rank_of(rewrite, gap->map_path, child->key) <= rank)
            before = child;
    return before;
}

static size_t end_of(const struct tree_node *node)
{
    return node->span.end > node->key_span.end ? node->span.end : node->key_span.end;
}

static struct view insert_flow(const struct rewrite *rewrite, const struct gap *gap,
                               const char *value)
{
    struct buffer text;
    buffer_init(&text, rewrite->arena);
    size_t at;
    if (gap->before) {
        at = end_of(gap->before);
        buffer_text(&text, ", ");
    } else {
        at = gap->map->first ? gap->map->first->key_span.start
                             : behind_properties(rewrite, gap->map->span) + 1;
    }
    add_flow(&text, gap->rest, value);
    if (!gap->before && gap->map->first)
        buffer_text(&text, ", ");
    return splice(rewrite, at, at, buffer_view(&text));
}

/* Above the first key of a section, and above the comment lines that belong to it. */
static size_t above(const struct rewrite *rewrite, const struct tree_node *first, size_t limit)
{
    const char *data = rewrite->bytes.data;
    size_t at = line_start(rewrite, first->key_span.start);
    while (at > limit) {
        bool pair = at >= 2 && data[at - 1] == '\n' && data[at - 2] == '\r';
        size_t earlier = line_start(rewrite, at - (pair ? 2 : 1));
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
static bool starts_its_line(const struct rewrite *rewrite, const struct tree_node *node)
{
    for (size_t i = line_start(rewrite, node->key_span.start); i < node->key_span.start; i++)
        if (!is_blank(rewrite->bytes.data[i]))
            return false;
    return true;
}

/* Behind comment lines that are set deeper than `column`: they belong to what came before. */
static size_t behind_its_comments(const struct rewrite *rewrite, size_t at, size_t column)
{
    struct view bytes = rewrite->bytes;
    for (;;) {
        size_t text = at;
        while (text < bytes.size && is_blank(bytes.data[text]))
            text++;
        if (text == bytes.size || bytes.data[text] != '#' || text - at <= column ||
            next_line(rewrite, text) == bytes.size)
            return at;
        at = next_line(rewrite, text);
    }
}

static struct view insert_block(const struct rewrite *rewrite, const struct gap *gap,
                                const char *value)
{
    const struct tree_node *first = gap->map->first;
    bool list = gap->map->kind == TREE_LIST;
    size_t column = column_of(rewrite, list ? behind_properties(rewrite, gap->map->span)
                                            : first->key_span.start);
    const struct tree_node *before = gap->before;
    if (!before && !starts_its_line(rewrite, first))
        before = first;
    struct buffer text;
    buffer_init(&text, rewrite->arena);
    size_t at;
    if (before) {
        at = end_of(before);
        if (at == 0 || !is_break(rewrite->bytes.data[at - 1]))
            at = next_line(rewrite, at);
        if (at > 0 && !is_break(rewrite->bytes.data[at - 1]))
            buffer_text(&text, rewrite->line_end); /* the last line had no end */
    } else {
        size_t limit = gap->map->key_span.end ? next_line(rewrite, gap->map->key_span.end)
                                              : line_start(rewrite, first->key_span.start);
        at = above(rewrite, first, limit);
    }
    if (before)
        at = behind_its_comments(rewrite, at, column);
    bool ends = text.size == 0;
    buffer_fill(&text, ' ', column);
    add_lines(rewrite, &text, gap->rest, value, column, list ? before : NULL);
    if (ends)
        buffer_text(&text, rewrite->line_end);
    return splice(rewrite, at, at, buffer_view(&text));
}

/* Under a key that has no value yet.  A comment behind its colon stays on the colon's line. */
static struct view insert_under(const struct rewrite *rewrite, const struct gap *gap,
                                const char *value)
{
    struct buffer text;
    buffer_init(&text, rewrite->arena);
    size_t at = gap->map->span.start, end = gap->map->span.end;
    if (gap->flow || end > at) {
        if (end == at)
            buffer_byte(&text, ' ');
        add_in_brackets(&text, gap->rest, value);
        return splice(rewrite, at, end, buffer_view(&text));
    }
    size_t column = column_of(rewrite, gap->map->key_span.start) + indent_step(rewrite);
    buffer_text(&text, rewrite->line_end);
    buffer_fill(&text, ' ', column);
    add_lines(rewrite, &text, gap->rest, value, column, NULL);
    while (at < rewrite->bytes.size && !is_break(rewrite->bytes.data[at]))
        at++;
    return splice(rewrite, at, at, buffer_view(&text));
}

/* The deepest thing that is there on the way to `path`. */
static void find_map(const struct rewrite *rewrite, struct view path, struct gap *gap)
{
    size_t split = path.size;
    for (;; split--) {
        while (split > 0 && path.data[split - 1] != '.' && path.data[split - 1] != '[')
            split--;
        struct view map_path = {path.data, split ? split - 1 : 0};
        const struct tree_node *node =
            split ? tree_at(rewrite->tree, map_path) : rewrite->tree->root;
        bool item = split && path.data[split - 1] == '[';
        if (node) {
            *gap = (struct gap){
                .map = node, .map_path = map_path, .rest = view_skip(path, split - item)};
            return;
        }
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

static bool find_gap(const struct rewrite *rewrite, struct view path, struct gap *gap,
                     const char **why)
{
    find_map(rewrite, path, gap);
    struct view below, step = first_step(gap->rest, &below);
    bool item = step.data[0] == '[';
    if (gap->map->kind == TREE_ALIAS) {
        *why = "its section is shared with another through an alias; change it by hand";
        return false;
    }
    bool empty = is_void(gap->map);
    if (gap->map->kind != (item ? TREE_LIST : TREE_MAP) && !empty) {
        *why = "its section holds something else";
        return false;
    }
    const char *next = arena_format(rewrite->arena, "[%u]", empty ? 0 : gap->map->count);
    if (item && !view_is(step, next)) {
        *why = "there is no such item in the list";
        return false;
    }
    if (gap->map->style == STYLE_BLOCK && !empty && !gap->map->first) {
        /* Keys that are no texts were read and forgotten. */
        *why = "its section has a mistake in it; mend that first";
        return false;
    }
    gap->flow = is_in_brackets(rewrite, gap->map_path, true);
    if (!empty)
        gap->before = predecessor(rewrite, gap);
    return true;
}

/* Adds the key at the change's path, which is not there.  False: `*why` says why it cannot be.
 */
static bool add_key(const struct rewrite *rewrite, const struct value_change *change,
                    struct view *out, const char **why)
{
    struct gap gap;
    if (!find_gap(rewrite, change->path, &gap, why))
        return false;
    bool empty = gap.map->kind == TREE_TEXT;
    bool flow = gap.flow || (empty && gap.map->span.end > gap.map->span.start) ||
                (gap.map->kind == TREE_LIST && is_flow_item(gap.before));
    const char *value = change->is_text
                            ? change_quoted(rewrite->arena, change->text, flow)
                            : arena_copy(rewrite->arena, change->text.data, change->text.size);
    if (empty)
        *out = insert_under(rewrite, &gap, value);
    else if (gap.map->style == STYLE_FLOW)
        *out = insert_flow(rewrite, &gap, value);
    else
        *out = insert_block(rewrite, &gap, value);
    return true;
}

struct comparison {
    const struct tree *before, *after;
    const struct tree_node *old_target, *new_target; /* the old one is NULL where it is added */
    bool added;                                      /* the one new key has been met */
};

static bool contains(const struct tree_node *node, const struct tree_node *wanted)
{
    if (node == wanted)
        return true;
    if (node->kind == TREE_ALIAS)
        return false;
    for (const struct tree_node *child = node->first; child; child = child->next)
        if (contains(child, wanted))
            return true;
    return false;
}

static bool same_node(struct comparison *comparison, const struct tree_node *a,
                      const struct tree_node *b);

/* The children of both in order, where one of b's may be new. */
static bool same_children(struct comparison *comparison, const struct tree_node *a,
                          const struct tree_node *b)
{
    const struct tree_node *old = a->kind == TREE_TEXT ? NULL : a->first;
    for (const struct tree_node *new = b->first; new; new = new->next) {
        if (old && view_equal(old->key, new->key) && same_node(comparison, old, new)) {
            old = old->next;
            continue;
        }
        if (comparison->added || comparison->old_target ||
            !contains(new, comparison->new_target))
            return false;
        comparison->added = true;
    }
    return !old;
}

static bool same_node(struct comparison *comparison, const struct tree_node *a,
                      const struct tree_node *b)
{
    if (a == comparison->old_target || b == comparison->new_target)
        return a == comparison->old_target && b == comparison->new_target;
    if (a->duplicate != b->duplicate)
        return false;
    if (a->kind == TREE_ALIAS || b->kind == TREE_ALIAS)
        return a->kind == b->kind &&
               view_equal(source_slice(comparison->before->source, a->span),
                          source_slice(comparison->after->source, b->span));
    bool filled = a->kind == TREE_TEXT && b->kind != TREE_TEXT && !comparison->old_target &&
                  contains(b, comparison->new_target);
    if (a->kind != b->kind && !filled)
        return false;
    if (b->kind == TREE_TEXT)
        return view_equal(a->text, b->text);
    return same_children(comparison, a, b);
}

/* Reads `bytes` and tells whether they say the same as the tree but for the one change. */
static bool says_the_same(const struct rewrite *rewrite, struct view bytes,
                          const struct value_change *change)
{
    const struct tree *tree = tree_of(rewrite->arena, rewrite->tree->source->name, bytes);
    const struct tree_node *target = tree->root ? tree_at(tree, change->path) : NULL;
    if (tree->status != TREE_WHOLE || !target)
        return false;
    if (change->is_text ? target->kind != TREE_TEXT || !view_equal(target->text, change->text)
                        : target->kind != TREE_LIST && target->kind != TREE_MAP)
        return false;
    struct comparison comparison = {rewrite->tree, tree, tree_at(rewrite->tree, change->path),
                                    target, false};
    return same_node(&comparison, rewrite->tree->root, tree->root);
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

const char *change_quoted(struct arena *arena, struct view text, bool in_brackets)
{
    if (reads_as_itself(text, in_brackets))
        return arena_copy(arena, text.data, text.size);
    struct buffer out;
    buffer_init(&out, arena);
    escape_quoted(&out, text);
    return buffer_string(&out);
}

static bool has_control(struct view text)
{
    for (size_t i = 0; i < text.size; i++)
        if ((unsigned char)text.data[i] < 0x20 || text.data[i] == 0x7f)
            return true;
    return false;
}

/* The new text in the style of the old: its quotes are kept. */
static struct view styled(const struct rewrite *rewrite, const struct tree_node *node,
                          struct view text, bool in_brackets)
{
    struct buffer out;
    buffer_init(&out, rewrite->arena);
    char quote = node->style == STYLE_QUOTED ? rewrite->bytes.data[node->span.end - 1] : '\0';
    if (quote == '\'' && !has_control(text)) {
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
        escape_quoted(&out, text);
        return buffer_view(&out);
    }
    return view_of(change_quoted(rewrite->arena, text, in_brackets));
}

/* Might there be a comment?  A `#` in a quoted text counts too: better refused than lost. */
static bool has_comment(struct view text)
{
    for (size_t i = 0; i < text.size; i++)
        if (text.data[i] == '#' &&
            (i == 0 || is_blank(text.data[i - 1]) || is_break(text.data[i - 1])))
            return true;
    return false;
}

static struct view part(const struct rewrite *rewrite, size_t start, size_t end)
{
    return (struct view){rewrite->bytes.data + start, end - start};
}

/* A list or section laid out over lines of its own gives way to one behind the colon of its
 * key. */
static bool replace_lines(const struct rewrite *rewrite, const struct tree_node *node,
                          struct view value, struct view *out)
{
    const char *data = rewrite->bytes.data;
    size_t colon = node->key_span.end;
    while (colon < node->span.start && is_blank(data[colon]))
        colon++;
    size_t start = line_start(rewrite, node->span.start);
    size_t end = next_line(rewrite, node->span.end);
    if (is_break(data[node->span.end - 1]))
        end = node->span.end;
    if (start <= colon || data[colon] != ':' || has_comment(part(rewrite, start, end)))
        return false;
    struct buffer text;
    buffer_init(&text, rewrite->arena);
    buffer_format(&text, " %.*s", VIEW(value));
    buffer_add(&text, part(rewrite, colon + 1, start));
    *out = splice(rewrite, colon + 1, end, buffer_view(&text));
    return true;
}

static bool replace(const struct rewrite *rewrite, const struct tree_node *node,
                    const struct value_change *change, struct view *out)
{
    const char *data = rewrite->bytes.data;
    bool flow = is_in_brackets(rewrite, change->path, false);
    struct view value =
        change->is_text ? styled(rewrite, node, change->text, flow) : change->text;
    if (node->kind != TREE_TEXT && node->kind != TREE_ALIAS && node->style == STYLE_BLOCK)
        return replace_lines(rewrite, node, value, out);
    size_t end = node->span.end;
    size_t start =
        node->kind == TREE_ALIAS ? node->span.start : behind_properties(rewrite, node->span);
    struct view old = part(rewrite, start, end);
    if (node->style == STYLE_BLOCK) /* only what stands beside its sign is no text */
        old.size = next_line(rewrite, start) - start;
    if ((node->kind != TREE_TEXT || node->style == STYLE_BLOCK) && has_comment(old))
        return false;
    struct buffer added;
    buffer_init(&added, rewrite->arena);
    if (start == end && start > 0 && !is_blank(data[start - 1]))
        buffer_byte(&added, ' ');
    buffer_add(&added, value);
    if (node->style == STYLE_BLOCK && end > start && is_break(data[end - 1]))
        buffer_text(&added, rewrite->line_end);
    *out = splice(rewrite, start, end, buffer_view(&added));
    return true;
}

static const char *change_line_end(struct view bytes)
{
    const char *feed = bytes.size ? memchr(bytes.data, '\n', bytes.size) : NULL;
    if (feed)
        return feed > bytes.data && feed[-1] == '\r' ? "\r\n" : "\n";
    return bytes.size && memchr(bytes.data, '\r', bytes.size) ? "\r" : "\n";
}

/* Does the way to `path` lead through an alias, so that another place would change too? */
static bool leads_through_alias(const struct tree *tree, struct view path)
{
    for (size_t i = 1; i < path.size; i++) {
        if (path.data[i] != '.' && path.data[i] != '[')
            continue;
        const struct tree_node *node = tree_at(tree, (struct view){path.data, i});
        if (node && node->kind == TREE_ALIAS)
            return true;
    }
    return false;
}

static enum change_result refuse(const char **why, const char *sentence)
{
    *why = sentence;
    return CHANGE_REFUSED;
}

enum change_result change_value(struct arena *arena, const struct tree *tree,
                                const struct value_change *change,
                                const struct change_order *order, struct view *out,
                                const char **why)
{
    if (tree->status != TREE_WHOLE || !tree->root)
        return refuse(why, "the file breaks off at a mistake of form; mend that first");
    struct rewrite rewrite = {arena, tree, tree->source->bytes, order,
                              change_line_end(tree->source->bytes)};
    const struct tree_node *node = tree_at(tree, change->path);
    struct view changed;
    if (leads_through_alias(tree, change->path))
        return refuse(why,
                      "its section is shared with another through an alias; change it by hand");
    if (node && node->duplicate)
        return refuse(why, "it stands there twice; take one away first");
    if (node && change->is_text && !change->over_map && node->kind == TREE_MAP)
        return refuse(why, "a whole section stands there; change it by hand");
    if (!node && !add_key(&rewrite, change, &changed, why))
        return CHANGE_REFUSED;
    if (node && !replace(&rewrite, node, change, &changed))
        return refuse(why, "there are comments within its value; change it by hand");
    if (!view_equal(changed, rewrite.bytes) && !says_the_same(&rewrite, changed, change))
        return refuse(
            why, "it is written in a way that only its writer should change; do so by hand");
    *out = changed;
    return view_equal(changed, rewrite.bytes) ? CHANGE_SAME : CHANGE_DONE;
}
