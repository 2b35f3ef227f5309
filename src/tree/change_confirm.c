/* Is it really only that which changed?  YAML has more ways to write a value than anybody
 * foresees; so the new bytes are read, and all that was not meant must say what it said. */
#include "tree/changing.h"

struct comparing {
    const struct tree *before, *after;
    const struct tree_node *old_target, *new_target; /* the old one is NULL where it is added */
    bool added;                                      /* the one new key has been met */
};

static bool contains(const struct tree_node *node, const struct tree_node *wanted)
{
    if (node == wanted)
        return true;
    if (node->kind == TREE_ALIAS)
        return false;
    for (const struct tree_node *child = node->first; child; child = child->next)
        if (contains(child, wanted))
            return true;
    return false;
}

static bool same_node(struct comparing *comparing, const struct tree_node *a,
                      const struct tree_node *b);

/* The children of both in order, where one of b's may be new. */
static bool same_children(struct comparing *comparing, const struct tree_node *a,
                          const struct tree_node *b)
{
    const struct tree_node *old = a->kind == TREE_TEXT ? NULL : a->first;
    for (const struct tree_node *new = b->first; new; new = new->next) {
        if (old && view_equal(old->key, new->key) && same_node(comparing, old, new)) {
            old = old->next;
            continue;
        }
        if (comparing->added || comparing->old_target || !contains(new, comparing->new_target))
            return false;
        comparing->added = true;
    }
    return !old;
}

static bool same_node(struct comparing *comparing, const struct tree_node *a,
                      const struct tree_node *b)
{
    if (a == comparing->old_target || b == comparing->new_target)
        return a == comparing->old_target && b == comparing->new_target;
    if (a->duplicate != b->duplicate)
        return false;
    if (a->kind == TREE_ALIAS || b->kind == TREE_ALIAS)
        return a->kind == b->kind &&
               view_equal(source_slice(comparing->before->source, a->span),
                          source_slice(comparing->after->source, b->span));
    bool filled = a->kind == TREE_TEXT && b->kind == TREE_MAP && !comparing->old_target &&
                  contains(b, comparing->new_target);
    if (a->kind != b->kind && !filled)
        return false;
    if (b->kind == TREE_TEXT)
        return view_equal(a->text, b->text);
    return same_children(comparing, a, b);
}

bool changing_confirm(const struct changing *changing, struct view bytes,
                      const struct value_change *change)
{
    struct source source;
    struct finding_sink sink;
    struct tree tree;
    source_init(&source, changing->arena, changing->tree->source->name, bytes);
    sink_init(&sink, changing->arena, &source);
    tree_read(&tree, changing->arena, &source, &sink);
    const struct tree_node *target = tree.root ? tree_at(&tree, change->path) : NULL;
    if (tree.status != TREE_WHOLE || !target)
        return false;
    if (change->is_text ? target->kind != TREE_TEXT || !view_equal(target->text, change->text)
                        : target->kind != TREE_LIST && target->kind != TREE_MAP)
        return false;
    struct comparing comparing = {changing->tree, &tree, tree_at(changing->tree, change->path),
                                  target, false};
    return same_node(&comparing, changing->tree->root, tree.root);
}
