/* Where in the file a key belongs that is not known where it stands. */
#include "machine/internal.h"

static void add(struct homes *homes, struct home home)
{
    if (homes->count < HOMES_MOST)
        homes->items[homes->count] = home;
    homes->count++;
}

static void search(struct homes *homes, const struct section *section, struct view key,
                   uint32_t record)
{
    struct section step;
    bool leaf;
    for (enum field_id id = section->first; id < section->end; id = step.end) {
        struct view name = section_step(section, id, &step, &leaf);
        if (view_equal(name, key))
            add(homes, (struct home){*section, {name, step, record, false}});
        if (!leaf)
            search(homes, &step, key, record);
    }
}

/* An axis or an input is known by what stands below it: its name may be anybody's. */
static bool search_content(struct homes *homes, const struct tree_node *child)
{
    const struct tree_node *map = tree_resolve(child);
    if (map->kind != TREE_MAP || !map->first)
        return false;
    for (int group = GROUP_ROOT + 1; group < GROUP_COUNT; group++) {
        enum group_shape shape = group_table[group].shape;
        struct section all = section_of_group((enum field_group)group), found;
        enum field_id hint = all.first;
        bool leaf;
        bool fits = shape == SHAPE_NAMES || (shape == SHAPE_AXES && axis_find(child->key) >= 0);
        if (fits && section_find(&all, map->first->key, &hint, &found, &leaf)) {
            add(homes, (struct home){all, {view_of(group_table[group].key), all, 0, true}});
            return true;
        }
    }
    return false;
}

void homes_find(struct homes *homes, const struct tree_node *child, uint32_t record)
{
    enum field_group named = group_find(child->key);
    homes->count = 0;
    if (named != GROUP_ROOT) {
        struct section all = section_of_group(named);
        add(homes, (struct home){section_of_group(GROUP_ROOT), {child->key, all, 0, true}});
        return;
    }
    if (search_content(homes, child))
        return;
    for (int group = GROUP_ROOT; group < GROUP_COUNT; group++) {
        struct section all = section_of_group((enum field_group)group);
        search(homes, &all, child->key, group == GROUP_ROOT ? 0 : record);
    }
}

const struct home *homes_match(const struct homes *homes, const struct home *home)
{
    size_t count = homes->count < HOMES_MOST ? homes->count : HOMES_MOST;
    for (size_t i = 0; i < count; i++) {
        const struct section *parent = &homes->items[i].parent;
        if (parent->group == home->parent.group && parent->depth == home->parent.depth &&
            parent->first == home->parent.first &&
            homes->items[i].meant.group == home->meant.group)
            return &homes->items[i];
    }
    return NULL;
}

const char *home_text(struct arena *arena, const struct home *home)
{
    const struct section *section = &home->parent;
    if (home->meant.group && section->group != GROUP_ROOT)
        return group_table[section->group].key;
    const char *path = field_path(arena, section->first);
    const char *key = field_table[section->first].key + section->depth;
    size_t size = strlen(path) - strlen(key);
    return size ? arena_format(arena, "%.*s", (int)(size - 1), path) : "the top of the file";
}
