/* Keys that are not known where they stand.
 *
 * A slip of the keyboard is one mistake: what the key stands for becomes wrong, so that it is
 * not also missing and no rule is asked about it.  The same for a key that is known, but
 * somewhere else.
 */
#include "machine/internal.h"

#include "text/escape.h"
#include "text/nearest.h"

enum { KNOWN_MOST = 64, HOMES_NAMED = 2, SURE = 1 };

/* What a name stands for: a section or field, all of a group, or one axis. */
struct known {
    struct view name;
    struct section section;
    uint32_t record;
    bool group; /* all records of the section's group */
};

struct known_list {
    struct known items[KNOWN_MOST];
    size_t count;
};

static void add(struct known_list *list, struct known one)
{
    BUG_UNLESS(list->count < KNOWN_MOST);
    list->items[list->count++] = one;
}

static void add_steps(struct known_list *list, const struct section *section, uint32_t record)
{
    struct section step;
    bool leaf;
    for (enum field_id id = section->first; id < section->end; id = step.end) {
        struct view name = section_step(section, id, &step, &leaf);
        if (section->depth || group_find(name) == GROUP_ROOT)
            add(list, (struct known){name, step, record, false});
    }
}

static void list_known(struct known_list *list, const struct scope *scope)
{
    list->count = 0;
    if (scope->section)
        add_steps(list, scope->section, scope->record);
    for (uint32_t i = 0; scope->axes != GROUP_ROOT && i < AXES; i++)
        add(list,
            (struct known){view_of(axis_names[i]), section_of_group(scope->axes), i, false});
    for (int group = GROUP_ROOT + 1; group < GROUP_COUNT && !*scope->path; group++)
        add(list, (struct known){view_of(group_table[group].key),
                                 section_of_group((enum field_group)group), 0, true});
}

/* The nearest of the known names, rather one that the map does not have. */
static const struct known *find_near(const struct known_list *list, const struct tree_node *map,
                                     struct view key, int *distance)
{
    const struct known *best = NULL;
    bool best_free = false;
    for (size_t i = 0; i < list->count; i++) {
        const struct known *one = &list->items[i];
        int d = nearest_distance(key, one->name);
        if (d < 0)
            continue;
        bool is_free = !tree_child(map, one->name);
        if (!best || (is_free && !best_free) || (is_free == best_free && d < *distance)) {
            best = one;
            best_free = is_free;
            *distance = d;
        }
    }
    return best;
}

/* Where in the file a name is known. */
struct homes {
    struct section parents[HOMES_NAMED];
    struct known first;
    size_t count;
};

static void find_homes(struct homes *homes, const struct section *section, struct view key,
                       uint32_t record)
{
    struct section step;
    bool leaf;
    for (enum field_id id = section->first; id < section->end; id = step.end) {
        struct view name = section_step(section, id, &step, &leaf);
        if (view_equal(name, key)) {
            if (homes->count < HOMES_NAMED)
                homes->parents[homes->count] = *section;
            if (homes->count++ == 0)
                homes->first = (struct known){name, step, record, false};
        }
        if (!leaf)
            find_homes(homes, &step, key, record);
    }
}

/* "change", "axes.*", "cutters[]", "the top of the file". */
static const char *home_text(struct arena *arena, const struct section *section)
{
    const char *path = field_path(arena, section->first);
    const char *key = field_table[section->first].key + section->depth;
    size_t size = strlen(path) - strlen(key);
    return size ? arena_format(arena, "%.*s", (int)(size - 1), path) : "the top of the file";
}

/* What `known` stands for is taken to be what stands at `at`, unless it has a place of its own.
 */
static void spoil(struct reader *reader, const struct known *known, const struct tree_node *at)
{
    if (!known->group) {
        section_spoil(reader, &known->section, known->record, at, true);
        return;
    }
    if (tree_child(reader->machine->tree->root, known->name))
        return;
    group_spoil(reader, known->section.group, at);
    /* `homing` is a section of the file itself, too. */
    struct section root = section_of_group(GROUP_ROOT), same;
    enum field_id hint = root.first;
    bool leaf;
    if (section_find(&root, known->name, &hint, &same, &leaf))
        section_spoil(reader, &same, 0, at, true);
}

static struct finding *report(struct reader *reader, const struct scope *scope,
                              const struct tree_node *child, const char *more)
{
    struct arena *arena = reader->arena;
    if (reader->sink->counts[READER_UNKNOWN_KEY] >= FINDINGS_A_NAME)
        return sink_report(reader->sink, READER_UNKNOWN_KEY, child->key_span, NULL, "%s", "");
    const char *key = escape_short(arena, child->key, NAME_CELLS);
    const char *where =
        *scope->path ? escape_short(arena, view_of(scope->path), NAME_CELLS) : "the file";
    const char *path = *scope->path
                           ? arena_format(arena, "%s.%.*s", scope->path, VIEW(child->key))
                           : arena_format(arena, "%.*s", VIEW(child->key));
    return sink_report(reader->sink, READER_UNKNOWN_KEY, child->key_span, path,
                       "%s has no key '%s'%s", where, key, more);
}

static void report_near(struct reader *reader, const struct scope *scope,
                        const struct tree_node *child, const struct known *near)
{
    struct arena *arena = reader->arena;
    struct finding *finding = report(
        reader, scope, child, arena_format(arena, "; %.*s is the nearest", VIEW(near->name)));
    if (finding)
        finding->put_right = arena_format(arena, "write %.*s", VIEW(near->name));
    spoil(reader, near, child);
}

static void report_elsewhere(struct reader *reader, const struct scope *scope,
                             const struct tree_node *child, const struct homes *homes)
{
    struct arena *arena = reader->arena;
    const char *home = home_text(arena, &homes->parents[0]);
    if (homes->count == 2)
        home = arena_format(arena, "%s or %s", home, home_text(arena, &homes->parents[1]));
    struct finding *finding =
        report(reader, scope, child, arena_format(arena, "; it belongs in %s", home));
    if (finding)
        finding->put_right = arena_format(arena, "move it to %s", home);
    /* In a list of records it is not known which one it was meant for. */
    enum group_shape to = group_table[homes->first.section.group].shape;
    bool same = scope->section && group_table[scope->section->group].shape == SHAPE_AXES;
    if (homes->count == 1 &&
        (homes->first.group || to == SHAPE_ROOT || (same && to == SHAPE_AXES)))
        spoil(reader, &homes->first, child);
}

static void report_plain(struct reader *reader, const struct scope *scope,
                         const struct tree_node *child, const struct known_list *list)
{
    enum { LISTED = 10 };
    struct finding *finding = report(reader, scope, child, "");
    if (!finding)
        return;
    if (list->count > LISTED) {
        finding->put_right = "correct its name, or take it out";
        return;
    }
    struct buffer out;
    buffer_init(&out, reader->arena);
    buffer_text(&out, "correct its name, or take it out; known here: ");
    for (size_t i = 0; i < list->count; i++)
        buffer_format(&out, "%s%.*s", i ? ", " : "", VIEW(list->items[i].name));
    finding->put_right = buffer_string(&out);
}

/* A group belongs at the top of the file; anything else in one or two sections, or in so many
 * that naming them helps nobody. */
static void find_all_homes(struct homes *homes, const struct scope *scope, struct view key)
{
    enum field_group named = group_find(key);
    homes->count = 0;
    if (named != GROUP_ROOT) {
        homes->first = (struct known){key, section_of_group(named), 0, true};
        homes->parents[homes->count++] = section_of_group(GROUP_ROOT);
        return;
    }
    for (int group = GROUP_ROOT; group < GROUP_COUNT; group++) {
        struct section all = section_of_group((enum field_group)group);
        find_homes(homes, &all, key, group == GROUP_ROOT ? 0 : scope->record);
    }
}

static void report_one(struct reader *reader, const struct scope *scope,
                       const struct known_list *list, const struct tree_node *map,
                       const struct tree_node *child)
{
    int distance = 0;
    const struct known *near = find_near(list, map, child->key, &distance);
    struct homes homes;
    find_all_homes(&homes, scope, child->key);
    bool home = homes.count > 0 && homes.count <= HOMES_NAMED;
    if (near && (distance <= SURE || !home))
        report_near(reader, scope, child, near);
    else if (home)
        report_elsewhere(reader, scope, child, &homes);
    else
        report_plain(reader, scope, child, list);
}

static bool is_known(const struct known_list *list, struct view key)
{
    for (size_t i = 0; i < list->count; i++)
        if (view_equal(list->items[i].name, key))
            return true;
    return false;
}

void report_unknown(struct reader *reader, const struct scope *scope,
                    const struct tree_node *map)
{
    struct known_list list;
    list_known(&list, scope);
    for (const struct tree_node *child = map->first; child; child = child->next) {
        bool again = child->duplicate && tree_child(map, child->key) != child;
        if (!again && !is_known(&list, child->key))
            report_one(reader, scope, &list, map, child);
    }
}
