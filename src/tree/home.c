/* From a tree of several files back to the one file that somebody edits. */
#include "tree/compose.h"

#include "base/buffer.h"
#include "tree/internal.h"
#include "tree/merge.h"

/* --- where it stands --- */

/* What tells a node: its key, and where it has none its value. */
struct mark {
    struct span span;
    bool is_key;
};

static bool is_marked(const struct tree_node *node, const struct mark *mark)
{
    struct span span = mark->is_key ? node->key_span : node->span;
    return span.start == mark->span.start && span.end == mark->span.end;
}

/* Adds the path from `node` to the marked node below it; false: it is not there. */
static bool add_way(struct buffer *path, const struct tree_node *node, const struct mark *mark)
{
    size_t size = path->size;
    uint32_t index = 0;
    if (node->kind == TREE_ALIAS)
        return false;
    for (const struct tree_node *child = node->first; child; child = child->next, index++) {
        if (node->kind == TREE_LIST)
            buffer_format(path, "[%u]", (unsigned)index);
        else
            buffer_format(path, "%s%.*s", path->size ? "." : "", VIEW(child->key));
        if (is_marked(child, mark) || add_way(path, child, mark))
            return true;
        path->size = size;
    }
    return false;
}

const char *tree_path_at_home(struct arena *arena, const struct tree *composed,
                              struct view path, struct source **source)
{
    const struct tree_node *node = tree_at(composed, path);
    if (!node)
        return NULL;
    struct mark mark = {.is_key = node->key_span.end > 0};
    mark.span = mark.is_key ? node->key_span : node->span;
    *source = source_holding(composed->source, &mark.span);
    const struct tree *home = tree_of(arena, (*source)->name, (*source)->bytes);
    struct buffer way;
    buffer_init(&way, arena);
    return home->root && add_way(&way, home->root, &mark) ? buffer_string(&way) : NULL;
}

/* --- how the machine's own file would say it --- */

/* By what an item of a list is known, and how. */
static const char *known_by(const struct tree_node *item, struct view *name)
{
    static const char *const names[] = {"number", "name"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        *name = merge_name(tree_resolve(item), names[i]);
        if (name->size)
            return names[i];
    }
    return NULL;
}

/* The place in `list`, NULL where there is none yet, of the item that is known so; one past the
 * end where it has none. */
static uint32_t find_item(const struct tree_node *list, const char *by, struct view name)
{
    uint32_t index = 0;
    const struct tree_node *item = list ? list->first : NULL;
    for (; item; item = item->next, index++)
        if (view_equal(merge_name(tree_resolve(item), by), name))
            return index;
    return index;
}

/* Is the composed list the own file's (what is composed keeps the place it was read at), or is
 * there none of the two yet? */
static bool is_own_list(const struct tree_node *composed, const struct tree_node *own)
{
    if (!composed || !own)
        return !composed && !own;
    return own->kind == TREE_LIST && composed->span.start == own->span.start &&
           composed->span.end == own->span.end;
}

/* A step into a list of the own file alone, to an item that is there or comes to its end;
 * false: it is none. */
static bool add_own_item(struct buffer *out, const struct tree_node *list,
                         const struct step *step, const struct tree_node **own)
{
    const struct tree_node *child = *own ? (*own)->first : NULL;
    uint32_t i = 0;
    if (step->kind != STEP_INDEX || !is_own_list(list, *own))
        return false;
    for (; child && i < step->index; i++)
        child = child->next;
    if (i < step->index)
        return false;
    buffer_format(out, "[%u]", (unsigned)step->index);
    *own = child ? tree_resolve(child) : NULL;
    return true;
}

/* A step into a list; false: the own file cannot take it. */
static bool add_item(struct buffer *out, const struct tree_node *composed,
                     const struct tree_node **own, const char **item, struct view *name)
{
    struct view known;
    const char *by = composed ? known_by(composed, &known) : NULL;
    if (!by || (*own && (*own)->kind != TREE_LIST))
        return false;
    uint32_t index = find_item(*own, by, known), i = 0;
    const struct tree_node *child = *own ? (*own)->first : NULL;
    buffer_format(out, "[%u]", (unsigned)index);
    for (; child && i < index; i++)
        child = child->next;
    *own = child ? tree_resolve(child) : NULL;
    if (!child) {
        *item = arena_format(out->arena, "%.*s.%s", VIEW(buffer_view(out)), by);
        *name = known;
    }
    return true;
}

const char *tree_path_in_own(struct arena *arena, const struct tree *composed,
                             const struct tree *own, struct view path, const char **item,
                             struct view *name)
{
    const struct tree_node *node = composed->root, *near = own->root;
    struct buffer out;
    buffer_init(&out, arena);
    *item = NULL;
    while (path.size) {
        struct step step;
        if (!step_take(&path, node, &step))
            return NULL;
        const struct tree_node *list = node;
        node = node ? step_follow(node, &step) : NULL;
        if (step.kind != STEP_KEY) {
            if (!add_item(&out, node, &near, item, name) &&
                !add_own_item(&out, list, &step, &near))
                return NULL;
            continue;
        }
        buffer_format(&out, "%s%.*s", out.size ? "." : "", VIEW(step.key));
        near = near ? tree_child(near, step.key) : NULL;
        near = near ? tree_resolve(near) : NULL;
    }
    return buffer_string(&out);
}
