/* Copies of trees and changes to them, as the examples in rulebooks make them to the base
 * machine. */
#include "tree/internal.h"

struct tree_node *tree_copy(struct arena *arena, const struct tree_node *node)
{
    const struct tree_node *value = tree_resolve(node);
    struct tree_node *copy = arena_alloc(arena, sizeof *copy);
    *copy = *value;
    copy->key = node->key;
    copy->key_span = node->key_span;
    copy->duplicate = node->duplicate;
    copy->next = NULL;
    struct tree_node **link = &copy->first;
    for (const struct tree_node *child = value->first; child; child = child->next) {
        *link = tree_copy(arena, child);
        link = &(*link)->next;
    }
    return copy;
}

/* A value that stands for nothing: an empty one, or `~`. */
static bool is_nothing(const struct tree_node *node)
{
    return node->kind == TREE_TEXT && node->style == STYLE_PLAIN &&
           (node->text.size == 0 || view_is(node->text, "~"));
}

/* Can lists and maps be made along `path`, where nothing is yet? */
static bool can_make(struct view path)
{
    while (path.size) {
        struct step step;
        if (!step_take(&path, NULL, &step))
            return false;
        if (step.kind == STEP_WHERE || (step.kind == STEP_INDEX && step.index > 0))
            return false;
    }
    return true;
}

/* Makes `node` what `path` wants to go on from: a list, or a map. */
static void make_container(struct tree_node *node, struct view path)
{
    node->kind = path.data[0] == '[' ? TREE_LIST : TREE_MAP;
    node->style = STYLE_BLOCK;
    node->text = (struct view){0};
    node->first = NULL;
    node->count = 0;
}

static struct tree_node *append(struct arena *arena, struct tree_node *parent,
                                const struct step *step)
{
    struct tree_node *child = ARENA_NEW(arena, struct tree_node);
    if (step->kind == STEP_KEY) {
        child->key.data = arena_copy(arena, step->key.data, step->key.size);
        child->key.size = step->key.size;
    }
    struct tree_node **link = &parent->first;
    while (*link)
        link = &(*link)->next;
    *link = child;
    parent->count++;
    return child;
}

static void take_away(struct tree_node *parent, const struct tree_node *child)
{
    struct tree_node **link = &parent->first;
    while (*link != child)
        link = &(*link)->next;
    *link = child->next;
    parent->count--;
}

/* Gives `node` the value of `value`; its key and its place among its siblings stay. */
static void replace(struct arena *arena, struct tree_node *node, const struct tree_node *value)
{
    struct tree_node *copy = tree_copy(arena, value);
    copy->key = node->key;
    copy->key_span = node->key_span;
    copy->duplicate = node->duplicate;
    copy->next = node->next;
    *node = *copy;
}

/* May a child be added to `node` by `step`, with `rest` to be made below it? */
static bool can_append(const struct tree_node *node, const struct step *step, struct view rest)
{
    if (step->kind == STEP_WHERE || (step->kind == STEP_INDEX && step->index != node->count))
        return false;
    return can_make(rest);
}

bool tree_put(struct arena *arena, struct tree_node *root, struct view path,
              const struct tree_node *value)
{
    struct tree_node *node = root;
    bool removes = is_nothing(value);
    if (path.size == 0)
        return false;
    while (path.size) {
        if (is_nothing(node)) {
            if (removes)
                return true;
            if (!can_make(path))
                return false;
            make_container(node, path);
        }
        struct step step;
        bool wants_list = path.data[0] == '[';
        if (node->kind != (wants_list ? TREE_LIST : TREE_MAP) || !step_take(&path, node, &step))
            return false;
        struct tree_node *child = (struct tree_node *)step_follow(node, &step);
        if (!child) {
            if (!can_append(node, &step, path))
                return false;
            if (removes)
                return true;
            child = append(arena, node, &step);
        } else if (removes && path.size == 0) {
            take_away(node, child);
            return true;
        }
        node = child;
    }
    replace(arena, node, value);
    return true;
}
