#include "library/document_names.h"

#include <stdlib.h>

#include "library/document_answers.h"

struct collection {
    struct proveout_document *document;
    struct arena *arena;
    const struct sketch *sketch;
    struct uses *out;
};

static void add(struct collection *to, struct use use)
{
    VECTOR_ADD(to->arena, &to->out->list, use);
}

static struct span whole_of(const struct sketch_node *node)
{
    uint32_t end = node->span.end > node->key_span.end ? node->span.end : node->key_span.end;
    return (struct span){node->start, end};
}

/* A part of a node's text, in the file; `*exact`: it stands there as it is. */
static struct span part_span(const struct sketch_node *node, struct view part, bool *exact)
{
    uint32_t at = (uint32_t)(part.data - node->text.data);
    uint32_t size = node->span.end - node->span.start, quotes = node->plain ? 0 : 1;
    *exact = size == node->text.size + 2 * quotes;
    if (!*exact)
        return node->span;
    return (struct span){node->span.start + quotes + at,
                         node->span.start + quotes + at + (uint32_t)part.size};
}

/* --- paths within texts --- */

/* The list that a record of `group` is in, here. */
static const struct sketch_node *list_of(const struct collection *to, enum field_group group)
{
    return sketch_child(&to->sketch->root, view_of(group_table[group].key));
}

static void add_part(struct collection *to, const struct sketch_node *node, struct view part,
                     struct use use)
{
    use.span = part_span(node, part, &use.exact);
    add(to, use);
}

/* "cutters[number=3].stickout", "cutters[2].stickout" */
static void add_item(struct collection *to, const struct sketch_node *node,
                     enum field_group group, struct view inside)
{
    const char *by = shape_calling_key(group);
    struct view value = inside, key = view_take(&value, '=');
    struct use use = {.thing = THING_RECORD, .group = group};
    if (key.size < inside.size && by && view_is(view_trim(key), by)) {
        use.name = view_trim(value);
        add_part(to, node, use.name, use);
        return;
    }
    const struct sketch_node *list = list_of(to, group);
    const struct sketch_node *item = list && list->kind == SKETCH_LIST ? list->first : NULL;
    const char *digits = arena_copy(to->arena, inside.data, inside.size);
    unsigned long index = strtoul(digits, NULL, 10);
    while (item && item->index != index)
        item = item->next;
    const struct sketch_node *called = item && by ? sketch_child(item, view_of(by)) : NULL;
    if (!called || called->kind != SKETCH_TEXT)
        return;
    use.name = called->text;
    use.span = part_span(node, inside, &use.exact);
    use.exact = false; /* its place in the list, not its name */
    add(to, use);
}

/* "cutter 3 stickout" */
static bool add_spoken(struct collection *to, const struct sketch_node *node)
{
    struct view text = node->text;
    for (int group = GROUP_ROOT + 1; group < GROUP_COUNT; group++) {
        const char *record = group_table[group].record;
        size_t size = strlen(record);
        if (!shape_calling_key((enum field_group)group) || !view_starts(text, record) ||
            text.size <= size || text.data[size] != ' ')
            continue;
        struct view rest = view_trim(view_skip(text, size));
        while (rest.size && rest.data[rest.size - 1] != ' ')
            rest.size--;
        rest = view_trim(rest);
        if (rest.size)
            add_part(to, node, rest,
                     (struct use){.thing = THING_RECORD,
                                  .group = (enum field_group)group,
                                  .name = rest});
        return true;
    }
    return false;
}

/* The longest name of an input with which the path goes on, since names may hold points. */
static struct view input_in(const struct collection *to, struct view path)
{
    const struct sketch_node *inputs = list_of(to, GROUP_INPUT);
    struct view found = {path.data, 0};
    for (const struct sketch_node *input = inputs ? inputs->first : NULL; input;
         input = input->next) {
        size_t size = input->key.size;
        if (size > found.size && size <= path.size &&
            memcmp(input->key.data, path.data, size) == 0 &&
            (size == path.size || path.data[size] == '.'))
            found.size = size;
    }
    return found;
}

static void add_path(struct collection *to, const struct sketch_node *node)
{
    static const char inputs[] = "inputs.";
    struct view text = node->text;
    const struct sketch_node *field = names_field(to->document, text);
    if (field)
        add_part(
            to, node, text,
            (struct use){.thing = THING_FIELD, .name = view_of(sketch_path(to->arena, field))});
    if (add_spoken(to, node))
        return;
    if (view_starts(text, inputs)) {
        struct view name = input_in(to, view_skip(text, sizeof inputs - 1));
        if (name.size)
            add_part(to, node, name, (struct use){.thing = THING_INPUT, .name = name});
        return;
    }
    const char *open = memchr(text.data, '[', text.size);
    const char *close = open ? memchr(open, ']', text.size - (size_t)(open - text.data)) : NULL;
    for (int group = GROUP_ROOT + 1; close && group < GROUP_COUNT; group++) {
        struct view key = {text.data, (size_t)(open - text.data)};
        if (view_is(key, group_table[group].key))
            add_item(to, node, (enum field_group)group,
                     (struct view){open + 1, (size_t)(close - open) - 1});
    }
}

/* --- collecting --- */

static void add_anchor(struct collection *to, const struct sketch_node *node)
{
    if (node->anchor.end > node->anchor.start)
        add(to, (struct use){.thing = THING_ANCHOR,
                             .name = source_slice(to->sketch->source, node->anchor),
                             .span = node->anchor,
                             .whole = whole_of(node),
                             .defines = true,
                             .exact = true});
    if (node->kind == SKETCH_ALIAS)
        add(to, (struct use){.thing = THING_ANCHOR,
                             .name = node->text,
                             .span = {node->span.start + 1, node->span.end},
                             .exact = true});
}

static void add_text(struct collection *to, const struct sketch_node *node, enum field_id id)
{
    if (field_table[id].kind == KIND_INPUT) {
        add_part(to, node, node->text, (struct use){.thing = THING_INPUT, .name = node->text});
    } else if (id == FIELD_CHANGE_SETTER) {
        add_part(
            to, node, node->text,
            (struct use){.thing = THING_RECORD, .group = GROUP_SETTER, .name = node->text});
    } else if (id == FIELD_WAIVER_WHERE || id == FIELD_AGREEMENT_FIELD) {
        add_path(to, node);
    } else if (id == FIELD_CUTTER_NUMBER || id == FIELD_OBSTACLE_NAME ||
               id == FIELD_SETTERS_NAME || id == FIELD_ATTACHMENT_NAME) {
        struct use use = {.thing = THING_RECORD,
                          .group = field_table[id].group,
                          .name = node->text,
                          .whole = whole_of(node->parent),
                          .defines = true};
        add_part(to, node, node->text, use);
    }
}

/* Fields are only looked for where their key may have to do with names: a long list has many.
 */
static bool may_name(const struct sketch_node *node)
{
    static const char *const keys[] = {"number", "name", "where", "field", "setter", "input"};
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
        if (view_is(node->key, keys[i]))
            return true;
    return node->key.size > 6 && view_is(view_skip(node->key, node->key.size - 6), "_input");
}

void uses_collect(struct proveout_document *document, struct uses *out)
{
    struct collection to = {document, document_arena(document), document_sketch(document), out};
    if (document->book) {
        uses_book(document, out);
        return;
    }
    const struct sketch_node *root = &to.sketch->root;
    const struct sketch_node *inputs = list_of(&to, GROUP_INPUT);
    for (const struct sketch_node *node = sketch_next(root, root); node;
         node = sketch_next(node, root)) {
        add_anchor(&to, node);
        if (inputs && node->parent == inputs && node->key.size && !node->bare)
            add(&to, (struct use){.thing = THING_INPUT,
                                  .name = node->key,
                                  .span = node->key_span,
                                  .whole = whole_of(node),
                                  .defines = true,
                                  .exact = true});
        if (node->kind != SKETCH_TEXT || node->bare || !node->text.size || !may_name(node))
            continue;
        enum field_id id = field_find(view_of(shape_general(to.arena, node)));
        if (id != FIELD_COUNT)
            add_text(&to, node, id);
    }
}

const struct sketch_node *names_field(struct proveout_document *document, struct view path)
{
    const struct sketch *sketch = document_sketch(document);
    struct arena *arena = document_arena(document);
    const struct machine *machine = &document->file->machine;
    const struct sketch_node *node = sketch_at(sketch, path);
    struct field_place place;
    if (!path.size || path.size > TREE_TEXT_MAX)
        return NULL;
    if (!node && field_find(path) != FIELD_COUNT &&
        machine_resolve(arena, machine, path, &place, 1) == 1) {
        const char *own = machine_path(arena, machine, place.field, place.record, 0);
        node = sketch_at(sketch, view_of(machine_lasting_path(arena, machine, own)));
    }
    return node && node->parent ? node : NULL;
}

static bool touches(struct span span, uint32_t offset)
{
    return span.start <= offset && offset <= span.end && span.start < span.end;
}

struct use uses_at(struct proveout_document *document, const struct uses *uses, uint32_t offset)
{
    struct use found = {.thing = THING_NONE};
    for (size_t i = 0; i < uses->list.count; i++) {
        const struct use *use = &uses->list.items[i];
        if (touches(use->span, offset) &&
            (found.thing == THING_NONE ||
             use->span.end - use->span.start < found.span.end - found.span.start))
            found = *use;
    }
    bool on_key;
    const struct sketch_node *node = sketch_touched(document_sketch(document), offset, &on_key);
    if (found.thing != THING_NONE || !node || !on_key || node->bare || document->book)
        return found;
    const char *path = sketch_path(document_arena(document), node);
    return (struct use){.thing = THING_FIELD,
                        .name = view_of(path),
                        .span = node->key_span,
                        .whole = whole_of(node),
                        .defines = true};
}

bool use_is_of(const struct use *use, const struct use *other)
{
    return use->thing == other->thing && use->group == other->group &&
           view_equal(use->name, other->name);
}
