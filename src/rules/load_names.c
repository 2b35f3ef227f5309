/* The names of rules: no two alike, and those that a rule follows from are there and lead to an
 * end.
 */
#include "rules/internal.h"

#include "base/buffer.h"
#include "text/escape.h"

static const struct tree_node *rules_of(const struct book_file *file)
{
    return file->tree.root ? loader_child(file->tree.root, "rules") : NULL;
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
                           escape_short(loader->loading->arena, name->text, 60));
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
                VECTOR_ADD(loader->loading->arena, &all,
                           (struct follower){.source = (struct source *)&files[f].source,
                                             .rule = rule,
                                             .item = first_implied(rule)});
    }
    *walk = (struct walk){.followers = all.items, .count = all.count};
    walk->way = ARENA_ARRAY(loader->loading->arena, size_t, all.count + 1);
}

/* The rule that a name stands for; `count` where it is none that can be walked on from. */
static size_t follower_named(const struct walk *walk, const struct tree_node *item)
{
    const struct tree_node *name = tree_resolve(item);
    size_t i = 0;
    while (i < walk->count && (name->kind != TREE_TEXT ||
                               !view_equal(walk->followers[i].rule->key, name->text)))
        i++;
    return i;
}

/* The way has come back to `start`: told at the name that leads away from there. */
static void tell_circle(struct loader *loader, const struct walk *walk, size_t start)
{
    enum { SHOWN = 6, NAME_SHOWN = 30 };
    struct arena *arena = loader->loading->arena;
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
    check_circles(loader, files, count);
}
