/* Where things are said, and where they are spoken of. */
#include "library/document_names.h"

#include "tree/compose.h"

static void add(struct proveout_document *document, struct targets *out,
                struct proveout_target target)
{
    VECTOR_ADD(document_arena(document), &out->list, target);
}

/* --- in other files --- */

static void add_file(struct proveout_document *document, struct targets *out, struct view path)
{
    if (path.size && !memchr(path.data, '\0', path.size))
        add(document, out,
            (struct proveout_target){
                .path = arena_copy(document_arena(document), path.data, path.size)});
}

static struct span line_around(const struct source *source, struct span span)
{
    const char *data = source->bytes.data;
    while (span.start && data[span.start - 1] != '\n')
        span.start--;
    while (span.end < source->bytes.size && data[span.end] != '\n' && data[span.end] != '\r')
        span.end++;
    return span;
}

/* The line of the controller's own file that an agreement means. */
static bool add_agreement(struct proveout_document *document, struct targets *out,
                          const struct shape_field *field)
{
    struct arena *arena = document_arena(document);
    const struct machine *machine = &document->file->machine;
    struct field_place place;
    struct agreement_told told;
    if (!shape_place(document, machine, field, &place))
        return false;
    const struct field_value *file = machine_field(machine, FIELD_AGREEMENT_FILE, place.record);
    if (file->state != VALUE_GIVEN)
        return false;
    bool looked = agreement_look(arena, machine, &document->question->request.agreements,
                                 place.record, &told);
    if (!looked || told.found.end <= told.found.start) {
        add_file(document, out, file->text);
        return true;
    }
    struct span line = line_around(told.source, told.found);
    add(document, out,
        (struct proveout_target){arena_copy(arena, file->text.data, file->text.size),
                                 span_out(line), span_out(told.found)});
    return true;
}

/* A rule of the user's own rulebooks. */
static void add_rule(struct proveout_document *document, struct targets *out, struct view name)
{
    const struct request *request = &document->question->request;
    struct arena *arena = document_arena(document);
    for (size_t i = 0; i < request->own_count; i++) {
        struct source *source = ARENA_NEW(arena, struct source);
        struct sketch *sketch = ARENA_NEW(arena, struct sketch);
        source_init(source, arena, view_of(request->own[i].name),
                    (struct view){request->own[i].bytes, request->own[i].size});
        sketch_read(sketch, arena, source);
        const struct sketch_node *rules = sketch_child(&sketch->root, view_of("rules"));
        const struct sketch_node *rule = rules ? sketch_child(rules, name) : NULL;
        if (rule)
            add(document, out,
                (struct proveout_target){request->own[i].name,
                                         {rule->start, rule->span.end},
                                         span_out(rule->key_span)});
    }
}

/* What is given at a place is the name of another file, or leads to a place in one. */
static bool add_elsewhere(struct proveout_document *document, uint32_t offset,
                          struct targets *out)
{
    struct arena *arena = document_arena(document);
    bool on_key;
    const struct sketch_node *node = sketch_touched(document_sketch(document), offset, &on_key);
    if (!node || on_key || node->kind != SKETCH_TEXT)
        return false;
    const char *general = shape_general(arena, node);
    struct shape_field field = shape_field(arena, node);
    if (strcmp(general, "extends") == 0 || strcmp(general, "extends[]") == 0 ||
        strcmp(general, "cutters.from") == 0) {
        add_file(document, out, node->text);
        return true;
    }
    if (field.id == FIELD_WAIVER_RULE) {
        add_rule(document, out, node->text);
        return true;
    }
    bool agreement = field.id == FIELD_AGREEMENT_FILE || field.id == FIELD_AGREEMENT_PATTERN;
    return agreement && add_agreement(document, out, &field);
}

/* A field that stands in a file which this one takes in. */
static void add_shared(struct proveout_document *document, struct targets *out,
                       struct view path)
{
    struct arena *arena = document_arena(document);
    const struct machine *machine = &document->file->machine;
    struct field_place place;
    if (!document->source->next || field_find(path) == FIELD_COUNT ||
        machine_resolve(arena, machine, path, &place, 1) != 1)
        return;
    const struct field_value *value = machine_field(machine, place.field, place.record);
    if (!value->node)
        return;
    struct span span = value->node->span, key = value->node->key_span;
    struct source *source = source_holding(document->source, &span);
    (void)source_holding(document->source, &key);
    if (source == document->source)
        return;
    struct view name = source->name, root = view_of(document->file->shared->root);
    if (name.size > root.size && memcmp(name.data, root.data, root.size) == 0)
        name = view_skip(name, root.size);
    bool keyed = key.end > key.start;
    add(document, out,
        (struct proveout_target){arena_copy(arena, name.data, name.size),
                                 {keyed ? key.start : span.start, span.end},
                                 span_out(keyed ? key : span)});
}

/* --- here --- */

static void add_said(struct proveout_document *document, const struct uses *uses,
                     const struct use *use, struct targets *out)
{
    for (size_t i = 0; i < uses->list.count; i++) {
        const struct use *other = &uses->list.items[i];
        if (other->defines && use_is_of(other, use))
            add(document, out,
                (struct proveout_target){NULL, span_out(other->whole), span_out(other->span)});
    }
}

static void add_field(struct proveout_document *document, struct view path, struct targets *out)
{
    const struct sketch_node *node = sketch_at(document_sketch(document), path);
    if (!node || !node->parent)
        return;
    bool keyed = node->key_span.end > node->key_span.start;
    uint32_t end = node->span.end > node->key_span.end ? node->span.end : node->key_span.end;
    add(document, out,
        (struct proveout_target){
            NULL,
            {node->start, end},
            span_out(keyed ? node->key_span : (struct span){node->start, end})});
}

void targets_said(struct proveout_document *document, uint32_t offset, struct targets *out)
{
    struct uses uses = {0};
    bool on_key;
    if (document->file && add_elsewhere(document, offset, out))
        return;
    uses_collect(document, &uses);
    struct use use = uses_at(document, &uses, offset);
    if (use.thing == THING_FIELD)
        add_field(document, use.name, out);
    else if (use.thing != THING_NONE)
        add_said(document, &uses, &use, out);
    const struct sketch_node *node = sketch_touched(document_sketch(document), offset, &on_key);
    if (document->file && !out->list.count && node && !on_key && node->kind == SKETCH_TEXT)
        add_shared(document, out, node->text);
}

void targets_spoken(struct proveout_document *document, uint32_t offset, bool with_definition,
                    struct targets *out)
{
    struct uses uses = {0};
    uses_collect(document, &uses);
    struct use use = uses_at(document, &uses, offset);
    if (use.thing == THING_NONE)
        return;
    if (use.thing == THING_FIELD && with_definition)
        add_field(document, use.name, out);
    for (size_t i = 0; i < uses.list.count; i++) {
        const struct use *other = &uses.list.items[i];
        if (!use_is_of(other, &use) || (other->defines && !with_definition))
            continue;
        struct span whole = other->defines ? other->whole : other->span;
        add(document, out,
            (struct proveout_target){NULL, span_out(whole), span_out(other->span)});
    }
}
