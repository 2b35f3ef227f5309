/* Looking rules up in their files. */
#include "cli/rule_text.h"

#include "base/buffer.h"

static const struct tree_node *child_of(const struct tree_node *map, const char *key)
{
    const struct tree_node *child = map ? tree_child(tree_resolve(map), view_of(key)) : NULL;
    return child ? tree_resolve(child) : NULL;
}

/* "gap" of "gap(c)". */
static struct view bare_name(struct view key)
{
    const char *bracket = key.size ? memchr(key.data, '(', key.size) : NULL;
    return bracket ? view_trim((struct view){key.data, (size_t)(bracket - key.data)}) : key;
}

static void add_text(struct rule_texts *out, struct arena *arena,
                     const struct rulebook_text *text)
{
    struct rule_book *book = ARENA_NEW(arena, struct rule_book);
    source_init(&book->source, arena, view_of(text->name),
                (struct view){text->bytes, text->size});
    struct finding_sink sink;
    sink_init(&sink, arena, &book->source);
    tree_read(&book->tree, arena, &book->source, &sink);
    const struct tree_node *title = child_of(book->tree.root, "title");
    book->title = title && title->text.size ? title->text : book->source.name;
    const struct tree_node *rules = child_of(book->tree.root, "rules");
    const struct tree_node *definitions = child_of(book->tree.root, "define");
    for (const struct tree_node *n = rules ? rules->first : NULL; n; n = n->next) {
        struct rule_entry_text entry = {n->key, n, book};
        VECTOR_ADD(arena, &out->rules, entry);
    }
    for (const struct tree_node *n = definitions ? definitions->first : NULL; n; n = n->next) {
        struct rule_entry_text entry = {bare_name(n->key), n, book};
        VECTOR_ADD(arena, &out->definitions, entry);
    }
}

void rule_texts_add(struct rule_texts *out, struct arena *arena,
                    const struct rulebook_text *texts, size_t count)
{
    for (size_t i = 0; i < count; i++)
        add_text(out, arena, &texts[i]);
}

const struct rule_entry_text *rule_text_find(const struct rule_texts *texts, struct view name)
{
    for (size_t i = 0; i < texts->rules.count; i++)
        if (view_equal(texts->rules.items[i].name, name))
            return &texts->rules.items[i];
    return NULL;
}

struct view rule_text_value(const struct rule_entry_text *rule, const char *key)
{
    const struct tree_node *value = child_of(rule->node, key);
    if (value && value->kind == TREE_LIST && value->first)
        value = tree_resolve(value->first);
    return value && value->kind == TREE_TEXT ? value->text : (struct view){0};
}

static bool is_name_byte(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_';
}

/* The next name in `text` that stands alone, not behind a point; `text` is moved behind it. */
static struct view next_name(struct view *text)
{
    bool in_path = false;
    while (text->size) {
        size_t size = 0;
        while (size < text->size && is_name_byte(text->data[size]))
            size++;
        struct view name = {text->data, size};
        if (size) {
            *text = view_skip(*text, size);
            if (!in_path)
                return name;
        } else {
            in_path = text->data[0] == '.';
            *text = view_skip(*text, 1);
        }
    }
    return (struct view){0};
}

static const struct rule_entry_text *find_definition(const struct rule_texts *texts,
                                                     struct view name)
{
    for (size_t i = 0; i < texts->definitions.count; i++)
        if (view_equal(texts->definitions.items[i].name, name))
            return &texts->definitions.items[i];
    return NULL;
}

static bool is_listed(const struct definition_list *list, const struct rule_entry_text *one)
{
    for (size_t i = 0; i < list->items.count; i++)
        if (list->items.items[i] == one)
            return true;
    return false;
}

static void add_used(const struct rule_texts *texts, struct arena *arena, struct view formula,
                     struct definition_list *out)
{
    for (struct view name = next_name(&formula); name.size; name = next_name(&formula)) {
        const struct rule_entry_text *definition = find_definition(texts, name);
        if (definition && !is_listed(out, definition))
            VECTOR_ADD(arena, &out->items, definition);
    }
}

void rule_text_definitions(const struct rule_texts *texts, struct arena *arena,
                           struct view formula, struct definition_list *out)
{
    size_t done = out->items.count;
    add_used(texts, arena, formula, out);
    while (done < out->items.count)
        add_used(texts, arena, tree_resolve(out->items.items[done++]->node)->text, out);
}

void rule_text_inline(struct buffer *out, const struct tree_node *node)
{
    node = tree_resolve(node);
    if (node->kind == TREE_TEXT) {
        buffer_add(out, node->text);
        return;
    }
    if (node->kind == TREE_LIST)
        buffer_byte(out, '[');
    for (const struct tree_node *child = node->first; child; child = child->next) {
        if (child != node->first)
            buffer_text(out, ", ");
        if (node->kind == TREE_MAP) {
            buffer_add(out, child->key);
            buffer_text(out, ": ");
        }
        bool is_inner = tree_resolve(child)->kind == TREE_MAP;
        if (is_inner)
            buffer_byte(out, '{');
        rule_text_inline(out, child);
        if (is_inner)
            buffer_byte(out, '}');
    }
    if (node->kind == TREE_LIST)
        buffer_byte(out, ']');
}
