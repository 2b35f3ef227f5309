/* The examples that a rule must carry: how many, of which fields, and that their values are
 * values.  What comes of them is prove.c's business.
 */
#include "rules/internal.h"

#include "quantity/quantity.h"
#include "text/escape.h"

/* Does `path`, such as "cutters[2].stickout", "obstacles[0]" or "axes.x", name this field, or
 * what it stands in?  Axes have their letters for names, inputs any. */
static bool leads_to(struct arena *arena, enum field_id id, struct view path)
{
    const char *field = field_path(arena, id); /* "cutters[].stickout", "inputs.*.bounce" */
    bool by_axis = group_table[field_table[id].group].shape == SHAPE_AXES;
    size_t i = 0;
    while (i < path.size) {
        if (*field == '*' && by_axis) {
            if (path.data[i] < 'x' || path.data[i] > 'z')
                return false;
            field++, i++;
        } else if (*field == '*') {
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

/* `[a, b]`, as field_read_text takes a list; NULL where an entry is no text, or an empty one.
 */
static const char *list_text(struct arena *arena, const struct tree_node *list)
{
    struct buffer text;
    buffer_init(&text, arena);
    buffer_byte(&text, '[');
    for (const struct tree_node *item = list->first; item; item = item->next) {
        const struct tree_node *entry = tree_resolve(item);
        if (entry->kind != TREE_TEXT || !entry->text.size)
            return NULL;
        buffer_text(&text, item == list->first ? "" : ", ");
        buffer_add(&text, entry->text);
    }
    buffer_byte(&text, ']');
    return buffer_string(&text);
}

/* A value that nobody can read is a slip, and would let the example come out for the wrong
 * reason.  What stands in a section that is replaced whole is read when the example is run. */
static void check_value(struct loader *loader, const struct tree_node *child)
{
    struct arena *arena = loader->mistakes->arena;
    enum field_id id = field_find(child->key);
    const struct tree_node *value = tree_resolve(child);
    if (id == FIELD_COUNT || value->kind == TREE_MAP ||
        (value->style == STYLE_PLAIN && text_is_void(value->text)))
        return;
    bool is_list = value->kind == TREE_LIST, wants_list = kind_is_list(field_table[id].kind);
    bool is_none =
        field_table[id].kind == KIND_ORDER && view_is(view_trim(value->text), "none");
    const char *list = is_list ? list_text(arena, value) : NULL;
    if ((is_list != wants_list && !is_none) || (is_list && !list)) {
        loader_mistake(loader, value->span, "`%s` wants %s",
                       escape_short(arena, child->key, 60), field_wanted_text(arena, id));
        return;
    }
    struct field_value read;
    const char *wrong = field_read_text(arena, id, list ? view_of(list) : value->text, &read);
    if (wrong)
        loader_mistake(loader, value->span, "%s", wrong);
}

/* The margin of an example is that of a requirement that has one. */
static void check_margin(struct loader *loader, const struct rule *rule,
                         const struct tree_node *child)
{
    const struct tree_node *value = tree_resolve(child);
    struct arena *arena = loader->mistakes->arena;
    const char *wanted = NULL;
    for (uint32_t i = 0; i < rule->requirement_count; i++) {
        const struct requirement *requirement =
            &loader->requirements.items[rule->first_requirement + i];
        struct quantity margin;
        struct quantity_trouble trouble;
        if (requirement->node == NODE_NONE)
            return;
        if (!requirement->has_margin)
            continue;
        if (value->kind == TREE_TEXT && quantity_read(value->text, requirement->dimension,
                                                      &margin, &trouble) == QUANTITY_OK)
            return;
        if (!wanted)
            wanted = dimension_name(requirement->dimension, arena);
    }
    if (wanted)
        loader_mistake(loader, value->span, "a margin of this rule is a %s", wanted);
}

static void check_level(struct loader *loader, const struct tree_node *child)
{
    const struct tree_node *value = tree_resolve(child);
    for (int level = 0; level < LEVEL_COUNT; level++)
        if (value->kind == TREE_TEXT &&
            view_is(value->text, finding_level_name((enum finding_level)level)))
            return;
    loader_mistake(loader, value->span, "`level` is one of note, warning, error");
}

/* An example that changes what does not exist would hold for the wrong reason. */
static void check_change(struct loader *loader, const struct tree_node *child)
{
    struct arena *arena = loader->mistakes->arena;
    bool found = false;
    for (unsigned id = 0; id < FIELD_COUNT && !found; id++)
        found = leads_to(arena, (enum field_id)id, child->key);
    if (found) {
        check_value(loader, child);
        return;
    }
    const char *near = field_nearest(arena, child->key);
    loader_mistake(loader, child->key_span, "there is no field `%s`%s%s%s",
                   escape_short(arena, child->key, 60), near ? "; did you mean `" : "",
                   near ? near : "", near ? "`?" : "");
}

static void check_changes(struct loader *loader, const struct rule *rule,
                          const struct tree_node *changes)
{
    for (const struct tree_node *child = changes->first; child; child = child->next) {
        if (view_is(child->key, book_key_table[BOOK_MARGIN].key))
            check_margin(loader, rule, child);
        else if (view_is(child->key, book_key_table[BOOK_AT_LEVEL].key))
            check_level(loader, child);
        else
            check_change(loader, child);
    }
}

/* Looks through the list `key` of examples; how many there are. */
static uint32_t load_list(struct loader *loader, const struct rule *rule,
                          const struct tree_node *examples, const char *key)
{
    const struct tree_node *list = loader_child(examples, key);
    if (!list)
        return 0;
    if (list->kind != TREE_LIST) {
        loader_mistake(loader, loader_span(list), "`%s` wants a list of changes to the machine",
                       key);
        return 0;
    }
    for (const struct tree_node *item = list->first; item; item = item->next) {
        const struct tree_node *changes = tree_resolve(item);
        if (changes->kind == TREE_MAP)
            check_changes(loader, rule, changes);
        else
            loader_mistake(loader, loader_span(item), "an example is `{field: value, ...}`");
    }
    return list->count;
}

static bool any_margin(const struct tree_node *examples)
{
    const struct tree_node *list = loader_child(examples, "fails");
    for (const struct tree_node *item = list ? list->first : NULL; item; item = item->next)
        if (tree_child(tree_resolve(item), view_of("margin")))
            return true;
    return false;
}

/* Are there as many as the rule must have?  A mistyped list is not missed. */
static void check_enough(struct loader *loader, const struct rule *rule,
                         const struct tree_node *examples, uint32_t holds, uint32_t fails)
{
    bool has_margin = false;
    for (uint32_t i = 0; i < rule->requirement_count; i++)
        has_margin |= loader->requirements.items[rule->first_requirement + i].has_margin;
    uint32_t least = has_margin ? 2 : 1;
    if ((holds < least && loader_misses(loader, "holds")) ||
        (fails < least && loader_misses(loader, "fails")))
        loader_mistake(loader, examples->key_span,
                       has_margin
                           ? "rule `%s` compares quantities: it wants two examples that hold "
                             "and two that fail, one of each at the boundary"
                           : "rule `%s` wants an example that holds and one that fails",
                       rule->name);
    if (has_margin && fails && !any_margin(examples))
        loader_mistake(loader, examples->key_span,
                       "rule `%s` wants the margin of an example that fails", rule->name);
}

void load_examples(struct loader *loader, const struct tree_node *node, const struct rule *rule)
{
    const struct tree_node *examples = loader_child(node, "examples");
    if (!examples || examples->kind != TREE_MAP) {
        if (loader_misses(loader, "examples"))
            loader_mistake(loader, loader_span(node), "rule `%s` has no examples", rule->name);
        return;
    }
    loader_check_keys(loader, examples, BOOK_MAP_EXAMPLES);
    const struct tree_node *given = loader_child(examples, "given");
    if (given && given->kind == TREE_MAP)
        check_changes(loader, rule, given);
    else if (given)
        loader_mistake(loader, loader_span(given), "`given` wants `{field: value, ...}`");
    uint32_t holds = load_list(loader, rule, examples, "holds");
    uint32_t fails = load_list(loader, rule, examples, "fails");
    load_list(loader, rule, examples, "unchecked");
    load_list(loader, rule, examples, "inapplicable");
    if (!loader->broken_off)
        check_enough(loader, rule, examples, holds, fails);
}
