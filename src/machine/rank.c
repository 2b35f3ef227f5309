/* In which order the parts of a machine file stand: that of the field table within a section,
 * and one of its own for the sections. */
#include "machine/internal.h"

static const char *const sections[] = {
    "proveout", "machine",     "axes",   "homing",      "inputs",     "table",
    "work",     "obstacles",   "setter", "plate",       "spindle",    "attachments",
    "change",   "cutters",     "allowances", "agrees_with", "waivers",
};

enum { SECTION_COUNT = sizeof sections / sizeof *sections };

/* Takes the name in front of the next dot or bracket. */
static struct view take(struct view *path)
{
    size_t size = 0;
    while (size < path->size && path->data[size] != '.' && path->data[size] != '[')
        size++;
    struct view name = {path->data, size};
    while (size < path->size && path->data[size] != '.')
        size++;
    *path = view_skip(*path, size < path->size ? size + 1 : size);
    return name;
}

/* Is `path` this key, or a section on the way to it? */
static bool leads_to(struct view path, const char *key)
{
    return path.size == 0 || (strncmp(key, path.data, path.size) == 0 &&
                              (key[path.size] == '\0' || key[path.size] == '.'));
}

/* The first field of a group at or below a path. */
static enum field_id first_below(enum field_group group, struct view path)
{
    enum field_id id = group_table[group].first;
    while (id < group_table[group].end && !leads_to(path, field_table[id].key))
        id++;
    return id < group_table[group].end ? id : FIELD_COUNT;
}

uint32_t field_rank(struct view path)
{
    struct view rest = path;
    struct view section = take(&rest);
    uint32_t place = 0, part = 0;
    while (place < SECTION_COUNT && !view_is(section, sections[place]))
        place++;
    enum field_group group = group_find(section);
    enum field_id id = first_below(GROUP_ROOT, path);
    if (id == FIELD_COUNT && group != GROUP_ROOT) {
        if (group_table[group].shape != SHAPE_LIST)
            part = (uint32_t)(axis_find(take(&rest)) + 2);
        id = first_below(group, rest);
    }
    return (place * (AXES + 2) + part) * (FIELD_COUNT + 1) + id;
}
