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

/* Is `name` the first name of `key`, up to its end or a dot?  A name from a file may hold a dot
 * itself, or a NUL. */
static bool is_first_name(const char *key, struct view name)
{
    for (size_t i = 0; i < name.size; i++)
        if (key[i] != name.data[i] || key[i] == '\0' || key[i] == '.')
            return false;
    return key[name.size] == '\0' || key[name.size] == '.';
}

/* What stands below the first `size` letters of field `id`'s name; true for the field itself.
 */
static bool step_into(const struct section *section, enum field_id id, size_t size,
                      struct section *out)
{
    const char *key = below(section, id);
    bool leaf = key[size] == '\0';
    enum field_id end = id + 1;
    while (!leaf && end < section->end && strncmp(below(section, end), key, size + 1) == 0)
        end++;
    *out = (struct section){section->group, id, end, section->depth + size + !leaf};
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

bool section_find(const struct section *section, struct view key, enum field_id *hint,
                  struct section *out, bool *leaf)
{
    /* Files mostly keep the order of the table: go on from the last one found. */
    unsigned count = section->end - section->first;
    unsigned id = *hint >= section->first && *hint < section->end ? *hint : section->first;
    for (unsigned i = 0; i < count && key.size; i++) {
        const char *name = below(section, (enum field_id)id);
        if (is_first_name(name, key)) {
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
    const char *key = field_table[section->first].key;
    const char *record_path = "";
    if (section->group != GROUP_ROOT) {
        /* The path of a field without the field. */
        const char *path = machine_path(arena, machine, section->first, record, 0);
        size_t size = strlen(path) - strlen(key);
        record_path = arena_format(arena, "%.*s", (int)(size - 1), path);
    }
    if (!section->depth)
        return record_path;
    return arena_format(arena, "%s%s%.*s", record_path, *record_path ? "." : "",
                        (int)(section->depth - 1), key);
}
