/* Laying what is nearer over what is further away; and merge keys, which do so within a file.
 *
 * Keys are found by sorting: files are made by anybody.
 */
#include "tree/merge.h"

#include "text/escape.h"

#include <stdlib.h>

enum { KEY_CELLS = 40 };

struct merge_entry {
    struct view key;
    uint32_t order; /* among its siblings */
    struct tree_node *node;
};

struct merge_index {
    struct merge_entry *entries;
    struct tree_node **children; /* in their order */
    size_t count;
};

static int compare_entries(const void *left, const void *right)
{
    const struct merge_entry *a = left, *b = right;
    int order = view_compare(a->key, b->key);
    return order ? order : (a->order > b->order) - (a->order < b->order);
}

static void sort(struct merge_entry *entries, size_t count)
{
    if (count)
        qsort(entries, count, sizeof *entries, compare_entries);
}

struct view merge_name(const struct tree_node *item, const char *name)
{
    const struct tree_node *child = tree_child(item, view_of(name));
    if (!child || child->kind != TREE_TEXT)
        return (struct view){0};
    return view_trim(child->text);
}

const struct merge_index *merge_index_of(struct arena *arena, const struct tree_node *parent,
                                         const char *name)
{
    struct merge_index *index = ARENA_NEW(arena, struct merge_index);
    index->entries = ARENA_ARRAY(arena, struct merge_entry, parent->count);
    index->children = ARENA_ARRAY(arena, struct tree_node *, parent->count);
    for (struct tree_node *child = parent->first; child; child = child->next) {
        struct view key = name ? merge_name(child, name) : child->key;
        uint32_t order = (uint32_t)index->count;
        index->children[order] = child;
        index->entries[index->count++] = (struct merge_entry){key, order, child};
    }
    sort(index->entries, index->count);
    return index;
}

static const struct merge_entry *find(const struct merge_index *index, struct view key)
{
    size_t low = 0, high = index->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (view_compare(index->entries[middle].key, key) < 0)
            low = middle + 1;
        else
            high = middle;
    }
    bool found = low < index->count && view_equal(index->entries[low].key, key);
    return found ? &index->entries[low] : NULL;
}

struct tree_node *merge_find(const struct merge_index *index, struct view key)
{
    const struct merge_entry *entry = find(index, key);
    return entry ? entry->node : NULL;
}

/* --- what is nearer over what is further away --- */

/* `~`: the key is not to be there. */
static bool takes_away(const struct tree_node *node)
{
    return node->kind == TREE_TEXT && node->style == STYLE_PLAIN && view_is(node->text, "~");
}

/* How many items of a list have a text called `name`. */
static uint32_t count_named(const struct tree_node *list, const char *name)
{
    uint32_t count = 0;
    for (const struct tree_node *item = list->first; item; item = item->next)
        count += item->kind == TREE_MAP && merge_name(item, name).size > 0;
    return count;
}

static void append(struct tree_node *parent, struct tree_node ***end, struct tree_node *child)
{
    child->next = NULL;
    **end = child;
    *end = &child->next;
    parent->count++;
}

/* Takes all children out of a parent; returns where the first of the new ones goes. */
static struct tree_node **clear(struct tree_node *parent)
{
    parent->first = NULL;
    parent->count = 0;
    return &parent->first;
}

static void merge_children(struct merge *merge, struct tree_node *near, struct tree_node *below,
                           const char *name);

/* An item that stands for none of the others: better told than a list lost. */
static void report_nameless(struct merge *merge, const struct tree_node *list, const char *name)
{
    for (const struct tree_node *item = list->first; item; item = item->next)
        if (item->kind != TREE_MAP || !merge_name(item, name).size)
            sink_report(merge->sink, READER_MISSING_KEY, item->span, NULL,
                        "this item has no %s, by which lists of several files are put together",
                        name);
}

/* An empty list says that there is nothing. */
static void merge_lists(struct merge *merge, struct tree_node *near, struct tree_node *below)
{
    static const char *const names[] = {"number", "name"};
    for (size_t i = 0; i < sizeof names / sizeof *names && near->first; i++) {
        uint32_t above = count_named(near, names[i]), under = count_named(below, names[i]);
        if (!above && !under)
            continue;
        if (above == near->count && under == below->count) {
            merge_children(merge, near, below, names[i]);
        } else {
            report_nameless(merge, near, names[i]);
            report_nameless(merge, below, names[i]);
        }
        return;
    }
}

/* Readings go with whoever took them, not with the day and the instrument of others. */
static void merge_values(struct merge *merge, struct tree_node *near, struct tree_node *below)
{
    if (near->kind == TREE_MAP && below->kind == TREE_MAP &&
        !tree_child(near, view_of("readings")))
        merge_children(merge, near, below, NULL);
    else if (near->kind == TREE_LIST && below->kind == TREE_LIST)
        merge_lists(merge, near, below);
}

/* The children of both, those of `below` first, in the order of whoever wrote it; what stands
 * in both is the nearer.  `name`: how items of lists are known; NULL: children have keys. */
static void merge_children(struct merge *merge, struct tree_node *near, struct tree_node *below,
                           const char *name)
{
    const struct merge_index *index = merge_index_of(merge->arena, near, name);
    bool *is_used = ARENA_ARRAY(merge->arena, bool, near->count);
    struct tree_node **end = clear(near), *next;
    for (struct tree_node *child = below->first; child; child = next) {
        next = child->next;
        const struct merge_entry *entry =
            find(index, name ? merge_name(child, name) : child->key);
        if (!entry || (name && is_used[entry->order])) {
            append(near, &end, child);
            continue;
        }
        if (is_used[entry->order])
            continue; /* a key that stands twice, which has been said */
        is_used[entry->order] = true;
        if (!name && takes_away(entry->node))
            continue;
        merge_values(merge, entry->node, child);
        append(near, &end, entry->node);
    }
    for (size_t i = 0; i < index->count; i++)
        if (!is_used[i])
            append(near, &end, index->children[i]);
}

void merge_maps(struct merge *merge, struct tree_node *near, struct tree_node *below)
{
    merge_children(merge, near, below, NULL);
}

/* --- merge keys --- */

/* In quotes it is a key like any other. */
static bool is_merge_key(const struct tree_node *child)
{
    return view_is(child->key, "<<") && child->key_span.end - child->key_span.start == 2;
}

static void report_merge(struct merge *merge, const struct tree_node *value)
{
    sink_report(merge->sink, READER_WRONG_KIND, value->span, NULL,
                "'<<' takes in keys with values: a reference to some, or a list of such");
}

/* What stands in the place of a merge key, its children linked one behind the other. */
static void gather(struct merge *merge, struct tree_node *value, struct tree_node *into,
                   struct tree_node ***end)
{
    if (value->kind != TREE_MAP) {
        report_merge(merge, value);
        return;
    }
    struct tree_node *next;
    for (struct tree_node *child = value->first; child; child = next) {
        next = child->next;
        append(into, end, child);
    }
}

static struct tree_node *what_it_takes(struct merge *merge, struct tree_node *value)
{
    struct tree_node *all = ARENA_NEW(merge->arena, struct tree_node);
    struct tree_node **end = &all->first;
    if (value->kind != TREE_LIST) {
        gather(merge, value, all, &end);
        return all;
    }
    for (struct tree_node *item = value->first; item; item = item->next)
        gather(merge, item, all, &end);
    return all;
}

static void append_new(struct merge *merge, struct tree_node *node, struct tree_node ***end,
                       struct tree_node *all, const struct merge_index *own)
{
    const struct merge_index *taken = merge_index_of(merge->arena, all, NULL);
    for (size_t i = 0; i < taken->count; i++) {
        struct tree_node *child = taken->children[i];
        bool is_first = merge_find(taken, child->key) == child;
        if (!is_first || find(own, child->key))
            continue;
        if (node->count >= TREE_KEYS_MAX) {
            sink_report(merge->sink, READER_TOO_LONG, child->key_span, NULL,
                        "more than %d keys come together in one place; the rest is not read",
                        TREE_KEYS_MAX);
            return;
        }
        append(node, end, child);
    }
}

static void take_in(struct merge *merge, struct tree_node *node)
{
    const struct merge_index *own = merge_index_of(merge->arena, node, NULL);
    if (!find(own, view_of("<<")))
        return;
    struct tree_node **end = clear(node);
    for (size_t i = 0; i < own->count; i++) {
        struct tree_node *child = own->children[i];
        if (!is_merge_key(child) || child->duplicate)
            append(node, &end, child);
    }
    for (size_t i = 0; i < own->count; i++)
        if (is_merge_key(own->children[i]) && !own->children[i]->duplicate)
            append_new(merge, node, &end, what_it_takes(merge, own->children[i]), own);
}

void merge_keys(struct merge *merge, struct tree_node *node)
{
    for (struct tree_node *child = node->first; child; child = child->next)
        merge_keys(merge, child);
    if (node->kind == TREE_MAP)
        take_in(merge, node);
}
