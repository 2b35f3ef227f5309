/* What can be done about a place: the fixes of what was found there, a waiver of it, and the
 * keys that its section needs and does not have.
 */
#include "library/document_answers.h"

#include "library/document_edits.h"
#include "library/document_shape.h"
#include "mend/mend.h"
#include "text/escape.h"

enum {
    WAIVERS_OFFERED = 8, /* each reads the file several times */
    WAIVED_DAYS = 90,    /* until it is to be looked at again */
    SHOWN = 60
};

struct seeking {
    struct proveout_document *document;
    struct arena *arena;
    struct span within;
    struct actions *out;
    size_t waivers;
};

static bool overlaps(struct span a, struct span b)
{
    return a.start <= b.end && b.start <= a.end;
}

/* --- fixes --- */

/* The findings with their fixes: looked for when somebody asks, where opening the file was
 * quick. */
static const struct file_report *with_fixes(struct proveout_document *document)
{
    struct request *request = &document->question->request;
    struct arena *arena = document_arena(document);
    if (!request->options.quick)
        return &document->result.report;
    if (!document->mended) {
        struct check_options *options = ARENA_NEW(arena, struct check_options);
        struct machine_file *file = ARENA_NEW(arena, struct machine_file);
        struct file_report *report = ARENA_NEW(arena, struct file_report);
        *options = request->checking;
        options->remedies = true;
        machine_file_read(arena, document->file->path, document->source->bytes,
                          document->file->shared, file);
        mender_check_file(mender_new(arena, options), arena, file, report);
        document->mended = report;
    }
    return document->mended;
}

static bool same_text(const char *a, const char *b)
{
    return view_equal(view_of(a), view_of(b));
}

/* Which of the document's findings it is. */
static size_t index_of(const struct proveout_document *document, const struct finding *finding)
{
    const struct file_report *report = &document->result.report;
    for (size_t i = 0; i < report->count; i++) {
        const struct finding *other = &report->findings[i];
        if (other->at.span.start == finding->at.span.start &&
            other->requirement == finding->requirement && other->outcome == finding->outcome &&
            same_text(other->rule, finding->rule) &&
            same_text(other->subject, finding->subject) &&
            same_text(other->at.field, finding->at.field) &&
            same_text(other->message, finding->message))
            return i;
    }
    return PROVEOUT_NO_FINDING;
}

/* As the file names another: from its folder. */
static const char *path_of(const struct seeking *seeking, const struct source *source)
{
    struct view name = source->name;
    const struct shared_files *shared = seeking->document->file->shared;
    struct view own = seeking->document->source->name;
    struct view root = view_of(shared ? shared->root : "");
    if (source->base == 0 && view_equal(name, own))
        return NULL;
    if (name.size > root.size && memcmp(name.data, root.data, root.size) == 0)
        name = view_skip(name, root.size);
    return arena_copy(seeking->arena, name.data, name.size);
}

static bool is_same_edit(const struct proveout_edit *a, const struct proveout_edit *b)
{
    return same_text(a->path, b->path) && a->span.start == b->span.start &&
           a->span.end == b->span.end && same_text(a->text, b->text);
}

/* Offers it, but not what another finding at this place, of the next cutter, had done already.
 */
static bool offer(struct seeking *seeking, const struct proveout_action *action)
{
    for (size_t i = 0; i < seeking->out->list.count; i++) {
        const struct proveout_action *other = &seeking->out->list.items[i];
        size_t same = 0;
        if (other->edits.count != action->edits.count ||
            !same_text(other->title, action->title))
            continue;
        while (same < action->edits.count &&
               is_same_edit(&other->edits.list[same], &action->edits.list[same]))
            same++;
        if (same == action->edits.count)
            return false;
    }
    VECTOR_ADD(seeking->arena, &seeking->out->list, *action);
    return true;
}

static void add_fixes(struct seeking *seeking, const struct finding *finding, size_t index)
{
    for (size_t i = 0; i < finding->fix_count; i++) {
        const struct finding_fix *fix = &finding->fixes[i];
        struct proveout_edit *edit = ARENA_NEW(seeking->arena, struct proveout_edit);
        *edit = (struct proveout_edit){path_of(seeking, fix->source), span_out(fix->span),
                                       fix->text};
        offer(seeking, &(struct proveout_action){.title = fix->title,
                                                 .kind = PROVEOUT_ACTION_FIX,
                                                 .sure = !fix->asks && !fix->chosen,
                                                 .asks = fix->asks,
                                                 .finding = index,
                                                 .edits = {edit, 1}});
    }
}

/* --- waivers --- */

/* May somebody accept it?  Errors of the reader tell that nothing is known. */
static bool can_be_waived(const struct finding *finding)
{
    return finding->outcome == OUTCOME_FAILED && !finding->implied_by &&
           !(finding->from_reader &&
             (finding->level == LEVEL_ERROR || strncmp(finding->rule, "waiver-", 7) == 0));
}

static const char *day_text(struct arena *arena, int day)
{
    const struct field_value value = {.state = VALUE_GIVEN, .si = day * 86400.0};
    return field_value_text(arena, FIELD_WAIVER_UNTIL, &value);
}

static bool set(struct editing *editing, uint32_t index, const char *key, const char *text)
{
    return editing_set(
        editing, arena_format(editing->arena, "waivers[%u].%s", (unsigned)index, key), text);
}

/* Writes the entry.  Its reason stays empty, and as long as it is nothing is waived. */
static bool write_waiver(struct seeking *seeking, struct editing *editing,
                         const struct finding *finding, const char *where)
{
    const struct tree_node *list =
        editing->tree->root ? tree_child(editing->tree->root, view_of("waivers")) : NULL;
    uint32_t index =
        list && tree_resolve(list)->kind == TREE_LIST ? tree_resolve(list)->count : 0;
    int today = seeking->document->question->request.options.today;
    bool done = set(editing, index, "rule", finding->rule) &&
                (!where || set(editing, index, "where", where)) &&
                set(editing, index, "reason", "");
    if (finding->hurts == HURTS_PERSON)
        done = done && set(editing, index, "accepted_by", "");
    if (today)
        done =
            done && set(editing, index, "until", day_text(seeking->arena, today + WAIVED_DAYS));
    return done;
}

static void add_waiver(struct seeking *seeking, const struct finding *finding, size_t index)
{
    struct arena *arena = seeking->arena;
    const struct machine *machine = &seeking->document->file->machine;
    bool person = finding->hurts == HURTS_PERSON;
    struct editing editing;
    if (!can_be_waived(finding) || seeking->waivers >= WAIVERS_OFFERED ||
        seeking->document->file->own.status != TREE_WHOLE)
        return;
    const char *where =
        finding->at.field ? machine_lasting_path(arena, machine, finding->at.field) : NULL;
    editing_begin(&editing, seeking->document);
    if (!write_waiver(seeking, &editing, finding, where))
        return;
    const char *shown = where ? escape_short(arena, view_of(where), SHOWN) : NULL;
    const char *title = arena_format(
        arena, "waive %s%s%s: %s", finding->rule, shown ? " at " : "", shown ? shown : "",
        person ? "it can hurt a person; who accepts that, and why, is still to be written"
               : "the reason is still to be written");
    seeking->waivers += offer(
        seeking,
        &(struct proveout_action){
            .title = title,
            .kind = PROVEOUT_ACTION_WAIVE,
            .asks = person ? "A failure of this rule can hurt a person. Does somebody who may "
                             "decide that accept it, by name and for less than a year?"
                           : "Does somebody accept this finding as it is, with a reason?",
            .finding = index,
            .edits = editing_end(&editing)});
}

/* --- keys that are needed --- */

struct missing {
    struct section_missing {
        const struct sketch_node *node; /* the section, or the nearest around it */
        VECTOR(const char *) paths;
        const char *section; /* that is not there at all; NULL: keys of the node */
    } * items;
    size_t count, capacity;
};

/* The deepest section on the way to `path` that this file has, or NULL; `*rest` is what lies
 * below.
 */
static const struct sketch_node *deepest(const struct sketch *sketch, const char *path,
                                         const char **rest)
{
    for (size_t size = strlen(path); size; size--) {
        if (path[size - 1] != '.')
            continue;
        const struct sketch_node *node = sketch_at(sketch, (struct view){path, size - 1});
        *rest = path + size;
        if (node)
            return node;
    }
    *rest = path;
    return &sketch->root;
}

static void add_missing(struct seeking *seeking, struct missing *missing, const char *path)
{
    const struct sketch *sketch = document_sketch(seeking->document);
    const char *rest;
    const struct sketch_node *node = deepest(sketch, path, &rest);
    size_t name = strcspn(rest, ".");
    const char *section =
        rest[name] ? arena_copy(seeking->arena, path, (size_t)(rest - path) + name) : NULL;
    size_t i = 0;
    while (i < missing->count &&
           (missing->items[i].node != node || !same_text(missing->items[i].section, section)))
        i++;
    if (i == missing->count)
        VECTOR_ADD(seeking->arena, missing,
                   (struct section_missing){.node = node, .section = section});
    VECTOR_ADD(seeking->arena, &missing->items[i].paths, path);
}

static void find_missing(struct seeking *seeking, struct missing *missing)
{
    const struct machine *machine = &seeking->document->file->machine;
    for (enum field_id id = 0; id < FIELD_COUNT; id++) {
        enum field_group group = field_table[id].group;
        const struct machine_group *records = &machine->groups[group];
        uint32_t count = group_table[group].shape == SHAPE_AXES || group == GROUP_ROOT
                             ? records->count
                             : records->written;
        if (!field_table[id].needed || !machine_needs(machine, id))
            continue;
        for (uint32_t i = 0; i < count; i++)
            if (machine_field(machine, id, i)->state == VALUE_ABSENT &&
                machine_is_written(machine, id, i))
                add_missing(seeking, missing, machine_path(seeking->arena, machine, id, i, 0));
    }
}

static struct span span_of_section(const struct sketch_node *node)
{
    uint32_t end = node->span.end > node->key_span.end ? node->span.end : node->key_span.end;
    return (struct span){node->start, end};
}

/* The finding that tells of it, where it lies in what is asked about. */
static size_t finding_of(const struct seeking *seeking, const struct section_missing *section)
{
    const struct file_report *report = &seeking->document->result.report;
    for (size_t i = 0; i < report->count; i++) {
        const struct finding *finding = &report->findings[i];
        if (strcmp(finding->rule, "missing-key") != 0 ||
            finding->at.source != seeking->document->source || !finding->at.field ||
            !overlaps(finding->at.span, seeking->within))
            continue;
        bool named = section->section ? same_text(finding->at.field, section->section) : false;
        for (size_t k = 0; k < section->paths.count && !named; k++)
            named = same_text(finding->at.field, section->paths.items[k]);
        if (named)
            return i;
    }
    return PROVEOUT_NO_FINDING;
}

static void add_keys(struct seeking *seeking, const struct section_missing *section)
{
    struct arena *arena = seeking->arena;
    const char *path = section->section ? section->section : sketch_path(arena, section->node);
    size_t count = section->paths.count, index = finding_of(seeking, section);
    bool around = section->node->parent && !section->section &&
                  overlaps(span_of_section(section->node), seeking->within);
    struct editing editing;
    if (index == PROVEOUT_NO_FINDING && !around)
        return;
    editing_begin(&editing, seeking->document);
    for (size_t i = 0; i < count; i++)
        if (!editing_set(&editing, section->paths.items[i], NULL))
            return;
    const char *title = arena_format(
        arena, "add %s %s %s, still to be filled in",
        section->section ? "the section"
        : count == 1     ? "the key that"
                         : "the keys that",
        *path ? escape_short(arena, view_of(path), SHOWN) : "the file",
        section->section ? arena_format(arena, "with %zu key%s", count, count == 1 ? "" : "s")
                         : "needs");
    offer(seeking, &(struct proveout_action){.title = title,
                                             .kind = PROVEOUT_ACTION_ADD,
                                             .finding = index,
                                             .edits = editing_end(&editing)});
}

void actions_machine(struct proveout_document *document, struct span within,
                     struct actions *out)
{
    struct seeking seeking = {document, document_arena(document), within, out, 0};
    struct missing missing = {0};
    if (document->result.answer.status != PROVEOUT_REFUSED) {
        const struct file_report *report = with_fixes(document);
        for (size_t i = 0; i < report->count; i++) {
            const struct finding *finding = &report->findings[i];
            if (finding->outcome != OUTCOME_FAILED || !finding->at.source ||
                finding->at.source->base != 0 || path_of(&seeking, finding->at.source) ||
                !overlaps(finding->at.span, within))
                continue;
            size_t index = index_of(document, finding);
            add_fixes(&seeking, finding, index);
            add_waiver(&seeking, finding, index);
        }
    }
    if (document->file->own.status != TREE_WHOLE)
        return;
    find_missing(&seeking, &missing);
    for (size_t i = 0; i < missing.count; i++)
        add_keys(&seeking, &missing.items[i]);
}
