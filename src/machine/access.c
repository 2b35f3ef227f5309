/* Looking things up in a machine that has been read. */
#include "machine/internal.h"

/* The section of a group in the file, or the file itself. */
static const struct tree_node *group_node(const struct machine *machine, enum field_group group)
{
    const struct tree_node *root = machine->tree->root;
    const struct tree_node *found = tree_child(root, view_of(group_table[group].key));
    return found ? found : root;
}

const struct tree_node *machine_nearest(const struct machine *machine, enum field_id id,
                                        uint32_t record, bool *is_value)
{
    enum field_group group = field_table[id].group;
    const struct tree_node *own = machine_field(machine, id, record)->node;
    *is_value = own != NULL;
    if (own || !machine->tree->root)
        return own;
    const struct tree_node *node = machine->groups[group].nodes[record];
    if (!node)
        return group_node(machine, group);
    struct section section = section_of_group(group), below;
    bool leaf = false;
    while (!leaf) {
        struct view name = section_step(&section, id, &below, &leaf);
        const struct tree_node *child = tree_child(tree_resolve(node), name);
        if (!child)
            break;
        node = child;
        section = below;
        section.first = below.first;
    }
    return node;
}
