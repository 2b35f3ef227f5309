/* Small files of our own forms. */
#include "rules/own_file.h"

#include "text/escape.h"

void own_file_mistake(struct own_file *form, struct span span, const char *message)
{
    const struct rulebook_mistake one = {form->source, span, message};
    VECTOR_ADD(form->mistakes->arena, &form->mistakes->list, one);
}

const struct tree_node *own_file_child(struct own_file *form, const struct tree_node *map,
                                       const char *key, enum tree_kind kind, bool may_lack)
{
    static const char *const kinds[] = {"a text", "keys with values", "a list", ""};
    struct arena *arena = form->mistakes->arena;
    const struct tree_node *child = tree_child(map, view_of(key));
    if (child && tree_resolve(child)->kind == (uint8_t)kind)
        return tree_resolve(child);
    if (child)
        own_file_mistake(form, child->span,
                         arena_format(arena, "%s wants %s", key, kinds[kind]));
    else if (!may_lack)
        own_file_mistake(form, map->span, arena_format(arena, "%s is missing here", key));
    return NULL;
}

struct view own_file_text(struct own_file *form, const struct tree_node *map, const char *key,
                          bool may_lack)
{
    const struct tree_node *node = own_file_child(form, map, key, TREE_TEXT, may_lack);
    return node ? node->text : (struct view){0};
}

struct own_list own_file_texts(struct own_file *form, const struct tree_node *map,
                               const char *key, bool may_lack)
{
    struct own_list list = {0};
    const struct tree_node *node = own_file_child(form, map, key, TREE_LIST, may_lack);
    if (!node)
        return list;
    list.items = ARENA_ARRAY(form->mistakes->arena, const struct tree_node *, node->count + 1);
    for (const struct tree_node *child = node->first; child; child = child->next) {
        const struct tree_node *item = tree_resolve(child);
        if (item->kind == TREE_TEXT && item->text.size)
            list.items[list.count++] = item;
        else
            own_file_mistake(
                form, child->span,
                arena_format(form->mistakes->arena, "%s wants a list of texts", key));
    }
    return list;
}

void own_file_refuse_others(struct own_file *form, const struct tree_node *map,
                            const struct own_map *keys)
{
    struct arena *arena = form->mistakes->arena;
    for (const struct tree_node *child = map->first; child; child = child->next) {
        bool is_one = false;
        for (size_t i = 0; i < keys->count; i++)
            is_one |= view_is(child->key, keys->keys[i].key);
        if (!is_one)
            own_file_mistake(form, child->key_span,
                             arena_format(arena, "%s has no key '%s' here", form->what,
                                          escape_short(arena, child->key, 40)));
    }
}

const struct tree_node *own_file_read(struct own_file *form, struct rulebook_mistakes *mistakes,
                                      const char *name, struct view bytes,
                                      const struct own_map *keys)
{
    struct arena *arena = mistakes->arena;
    const char *first_key = keys->keys[0].key;
    struct finding_sink sink;
    struct tree tree;
    form->mistakes = mistakes;
    form->source = ARENA_NEW(arena, struct source);
    source_init(form->source, arena, view_of(name), bytes);
    sink_init(&sink, arena, form->source);
    tree_read(&tree, arena, form->source, &sink);
    for (size_t i = 0; i < sink.findings.count; i++)
        own_file_mistake(form, sink.findings.items[i].at.span, sink.findings.items[i].message);
    const struct tree_node *root = tree.root, *first = root ? root->first : NULL;
    if (mistakes->list.count)
        return NULL;
    if (first && view_is(first->key, first_key) && first->kind == TREE_TEXT &&
        view_is(first->text, "1")) {
        own_file_refuse_others(form, root, keys);
        return root;
    }
    own_file_mistake(
        form, root ? root->span : (struct span){0, 0},
        root ? arena_format(arena, "%s begins with the line `%s: 1`", form->what, first_key)
             : "there is nothing in it");
    return NULL;
}
