/* One value changed in place. */
#include "tree/changing.h"

#include "base/buffer.h"
#include "text/escape.h"

struct view changing_splice(const struct changing *changing, size_t start, size_t end,
                            struct view text)
{
    struct buffer out;
    buffer_init(&out, changing->arena);
    buffer_add(&out, (struct view){changing->bytes.data, start});
    buffer_add(&out, text);
    buffer_add(&out, view_skip(changing->bytes, end));
    return buffer_view(&out);
}

/* May a text start so without quotes? */
static bool starts_plain(struct view text, bool in_brackets)
{
    static const char never_first[] = "!&*%@`\"'#|>{}[],";
    char first = text.data[0];
    if (changing_is_blank(first) || strchr(never_first, first))
        return false;
    if (first == '-')
        return text.size > 1 && !changing_is_blank(text.data[1]);
    if (first == '?' || first == ':')
        return text.size > 1 && !changing_is_blank(text.data[1]) && !in_brackets;
    return true;
}

/* Does this text in YAML say itself? */
static bool reads_as_itself(struct view text, bool in_brackets)
{
    if (text.size == 0 || !starts_plain(text, in_brackets) ||
        changing_is_blank(text.data[text.size - 1]))
        return false;
    if (view_is(text, "~") || view_is(text, "---") || view_is(text, "..."))
        return false;
    for (size_t i = 0; i < text.size; i++) {
        char c = text.data[i];
        if ((unsigned char)c < 0x20 || c == 0x7f)
            return false;
        if (c == '#' && i > 0 && changing_is_blank(text.data[i - 1]))
            return false;
        if (c == ':' && (i + 1 == text.size || changing_is_blank(text.data[i + 1])))
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
static struct view styled(const struct changing *changing, const struct tree_node *node,
                          struct view text, bool in_brackets)
{
    struct buffer out;
    buffer_init(&out, changing->arena);
    char quote = node->style == STYLE_QUOTED ? changing->bytes.data[node->span.end - 1] : '\0';
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
    return view_of(change_quoted(changing->arena, text, in_brackets));
}

size_t changing_behind_properties(const struct changing *changing, struct span span)
{
    size_t at = span.start;
    const char *data = changing->bytes.data;
    while (at < span.end && (data[at] == '&' || data[at] == '!')) {
        while (at < span.end && !changing_is_blank(data[at]) && !changing_is_break(data[at]))
            at++;
        while (at < span.end && (changing_is_blank(data[at]) || changing_is_break(data[at])))
            at++;
    }
    return at;
}

size_t changing_line_start(const struct changing *changing, size_t at)
{
    while (at > 0 && !changing_is_break(changing->bytes.data[at - 1]))
        at--;
    if (at == 0)
        at = source_mark_size(changing->tree->source);
    return at;
}

size_t changing_next_line(const struct changing *changing, size_t at)
{
    const char *data = changing->bytes.data;
    size_t size = changing->bytes.size;
    while (at < size && !changing_is_break(data[at]))
        at++;
    if (at < size && data[at] == '\r')
        at++;
    if (at < size && data[at] == '\n')
        at++;
    return at;
}

bool changing_in_brackets(const struct changing *changing, struct view path, bool itself)
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

/* Might there be a comment?  A `#` in a quoted text counts too: better refused than lost. */
static bool has_comment(struct view text)
{
    for (size_t i = 0; i < text.size; i++)
        if (text.data[i] == '#' && (i == 0 || changing_is_blank(text.data[i - 1]) ||
                                    changing_is_break(text.data[i - 1])))
            return true;
    return false;
}

static struct view part(const struct changing *changing, size_t start, size_t end)
{
    return (struct view){changing->bytes.data + start, end - start};
}

/* A list or section laid out over lines of its own gives way to one behind the colon of its
 * key. */
static bool replace_lines(const struct changing *changing, const struct tree_node *node,
                          struct view value, struct view *out)
{
    const char *data = changing->bytes.data;
    size_t colon = node->key_span.end;
    while (colon < node->span.start && changing_is_blank(data[colon]))
        colon++;
    size_t start = changing_line_start(changing, node->span.start);
    size_t end = changing_next_line(changing, node->span.end);
    if (changing_is_break(data[node->span.end - 1]))
        end = node->span.end;
    if (start <= colon || data[colon] != ':' || has_comment(part(changing, start, end)))
        return false;
    struct buffer text;
    buffer_init(&text, changing->arena);
    buffer_format(&text, " %.*s", VIEW(value));
    buffer_add(&text, part(changing, colon + 1, start));
    *out = changing_splice(changing, colon + 1, end, buffer_view(&text));
    return true;
}

static bool replace(const struct changing *changing, const struct tree_node *node,
                    const struct value_change *change, struct view *out)
{
    const char *data = changing->bytes.data;
    bool flow = changing_in_brackets(changing, change->path, false);
    struct view value =
        change->is_text ? styled(changing, node, change->text, flow) : change->text;
    if (node->kind != TREE_TEXT && node->kind != TREE_ALIAS && node->style == STYLE_BLOCK)
        return replace_lines(changing, node, value, out);
    size_t end = node->span.end;
    size_t start = node->kind == TREE_ALIAS ? node->span.start
                                            : changing_behind_properties(changing, node->span);
    struct view old = part(changing, start, end);
    if (node->style == STYLE_BLOCK) /* only what stands beside its sign is no text */
        old.size = changing_next_line(changing, start) - start;
    if ((node->kind != TREE_TEXT || node->style == STYLE_BLOCK) && has_comment(old))
        return false;
    struct buffer added;
    buffer_init(&added, changing->arena);
    if (start == end && start > 0 && !changing_is_blank(data[start - 1]))
        buffer_byte(&added, ' ');
    buffer_add(&added, value);
    if (node->style == STYLE_BLOCK && end > start && changing_is_break(data[end - 1]))
        buffer_text(&added, changing->line_end);
    *out = changing_splice(changing, start, end, buffer_view(&added));
    return true;
}

const char *change_line_end(struct view bytes)
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
    struct changing changing = {arena, tree, tree->source->bytes, order,
                                change_line_end(tree->source->bytes)};
    const struct tree_node *node = tree_at(tree, change->path);
    struct view changed;
    if (leads_through_alias(tree, change->path))
        return refuse(why,
                      "its section is shared with another through an alias; change it by hand");
    if (node && node->duplicate)
        return refuse(why, "it stands there twice; take one away first");
    if (node && change->is_text && node->kind == TREE_MAP)
        return refuse(why, "a whole section stands there; change it by hand");
    if (!node && !changing_add(&changing, change, &changed, why))
        return CHANGE_REFUSED;
    if (node && !replace(&changing, node, change, &changed))
        return refuse(why, "there are comments within its value; change it by hand");
    if (!view_equal(changed, changing.bytes) && !changing_confirm(&changing, changed, change))
        return refuse(
            why, "it is written in a way that only its writer should change; do so by hand");
    *out = changed;
    return view_equal(changed, changing.bytes) ? CHANGE_SAME : CHANGE_DONE;
}
