/* An existing machine file with changed answers in it: nothing else is touched. */
#include "ask/compose.h"

#include "base/buffer.h"
#include "tree/change.h"

static uint32_t rank(const void *user, struct view path)
{
    (void)user;
    return field_rank(path);
}

static void read_bytes(struct arena *arena, struct view bytes, struct tree *tree)
{
    struct source *source = ARENA_NEW(arena, struct source);
    struct finding_sink *sink = ARENA_NEW(arena, struct finding_sink);
    source_init(source, arena, (struct view){0}, bytes);
    sink_init(sink, arena, source);
    tree_read(tree, arena, source, sink);
}

static bool is_text_kind(enum field_kind kind)
{
    return kind != KIND_PAIR && kind != KIND_LIST && kind != KIND_WORDS && kind != KIND_ORDER;
}

/* Does a path lead into an item that its list does not have?  `*list` is the length of the
 * list's own path. */
static bool is_new_item(const struct tree *tree, struct view path, size_t *list)
{
    const char *bracket = memchr(path.data, '[', path.size);
    const char *end = bracket ? memchr(path.data, ']', path.size) : NULL;
    if (!end)
        return false;
    *list = (size_t)(bracket - path.data);
    return !tree_at(tree, (struct view){path.data, (size_t)(end - path.data) + 1});
}

/* Behind the last item of a list that stands in lines of its own, a new one with its first key.
 * NULL, or why not. */
static const char *append_item(struct arena *arena, const struct tree *tree, struct view path,
                               const char *value, struct view *bytes)
{
    size_t size = 0;
    (void)is_new_item(tree, path, &size);
    struct view name = {path.data, size};
    const char *dot = memchr(path.data + size, '.', path.size - size);
    const struct tree_node *list = tree_at(tree, name);
    struct buffer out;
    buffer_init(&out, arena);
    struct view whole = tree->source->bytes;
    const char *line_end = change_line_end(whole);
    bool ends_line = whole.size && whole.data[whole.size - 1] == '\n';
    if (!list) {
        buffer_add(&out, whole);
        buffer_format(&out, "%s%.*s:%s  - %s: %s%s", ends_line ? "" : line_end, VIEW(name),
                      line_end, dot + 1, value, line_end);
        *bytes = buffer_view(&out);
        return NULL;
    }
    const struct tree_node *last = list->first;
    while (last && last->next)
        last = last->next;
    if (list->kind != TREE_LIST || list->style != STYLE_BLOCK || !last)
        return "the list stands in brackets; add to it by hand";
    size_t start = list->first->span.start, line = start, end = last->span.end;
    while (line > 0 && whole.data[line - 1] != '\n')
        line--;
    size_t indent = line;
    while (indent < start && whole.data[indent] == ' ')
        indent++;
    if (indent >= whole.size || whole.data[indent] != '-')
        return "the list is laid out in an unusual way; add to it by hand";
    while (end < whole.size && whole.data[end - 1] != '\n')
        end++;
    buffer_add(&out, (struct view){whole.data, end});
    if (whole.data[end - 1] != '\n')
        buffer_text(&out, line_end);
    buffer_fill(&out, ' ', indent - line);
    buffer_format(&out, "- %s: %s%s", dot + 1, value, line_end);
    buffer_add(&out, view_skip(whole, end));
    *bytes = buffer_view(&out);
    return NULL;
}

/* Adds a new item.  What came of it is read again: a file in braces, or one with a line that
 * ends it, has no room for lines at its end.  NULL, or why not; `*bytes` are as before then. */
static const char *add_item(struct arena *arena, const struct tree *tree, struct view path,
                            const char *value, struct view *bytes)
{
    struct view changed;
    struct tree after;
    const char *why = append_item(arena, tree, path, value, &changed);
    if (why)
        return why;
    read_bytes(arena, changed, &after);
    if (after.status != TREE_WHOLE || !after.root || !tree_at(&after, path))
        return "the file is laid out in an unusual way; add to the list by hand";
    *bytes = changed;
    return NULL;
}

static const char *put(struct arena *arena, struct view path, enum field_id id,
                       struct view text, struct view *bytes)
{
    static const struct change_order order = {rank, NULL};
    enum field_kind kind = field_table[id].kind;
    struct tree tree;
    size_t list;
    const char *why = NULL;
    bool is_text = is_text_kind(kind) || (text.size && text.data[0] != '[');
    read_bytes(arena, *bytes, &tree);
    if (is_new_item(&tree, path, &list)) {
        const char *value = is_text ? change_quoted(arena, text, false)
                                    : arena_copy(arena, text.data, text.size);
        return add_item(arena, &tree, path, value, bytes);
    }
    struct view changed;
    const struct value_change change = {path, text, is_text};
    if (change_value(arena, &tree, &change, &order, &changed, &why) == CHANGE_REFUSED)
        return why;
    *bytes = changed;
    return NULL;
}

const char *compose_amended(struct arena *arena, const struct answers *answers,
                            const struct ask_sequence *sequence, struct view base,
                            struct view *out)
{
    struct view bytes = base;
    for (size_t i = 0; i < sequence->items.count; i++) {
        const struct ask_entry *entry = &sequence->items.items[i];
        const struct answer *answer = answers_get(answers, entry->row->what, entry->record);
        if (entry->row->what >= FIELD_COUNT || !answer_has_value(answer) ||
            answer->source == SOURCE_FILE)
            continue;
        const char *path = answer_path(arena, answers, entry->row->what, entry->record);
        const char *why =
            put(arena, view_of(path), (enum field_id)entry->row->what, answer->text, &bytes);
        if (why)
            return arena_format(arena, "%s cannot be put into the file: %s", path, why);
    }
    *out = bytes;
    return NULL;
}
