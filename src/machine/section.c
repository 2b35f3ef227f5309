/* Sections: how the dotted keys of the table become sections within sections.
 *
 * Rows of one section stand together, so a section is a range of rows and a length of key.
 */
#include "machine/internal.h"

struct section section_of_group(enum field_group group)
{
    const struct group_row *row = &group_table[group];
    return (struct section){group, row->first, row->end, 0};
}

/* The name of field `id` below the section's own. */
static const char *below(const struct section *section, enum field_id id)
{
    return field_table[id].key + section->depth;
}

/* The first field after `id` that is not in the section of its first `size` letters. */
static enum field_id section_end(const struct section *section, enum field_id id, size_t size)
{
    const char *key = below(section, id);
    do
        id++;
    while (id < section->end && strncmp(below(section, id), key, size + 1) == 0);
    return id;
}

/* What stands below the first `size` letters of field `id`'s name; true for the field itself.
 */
static inline bool step_into(const struct section *section, enum field_id id, size_t size,
                             struct section *out)
{
    bool leaf = below(section, id)[size] == '\0';
    *out = (struct section){section->group, id, leaf ? id + 1 : section_end(section, id, size),
                            section->depth + size + !leaf};
    return leaf;
}

struct view section_step(const struct section *section, enum field_id id, struct section *out,
                         bool *leaf)
{
    const char *key = below(section, id), *dot = strchr(key, '.');
    struct view name = {key, dot ? (size_t)(dot - key) : strlen(key)};
    *leaf = step_into(section, id, name.size, out);
    return name;
}

/* Does `path` begin with this name?  A key from a file may hold a dot itself, or a NUL: no name
 * of the table does, their letters and digits all come after the dot. */
static inline bool starts_with(const char *path, struct view key)
{
    size_t at = 0;
    while (at < key.size && path[at] == key.data[at] && path[at] > '.')
        at++;
    return at == key.size && (path[at] == '\0' || path[at] == '.');
}

bool section_find(const struct section *section, struct view key, enum field_id *hint,
                  struct section *out, bool *leaf)
{
    if (!key.size)
        return false;
    /* Files mostly keep the order of the table: go on from the last one found. */
    unsigned count = section->end - section->first;
    unsigned id = *hint >= section->first && *hint < section->end ? *hint : section->first;
    for (unsigned i = 0; i < count; i++) {
        if (starts_with(below(section, (enum field_id)id), key)) {
            *leaf = step_into(section, (enum field_id)id, key.size, out);
            *hint = out->end;
            return true;
        }
        if (++id == section->end)
            id = section->first;
    }
    return false;
}

const char *section_path(struct arena *arena, const struct machine *machine,
                         const struct section *section, uint32_t record)
{
    /* The path of a field without what is below the section. */
    const char *path = machine_path(arena, machine, section->first, record, 0);
    size_t size = strlen(path) - strlen(field_table[section->first].key + section->depth);
    return arena_format(arena, "%.*s", size ? (int)size - 1 : 0, path);
}

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
    const struct tree_node *own = machine_field(machine, id, record)->node;
    *is_value = own != NULL;
    if (own || !machine->tree->root)
        return own;
    struct field_place place = machine_home(machine, id, record);
    enum field_group group = field_table[place.field].group;
    id = place.field;
    record = place.record;
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

void section_spoil(struct reader *reader, const struct section *section, uint32_t record,
                   const struct tree_node *node, bool absent_only)
{
    for (enum field_id id = section->first; id < section->end; id++) {
        struct field_value *value = machine_field_put(reader->machine, id, record);
        if (absent_only && value->state != VALUE_ABSENT)
            continue;
        value->state = VALUE_WRONG;
        if (!value->node)
            value->node = node;
    }
}

void group_spoil(struct reader *reader, enum field_group group, const struct tree_node *node)
{
    struct section all = section_of_group(group);
    struct machine_group *records = &reader->machine->groups[group];
    records->wrong = true;
    for (uint32_t i = 0; i < records->count; i++)
        section_spoil(reader, &all, i, node, false);
}
