/* Which value of which record a path of the user's stands for. */
#include "machine/internal.h"

/* Does this path lie in a record of the list that KEY=VALUE in brackets chooses? */
static bool is_chosen(struct arena *arena, const struct machine *machine,
                      enum field_group group, uint32_t record, struct view inside)
{
    const char *equals = inside.size ? memchr(inside.data, '=', inside.size) : NULL;
    if (!equals)
        return false;
    struct view key = {inside.data, (size_t)(equals - inside.data)};
    struct view wanted = view_skip(inside, key.size + 1);
    const struct group_row *row = &group_table[group];
    for (enum field_id id = row->first; id < row->end; id++) {
        if (!view_is(key, field_table[id].key))
            continue;
        const struct field_value *value = machine_field(machine, id, record);
        if (value->state != VALUE_GIVEN)
            return false;
        if (field_table[id].kind == KIND_TEXT)
            return view_equal(value->text, wanted);
        return view_is(wanted, field_value_text(arena, id, value));
    }
    return false;
}

/* What stands between the brackets of a path into a list; empty where nothing does. */
static struct view subscript(struct view path)
{
    const char *open = memchr(path.data, '[', path.size);
    const char *close = open ? memchr(open, ']', (size_t)(path.data + path.size - open)) : NULL;
    return close ? (struct view){open + 1, (size_t)(close - open - 1)} : (struct view){0};
}

static struct view without_part(enum field_id id, struct view path, int *part)
{
    static const struct view ends[] = {VIEW_LITERAL(".low"), VIEW_LITERAL(".high")};
    *part = 0;
    for (int i = 0; i < 2 && field_table[id].kind == KIND_PAIR; i++) {
        struct view start = {path.data, path.size - ends[i].size};
        if (path.size > ends[i].size && view_equal(view_skip(path, start.size), ends[i])) {
            *part = i + 1;
            return start;
        }
    }
    return path;
}

static bool is_meant(struct arena *arena, const struct machine *machine,
                     const struct field_place *place, struct view path)
{
    enum field_group group = field_table[place->field].group;
    if (view_is(path, machine_path(arena, machine, place->field, place->record, 0)) ||
        view_is(path, field_path(arena, place->field)))
        return true;
    return group_table[group].shape == SHAPE_LIST &&
           is_chosen(arena, machine, group, place->record, subscript(path));
}

size_t machine_resolve(struct arena *arena, const struct machine *machine, struct view path,
                       struct field_place *out, size_t room)
{
    size_t count = 0;
    int part;
    enum field_id id = field_find(path);
    if (id == FIELD_COUNT)
        return 0;
    struct view whole = without_part(id, path, &part);
    for (uint32_t i = 0; i < machine->groups[field_table[id].group].count; i++) {
        struct field_place place = {id, i, (uint8_t)part};
        if (count < room && is_meant(arena, machine, &place, whole))
            out[count++] = place;
    }
    return count;
}
