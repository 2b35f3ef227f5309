/* The keys of the program's own small files, and reading such files by them. */
#include "rules/internal.h"

#include "text/escape.h"

#define MAP(name, ...)                                                                         \
    static const struct own_key name##_keys[] = {__VA_ARGS__};                                 \
    const struct own_map name = {name##_keys, sizeof name##_keys / sizeof *name##_keys}

MAP(own_policy_waiver,
    {"rules", OWN_TEXTS, true, "names of rules that may be waived; * is every one", NULL},
    {"by", OWN_TEXTS, false, "names of people, as accepted_by has them; left out: anybody",
     NULL});

MAP(own_policy, {"proveout-policy", OWN_VERSION, true, "version of this form", NULL},
    {"stop_at", OWN_LEVEL, false,
     "level from which on findings count, unless --stop-at says so", NULL},
    {"rulebooks", OWN_TEXTS, false,
     "rulebooks that are asked of every machine, beside this file or in folders below", NULL},
    {"levels", OWN_LEVELS, false,
     "levels of rules; what can hurt a person, and a mistake in a file, is never lowered",
     NULL},
    {"agreements", OWN_FIELDS, false,
     "fields that each machine has to hold against the controller's own file; yes: any one",
     NULL},
    {"measured_within", OWN_DAYS, false,
     "how long ago table, setters and cutters may have been measured, in days", NULL},
    {"waivers", OWN_ITEMS, false, "who may waive what; left out: everybody anything",
     &own_policy_waiver});

MAP(own_known_entry, {"rule", OWN_TEXT, true, "name of the rule", NULL},
    {"level", OWN_LEVEL, true, "its level; a graver one counts as new", NULL},
    {"subject", OWN_TEXT, false, "what it is about, for people", NULL},
    {"field", OWN_TEXT, false, "where it points at, for people", NULL},
    {"margin", OWN_NUMBER, false, "its margin in SI units; a smaller one counts as new", NULL},
    {"fingerprint", OWN_FINGERPRINT, true, "what it is known by", NULL});

MAP(own_known_file, {"file", OWN_TEXT, true, "path of the machine file", NULL},
    {"content", OWN_TEXT, true, "what it is known by under another name", NULL},
    {"findings", OWN_ITEMS, true, "what is set aside of it", &own_known_entry});

MAP(own_known, {"proveout-known", OWN_VERSION, true, "version of this form", NULL},
    {"files", OWN_PARTS, true, "a part for each machine file", &own_known_file});

MAP(own_agreement,
    {"field", OWN_TEXT, true, "path of the field that has to say the same", NULL},
    {"file", OWN_TEXT, true,
     "name of the controller's file, or a pattern of the shell for it, without a folder", NULL},
    {"pattern", OWN_TEXT, true, "pattern that finds the value, in a group named value", NULL},
    {"unit", OWN_TEXT, false,
     "unit in which the controller's file gives it; left out: asked for, where none stands "
     "beside the number",
     NULL},
    {"within", OWN_TEXT, false, "how far the two may differ; left out: to the digits written",
     NULL},
    {"for", OWN_TEXT, false, "which machines it is for, for people", NULL});

MAP(own_agreements, {"proveout-agreements", OWN_VERSION, true, "version of this form", NULL},
    {"agreements", OWN_PARTS, true, "what stands where", &own_agreement});

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
