/* Reading a machine from a tree: down the sections of the file, value by value.
 *
 * Which sections there are, and what stands in them, is the table's; no field is named here.
 */
#include "machine/internal.h"

#include "text/escape.h"

/* One value. */

static bool read_list(struct value_reader *r, const struct tree_node *node,
                      struct field_value *out)
{
    enum field_kind kind = field_table[r->id].kind;
    if (node->kind == TREE_TEXT && value_read_none(r, node->text, out))
        return true;
    if (node->kind != TREE_LIST) {
        bool word = node->kind == TREE_TEXT && kind != KIND_PAIR;
        machine_complain(r, NULL, READER_WRONG_KIND, word ? "write it in brackets" : NULL,
                         "%s stands here", node_stands(node));
        return false;
    }
    if (kind == KIND_PAIR && (node->count < 2 || node->count > 4))
        return value_read_list(r, NULL, node->count, out);
    if (node->count > kind_limit(kind)) {
        machine_complain(r, NULL, READER_TOO_LONG, NULL, "%u entries are more than %u",
                         (unsigned)node->count, (unsigned)kind_limit(kind));
        return false;
    }
    struct item *items = value_gather(r, node);
    return items && value_read_list(r, items, list_join_numbers(r, items, node->count), out);
}

static bool read_value(struct value_reader *r, struct field_value *out)
{
    const struct field *field = &field_table[r->id];
    const struct tree_node *node = tree_resolve(r->node);
    struct item item = {node->text, r->node, 0};
    if (node_is_void(node)) {
        /* A note left empty says what no note would. */
        if (field->kind == KIND_TEXT && !field->needed) {
            *out = (struct field_value){.state = VALUE_ABSENT};
            return true;
        }
        value_complain_void(r, &item);
        return false;
    }
    if (node_has_readings(node))
        return value_read_readings(r, node, out);
    if (kind_is_list(field->kind))
        return read_list(r, node, out);
    if (node->kind != TREE_TEXT) {
        machine_complain(r, &item, READER_WRONG_KIND, NULL, "%s stands here",
                         node_stands(node));
        return false;
    }
    return value_read_text(r, &item, out);
}

static void read_leaf(struct reader *reader, enum field_id id, uint32_t record,
                      const struct tree_node *child)
{
    struct field_value *value = machine_field_put(reader->machine, id, record);
    if (value->node)
        return; /* the second of two keys alike, which the tree has reported */
    struct value_reader r = {.arena = reader->arena,
                             .reader = reader,
                             .id = id,
                             .record = record,
                             .node = child,
                             .last = -1,
                             .quiet = -1};
    if (!read_value(&r, value) || child->duplicate)
        *value = (struct field_value){.state = VALUE_WRONG};
    value->node = value->state == VALUE_ABSENT ? NULL : child;
}

/* Sections. */

/* A section, or nothing at all. */
static bool is_section(const struct tree_node *child)
{
    const struct tree_node *node = tree_resolve(child);
    return node->kind == TREE_MAP || node_is_void(node);
}

static void complain_section(struct reader *reader, const struct tree_node *child,
                             const char *path)
{
    sink_report(reader->sink, READER_WRONG_KIND, child->span, path,
                "%s stands here; %s wants keys with values below it",
                node_stands(tree_resolve(child)),
                escape_short(reader->arena, view_of(path), NAME_CELLS));
}

/* Is it the first of several keys alike, or the only one? */
static bool is_first(const struct tree_node *map, const struct tree_node *child)
{
    return !child->duplicate || tree_child(map, child->key) == child;
}

static void read_section(struct reader *reader, const struct section *section, uint32_t record,
                         const struct tree_node *map);

static void read_below(struct reader *reader, const struct section *section, uint32_t record,
                       const struct tree_node *child)
{
    bool right = is_section(child);
    if (right)
        read_section(reader, section, record, tree_resolve(child));
    else
        complain_section(reader, child,
                         section_path(reader->arena, reader->machine, section, record));
    if (!right || child->duplicate)
        section_spoil(reader, section, record, child, false);
}

/* One key of a section; false where it is not known there. */
static bool read_key(struct reader *reader, const struct section *section, uint32_t record,
                     const struct tree_node *child, enum field_id *hint)
{
    struct section below;
    bool leaf;
    if (!section_find(section, child->key, hint, &below, &leaf))
        return false;
    if (leaf)
        read_leaf(reader, below.first, record, child);
    else
        read_below(reader, &below, record, child);
    return true;
}

/* All keys of a section, which may have none. */
static void read_section(struct reader *reader, const struct section *section, uint32_t record,
                         const struct tree_node *map)
{
    enum field_id hint = section->first;
    bool all_known = true;
    for (const struct tree_node *child = map->first; child; child = child->next)
        if (is_first(map, child) && !read_key(reader, section, record, child, &hint))
            all_known = false;
    if (!all_known) {
        struct scope scope = {
            .section = section,
            .record = record,
            .path = section_path(reader->arena, reader->machine, section, record)};
        machine_report_unknown(reader, &scope, map);
    }
}

/* Groups of records. */

static void make_records(struct reader *reader, enum field_group group, uint32_t count)
{
    struct machine_group *records = &reader->machine->groups[group];
    records->count = records->written = count;
    records->values = ARENA_ARRAY(reader->arena, struct field_value,
                                  (size_t)count * field_group_width(group));
    records->nodes = ARENA_ARRAY(reader->arena, const struct tree_node *, count);
}

static void read_record(struct reader *reader, enum field_group group, uint32_t record,
                        const struct tree_node *child)
{
    struct section section = section_of_group(group);
    reader->machine->groups[group].nodes[record] = child;
    read_below(reader, &section, record, child);
}

/* The section with the axes' letters; other keys may belong to the file itself. */
static void read_axes(struct reader *reader, enum field_group group,
                      const struct tree_node *child)
{
    const struct tree_node *map = tree_resolve(child);
    struct section root = section_of_group(GROUP_ROOT), other;
    enum field_id hint = root.first;
    bool leaf = false, all_known = true;
    bool more = section_find(&root, child->key, &hint, &other, &leaf);
    if (!is_section(child)) {
        complain_section(reader, child, group_table[group].key);
        group_spoil(reader, group, child);
        if (more)
            section_spoil(reader, &other, 0, child, false);
        return;
    }
    for (const struct tree_node *key = map->first; key; key = key->next) {
        int axis = axis_find(key->key);
        if (!is_first(map, key))
            continue;
        if (axis >= 0)
            read_record(reader, group, (uint32_t)axis, key);
        else if (!more || !read_key(reader, &other, 0, key, &hint))
            all_known = false;
    }
    struct scope scope = {
        .section = more ? &other : NULL, .axes = group, .path = group_table[group].key};
    if (!all_known)
        machine_report_unknown(reader, &scope, map);
    if (child->duplicate && more)
        section_spoil(reader, &other, 0, child, false);
}

static void read_names(struct reader *reader, enum field_group group,
                       const struct tree_node *child)
{
    const struct tree_node *map = tree_resolve(child);
    if (!is_section(child)) {
        complain_section(reader, child, group_table[group].key);
        group_spoil(reader, group, child);
        return;
    }
    uint32_t record = 0;
    make_records(reader, group, map->count);
    for (const struct tree_node *key = map->first; key; key = key->next)
        read_record(reader, group, record++, key);
}

static void read_list_of_records(struct reader *reader, enum field_group group,
                                 const struct tree_node *child)
{
    const struct group_row *row = &group_table[group];
    const struct tree_node *list = tree_resolve(child);
    if (node_is_void(list))
        return;
    if (list->kind != TREE_LIST)
        sink_report(reader->sink, READER_WRONG_KIND, child->span, row->key,
                    "%s stands here; %s wants a list, each entry after a dash",
                    node_stands(list), row->key);
    else if (list->count > row->most)
        sink_report(reader->sink, READER_TOO_LONG, child->span, row->key,
                    "%u entries are too many; %s takes at most %u", (unsigned)list->count,
                    row->key, (unsigned)row->most);
    if (list->kind != TREE_LIST || list->count > row->most) {
        group_spoil(reader, group, child);
        return;
    }
    uint32_t record = 0;
    make_records(reader, group, list->count);
    for (const struct tree_node *entry = list->first; entry; entry = entry->next)
        read_record(reader, group, record++, entry);
}

static void read_group(struct reader *reader, enum field_group group,
                       const struct tree_node *child)
{
    switch (group_table[group].shape) {
    case SHAPE_AXES:
        read_axes(reader, group, child);
        break;
    case SHAPE_NAMES:
        read_names(reader, group, child);
        break;
    case SHAPE_LIST:
        read_list_of_records(reader, group, child);
        break;
    case SHAPE_ROOT:
        return;
    }
    if (child->duplicate)
        group_spoil(reader, group, child);
}

/* The file itself. */

static void read_root(struct reader *reader, const struct tree_node *map)
{
    struct section root = section_of_group(GROUP_ROOT);
    enum field_id hint = root.first;
    bool all_known = true;
    for (const struct tree_node *child = map->first; child; child = child->next) {
        enum field_group group = group_find(child->key);
        if (!is_first(map, child))
            continue;
        if (group != GROUP_ROOT)
            read_group(reader, group, child);
        else if (!read_key(reader, &root, 0, child, &hint))
            all_known = false;
    }
    struct scope scope = {.section = &root, .path = ""};
    if (!all_known)
        machine_report_unknown(reader, &scope, map);
}

/* What is absent gets its default; from a tree that is not whole, nothing is known about it. */
static void settle_absent(struct reader *reader, enum field_id id, bool whole)
{
    const struct field *field = &field_table[id];
    if (whole && !field->fallback)
        return;
    uint32_t count = reader->machine->groups[field->group].count;
    struct field_value fallback = {.state = VALUE_ABSENT};
    for (uint32_t record = 0; record < count; record++) {
        struct field_value *value = machine_field_put(reader->machine, id, record);
        if (value->state != VALUE_ABSENT)
            continue;
        const char *trouble = NULL;
        if (whole && fallback.state == VALUE_ABSENT)
            trouble = field_read_text(reader->arena, id, view_of(field->fallback), &fallback);
        BUG_UNLESS(!trouble);
        fallback.state = whole ? VALUE_DEFAULTED : VALUE_WRONG;
        *value = fallback;
    }
}

void machine_read(struct machine *out, struct arena *arena, const struct tree *tree,
                  struct finding_sink *sink)
{
    struct reader reader = {out, arena, sink};
    bool whole = tree->status == TREE_WHOLE;
    *out = (struct machine){.tree = tree, .setter = NO_SETTER};
    make_records(&reader, GROUP_ROOT, 1);
    make_records(&reader, GROUP_AXIS, AXES);
    make_records(&reader, GROUP_HOMING, AXES);
    if (!tree->root || tree->root->kind != TREE_MAP)
        return;
    out->groups[GROUP_ROOT].nodes[0] = tree->root;
    read_root(&reader, tree->root);
    machine_check_log(&reader);
    machine_refer_inputs(&reader);
    machine_choose_setter(&reader);
    if (whole)
        machine_report_missing(&reader);
    machine_judge_readings(&reader);
    machine_stand_setters(&reader);
    for (enum field_id id = 0; id < FIELD_COUNT; id++)
        settle_absent(&reader, id, whole);
    for (int group = 0; group < GROUP_COUNT && !whole; group++)
        out->groups[group].wrong |= group_table[group].shape >= SHAPE_NAMES;
}

void machine_own_values(struct machine *copy, struct arena *arena,
                        const enum field_group *groups, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        struct machine_group *group = &copy->groups[groups[i]];
        size_t size = group->count * field_group_width(groups[i]) * sizeof *group->values;
        struct field_value *values = arena_alloc(arena, size);
        if (size)
            memcpy(values, group->values, size);
        group->values = values;
    }
}
