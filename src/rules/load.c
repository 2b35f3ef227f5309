/* Reading rulebooks: the YAML around the formulas, and where in it a part of a formula stands
 * that YAML has folded over several lines.
 *
 * Works in two passes over all files: first every definition, then every rule, so that the
 * order of files does not matter.  Knows the keys of a rulebook and nothing of the formulas'
 * language.
 */
#include "rules/internal.h"

#include <stdlib.h>

#include "text/escape.h"

/* Numbers an origin for the builder. */
static uint32_t loader_origin(struct loader *loader, const struct tree_node *node, size_t skip)
{
    VECTOR_ADD(loader->mistakes->arena, &loader->origins,
               (struct origin){loader->source, node, skip});
    return (uint32_t)(loader->origins.count - 1);
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

/* Follows decoded text and file side by side: a run of white space in one is a run in the
 * other. */
static uint32_t folded_offset(const struct origin *origin, size_t target)
{
    struct view text = origin->node->text;
    struct view file = source_slice(origin->source, origin->node->span);
    size_t t = 0, f = 0;
    if (file.size && (file.data[0] == '"' || file.data[0] == '\''))
        f++;
    else if (file.size && (file.data[0] == '>' || file.data[0] == '|'))
        while (f < file.size && file.data[f] != '\n')
            f++;
    while (f < file.size && t < text.size && is_blank(file.data[f]) && !is_blank(text.data[t]))
        f++;
    while (t < target && t < text.size && f < file.size) {
        if (is_blank(text.data[t])) {
            while (t < text.size && t < target && is_blank(text.data[t]))
                t++;
            while (f < file.size && is_blank(file.data[f]))
                f++;
        } else {
            t++;
            f++;
        }
    }
    return origin->node->span.start + (uint32_t)f;
}

/* A part of a node's decoded text as bytes of its file: exact for text on one line, and for
 * text folded over several lines wherever only white space was folded. */
static struct span origin_span(const struct origin *origin, size_t start, size_t end)
{
    struct view text = origin->node->text;
    struct view file = origin->source->bytes;
    start += origin->skip;
    end += origin->skip;
    if (text.size && text.data >= file.data && text.data < file.data + file.size) {
        uint32_t base = (uint32_t)(text.data - file.data);
        return (struct span){base + (uint32_t)start, base + (uint32_t)end};
    }
    uint32_t first = folded_offset(origin, start), last = folded_offset(origin, end);
    return (struct span){first, last > first ? last : first};
}

static void add_text(struct loader *loader, struct buffer *text)
{
    if (!text->size)
        return;
    struct arena *arena = loader->mistakes->arena;
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
        VECTOR_ADD(loader->mistakes->arena, &loader->pieces, piece);
    return end + 1;
}

/* The text of a node as a terminated string in the arena of the mistakes, white space at its
 * end removed. */
static const char *loader_string(struct loader *loader, const struct tree_node *node)
{
    struct view text = tree_resolve(node)->text;
    while (text.size && is_blank(text.data[text.size - 1]))
        text.size--;
    return arena_copy(loader->mistakes->arena, text.data, text.size);
}

/* Compiles a message: text with values in braces.  Gives its index. */
static uint32_t load_message(struct loader *loader, const struct formula_scope *scope,
                             uint32_t requirement, const struct tree_node *node)
{
    struct arena *arena = loader->mistakes->arena;
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

/* The names of rules: no two alike, and those that a rule follows from are there and lead to an
 * end. */

/* A file of the set being loaded. */
struct book_file {
    struct source source;
    struct tree tree;
    bool shared; /* only its definitions are wanted */
};

static const struct tree_node *rules_of(const struct book_file *file)
{
    return loader_child(file->tree.root, "rules");
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

/* The first of the names that a rule follows from, and the one after `item`; NULL: no more. */
static const struct tree_node *first_implied(const struct tree_node *rule)
{
    const struct tree_node *implied = loader_child(tree_resolve(rule), "implied_by");
    return implied && implied->kind == TREE_LIST ? implied->first : implied;
}

static const struct tree_node *next_implied(const struct tree_node *rule,
                                            const struct tree_node *item)
{
    const struct tree_node *implied = loader_child(tree_resolve(rule), "implied_by");
    return implied->kind == TREE_LIST ? item->next : NULL;
}

static void check_implied(struct loader *loader, const struct book_file *files, size_t count,
                          const struct tree_node *rule)
{
    for (const struct tree_node *item = first_implied(rule); item;
         item = next_implied(rule, item)) {
        const struct tree_node *name = tree_resolve(item);
        if (name->kind == TREE_TEXT && !file_with(files, count, name->text))
            loader_mistake(loader, loader_span(name), "there is no rule `%s`",
                           escape_short(loader->mistakes->arena, name->text, 60));
    }
}

/* Which rule follows from which: walked in depth, so that a way that meets itself is a circle.
 */
struct follower {
    struct source *source;
    const struct tree_node *rule;
    const struct tree_node *item; /* the name it is followed to at the moment */
    enum { NOT_SEEN, ON_THE_WAY, DONE } state;
};

struct walk {
    struct follower *followers;
    size_t count;
    size_t *way;
    size_t depth;
};

static void gather_followers(struct loader *loader, const struct book_file *files, size_t count,
                             struct walk *walk)
{
    VECTOR(struct follower) all = {0};
    for (size_t f = 0; f < count; f++) {
        const struct tree_node *rules = rules_of(&files[f]);
        if (files[f].shared || !rules || rules->kind != TREE_MAP)
            continue;
        for (const struct tree_node *rule = rules->first; rule; rule = rule->next)
            if (tree_resolve(rule)->kind == TREE_MAP)
                VECTOR_ADD(loader->mistakes->arena, &all,
                           (struct follower){.source = (struct source *)&files[f].source,
                                             .rule = rule,
                                             .item = first_implied(rule)});
    }
    *walk = (struct walk){.followers = all.items, .count = all.count};
    walk->way = ARENA_ARRAY(loader->mistakes->arena, size_t, all.count + 1);
}

/* The rule that a name stands for; `count` where it is none that can be walked on from. */
static size_t follower_named(const struct walk *walk, const struct tree_node *item)
{
    const struct tree_node *name = tree_resolve(item);
    size_t i = 0;
    while (i < walk->count &&
           (name->kind != TREE_TEXT || !view_equal(walk->followers[i].rule->key, name->text)))
        i++;
    return i;
}

/* The way has come back to `start`: told at the name that leads away from there. */
static void tell_circle(struct loader *loader, const struct walk *walk, size_t start)
{
    enum { SHOWN = 6, NAME_SHOWN = 30 };
    struct arena *arena = loader->mistakes->arena;
    size_t first = 0;
    while (walk->way[first] != start)
        first++;
    const struct follower *at = &walk->followers[start];
    loader->source = at->source;
    struct span span = loader_span(tree_resolve(at->item));
    size_t length = walk->depth - first;
    if (length == 1) {
        loader_mistake(loader, span, "`%s` follows from itself: it would never be told",
                       escape_short(arena, at->rule->key, NAME_SHOWN));
        return;
    }
    struct buffer path;
    buffer_init(&path, arena);
    for (size_t i = 0; i < length && i < SHOWN; i++) {
        const struct follower *from = &walk->followers[walk->way[first + i]];
        buffer_format(&path, "%s`%s` %sfrom `%s`", i ? ", " : "",
                      escape_short(arena, from->rule->key, NAME_SHOWN), i ? "" : "follows ",
                      escape_short(arena, tree_resolve(from->item)->text, NAME_SHOWN));
    }
    if (length > SHOWN)
        buffer_format(&path, " and so on over %zu rules back to `%s`", length,
                      escape_short(arena, at->rule->key, NAME_SHOWN));
    loader_mistake(loader, span, "%s: where they all fail, none would be told",
                   buffer_string(&path));
}

static void follow(struct loader *loader, struct walk *walk, size_t start)
{
    walk->way[0] = start;
    walk->depth = 1;
    walk->followers[start].state = ON_THE_WAY;
    while (walk->depth) {
        struct follower *at = &walk->followers[walk->way[walk->depth - 1]];
        if (!at->item) {
            at->state = DONE;
            walk->depth--;
            continue;
        }
        size_t next = follower_named(walk, at->item);
        if (next < walk->count && walk->followers[next].state == NOT_SEEN) {
            walk->followers[next].state = ON_THE_WAY;
            walk->way[walk->depth++] = next;
            continue;
        }
        if (next < walk->count && walk->followers[next].state == ON_THE_WAY)
            tell_circle(loader, walk, next);
        at->item = next_implied(at->rule, at->item);
    }
}

static void check_circles(struct loader *loader, const struct book_file *files, size_t count)
{
    struct walk walk;
    gather_followers(loader, files, count, &walk);
    for (size_t i = 0; i < walk.count; i++)
        if (walk.followers[i].state == NOT_SEEN)
            follow(loader, &walk, i);
}

/* Refuses rules that share a name, also with one of the shared files, and `implied_by` that
 * names none or leads back to its own rule. */
static void load_names(struct loader *loader, const struct book_file *files, size_t count)
{
    for (size_t f = 0; f < count; f++) {
        const struct tree_node *rules = rules_of(&files[f]);
        loader->source = (struct source *)&files[f].source;
        if (files[f].shared || !rules || rules->kind != TREE_MAP)
            continue;
        for (const struct tree_node *rule = rules->first; rule; rule = rule->next) {
            const struct book_file *other = file_with(files, f, rule->key);
            const char *name = escape_short(loader->mistakes->arena, rule->key, 60);
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
    check_circles(loader, files, count);
}

static void formula_mistake(void *user, uint32_t number, uint32_t start, uint32_t end,
                            const char *message)
{
    struct loader *loader = user;
    const struct origin *origin = &loader->origins.items[number];
    struct source *current = loader->source;
    loader->source = origin->source;
    loader_mistake(loader, origin_span(origin, start, end), "%s", message);
    loader->source = current;
}

/* The text at a key; NULL where it is not there or, with a mistake noted, not a text. */
static const struct tree_node *text_child(struct loader *loader, const struct tree_node *map,
                                          enum book_key_id id)
{
    const char *key = book_key_table[id].key;
    const struct tree_node *child = loader_child(map, key);
    if (!child) {
        if (book_key_table[id].wanted && loader_misses(loader, key))
            loader_mistake(loader, loader_span(map), "`%s` is missing", key);
        return NULL;
    }
    if (child->kind != TREE_TEXT || child->text.size == 0) {
        loader_mistake(loader, loader_span(child), "`%s` wants a text", key);
        return NULL;
    }
    return child;
}

/* Which of the words of its key a text is; told, and -1, where it is none. */
static int word_of(struct loader *loader, const struct tree_node *child, enum book_key_id id)
{
    struct view words[BOOK_NAMES_MOST];
    size_t count = book_key_words(id, words);
    for (size_t i = 0; i < count; i++)
        if (view_equal(child->text, words[i]))
            return (int)i;
    struct buffer list;
    buffer_init(&list, loader->mistakes->arena);
    for (size_t i = 0; i < count; i++)
        buffer_format(&list, "%s%.*s", i ? ", " : "", VIEW(words[i]));
    loader_mistake(loader, child->span, "`%s` is one of %s", book_key_table[id].key,
                   buffer_string(&list));
    return -1;
}

/* A word out of a list; -1, with a mistake noted, where it is none of them. */
static int word_child(struct loader *loader, const struct tree_node *map, enum book_key_id id)
{
    const struct tree_node *child = text_child(loader, map, id);
    return child ? word_of(loader, child, id) : -1;
}

/* Item `index` of a text or list child: the text itself serves every index. */
static const struct tree_node *item_of(const struct tree_node *child, uint32_t index)
{
    if (!child || child->kind != TREE_LIST)
        return child;
    const struct tree_node *item = child->first;
    for (; item && index; index--)
        item = item->next;
    return item ? tree_resolve(item) : NULL;
}

static void load_definitions(struct loader *loader, const struct tree_node *root)
{
    const struct tree_node *define = loader_child(root, "define");
    if (!define)
        return;
    if (define->kind != TREE_MAP) {
        loader_mistake(loader, loader_span(define), "`define` wants names with their formulas");
        return;
    }
    for (const struct tree_node *child = define->first; child; child = child->next) {
        const struct tree_node *body = tree_resolve(child);
        if (body->kind != TREE_TEXT) {
            loader_mistake(loader, child->key_span, "a definition wants a formula");
            continue;
        }
        /* A key's text is looked up like a value's: a node of its own stands in for it. */
        struct tree_node *head = ARENA_NEW(loader->mistakes->arena, struct tree_node);
        head->text = child->key;
        head->span = child->key_span;
        formula_define(loader->builder, child->key, loader_origin(loader, head, 0), body->text,
                       loader_origin(loader, body, 0));
    }
}

/* What one rule is loaded with. */
struct rule_frame {
    const struct tree_node *node;
    struct rule rule;
    struct formula_scope scope;
    bool has_margin;
};

/* The level of one requirement; that of the rule is its gravest. */
static uint8_t load_level(struct loader *loader, struct rule_frame *frame, uint32_t index)
{
    const struct tree_node *node = loader_child(frame->node, "level");
    const struct tree_node *item = item_of(node, index);
    int level = -1;
    if (item && item->kind == TREE_TEXT)
        level = word_of(loader, item, BOOK_LEVEL);
    else if (node || loader_misses(loader, "level"))
        loader_mistake(loader, loader_span(node ? node : frame->node),
                       node ? "`level` wants a word, or one for each requirement"
                            : "`level` is missing");
    if (level < 0)
        level = LEVEL_ERROR;
    if (level > frame->rule.level)
        frame->rule.level = (uint8_t)level;
    return (uint8_t)level;
}

static void load_requirement(struct loader *loader, struct rule_frame *frame, uint32_t index,
                             const struct tree_node *text)
{
    struct requirement requirement = {.blame = NODE_NONE};
    struct view formula = text->text;
    requirement.level = load_level(loader, frame, index);
    requirement.node = formula_requirement(loader->builder, &frame->scope, formula,
                                           loader_origin(loader, text, 0));
    if (requirement.node != NODE_NONE)
        requirement.has_margin =
            formula_margin(loader->builder, requirement.node, &requirement.dimension);
    frame->has_margin |= requirement.has_margin;
    const struct tree_node *blame = item_of(loader_child(frame->node, "blame"), index);
    if (blame && blame->kind == TREE_TEXT)
        requirement.blame = formula_field(loader->builder, &frame->scope, requirement.node,
                                          blame->text, loader_origin(loader, blame, 0));
    else if (blame)
        loader_mistake(loader, loader_span(blame),
                       "`blame` wants a field, or one for each requirement");
    else if (requirement.node != NODE_NONE)
        requirement.blame = formula_first_field(loader->builder, requirement.node);
    if (requirement.blame != NODE_NONE && frame->scope.name.size)
        requirement.blames_each =
            formula_uses(loader->builder, requirement.blame, frame->scope.slot);
    const struct tree_node *says = item_of(loader_child(frame->node, "says"), index);
    if (says && says->kind == TREE_TEXT && says->text.size)
        requirement.says = load_message(loader, &frame->scope, requirement.node, says);
    else if (says || loader_misses(loader, "says"))
        loader_mistake(loader, loader_span(frame->node),
                       "`says` wants a text for each requirement");
    VECTOR_ADD(loader->mistakes->arena, &loader->requirements, requirement);
    frame->rule.requirement_count++;
}

/* Are there parentheses that nothing closes, as in the first half of a split formula? */
static bool opens_only(struct view text)
{
    int open = 0;
    for (size_t i = 0; i < text.size; i++)
        open += (text.data[i] == '(') - (text.data[i] == ')');
    return open > 0;
}

static void load_requirements(struct loader *loader, struct rule_frame *frame)
{
    frame->rule.first_requirement = (uint32_t)loader->requirements.count;
    const struct tree_node *require = loader_child(frame->node, "require");
    if (!require) {
        if (loader_misses(loader, "require"))
            loader_mistake(loader, frame->node->key_span, "`require` is missing");
        return;
    }
    if (require->kind == TREE_TEXT) {
        load_requirement(loader, frame, 0, require);
        return;
    }
    if (require->kind != TREE_LIST || !require->first) {
        loader_mistake(loader, loader_span(require),
                       "`require` wants a formula or a list of them");
        return;
    }
    uint32_t index = 0;
    bool in_brackets = source_slice(loader->source, require->span).data[0] == '[';
    bool split = false;
    for (const struct tree_node *item = require->first; item; item = item->next, index++) {
        const struct tree_node *text = tree_resolve(item);
        bool cut = in_brackets && text->kind == TREE_TEXT && opens_only(text->text);
        if (text->kind == TREE_TEXT && !split && !cut)
            load_requirement(loader, frame, index, text);
        else if (!split)
            loader_mistake(loader, loader_span(item),
                           "a requirement is a formula; commas in a list "
                           "in brackets split it, so write one a line");
        split |= cut;
    }
}

static void load_implied(struct loader *loader, struct rule_frame *frame)
{
    const struct tree_node *implied = loader_child(frame->node, "implied_by");
    if (!implied)
        return;
    uint32_t limit = implied->kind == TREE_LIST ? implied->count : 1;
    if (limit >= RULE_IMPLIED_MAX) {
        loader_mistake(loader, loader_span(implied), "`implied_by` takes at most %d rules",
                       RULE_IMPLIED_MAX - 1);
        return;
    }
    for (uint32_t i = 0; i < limit; i++) {
        const struct tree_node *name = item_of(implied, i);
        if (name && name->kind == TREE_TEXT)
            frame->rule.implied_by[i] = loader_string(loader, name);
        else
            loader_mistake(loader, loader_span(implied), "`implied_by` wants names of rules");
    }
}

static void load_when(struct loader *loader, struct rule_frame *frame)
{
    struct rule *rule = &frame->rule;
    rule->when = NODE_NONE;
    const struct tree_node *each = text_child(loader, frame->node, BOOK_EACH);
    if (each && formula_each(loader->builder, each->text, loader_origin(loader, each, 0),
                             &frame->scope)) {
        rule->slot = frame->scope.slot;
        rule->domain = frame->scope.domain.kind;
        rule->each_text = loader_string(loader, each);
    }
    const struct tree_node *when = text_child(loader, frame->node, BOOK_WHEN);
    if (!when)
        return;
    rule->when_text = loader_string(loader, when);
    rule->when = formula_condition(loader->builder, &frame->scope, when->text,
                                   loader_origin(loader, when, 0));
    if (rule->when != NODE_NONE && frame->scope.name.size)
        rule->when_each = formula_uses(loader->builder, rule->when, frame->scope.slot);
}

static const char *string_child(struct loader *loader, const struct tree_node *map,
                                enum book_key_id id)
{
    const struct tree_node *child = text_child(loader, map, id);
    return child ? loader_string(loader, child) : "";
}

static void load_words(struct loader *loader, struct rule_frame *frame)
{
    struct rule *rule = &frame->rule;
    int harm = word_child(loader, frame->node, BOOK_HURTS);
    rule->hurts = (uint8_t)(harm < 0 ? HURTS_WORK : harm);
    rule->why = string_child(loader, frame->node, BOOK_WHY);
    rule->put_right = string_child(loader, frame->node, BOOK_PUT_RIGHT);
    rule->source = string_child(loader, frame->node, BOOK_SOURCE);
    const struct tree_node *stack = text_child(loader, frame->node, BOOK_STACK);
    if (stack && !view_is(stack->text, "chosen"))
        loader_mistake(loader, stack->span, "`stack` can only be `chosen`");
    rule->chosen_stack = stack != NULL;
}

static bool is_rule_name(struct view name)
{
    if (name.size == 0 || name.size > RULE_NAME_MOST || name.data[0] < 'a' ||
        name.data[0] > 'z')
        return false;
    for (size_t i = 0; i < name.size; i++) {
        char c = name.data[i];
        if (!((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-'))
            return false;
    }
    return true;
}

static void load_rule(struct loader *loader, const struct tree_node *child)
{
    const struct tree_node *node = tree_resolve(child);
    struct rule_frame frame = {.node = node};
    frame.rule.name = arena_copy(loader->mistakes->arena, child->key.data, child->key.size);
    if (!is_rule_name(child->key))
        loader_mistake(loader, child->key_span,
                       "a rule's name is small letters, digits and hyphens");
    if (node->kind != TREE_MAP) {
        loader_mistake(loader, child->key_span,
                       "a rule wants `level`, `hurts`, `require` and so on");
        return;
    }
    loader_check_keys(loader, node, BOOK_MAP_RULE);
    load_words(loader, &frame);
    load_when(loader, &frame);
    load_requirements(loader, &frame);
    load_implied(loader, &frame);
    const struct tree_node *put_right = loader_child(node, "put_right");
    if (put_right && put_right->kind == TREE_TEXT && frame.rule.requirement_count) {
        uint32_t first = loader->requirements.items[frame.rule.first_requirement].node;
        frame.rule.put_right_message = load_message(loader, &frame.scope, first, put_right);
    }
    load_examples(loader, node, &frame.rule);
    VECTOR_ADD(loader->mistakes->arena, &loader->rules, frame.rule);
}

static void load_rules(struct loader *loader, const struct tree *tree)
{
    const struct tree_node *root = tree->root;
    const struct tree_node *rules = loader_child(root, "rules");
    if (!rules)
        return;
    if (rules->kind != TREE_MAP) {
        loader_mistake(loader, loader_span(rules),
                       "`rules` wants names with what each requires");
        return;
    }
    for (const struct tree_node *child = rules->first; child; child = child->next) {
        loader->broken_off = tree->status != TREE_WHOLE && !child->next;
        load_rule(loader, child);
    }
    loader->broken_off = false;
}

/* A rulebook that neither asks nor defines anything was meant otherwise. */
static void check_use(struct loader *loader, const struct tree_node *root)
{
    const struct tree_node *rules = loader_child(root, "rules");
    if ((rules && (rules->kind != TREE_MAP || rules->first)) || loader_child(root, "define"))
        return;
    if (rules)
        loader_mistake(loader, loader_span(rules), "there is no rule under `rules`");
    else if (loader_misses(loader, "rules") && loader_misses(loader, "define"))
        loader_mistake(loader, loader_span(root), "`rules` is missing");
}

/* Reads one file into a tree; its mistakes of form become mistakes of the rulebook. */
static bool read_file(struct loader *loader, const struct rulebook_text *text,
                      struct book_file *file)
{
    struct arena *arena = loader->mistakes->arena;
    source_init(&file->source, arena, view_of(text->name),
                (struct view){text->bytes, text->size});
    loader->source = &file->source;
    struct finding_sink sink;
    sink_init(&sink, arena, &file->source);
    tree_read(&file->tree, arena, &file->source, &sink);
    for (size_t i = 0; i < sink.findings.count; i++)
        loader_mistake(loader, sink.findings.items[i].at.span, "%s",
                       sink.findings.items[i].message);
    const struct tree_node *root = file->tree.root;
    if (!root)
        return false;
    loader_check_keys(loader, root, BOOK_MAP_BOOK);
    loader->broken_off = file->tree.status != TREE_WHOLE;
    const struct tree_node *version = text_child(loader, root, BOOK_RULEBOOK);
    text_child(loader, root, BOOK_TITLE);
    check_use(loader, root);
    loader->broken_off = false;
    if (version && !view_is(version->text, "1"))
        loader_mistake(loader, version->span, "only version 1 of the rulebook form is known");
    return true;
}

static int by_place(const void *a, const void *b)
{
    const struct rulebook_mistake *x = a, *y = b;
    if (x->source != y->source)
        return view_compare(x->source->name, y->source->name);
    if (x->span.start != y->span.start)
        return (x->span.start > y->span.start) - (x->span.start < y->span.start);
    return strcmp(x->message, y->message);
}

/* In the order of places; what several requirements share is told once. */
static void arrange(struct rulebook_mistakes *mistakes)
{
    struct rulebook_mistake *items = mistakes->list.items;
    size_t kept = 0;
    qsort(items, mistakes->list.count, sizeof items[0], by_place);
    for (size_t i = 0; i < mistakes->list.count; i++)
        if (kept == 0 || by_place(&items[kept - 1], &items[i]) != 0)
            items[kept++] = items[i];
    mistakes->list.count = kept;
}

/* Does a margin that rests on this leaf tell how much room a machine has?  Facts are as they
 * are: a shank fits its collet to the last digit, and nobody could give it more room.  Dates
 * have no size. */
static bool gives_room(unsigned leaf)
{
    if (leaf_is_derived((uint16_t)leaf))
        return true;
    enum field_kind kind = field_table[leaf].kind;
    return field_table[leaf].nature != NATURE_FACT &&
           (kind == KIND_QUANTITY || kind == KIND_POSITION || kind == KIND_PAIR);
}

static bool gives_date(unsigned leaf)
{
    return !leaf_is_derived((uint16_t)leaf) && field_table[leaf].kind == KIND_DATE;
}

/* What can come out differently with other leaves of this sort. */
static struct formula_change find_readers(struct arena *arena, const struct program *program,
                                          bool (*is_meant)(unsigned leaf))
{
    bool *leaves = ARENA_ARRAY(arena, bool, LEAF_COUNT);
    for (unsigned leaf = 0; leaf < LEAF_COUNT; leaf++)
        leaves[leaf] = is_meant(leaf);
    struct formula_change change;
    formula_change_find(&change, arena, program, leaves);
    return change;
}

static void find_margins(struct loader *loader, const struct program *program)
{
    struct arena *arena = loader->mistakes->arena;
    struct formula_change room = find_readers(arena, program, gives_room);
    struct formula_change dates = find_readers(arena, program, gives_date);
    for (size_t i = 0; i < loader->requirements.count; i++) {
        struct requirement *requirement = &loader->requirements.items[i];
        if (!requirement->has_margin)
            continue;
        requirement->has_room = formula_changes(&room, requirement->node);
        requirement->has_dates = dimension_equal(requirement->dimension, DIMENSION_TIME) &&
                                 formula_changes(&dates, requirement->node);
    }
}

static void fill(struct loader *loader, const char *title, struct rulebook *out)
{
    *out = (struct rulebook){
        .title = title,
        .rules = loader->rules.items,
        .rule_count = (uint32_t)loader->rules.count,
        .requirements = loader->requirements.items,
        .requirement_count = (uint32_t)loader->requirements.count,
        .messages = loader->messages.items,
        .message_count = (uint32_t)loader->messages.count,
        .pieces = loader->pieces.items,
        .piece_count = (uint32_t)loader->pieces.count,
    };
    formula_finish(loader->builder, &out->program);
    find_margins(loader, &out->program);
}

bool rulebook_is_text(const struct rulebook_text *text)
{
    static const char key[] = "rulebook:";
    size_t i = 0;
    while (i < text->size && (text->bytes[i] == '#' || is_blank(text->bytes[i]))) {
        while (i < text->size && text->bytes[i] != '\n')
            i++;
        i += i < text->size;
    }
    return text->size - i >= sizeof key - 1 &&
           memcmp(text->bytes + i, key, sizeof key - 1) == 0;
}

const char *rulebook_mistakes_text(const struct rulebook_mistakes *mistakes,
                                   void (*add)(struct buffer *out, struct view text))
{
    struct buffer text;
    buffer_init(&text, mistakes->arena);
    for (size_t i = 0; i < mistakes->list.count; i++) {
        const struct rulebook_mistake *mistake = &mistakes->list.items[i];
        struct place at =
            source_place(mistake->source, mistake->span.start, COLUMN_CODE_POINTS);
        buffer_text(&text, i ? "\n" : "");
        add(&text, mistake->source->name);
        buffer_format(&text, ":%u:%u: error: ", at.line, at.column);
        add(&text, view_of(mistake->message));
    }
    return buffer_string(&text);
}

bool rulebook_load(struct rulebook_mistakes *mistakes, const struct rulebook_text *texts,
                   size_t count, const struct rulebook_text *shared, size_t shared_count,
                   struct rulebook *out)
{
    struct loader loader = {.mistakes = mistakes};
    loader.builder =
        formula_begin(mistakes->arena, &machine_environment, formula_mistake, &loader);
    size_t total = count + shared_count;
    struct book_file *files = ARENA_ARRAY(mistakes->arena, struct book_file, total);
    const char *title = "";
    for (size_t i = 0; i < total; i++) {
        files[i].shared = i < shared_count;
        if (i == shared_count)
            formula_lend(loader.builder);
        const struct rulebook_text *text =
            files[i].shared ? &shared[i] : &texts[i - shared_count];
        if (!read_file(&loader, text, &files[i]))
            continue;
        load_definitions(&loader, files[i].tree.root);
        const struct tree_node *node = loader_child(files[i].tree.root, "title");
        if (node && !*title && !files[i].shared)
            title = loader_string(&loader, node);
    }
    for (size_t i = 0; i < total; i++) {
        loader.source = &files[i].source;
        if (files[i].tree.root && !files[i].shared)
            load_rules(&loader, &files[i].tree);
    }
    load_names(&loader, files, total);
    struct rulebook book;
    fill(&loader, title, &book);
    if (mistakes->list.count) {
        arrange(mistakes);
        return false;
    }
    *out = book;
    return true;
}
