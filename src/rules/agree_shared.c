/* A shop's own list of agreements. */
#include "rules/internal.h"

#include "formula/pattern.h"
#include "quantity/quantity.h"
#include "text/escape.h"
#include "tree/change.h"

enum { SHOWN = 50 };

#define MISTAKE(form, node, ...)                                                               \
    own_file_mistake((form), (node)->span, arena_format((form)->mistakes->arena, __VA_ARGS__))

static const char *shown(struct own_file *form, struct view text)
{
    return escape_short(form->mistakes->arena, text, SHOWN);
}

/* --- reading --- */

/* The field of an entry; FIELD_COUNT where there is none. */
static enum field_id read_field(struct own_file *form, const struct tree_node *item,
                                struct shared_agreement *out)
{
    const struct tree_node *node = own_file_child(form, item, "field", TREE_TEXT, false);
    if (!node)
        return FIELD_COUNT;
    out->field = node->text;
    enum field_id id = field_find(node->text);
    if (id == FIELD_COUNT)
        MISTAKE(form, node, "there is no field called %s", shown(form, node->text));
    return id;
}

static void read_file(struct own_file *form, const struct tree_node *item,
                      struct shared_agreement *out)
{
    const struct tree_node *node = own_file_child(form, item, "file", TREE_TEXT, false);
    if (!node)
        return;
    out->file = node->text;
    if (!node->text.size || memchr(node->text.data, '/', node->text.size) ||
        memchr(node->text.data, '\0', node->text.size))
        MISTAKE(form, node, "file is a name or a pattern of the shell, without a folder");
}

static void read_pattern(struct own_file *form, const struct tree_node *item,
                         struct pattern_budget *budget, struct shared_agreement *out)
{
    const struct tree_node *node = own_file_child(form, item, "pattern", TREE_TEXT, false);
    const char *message = NULL;
    size_t offset;
    if (!node)
        return;
    out->pattern = node->text;
    const struct pattern *pattern =
        pattern_open(form->mistakes->arena, node->text, budget, &message, &offset);
    if (!pattern)
        MISTAKE(form, node, "%s",
                message ? message : "the patterns of this list are too large");
    else if (!pattern_has_value(pattern))
        MISTAKE(form, node,
                "the pattern needs one named group, (?<value>...), around the value");
}

static void read_unit(struct own_file *form, const struct tree_node *item, enum field_id id,
                      struct shared_agreement *out)
{
    const struct tree_node *node = own_file_child(form, item, "unit", TREE_TEXT, true);
    if (!node)
        return;
    out->unit = node->text;
    unit_id unit = unit_read(node->text);
    if (unit == UNIT_UNKNOWN ||
        (id != FIELD_COUNT && !unit_fits(unit, field_table[id].dimension)))
        MISTAKE(form, node, "%s is no unit of this field", shown(form, node->text));
}

static void read_within(struct own_file *form, const struct tree_node *item, enum field_id id,
                        struct shared_agreement *out)
{
    const struct tree_node *node = own_file_child(form, item, "within", TREE_TEXT, true);
    struct quantity quantity;
    struct quantity_trouble trouble;
    if (!node)
        return;
    out->within = node->text;
    if (id != FIELD_COUNT && quantity_read(node->text, field_table[id].dimension, &quantity,
                                           &trouble) != QUANTITY_OK)
        MISTAKE(form, node, "%s is no distance that the two may differ by",
                shown(form, node->text));
}

static void read_item(struct own_file *form, const struct tree_node *item,
                      struct pattern_budget *budget, struct shared_agreement *out)
{
    if (item->kind != TREE_MAP) {
        MISTAKE(form, item, "an agreement has keys with values");
        return;
    }
    own_file_refuse_others(form, item, &own_agreement);
    enum field_id id = read_field(form, item, out);
    read_file(form, item, out);
    read_pattern(form, item, budget, out);
    read_unit(form, item, id, out);
    read_within(form, item, id, out);
    out->what_for = own_file_text(form, item, "for", true);
    out->line = source_place(form->source, item->span.start, COLUMN_CODE_POINTS).line;
}

/* Is nothing in it yet? */
static bool is_nothing(const struct tree_node *node)
{
    return node && node->kind == TREE_TEXT && text_is_void(node->text);
}

bool shared_agreements_read(struct rulebook_mistakes *mistakes, const char *name,
                            struct view bytes, struct shared_agreements *out)
{
    struct own_file form = {.what = "a list of agreements"};
    struct pattern_budget budget = PATTERN_BUDGET;
    *out = (struct shared_agreements){.name = name};
    const struct tree_node *root = own_file_read(&form, mistakes, name, bytes, &own_agreements);
    if (!root)
        return false;
    if (is_nothing(tree_child(root, view_of("agreements"))))
        return true;
    const struct tree_node *list = own_file_child(&form, root, "agreements", TREE_LIST, false);
    if (list && list->count > SHARED_AGREEMENTS_MAX)
        MISTAKE(&form, list, "more than %d agreements", SHARED_AGREEMENTS_MAX);
    if (!list || mistakes->list.count)
        return !mistakes->list.count;
    struct shared_agreement *items =
        ARENA_ARRAY(mistakes->arena, struct shared_agreement, list->count + 1);
    for (const struct tree_node *child = list->first; child; child = child->next)
        read_item(&form, tree_resolve(child), &budget, &items[out->count++]);
    out->items = items;
    return !mistakes->list.count;
}

/* --- adding --- */

/* Keys in the order of their table. */
static uint32_t rank(const void *user, struct view path)
{
    const struct own_map *map = user;
    size_t end = path.size;
    while (end && path.data[end - 1] != '.')
        end--;
    for (uint32_t i = 0; i < map->count; i++)
        if (view_is(view_skip(path, end), map->keys[i].key))
            return i;
    return (uint32_t)map->count;
}

const char *shared_agreements_add(struct arena *arena, const char *name, struct view bytes,
                                  const struct shared_agreement *agreement, struct view *out)
{
    static const struct change_order order = {rank, &own_agreement};
    const struct {
        const char *key;
        struct view text;
    } parts[] = {{"field", agreement->field},     {"file", agreement->file},
                 {"pattern", agreement->pattern}, {"unit", agreement->unit},
                 {"within", agreement->within},   {"for", agreement->what_for}};
    const struct tree_node *list;
    if (!bytes.size)
        bytes = view_of("proveout-agreements: 1\nagreements:\n");
    const struct tree *tree = tree_of(arena, view_of(name), bytes);
    list = tree->root ? tree_child(tree->root, view_of("agreements")) : NULL;
    unsigned index =
        list && tree_resolve(list)->kind == TREE_LIST ? tree_resolve(list)->count : 0;
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        const char *path = arena_format(arena, "agreements[%u].%s", index, parts[i].key);
        const struct value_change change = {view_of(path), parts[i].text, true, false};
        const char *why = NULL;
        if (!parts[i].text.size)
            continue;
        if (change_value(arena, tree, &change, &order, &bytes, &why) == CHANGE_REFUSED)
            return why;
        tree = tree_of(arena, view_of(name), bytes);
    }
    *out = bytes;
    return NULL;
}
