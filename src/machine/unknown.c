/* Keys that are not known where they stand.
 *
 * A slip of the keyboard is one mistake: what the key stands for becomes wrong, so that it is
 * not also missing and no rule is asked about it.  The same for a key that is known, but
 * somewhere else; and several of them in a row, as where the line that begins their section was
 * lost, are one mistake too.
 */
#include "machine/internal.h"

#include "text/escape.h"
#include "text/nearest.h"

/* What a name stands for: a section or field of one record, or a whole group. */
struct known {
    struct view name;
    struct section section;
    uint32_t record;
    bool group; /* all records of the section's group */
};

enum { HOMES_MOST = 8 };

/* The sections in which a key is known, and what it stands for in each. */
struct home {
    struct section parent;
    struct known meant;
};

struct homes {
    struct home items[HOMES_MOST];
    size_t count; /* may be more than there are items */
};

static void add_home(struct homes *homes, struct home home)
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
            add_home(homes, (struct home){*section, {name, step, record, false}});
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
            add_home(homes,
                     (struct home){all, {view_of(group_table[group].key), all, 0, true}});
            return true;
        }
    }
    return false;
}

static void homes_find(struct homes *homes, const struct tree_node *child, uint32_t record)
{
    enum field_group named = group_find(child->key);
    homes->count = 0;
    if (named != GROUP_ROOT) {
        struct section all = section_of_group(named);
        add_home(homes,
                 (struct home){section_of_group(GROUP_ROOT), {child->key, all, 0, true}});
        return;
    }
    if (search_content(homes, child))
        return;
    for (int group = GROUP_ROOT; group < GROUP_COUNT; group++) {
        struct section all = section_of_group((enum field_group)group);
        search(homes, &all, child->key, group == GROUP_ROOT ? 0 : record);
    }
}

/* The one of them that is in the same section as `home`; NULL where none is. */
static const struct home *homes_match(const struct homes *homes, const struct home *home)
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

/* "change", "axes.*", "the top of the file". */
static const char *home_text(struct arena *arena, const struct home *home)
{
    const struct section *section = &home->parent;
    if (home->meant.group && section->group != GROUP_ROOT)
        return group_table[section->group].key;
    const char *path = field_path(arena, section->first);
    const char *key = field_table[section->first].key + section->depth;
    size_t size = strlen(path) - strlen(key);
    return size ? arena_format(arena, "%.*s", (int)(size - 1), path) : "the top of the file";
}

enum { KNOWN_MOST = 64, HOMES_NAMED = 2, SURE = 1, SHORT = 2, LISTED = 10 };

/* One map whose keys are looked at. */
struct look {
    struct reader *reader;
    const struct scope *scope;
    const struct tree_node *map;
    struct known known[KNOWN_MOST]; /* what may stand there */
    size_t count;
};

static void add(struct look *look, struct known one)
{
    BUG_UNLESS(look->count < KNOWN_MOST);
    look->known[look->count++] = one;
}

static void list_known(struct look *look)
{
    const struct scope *scope = look->scope;
    bool top = !*scope->path;
    struct section step;
    bool leaf;
    if (scope->section) {
        for (enum field_id id = scope->section->first; id < scope->section->end;
             id = step.end) {
            struct view name = section_step(scope->section, id, &step, &leaf);
            if (!top || group_find(name) == GROUP_ROOT)
                add(look, (struct known){name, step, scope->record, false});
        }
    }
    for (uint32_t i = 0; scope->axes != GROUP_ROOT && i < AXES; i++)
        add(look,
            (struct known){view_of(axis_names[i]), section_of_group(scope->axes), i, false});
    for (int group = GROUP_ROOT + 1; top && group < GROUP_COUNT; group++)
        add(look, (struct known){view_of(group_table[group].key),
                                 section_of_group((enum field_group)group), 0, true});
}

static bool is_known(const struct look *look, struct view key)
{
    for (size_t i = 0; i < look->count; i++)
        if (view_equal(look->known[i].name, key))
            return true;
    return false;
}

/* The nearest of the known names, rather one that the map does not have. */
static const struct known *find_near(const struct look *look, struct view key, int *distance)
{
    const struct known *best = NULL;
    bool best_free = false;
    for (size_t i = 0; i < look->count; i++) {
        const struct known *one = &look->known[i];
        int d = nearest_distance(key, one->name);
        if (d < 0)
            continue;
        bool is_free = !tree_child(look->map, one->name);
        if (!best || (is_free && !best_free) || (is_free == best_free && d < *distance)) {
            best = one;
            best_free = is_free;
            *distance = d;
        }
    }
    return best;
}

static bool share_letter(struct view a, struct view b)
{
    for (size_t i = 0; i < a.size; i++)
        if (memchr(b.data, a.data[i], b.size))
            return true;
    return false;
}

/* Names of one or two letters are near nothing by distance: the only one of them that the map
 * does not have, where the key shares a letter, or can be meant for nothing but an axis. */
static const struct known *find_short(const struct look *look, struct view key)
{
    const struct known *found = NULL;
    bool only_axes = look->scope->axes != GROUP_ROOT && !look->scope->section;
    for (size_t i = 0; i < look->count && key.size <= SHORT; i++) {
        const struct known *one = &look->known[i];
        if (one->name.size > SHORT || tree_child(look->map, one->name) ||
            !(only_axes || share_letter(key, one->name)))
            continue;
        if (found)
            return NULL;
        found = one;
    }
    return found;
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

static struct finding *report(const struct look *look, const struct tree_node *child,
                              const char *more)
{
    struct finding_sink *sink = look->reader->sink;
    struct arena *arena = look->reader->arena;
    const char *path = look->scope->path;
    const char *key = escape_short(arena, child->key, NAME_CELLS);
    const char *where = *path ? escape_short(arena, view_of(path), NAME_CELLS) : "the file";
    const char *field =
        arena_format(arena, "%s%s%.*s", path, *path ? "." : "", VIEW(child->key));
    return sink_report(sink, READER_UNKNOWN_KEY, child->key_span, field, "%s has no key '%s'%s",
                       where, key, more);
}

static void report_near(struct look *look, const struct tree_node *child,
                        const struct known *near)
{
    struct arena *arena = look->reader->arena;
    struct finding *finding =
        report(look, child, arena_format(arena, "; %.*s is the nearest", VIEW(near->name)));
    if (finding)
        finding->put_right = arena_format(arena, "write %.*s", VIEW(near->name));
    if (!tree_child(look->map, near->name))
        finding_fix(arena, finding, child->key_span,
                    arena_copy(arena, near->name.data, near->name.size), finding->put_right);
    spoil(look->reader, near, child);
}

/* "at.x: 5 mm" where a section "at" with "x" in it is wanted.  False where it is not that. */
static bool report_dotted(struct look *look, const struct tree_node *child)
{
    struct arena *arena = look->reader->arena;
    const struct section *section = look->scope->section;
    const char *dot = child->key.size ? memchr(child->key.data, '.', child->key.size) : NULL;
    if (!dot || !section)
        return false;
    int size = (int)(dot - child->key.data);
    for (enum field_id id = section->first; id < section->end; id++) {
        const char *key = field_table[id].key + section->depth;
        if (!view_is(child->key, key))
            continue;
        struct finding *finding = report(
            look, child, arena_format(arena, "; '%.*s' takes a line of its own", size, key));
        if (finding)
            finding->put_right = arena_format(
                arena, "write %.*s: and, indented below it, %s:", size, key, key + size + 1);
        struct section field = {section->group, id, id + 1, section->depth};
        section_spoil(look->reader, &field, look->scope->record, child, true);
        return true;
    }
    return false;
}

static void report_plain(struct look *look, const struct tree_node *child)
{
    struct finding *finding = report(look, child, "");
    if (!finding)
        return;
    if (look->count > LISTED) {
        finding->put_right = "correct its name, or take it out";
        return;
    }
    struct buffer out;
    buffer_init(&out, look->reader->arena);
    buffer_text(&out, "correct its name, or take it out; known here: ");
    for (size_t i = 0; i < look->count; i++)
        buffer_format(&out, "%s%.*s", i ? ", " : "", VIEW(look->known[i].name));
    finding->put_right = buffer_string(&out);
}

/* In a list of records it is not known which of them was meant. */
static bool is_one_place(const struct look *look, const struct home *home)
{
    const struct section *here = look->scope->section;
    enum group_shape to = group_table[home->meant.section.group].shape;
    bool beside = here && group_table[here->group].shape == SHAPE_AXES;
    return home->meant.group || to == SHAPE_ROOT || (beside && to == SHAPE_AXES);
}

/* The keys in a row after `child` that belong in `home` as well; their number, and through
 * `*last` the last of them. */
static size_t follow(struct look *look, const struct tree_node *child, const struct home *home,
                     const struct tree_node **last)
{
    size_t count = 0;
    *last = child;
    for (const struct tree_node *next = child->next; next; next = next->next) {
        struct homes homes;
        if (is_known(look, next->key))
            continue; /* both sections may know it */
        homes_find(&homes, next, look->scope->record);
        const struct home *same = homes_match(&homes, home);
        if (!same)
            break;
        if (is_one_place(look, same))
            spoil(look->reader, &same->meant, next);
        *last = next;
        count++;
    }
    return count;
}

/* Returns the last key that the finding is about. */
static const struct tree_node *report_elsewhere(struct look *look, const struct homes *homes,
                                                const struct tree_node *child)
{
    struct arena *arena = look->reader->arena;
    const struct tree_node *last = child;
    const struct home *home = &homes->items[0];
    size_t more = 0;
    for (size_t i = 0; i < homes->count && !more; i++) {
        more = follow(look, child, &homes->items[i], &last);
        home = more ? &homes->items[i] : &homes->items[0];
    }
    bool certain = more || homes->count == 1;
    const char *where = home_text(arena, home);
    if (!certain)
        where = arena_format(arena, "%s or %s", where, home_text(arena, &homes->items[1]));
    const char *text =
        more ? arena_format(arena, " and %zu more; they belong in %s", more, where)
             : arena_format(arena, "; it belongs in %s", where);
    struct finding *finding = report(look, child, text);
    if (finding)
        finding->put_right = arena_format(arena, "move %s to %s", more ? "them" : "it", where);
    if (certain && is_one_place(look, home))
        spoil(look->reader, &home->meant, child);
    return last;
}

static const struct tree_node *report_one(struct look *look, const struct tree_node *child)
{
    struct finding_sink *sink = look->reader->sink;
    if (sink->counts[READER_UNKNOWN_KEY] >= FINDINGS_A_NAME) {
        /* Nobody mends a thousand slips one by one: what they were meant for is not asked. */
        sink_report(sink, READER_UNKNOWN_KEY, child->key_span, NULL, "%s", "");
        return child;
    }
    if (report_dotted(look, child))
        return child;
    int distance = 0;
    const struct known *near = find_near(look, child->key, &distance);
    struct homes homes;
    homes_find(&homes, child, look->scope->record);
    bool home = homes.count > 0 && homes.count <= HOMES_NAMED;
    if (!near && !home)
        near = find_short(look, child->key);
    if (near && (distance <= SURE || !home))
        report_near(look, child, near);
    else if (home)
        return report_elsewhere(look, &homes, child);
    else
        report_plain(look, child);
    return child;
}

void machine_report_unknown(struct reader *reader, const struct scope *scope,
                            const struct tree_node *map)
{
    struct look look = {.reader = reader, .scope = scope, .map = map};
    list_known(&look);
    for (const struct tree_node *child = map->first; child; child = child->next) {
        bool again = child->duplicate && tree_child(map, child->key) != child;
        if (!again && !is_known(&look, child->key))
            child = report_one(&look, child);
    }
}
