/* A rule, as its file has it, in words and formulas. */
#include "cli/explain.h"

#include "report/wrap.h"
#include "rules/derived.h"
#include "text/escape.h"

struct telling {
    struct buffer *out;
    size_t width;
    const struct rule_texts *texts;
    const struct rule_entry_text *rule;
};

static void tell(const struct telling *telling, const char *what, struct view text)
{
    const char *name = *what ? arena_format(telling->out->arena, "  %s", what) : "";
    if (text.size)
        wrap_row(telling->out, telling->width, EXPLAIN_COLUMN, name, text);
}

/* A text, or each text of a list. */
static void tell_key(const struct telling *telling, const char *key, const char *what)
{
    const struct tree_node *node = tree_child(tree_resolve(telling->rule->node), view_of(key));
    if (!node)
        return;
    node = tree_resolve(node);
    if (node->kind == TREE_TEXT) {
        tell(telling, what, node->text);
        return;
    }
    for (const struct tree_node *child = node->first; child; child = child->next)
        tell(telling, child == node->first ? what : "", tree_resolve(child)->text);
}

/* Adds every text below `key` to one formula, for finding the names in it. */
static void collect(struct buffer *formula, const struct rule_entry_text *rule, const char *key)
{
    const struct tree_node *node = tree_child(tree_resolve(rule->node), view_of(key));
    if (!node)
        return;
    rule_text_inline(formula, node);
    buffer_byte(formula, ' ');
}

static void tell_definitions(const struct telling *telling)
{
    struct arena *arena = telling->out->arena;
    struct buffer formula;
    buffer_init(&formula, arena);
    collect(&formula, telling->rule, "when");
    collect(&formula, telling->rule, "require");
    struct definition_list list = {0};
    rule_text_definitions(telling->texts, arena, buffer_view(&formula), &list);
    for (size_t i = 0; i < list.items.count; i++) {
        const struct tree_node *node = list.items.items[i]->node;
        struct buffer text;
        buffer_init(&text, arena);
        buffer_add(&text, node->key);
        buffer_text(&text, " = ");
        buffer_add(&text, tree_resolve(node)->text);
        tell(telling, i ? "" : "where", buffer_view(&text));
    }
}

/* Does a formula use this name, and not only a longer one that begins like it? */
static bool uses_name(const char *text, const char *name)
{
    for (const char *at = text; (at = strstr(at, name)); at++) {
        char next = at[strlen(name)];
        if (next != '_' && !(next >= 'a' && next <= 'z') && !(next >= '0' && next <= '9'))
            return true;
    }
    return false;
}

/* The formulas of the rule, and of the definitions that they use. */
static const char *all_formulas(const struct telling *telling)
{
    struct arena *arena = telling->out->arena;
    struct buffer text;
    struct definition_list list = {0};
    static const char *const keys[] = {"when", "require", "says", "put_right"};
    buffer_init(&text, arena);
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
        collect(&text, telling->rule, keys[i]);
    rule_text_definitions(telling->texts, arena, buffer_view(&text), &list);
    for (size_t i = 0; i < list.items.count; i++) {
        buffer_byte(&text, '\n');
        buffer_add(&text, tree_resolve(list.items.items[i]->node)->text);
    }
    return buffer_string(&text);
}

/* What the program works out of the file where the rule uses it. */
static void tell_derived(const struct telling *telling)
{
    const char *text = all_formulas(telling), *what = "worked out";
    for (uint16_t leaf = DERIVED_FIRST; leaf < LEAF_COUNT; leaf++) {
        const char *name = derived_key(leaf);
        bool whole = derived_group(leaf) == GROUP_ROOT;
        if (!uses_name(text, whole ? name : arena_format(telling->out->arena, ".%s", name)))
            continue;
        tell(telling, what,
             view_of(arena_format(telling->out->arena, "%s: %s", name, derived_meaning(leaf))));
        what = "";
    }
}

/* A piece of a machine file that the reader finds fault with, and one as near to it that is
 * right: their lines are kept. */
static void tell_fragments(const struct telling *telling)
{
    static const char *const keys[] = {"broken", "twin"};
    static const char *const words[] = {"Found in", "Not found in"};
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        struct view text = rule_text_value(telling->rule, keys[i]);
        if (!text.size)
            continue;
        buffer_format(telling->out, "\n  %s:\n", words[i]);
        while (text.size) {
            size_t end = 0;
            while (end < text.size && text.data[end] != '\n')
                end++;
            buffer_text(telling->out, end ? "    " : "");
            escape_terminal(telling->out, (struct view){text.data, end});
            buffer_byte(telling->out, '\n');
            text = view_skip(text, end + 1);
        }
    }
}

/* Changes to a machine stand on one line. */
static void tell_example(const struct telling *telling, const char *what,
                         const struct tree_node *node)
{
    struct buffer text;
    buffer_init(&text, telling->out->arena);
    rule_text_inline(&text, node);
    if (!text.size)
        buffer_text(&text, "nothing changed");
    tell(telling, what, buffer_view(&text));
}

static void tell_examples(const struct telling *telling)
{
    static const char *const keys[] = {"given", "holds", "fails", "unchecked", "inapplicable"};
    static const char *const words[] = {"given", "holds", "fails", "not checked", "not asked"};
    const struct tree_node *node = tree_resolve(telling->rule->node);
    const struct tree_node *examples = tree_child(node, view_of("examples"));
    if (!examples)
        return;
    buffer_text(telling->out,
                "\n  Examples, as changes to a machine on which every rule holds:\n");
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        const struct tree_node *list = tree_child(tree_resolve(examples), view_of(keys[i]));
        if (!list)
            continue;
        list = tree_resolve(list);
        if (list->kind != TREE_LIST) {
            tell_example(telling, words[i], list);
            continue;
        }
        for (const struct tree_node *child = list->first; child; child = child->next)
            tell_example(telling, child == list->first ? words[i] : "", child);
    }
}

/* "error", "error or warning": of a rule whose requirements differ. */
static const char *level_text(struct arena *arena, const struct rule_entry_text *rule)
{
    const struct tree_node *node = tree_child(tree_resolve(rule->node), view_of("level"));
    struct buffer text;
    buffer_init(&text, arena);
    node = node ? tree_resolve(node) : NULL;
    if (!node || node->kind == TREE_TEXT)
        buffer_add(&text, rule_text_value(rule, "level"));
    const struct tree_node *child = node && node->kind == TREE_LIST ? node->first : NULL;
    for (; child; child = child->next) {
        struct view level = tree_resolve(child)->text;
        const char *word = arena_copy(arena, level.data, level.size);
        if (!strstr(buffer_string(&text), word))
            buffer_format(&text, "%s%s", text.size ? " or " : "", word);
    }
    return buffer_string(&text);
}

void explain_rule(struct buffer *out, size_t width, const struct rule_texts *texts,
                  const struct rule_entry_text *rule)
{
    const struct telling telling = {out, width, texts, rule};
    const char *level = level_text(out->arena, rule);
    struct view hurts = rule_text_value(rule, "hurts");
    struct source *source = &rule->book->source;
    struct place place = source_place(source, rule->node->key_span.start, COLUMN_CODE_POINTS);
    const struct wrap line = {.width = width};
    wrap_format(out, &line, "%.*s: %s%s%.*s (%.*s:%u)", VIEW(rule->name), level,
                hurts.size ? ", hurts the " : "", VIEW(hurts), VIEW(source->name), place.line);
    buffer_byte(out, '\n');
    tell_key(&telling, "says", "says");
    tell_key(&telling, "when", "when");
    tell_key(&telling, "each", "for each");
    tell_key(&telling, "require", "requires");
    tell_definitions(&telling);
    tell_derived(&telling);
    tell_key(&telling, "blame", "points at");
    tell_key(&telling, "implied_by", "follows");
    tell_key(&telling, "why", "why");
    tell_key(&telling, "put_right", "put right");
    tell_key(&telling, "source", "source");
    tell_examples(&telling);
    tell_fragments(&telling);
}
