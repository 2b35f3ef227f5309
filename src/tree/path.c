/* Paths such as `cutters[number=3].stickout`, and following them through a tree. */
#include "tree/internal.h"

const struct tree_node *tree_child(const struct tree_node *map, struct view key)
{
    if (map->kind != TREE_MAP)
        return NULL;
    for (const struct tree_node *child = map->first; child; child = child->next)
        if (view_equal(child->key, key))
            return child;
    return NULL;
}

/* Where `c` first stands in `text`, or its size. */
static size_t find_byte(struct view text, char c)
{
    const char *found = text.size ? memchr(text.data, c, text.size) : NULL;
    return found ? (size_t)(found - text.data) : text.size;
}

static bool read_index(struct view digits, uint32_t *out)
{
    if (digits.size == 0 || digits.size > 9)
        return false;
    uint32_t index = 0;
    for (size_t i = 0; i < digits.size; i++) {
        if (digits.data[i] < '0' || digits.data[i] > '9')
            return false;
        index = index * 10 + (uint32_t)(digits.data[i] - '0');
    }
    *out = index;
    return true;
}

static bool take_bracket(struct view *path, struct step *out)
{
    size_t close = find_byte(*path, ']');
    if (close == path->size)
        return false;
    struct view inside = {path->data + 1, close - 1};
    size_t equals = find_byte(inside, '=');
    if (equals < inside.size) {
        *out = (struct step){.kind = STEP_WHERE,
                             .key = view_trim((struct view){inside.data, equals}),
                             .value = view_trim(view_skip(inside, equals + 1))};
    } else {
        uint32_t index;
        if (!read_index(inside, &index))
            return false;
        *out = (struct step){.kind = STEP_INDEX, .index = index};
    }
    *path = view_skip(*path, close + 1);
    return true;
}

static bool ends_name(struct view path, size_t at)
{
    return at == path.size || path.data[at] == '.' || path.data[at] == '[';
}

/* The size of the name at the start of `path`: the longest of the keys of `node` that fits,
 * since names of inputs may hold points; else up to the next point or bracket. */
static size_t name_size(struct view path, const struct tree_node *node)
{
    size_t longest = 0;
    if (node && node->kind == TREE_MAP)
        for (const struct tree_node *child = node->first; child; child = child->next) {
            size_t size = child->key.size;
            if (size > longest && size <= path.size && ends_name(path, size) &&
                memcmp(path.data, child->key.data, size) == 0)
                longest = size;
        }
    size_t plain = 0;
    while (!ends_name(path, plain))
        plain++;
    return longest ? longest : plain;
}

static bool take_name(struct view *path, const struct tree_node *node, struct step *out)
{
    size_t size = name_size(*path, node);
    if (size == 0)
        return false;
    *out = (struct step){.kind = STEP_KEY, .key = {path->data, size}};
    *path = view_skip(*path, size);
    return true;
}

bool step_take(struct view *path, const struct tree_node *node, struct step *out)
{
    struct view rest = *path;
    struct step step;
    if (!(rest.data[0] == '[' ? take_bracket(&rest, &step) : take_name(&rest, node, &step)))
        return false;
    if (rest.size && rest.data[0] == '.') {
        rest = view_skip(rest, 1);
        if (rest.size == 0 || rest.data[0] == '[')
            return false;
    } else if (rest.size && rest.data[0] != '[') {
        return false;
    }
    *path = rest;
    *out = step;
    return true;
}

static bool has_value(const struct tree_node *item, const struct step *step)
{
    const struct tree_node *child = tree_child(tree_resolve(item), step->key);
    if (!child)
        return false;
    child = tree_resolve(child);
    return child->kind == TREE_TEXT && view_equal(view_trim(child->text), step->value);
}

const struct tree_node *step_follow(const struct tree_node *node, const struct step *step)
{
    if (step->kind == STEP_KEY)
        return tree_child(node, step->key);
    if (node->kind != TREE_LIST)
        return NULL;
    uint32_t index = 0;
    for (const struct tree_node *item = node->first; item; item = item->next, index++)
        if (step->kind == STEP_INDEX ? index == step->index : has_value(item, step))
            return item;
    return NULL;
}

const struct tree_node *tree_at(const struct tree *tree, struct view path)
{
    const struct tree_node *node = tree->root;
    while (node && path.size) {
        struct step step;
        node = tree_resolve(node);
        if (!step_take(&path, node, &step))
            return NULL;
        node = step_follow(node, &step);
    }
    return node;
}
