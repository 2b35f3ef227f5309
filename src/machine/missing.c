/* What a file needs and does not have.
 *
 * One finding for each key that is missing, at the key of the section it is missing in; one for
 * a section that is missing as a whole, with what it needs.  Where the field that decides about
 * a need is itself wrong or absent, nothing is said about that need.
 */
#include "machine/internal.h"

#include "text/escape.h"
#include "text/utf8.h"

struct search {
    struct reader *reader;
    bool holds[WHEN_COUNT];
};

static bool is_met(const struct machine *machine, const struct when *when)
{
    const struct field *field = &field_table[when->field];
    const struct field_value *value = machine_field(machine, when->field, 0);
    if (!*when->is)
        return value->state == VALUE_GIVEN || value->state == VALUE_DEFAULTED;
    if (value->state == VALUE_ABSENT && !field->needed)
        return when->is_not; /* its default is another word, or there is none */
    if (value->state != VALUE_GIVEN && value->state != VALUE_DEFAULTED)
        return false;
    if (field->kind == KIND_ORDER)
        return value->words->none != when->is_not;
    bool either = when->or_is && field_choice_is(field, value->choice, when->or_is);
    return (either || field_choice_is(field, value->choice, when->is)) != when->is_not;
}

static bool is_assumed(const struct machine *machine)
{
    const struct field_value *from = machine_field(machine, FIELD_CHANGE_STICKOUT_FROM, 0);
    const struct field *field = &field_table[FIELD_CHANGE_STICKOUT_FROM];
    return from->state == VALUE_GIVEN && field_choice_is(field, from->choice, "assumed");
}

/* The first cutter that has no stick-out listed; as many as there are where all have one. */
static uint32_t first_unlisted(const struct machine *machine)
{
    const struct machine_group *cutters = &machine->groups[GROUP_CUTTER];
    /* An entry without a number is not a cutter yet, and told as that. */
    for (uint32_t i = 0; !cutters->wrong && i < cutters->count; i++)
        if (machine_field(machine, FIELD_CUTTER_STICKOUT, i)->state == VALUE_ABSENT &&
            machine_field(machine, FIELD_CUTTER_NUMBER, i)->state != VALUE_ABSENT)
            return i;
    return cutters->count;
}

/* Does any approach reckon with the assumed stick-out? */
static bool uses_assumed(const struct machine *machine)
{
    if (machine_field(machine, FIELD_CHANGE_STICKOUT_FROM, 0)->state != VALUE_GIVEN)
        return false;
    return is_assumed(machine) || first_unlisted(machine) < machine->groups[GROUP_CUTTER].count;
}

bool machine_meets(const struct machine *machine, enum field_when when)
{
    bool all = when != WHEN_ASSUMED || uses_assumed(machine);
    /* Any cutter without a stick-out is as good a reason as the word. */
    for (int i = when == WHEN_ASSUMED ? WHEN_COMPUTED : (int)when; all && i != WHEN_ALWAYS;
         i = when_table[i].and)
        all = is_met(machine, &when_table[i]);
    return all;
}

bool machine_needs(const struct machine *machine, enum field_id id)
{
    return field_table[id].needed && machine_meets(machine, field_table[id].when);
}

static bool is_missing(const struct search *search, enum field_id id, uint32_t record)
{
    const struct field *field = &field_table[id];
    return field->needed && search->holds[field->when] &&
           machine_field(search->reader->machine, id, record)->state == VALUE_ABSENT;
}

/* The place of what is missing in `parent`: its key, or the first key of what has none. */
static struct span place(const struct tree_node *parent)
{
    const struct tree_node *map = tree_resolve(parent);
    if (parent->key_span.end > parent->key_span.start)
        return parent->key_span;
    return map->kind == TREE_MAP && map->first ? map->first->key_span : parent->span;
}

static void relate_word(struct search *search, struct finding *finding, const struct when *when)
{
    const struct field *field = &field_table[when->field];
    const struct field_value *value = machine_field(search->reader->machine, when->field, 0);
    const char *path = field->key, *is_not = when->is_not && *when->is ? "not " : "";
    bool second =
        when->or_is && !when->is_not && field_choice_is(field, value->choice, when->or_is);
    const char *word = second ? when->or_is : *when->is ? when->is : "given";
    finding_relate(
        search->reader->sink, finding, value->node->span, path,
        arena_format(search->reader->arena, "needed since %s is %s%s", path, is_not, word));
}

/* The stick-out for want of which the field is needed; NULL where it is needed anyway. */
static const char *unlisted_for(struct search *search, enum field_id id)
{
    const struct machine *machine = search->reader->machine;
    if (field_table[id].when != WHEN_ASSUMED || is_assumed(machine))
        return NULL;
    return machine_path(search->reader->arena, machine, FIELD_CUTTER_STICKOUT,
                        first_unlisted(machine), 0);
}

static void relate_unlisted(struct search *search, struct finding *finding, const char *path)
{
    struct reader *reader = search->reader;
    const struct machine_group *cutters = &reader->machine->groups[GROUP_CUTTER];
    finding_relate(reader->sink, finding,
                   place(cutters->nodes[first_unlisted(reader->machine)]), path,
                   arena_format(reader->arena, "needed since %s is not listed", path));
}

/* The fields that decided that this one is needed are shown beside it. */
static void relate_reasons(struct search *search, struct finding *finding, enum field_id id)
{
    const char *without = unlisted_for(search, id);
    if (without)
        relate_unlisted(search, finding, without);
    for (unsigned i = field_table[id].when; i != WHEN_ALWAYS; i = when_table[i].and) {
        const struct when *when = &when_table[i];
        if (!(without && i == WHEN_ASSUMED) &&
            machine_field(search->reader->machine, when->field, 0)->node)
            relate_word(search, finding, when);
    }
}

static void report_field(struct search *search, enum field_id id, uint32_t record,
                         const struct section *section, const struct tree_node *parent)
{
    struct reader *reader = search->reader;
    struct arena *arena = reader->arena;
    if (reader->sink->counts[READER_MISSING_KEY] >= FINDINGS_A_NAME) {
        sink_report(reader->sink, READER_MISSING_KEY, place(parent), NULL, "%s", "");
        return;
    }
    const char *path = machine_path(arena, reader->machine, id, record, 0);
    const char *where = section_path(arena, reader->machine, section, record);
    const char *key = field_table[id].key + section->depth;
    where = *where ? escape_short(arena, view_of(where), NAME_CELLS) : "the file";
    const char *without = unlisted_for(search, id);
    const char *problem =
        without ? arena_format(arena, "without %s, %s needs its %s", without, where, key)
                : arena_format(arena, "%s has no %s; %s is wanted", where, key,
                               field_wanted_text(arena, id));
    struct finding *finding =
        sink_report(reader->sink, READER_MISSING_KEY, place(parent), path, "%s", problem);
    if (!finding)
        return;
    finding->put_right = arena_format(arena, "%sadd %s: %s",
                                      without ? "list the stick-out of each cutter, or " : "",
                                      key, field_table[id].meaning);
    relate_reasons(search, finding, id);
}

/* One finding for a section that is not there, or is there with nothing in it. */
static void report_section(struct search *search, const struct section *section,
                           uint32_t record, const struct tree_node *place_of, bool is_empty)
{
    enum { ROOM = 90 };
    struct reader *reader = search->reader;
    struct arena *arena = reader->arena;
    const char *path = section_path(arena, reader->machine, section, record);
    struct buffer out;
    enum field_id reason = FIELD_COUNT;
    unsigned named = 0, unnamed = 0;
    buffer_init(&out, arena);
    buffer_format(&out, "%s is %s; it needs", escape_short(arena, view_of(path), NAME_CELLS),
                  is_empty ? "empty" : "missing");
    for (enum field_id id = section->first; id < section->end; id++) {
        const char *key = field_table[id].key + section->depth;
        if (!is_missing(search, id, record))
            continue;
        if (reason == FIELD_COUNT || field_table[reason].when == WHEN_ALWAYS)
            reason = id;
        if (unnamed || out.size + strlen(key) > ROOM) {
            unnamed++;
            continue;
        }
        buffer_format(&out, "%s%s", named++ ? ", " : " ", key);
    }
    if (reason == FIELD_COUNT)
        return;
    if (unnamed)
        buffer_format(&out, " and %u more", unnamed);
    struct finding *finding = sink_report(reader->sink, READER_MISSING_KEY, place(place_of),
                                          path, "%s", buffer_string(&out));
    if (finding)
        relate_reasons(search, finding, reason);
}

/* The section's child; `setter` is the one of several that the change uses. */
static const struct tree_node *child_of(const struct search *search,
                                        const struct section *section,
                                        const struct section *step, const struct tree_node *map,
                                        struct view name)
{
    const struct machine *machine = search->reader->machine;
    if (section->depth == 0 && !machine_is_written(machine, step->first, 0))
        return machine->groups[GROUP_SETTER].nodes[machine->setter];
    return tree_child(map, name);
}

/* What is missing below `parent`, which stands for `section`. */
static void search_section(struct search *search, const struct section *section,
                           uint32_t record, const struct tree_node *parent)
{
    struct section step;
    bool leaf;
    const struct tree_node *map = tree_resolve(parent);
    if (map->kind != TREE_MAP || map->first == NULL) {
        report_section(search, section, record, parent, true);
        return;
    }
    for (enum field_id id = section->first; id < section->end; id = step.end) {
        struct view name = section_step(section, id, &step, &leaf);
        const struct tree_node *child =
            leaf ? NULL : child_of(search, section, &step, map, name);
        if (leaf && is_missing(search, id, record))
            report_field(search, id, record, section, parent);
        else if (child)
            search_section(search, &step, record, child);
        else if (!leaf)
            report_section(search, &step, record, parent, false);
    }
}

static bool misses_any(const struct search *search, enum field_group group, uint32_t record)
{
    for (enum field_id id = group_table[group].first; id < group_table[group].end; id++)
        if (is_missing(search, id, record))
            return true;
    return false;
}

/* Records that are always there: each axis. */
static void search_axes(struct search *search, enum field_group group)
{
    struct reader *reader = search->reader;
    const struct group_row *row = &group_table[group];
    struct section all = section_of_group(group);
    const struct tree_node *root = reader->machine->tree->root;
    const struct tree_node *section = tree_child(root, view_of(row->key));
    struct buffer out;
    buffer_init(&out, reader->arena);
    for (uint32_t record = 0; record < AXES; record++) {
        const struct tree_node *node = reader->machine->groups[group].nodes[record];
        if (!misses_any(search, group, record))
            continue;
        if (node)
            search_section(search, &all, record, node);
        else if (section && tree_resolve(section)->first)
            report_section(search, &all, record, section, false);
        else
            buffer_format(&out, "%s%s", out.size ? ", " : "", axis_names[record]);
    }
    if (out.size)
        sink_report(reader->sink, READER_MISSING_KEY, place(section ? section : root), row->key,
                    "%s is %s; it needs %s", row->key, section ? "empty" : "missing",
                    buffer_string(&out));
}

static void search_records(struct search *search, enum field_group group)
{
    struct reader *reader = search->reader;
    const struct group_row *row = &group_table[group];
    struct section all = section_of_group(group);
    const struct machine_group *records = &reader->machine->groups[group];
    const struct tree_node *root = reader->machine->tree->root;
    const struct tree_node *list = tree_child(root, view_of(row->key));
    for (uint32_t record = 0; record < records->written; record++)
        if (misses_any(search, group, record))
            search_section(search, &all, record, records->nodes[record]);
    if (records->count == 0 && row->wanted && !records->wrong)
        sink_report(reader->sink, READER_MISSING_KEY, place(list ? list : root), row->key,
                    "%s is %s; at least one is wanted", row->key, list ? "empty" : "missing");
}

void machine_report_missing(struct reader *reader)
{
    struct search search = {.reader = reader};
    struct section root = section_of_group(GROUP_ROOT);
    bool is_known[WHEN_COUNT] = {false};
    for (enum field_id id = 0; id < FIELD_COUNT; id++) {
        enum field_when when = field_table[id].when;
        if (!field_table[id].needed || is_known[when])
            continue;
        is_known[when] = true;
        search.holds[when] = machine_meets(reader->machine, when);
    }
    if (misses_any(&search, GROUP_ROOT, 0))
        search_section(&search, &root, 0, reader->machine->tree->root);
    for (int group = GROUP_ROOT + 1; group < GROUP_COUNT; group++) {
        if (group_table[group].shape == SHAPE_AXES)
            search_axes(&search, (enum field_group)group);
        else
            search_records(&search, (enum field_group)group);
    }
}
