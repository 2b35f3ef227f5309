/* What a rule carries besides its formulas: messages with values in braces, the examples it
 * must have, and the names of rules. */
#include "rules/internal.h"

#include "base/buffer.h"
#include "machine/field.h"
#include "text/escape.h"

static void add_text(struct loader *loader, struct buffer *text)
{
    if (!text->size)
        return;
    struct arena *arena = loader->loading->arena;
    struct message_piece piece = {.text = arena_copy(arena, text->data, text->size),
                                  .node = NODE_NONE};
    VECTOR_ADD(arena, &loader->pieces, piece);
    buffer_init(text, arena);
}

/* The value in braces that starts at `start`, the offset after the brace; returns the offset
 * behind its closing brace, or the end of the text where there is none. */
static size_t add_value(struct loader *loader, const struct formula_scope *scope,
                        uint32_t requirement, const struct tree_node *node, size_t start)
{
    struct view text = node->text;
    size_t end = start;
    while (end < text.size && text.data[end] != '}')
        end++;
    uint32_t origin = loader_origin(loader, node, start);
    if (end == text.size) {
        struct origin *at = &loader->origins.items[origin];
        loader_mistake(loader, origin_span(at, 0, 0), "this brace is not closed");
        return end;
    }
    struct view formula = {text.data + start, end - start};
    struct message_piece piece = {
        .node = formula_shown(loader->builder, scope, requirement, formula, origin)};
    if (piece.node != NODE_NONE)
        VECTOR_ADD(loader->loading->arena, &loader->pieces, piece);
    return end + 1;
}

uint32_t load_message(struct loader *loader, const struct formula_scope *scope,
                      uint32_t requirement, const struct tree_node *node)
{
    struct arena *arena = loader->loading->arena;
    struct message message = {.first = (uint32_t)loader->pieces.count};
    struct view text = {node->text.data, strlen(loader_string(loader, node))};
    struct buffer plain;
    buffer_init(&plain, arena);
    for (size_t i = 0; i < text.size;) {
        char c = text.data[i];
        bool doubled = i + 1 < text.size && text.data[i + 1] == c;
        if ((c == '{' || c == '}') && doubled) {
            buffer_byte(&plain, c);
            i += 2;
        } else if (c == '{') {
            add_text(loader, &plain);
            i = add_value(loader, scope, requirement, node, i + 1);
        } else {
            buffer_byte(&plain, c == '\n' ? ' ' : c);
            i++;
        }
    }
    add_text(loader, &plain);
    message.count = (uint32_t)loader->pieces.count - message.first;
    VECTOR_ADD(arena, &loader->messages, message);
    return (uint32_t)loader->messages.count - 1;
}

/* Does `path`, such as "cutters[2].stickout", "obstacles[0]" or "axes.x", name the field whose
 * path for all records is `field` ("cutters[].stickout", "inputs.*.bounce"), or what it stands
 * in? */
static bool leads_to(const char *field, struct view path)
{
    size_t i = 0;
    while (i < path.size) {
        if (*field == '*') {
            while (i < path.size && path.data[i] != '.' && path.data[i] != '[')
                i++;
            field++;
        } else if (*field == '[' && path.data[i] == '[') {
            while (i < path.size && path.data[i] != ']')
                i++;
            i++;
            field += 2;
        } else if (*field == path.data[i]) {
            field++;
            i++;
        } else {
            return false;
        }
    }
    return *field == '\0' || *field == '.' || *field == '[';
}

/* An example that changes what does not exist would hold for the wrong reason. */
static void check_changes(struct loader *loader, const struct tree_node *changes)
{
    struct arena *arena = loader->loading->arena;
    for (const struct tree_node *child = changes->first; child; child = child->next) {
        bool found = view_is(child->key, "margin") || view_is(child->key, "level");
        for (unsigned id = 0; id < FIELD_COUNT && !found; id++)
            found = leads_to(field_path(arena, (enum field_id)id), child->key);
        if (found)
            continue;
        const char *near = field_nearest(arena, child->key);
        loader_mistake(loader, child->key_span, "there is no field `%s`%s%s%s",
                       escape_short(arena, child->key, 60), near ? "; did you mean `" : "",
                       near ? near : "", near ? "`?" : "");
    }
}

static uint32_t example_count(struct loader *loader, const struct tree_node *examples,
                              const char *key)
{
    const struct tree_node *list = tree_child(examples, view_of(key));
    if (!list)
        return 0;
    list = tree_resolve(list);
    if (list->kind != TREE_LIST) {
        loader_mistake(loader, loader_span(list), "`%s` wants a list of changes to the machine",
                       key);
        return 0;
    }
    for (const struct tree_node *item = list->first; item; item = item->next) {
        const struct tree_node *changes = tree_resolve(item);
        if (changes->kind == TREE_MAP)
            check_changes(loader, changes);
        else
            loader_mistake(loader, loader_span(item), "an example is `{field: value, ...}`");
    }
    return list->count;
}

static bool any_margin(const struct tree_node *examples)
{
    const struct tree_node *list = tree_child(examples, view_of("fails"));
    for (const struct tree_node *item = list ? tree_resolve(list)->first : NULL; item;
         item = item->next)
        if (tree_child(tree_resolve(item), view_of("margin")))
            return true;
    return false;
}

void load_examples(struct loader *loader, const struct tree_node *rule, const char *name,
                   bool has_margin)
{
    const struct tree_node *examples = tree_child(rule, view_of("examples"));
    if (examples)
        examples = tree_resolve(examples);
    if (!examples || examples->kind != TREE_MAP) {
        if (loader_misses(loader, "examples"))
            loader_mistake(loader, loader_span(rule), "rule `%s` has no examples", name);
        return;
    }
    uint32_t holds = example_count(loader, examples, "holds");
    uint32_t fails = example_count(loader, examples, "fails");
    uint32_t least = has_margin ? 2 : 1;
    const struct tree_node *given = tree_child(examples, view_of("given"));
    if (given && tree_resolve(given)->kind == TREE_MAP)
        check_changes(loader, tree_resolve(given));
    else if (given)
        loader_mistake(loader, loader_span(given), "`given` wants `{field: value, ...}`");
    example_count(loader, examples, "unchecked");
    example_count(loader, examples, "inapplicable");
    if (loader->broken_off)
        return;
    if (holds < least || fails < least)
        loader_mistake(loader, examples->key_span,
                       has_margin
                           ? "rule `%s` compares quantities: it wants two examples that hold "
                             "and two that fail, one of each at the boundary"
                           : "rule `%s` wants an example that holds and one that fails",
                       name);
    if (has_margin && fails && !any_margin(examples))
        loader_mistake(loader, examples->key_span,
                       "rule `%s` wants the margin of an example that fails", name);
}

static const struct tree_node *child_of(const struct tree_node *map, const char *key)
{
    const struct tree_node *child = tree_child(map, view_of(key));
    return child ? tree_resolve(child) : NULL;
}

static const struct tree_node *rules_of(const struct book_file *file)
{
    return file->tree.root ? child_of(file->tree.root, "rules") : NULL;
}

/* The first of `count` files that has a rule called so; NULL: none. */
static const struct book_file *file_with(const struct book_file *files, size_t count,
                                         struct view name)
{
    for (size_t i = 0; i < count; i++) {
        const struct tree_node *rules = rules_of(&files[i]);
        if (rules && rules->kind == TREE_MAP && tree_child(rules, name))
            return &files[i];
    }
    return NULL;
}

static void check_implied(struct loader *loader, const struct book_file *files, size_t count,
                          const struct tree_node *rule)
{
    const struct tree_node *implied = child_of(tree_resolve(rule), "implied_by");
    const struct tree_node *item = implied;
    if (implied && implied->kind == TREE_LIST)
        item = implied->first;
    for (; item; item = item == implied ? NULL : item->next) {
        const struct tree_node *name = tree_resolve(item);
        if (name->kind == TREE_TEXT && !file_with(files, count, name->text))
            loader_mistake(loader, loader_span(name), "there is no rule `%s`",
                           escape_short(loader->loading->arena, name->text, 60));
    }
}

void load_names(struct loader *loader, const struct book_file *files, size_t count)
{
    for (size_t f = 0; f < count; f++) {
        const struct tree_node *rules = rules_of(&files[f]);
        loader->source = (struct source *)&files[f].source;
        if (files[f].shared || !rules || rules->kind != TREE_MAP)
            continue;
        for (const struct tree_node *rule = rules->first; rule; rule = rule->next) {
            const struct book_file *other = file_with(files, f, rule->key);
            const char *name = escape_short(loader->loading->arena, rule->key, 60);
            if (other)
                loader_mistake(loader, rule->key_span,
                               other->shared
                                   ? "`%s` is a built-in rule; this one wants another name"
                                   : "there are two rules `%s`",
                               name);
            if (tree_resolve(rule)->kind == TREE_MAP)
                check_implied(loader, files, count, rule);
        }
    }
}
