/* Paths of fields: general ones, those of one record, finding the field or the values of what
 * people type, and in which order they stand in a file.
 */
#include "machine/internal.h"

#include "text/escape.h"
#include "text/nearest.h"

#include <stdlib.h>

const char *field_path(struct arena *arena, enum field_id id)
{
    const struct field *field = &field_table[id];
    const struct group_row *row = &group_table[field->group];
    switch (row->shape) {
    case SHAPE_ROOT:
        break;
    case SHAPE_AXES:
    case SHAPE_NAMES:
        return arena_format(arena, "%s.*.%s", row->key, field->key);
    case SHAPE_LIST:
        return arena_format(arena, "%s[].%s", row->key, field->key);
    }
    return field->key;
}

const char *field_record_path(struct arena *arena, const struct field_place *place,
                              struct view name)
{
    static const char *const parts[] = {"", ".low", ".high"};
    const struct field *field = &field_table[place->field];
    const struct group_row *row = &group_table[field->group];
    const char *end = parts[place->part];
    switch (row->shape) {
    case SHAPE_ROOT:
        break;
    case SHAPE_AXES:
        return arena_format(arena, "%s.%s.%s%s", row->key, axis_names[place->record],
                            field->key, end);
    case SHAPE_NAMES:
        return arena_format(arena, "%s.%.*s.%s%s", row->key, VIEW(name), field->key, end);
    case SHAPE_LIST:
        return arena_format(arena, "%s[%u].%s%s", row->key, (unsigned)place->record, field->key,
                            end);
    }
    return place->part ? arena_format(arena, "%s%s", field->key, end) : field->key;
}

const char *machine_path(struct arena *arena, const struct machine *machine, enum field_id id,
                         uint32_t record, int part)
{
    struct field_place place = machine_home(machine, id, record);
    enum field_group group = field_table[place.field].group;
    bool named = group_table[group].shape == SHAPE_NAMES;
    if (field_table[place.field].kind == KIND_PAIR || place.field == id)
        place.part = (uint8_t)part;
    return field_record_path(
        arena, &place, named ? machine->groups[group].nodes[record]->key : (struct view){0});
}

/* A text or a whole number of a record, as people call it by; NULL where it has none. */
static const char *called(struct arena *arena, const struct machine *machine, enum field_id id,
                          uint32_t record)
{
    const struct field_value *value = machine_field(machine, id, record);
    if (value->state != VALUE_GIVEN)
        return NULL;
    if (field_table[id].kind == KIND_COUNT)
        return arena_format(arena, "%lu", (unsigned long)value->si);
    return escape_short(arena, value->text, NAME_CELLS);
}

enum field_id field_calling(enum field_group group)
{
    switch (group) {
    case GROUP_OBSTACLE:
        return FIELD_OBSTACLE_NAME;
    case GROUP_SETTER:
        return FIELD_SETTERS_NAME;
    case GROUP_ATTACHMENT:
        return FIELD_ATTACHMENT_NAME;
    case GROUP_CUTTER:
        return FIELD_CUTTER_NUMBER;
    default:
        return FIELD_COUNT;
    }
}

const char *machine_lasting_path(struct arena *arena, const struct machine *machine,
                                 const char *path)
{
    const char *open = strchr(path, '['), *end;
    for (int group = 0; open && group < GROUP_COUNT; group++) {
        enum field_id by = field_calling((enum field_group)group);
        struct view key = {path, (size_t)(open - path)};
        if (by == FIELD_COUNT || !view_is(key, group_table[group].key))
            continue;
        unsigned long record = strtoul(open + 1, (char **)&end, 10);
        const char *name = *end == ']' && record < machine->groups[group].count
                               ? called(arena, machine, by, (uint32_t)record)
                               : NULL;
        if (name)
            return arena_format(arena, "%.*s[%s=%s%s", VIEW(key), field_table[by].key, name,
                                end);
    }
    return path;
}

const char *machine_record_name(struct arena *arena, const struct machine *machine,
                                enum field_group group, uint32_t record)
{
    const struct group_row *row = &group_table[group];
    const char *name = NULL;
    if (record >= machine->groups[group].written)
        return group == GROUP_SETTER
                   ? row->record
                   : escape_short(arena,
                                  machine_field(machine, FIELD_OBSTACLE_NAME, record)->text,
                                  NAME_CELLS);
    switch (group) {
    case GROUP_ROOT:
        return NULL;
    case GROUP_AXIS:
    case GROUP_HOMING:
        name = axis_names[record];
        break;
    case GROUP_INPUT:
        name = escape_short(arena, machine->groups[group].nodes[record]->key, NAME_CELLS);
        break;
    default:
        if (field_calling(group) != FIELD_COUNT)
            name = called(arena, machine, field_calling(group), record);
        break;
    }
    /* Without a name, its place in the list, counted as in paths. */
    return name ? arena_format(arena, "%s %s", row->record, name)
                : arena_format(arena, "%s[%u]", row->key, (unsigned)record);
}

/* Takes the part of `path` before the next dot, outside of brackets, and the dot. */
static struct view take_name(struct view *path)
{
    size_t size = 0;
    bool inside = false;
    for (; size < path->size && (inside || path->data[size] != '.'); size++) {
        if (path->data[size] == '[')
            inside = true;
        else if (path->data[size] == ']')
            inside = false;
    }
    struct view name = {path->data, size};
    *path = view_skip(*path, size + 1);
    return name;
}

/* A path without `.low` or `.high` at its end; `*part` is 1 or 2 for these, else 0. */
static struct view without_part(struct view path, int *part)
{
    static const struct view ends[] = {VIEW_LITERAL(".low"), VIEW_LITERAL(".high")};
    *part = 0;
    for (int i = 0; i < 2; i++) {
        struct view start = {path.data, path.size - ends[i].size};
        if (path.size > ends[i].size && view_equal(view_skip(path, start.size), ends[i])) {
            *part = i + 1;
            return start;
        }
    }
    return path;
}

/* The field of `group` with this key, or with `.low` or `.high` of a pair after it. */
static enum field_id find_key(enum field_group group, struct view key)
{
    int part;
    struct view pair = without_part(key, &part);
    for (enum field_id id = group_table[group].first; id < group_table[group].end; id++) {
        if (!key.size || *key.data != *field_table[id].key)
            continue; /* nearly always */
        if (view_is(key, field_table[id].key) ||
            (part && field_table[id].kind == KIND_PAIR && view_is(pair, field_table[id].key)))
            return id;
    }
    return FIELD_COUNT;
}

bool field_record(enum field_id id, struct view path, uint32_t *record)
{
    enum group_shape shape = group_table[field_table[id].group].shape;
    struct view rest = path, first = take_name(&rest);
    size_t key = strlen(group_table[field_table[id].group].key) + 1;
    uint64_t number = 0;
    int axis = axis_find(take_name(&rest));
    *record = shape == SHAPE_AXES ? (uint32_t)axis : 0;
    if (shape != SHAPE_LIST)
        return shape == SHAPE_ROOT || (shape == SHAPE_AXES && axis >= 0);
    for (size_t i = key; i + 1 < first.size; i++) {
        if (first.data[i] < '0' || first.data[i] > '9' || number > TREE_ITEMS_MAX)
            return false;
        number = number * 10 + (uint64_t)(first.data[i] - '0');
    }
    *record = (uint32_t)number;
    return first.size > key + 1 && number <= TREE_ITEMS_MAX;
}

/* Is it what may stand in brackets: nothing, an index, or KEY=VALUE? */
static bool is_subscript(struct view name, const char *key)
{
    size_t size = strlen(key);
    if (name.size < size + 2 || !view_starts(name, key) || name.data[size] != '[' ||
        name.data[name.size - 1] != ']')
        return false;
    struct view inside = {name.data + size + 1, name.size - size - 2};
    bool number = true, equals = false;
    for (size_t i = 0; i < inside.size; i++) {
        number = number && inside.data[i] >= '0' && inside.data[i] <= '9';
        equals = equals || (inside.data[i] == '=' && i > 0);
    }
    return number || equals;
}

static bool is_axis(struct view name)
{
    return view_is(name, "*") || axis_find(name) >= 0;
}

/* A field of one record as people say it: "cutter 2 stickout", "obstacle toe clamp top". */
struct said_path {
    enum field_group group;
    struct view called; /* its number or name */
    struct view key;
};

/* False where `path` is not of that form. */
static bool take_said(struct view path, struct said_path *out)
{
    struct view rest = path;
    for (int group = GROUP_ROOT + 1; group < GROUP_COUNT; group++) {
        const char *record = group_table[group].record;
        if (field_calling((enum field_group)group) == FIELD_COUNT ||
            !view_starts(path, record) || path.size <= strlen(record) + 1 ||
            path.data[strlen(record)] != ' ')
            continue;
        out->group = (enum field_group)group;
        rest = view_trim(view_skip(path, strlen(record)));
        size_t end = rest.size;
        while (end && rest.data[end - 1] != ' ')
            end--;
        out->called = view_trim((struct view){rest.data, end});
        out->key = view_skip(rest, end);
        return out->called.size && out->key.size;
    }
    return false;
}

enum field_id field_find(struct view path)
{
    struct said_path said;
    if (take_said(path, &said))
        return find_key(said.group, said.key);
    enum field_id id = find_key(GROUP_ROOT, path);
    struct view rest = path;
    struct view first = take_name(&rest);
    for (int group = GROUP_ROOT + 1; group < GROUP_COUNT && id == FIELD_COUNT; group++) {
        const struct group_row *row = &group_table[group];
        if (row->shape == SHAPE_LIST) {
            if (is_subscript(first, row->key))
                id = find_key((enum field_group)group, rest);
            continue;
        }
        if (!view_is(first, row->key))
            continue;
        struct view key = rest, name = take_name(&key);
        /* An input's name may have dots; the keys below it have none. */
        while (row->shape == SHAPE_NAMES && memchr(key.data, '.', key.size))
            take_name(&key);
        if (row->shape == SHAPE_NAMES ? name.size > 0 : is_axis(name))
            id = find_key((enum field_group)group, key);
    }
    return id;
}

/* The general path that `path` looks like: names of records replaced. */
static struct view general(struct arena *arena, struct view path)
{
    struct view rest = path, first = take_name(&rest);
    const char *open = first.size ? memchr(first.data, '[', first.size) : NULL;
    if (open)
        return view_of(arena_format(arena, "%.*s[].%.*s", (int)(open - first.data), first.data,
                                    VIEW(rest)));
    for (int group = GROUP_ROOT + 1; group < GROUP_COUNT; group++) {
        const struct group_row *row = &group_table[group];
        struct view key = rest;
        struct view name = take_name(&key);
        bool axes = row->shape == SHAPE_AXES && is_axis(name);
        if (view_is(first, row->key) && (axes || row->shape == SHAPE_NAMES) && key.size)
            return view_of(arena_format(arena, "%s.*.%.*s", row->key, VIEW(key)));
    }
    return path;
}

const char *field_nearest(struct arena *arena, struct view path)
{
    struct view paths[FIELD_COUNT];
    if (path.size > 2 * NEAREST_LENGTH_MAX)
        return NULL;
    for (int id = 0; id < FIELD_COUNT; id++) {
        const char *key = field_table[id].key, *dot = strrchr(key, '.');
        paths[id] = view_of(field_path(arena, (enum field_id)id));
        /* The end of a path is enough: "standoff". */
        if (view_is(path, dot ? dot + 1 : key) || view_is(path, key))
            return paths[id].data;
    }
    int found = nearest_of(general(arena, path), paths, FIELD_COUNT);
    return found < 0 ? NULL : paths[found].data;
}

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

/* `path` with its record in brackets, where it names one as people say it: with a key behind
 * it, or alone. */
static struct view in_brackets(struct arena *arena, struct view path)
{
    struct said_path said;
    if (take_said(path, &said) && find_key(said.group, said.key) != FIELD_COUNT)
        return view_of(arena_format(arena, "%s[%s=%.*s].%.*s", group_table[said.group].key,
                                    field_table[field_calling(said.group)].key,
                                    VIEW(said.called), VIEW(said.key)));
    for (int group = GROUP_ROOT + 1; group < GROUP_COUNT; group++) {
        const struct group_row *row = &group_table[group];
        enum field_id by = field_calling((enum field_group)group);
        size_t size = strlen(row->record);
        if (by != FIELD_COUNT && view_starts(path, row->record) && path.size > size + 1 &&
            path.data[size] == ' ')
            return view_of(arena_format(arena, "%s[%s=%.*s]", row->key, field_table[by].key,
                                        VIEW(view_trim(view_skip(path, size)))));
    }
    return path;
}

size_t machine_resolve(struct arena *arena, const struct machine *machine, struct view path,
                       struct field_place *out, size_t room)
{
    size_t count = 0;
    int part = 0;
    enum field_id id = field_find(path);
    if (id == FIELD_COUNT)
        return 0;
    path = in_brackets(arena, path);
    struct view whole = field_table[id].kind == KIND_PAIR ? without_part(path, &part) : path;
    for (uint32_t i = 0; i < machine->groups[field_table[id].group].written; i++) {
        struct field_place place = {id, i, (uint8_t)part};
        if (count >= room || !is_meant(arena, machine, &place, whole))
            continue;
        out[count] = machine_stand_in(machine, id, i);
        out[count++].part = (uint8_t)part;
    }
    return count;
}

const char *machine_typed_path(struct arena *arena, const struct machine *machine,
                               struct view path)
{
    path = in_brackets(arena, path);
    const char *close = path.size ? memchr(path.data, ']', path.size) : NULL;
    struct view inside = subscript(path);
    if (close && inside.size && memchr(inside.data, '=', inside.size)) {
        size_t key = (size_t)(inside.data - path.data) - 1;
        struct view record = {path.data, (size_t)(close - path.data) + 1};
        const struct tree_node *node = tree_at(machine->tree, record);
        const struct machine_group *list =
            &machine->groups[group_find((struct view){path.data, key})];
        for (uint32_t i = 0; node && i < list->written; i++)
            if (tree_resolve(list->nodes[i]) == tree_resolve(node))
                return arena_format(arena, "%.*s[%u]%.*s", (int)key, path.data, (unsigned)i,
                                    VIEW(view_skip(path, record.size)));
    }
    return arena_copy(arena, path.data, path.size);
}

/* The order of a file: that of the field table within a section, and one of its own for the
 * sections. */

static const char *const sections[] = {
    "proveout",    "extends", "log",       "machine",    "axes",        "homing",  "inputs",
    "table",       "work",    "obstacles", "setter",     "setters",     "plate",   "spindle",
    "attachments", "change",  "cutters",   "allowances", "agrees_with", "waivers",
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
