#include "library/document_shape.h"

#include "mend/mend.h"
#include "report/explain.h"

const struct sketch *document_sketch(struct proveout_document *document)
{
    if (!document->sketch) {
        struct arena *arena = document_arena(document);
        struct sketch *sketch = ARENA_NEW(arena, struct sketch);
        sketch_read(sketch, arena, document->source);
        document->sketch = sketch;
    }
    return document->sketch;
}

/* --- what a node stands for --- */

/* The group that stands under a key at the top of the file. */
static enum field_group group_of(struct view key)
{
    for (int group = GROUP_ROOT + 1; group < GROUP_COUNT; group++)
        if (view_is(key, group_table[group].key))
            return (enum field_group)group;
    return GROUP_ROOT;
}

static bool is_axis(struct view key)
{
    return key.size == 1 && *key.data >= 'x' && *key.data <= 'z';
}

/* Is a node the name of a record below its section: an axis, an input? */
static bool is_record_name(enum field_group group, const struct sketch_node *node)
{
    switch (group_table[group].shape) {
    case SHAPE_AXES:
        return is_axis(node->key);
    case SHAPE_NAMES:
        return true;
    case SHAPE_ROOT:
    case SHAPE_LIST:
        break;
    }
    return false;
}

const char *shape_general(struct arena *arena, const struct sketch_node *node)
{
    const struct sketch_node *way[SKETCH_DEPTH_MAX];
    size_t depth = 0;
    struct buffer out;
    for (; node->parent && depth < SKETCH_DEPTH_MAX; node = node->parent)
        way[depth++] = node;
    if (!depth)
        return "";
    enum field_group group = group_of(way[depth - 1]->key);
    buffer_init(&out, arena);
    for (size_t i = depth; i--;) {
        bool record = i + 2 == depth && group != GROUP_ROOT && is_record_name(group, way[i]);
        if (way[i]->parent->kind == SKETCH_LIST) {
            buffer_text(&out, "[]");
            continue;
        }
        if (out.size)
            buffer_byte(&out, '.');
        if (record)
            buffer_byte(&out, '*');
        else
            buffer_add(&out, way[i]->key);
    }
    return buffer_string(&out);
}

struct shape_field shape_field(struct arena *arena, const struct sketch_node *node)
{
    struct shape_field out = {FIELD_COUNT, 0, NULL};
    const struct sketch_node *below = NULL;
    for (; node->parent; below = node, node = node->parent) {
        if (node->bare || !node->key.size)
            continue;
        out.id = field_find(view_of(shape_general(arena, node)));
        if (out.id == FIELD_COUNT)
            continue;
        bool pair = field_table[out.id].kind == KIND_PAIR && below &&
                    node->kind == SKETCH_LIST && below->index < 2;
        out.part = pair ? (uint8_t)(below->index + 1) : 0;
        out.node = node;
        return out;
    }
    return out;
}

const char *shape_calling_key(enum field_group group)
{
    switch (group) {
    case GROUP_CUTTER:
        return "number";
    case GROUP_OBSTACLE:
    case GROUP_SETTER:
    case GROUP_ATTACHMENT:
        return "name";
    default:
        return NULL;
    }
}

const char *shape_lasting(struct arena *arena, const struct sketch_node *node)
{
    const char *path = sketch_path(arena, node);
    const struct sketch_node *item = node;
    while (item->parent && item->parent->kind != SKETCH_LIST)
        item = item->parent;
    if (!item->parent || item->parent->parent == NULL || item->parent->parent->parent)
        return path;
    const char *by = shape_calling_key(group_of(item->parent->key));
    const struct sketch_node *called = by ? sketch_child(item, view_of(by)) : NULL;
    const char *rest = strchr(path, ']');
    if (!called || called->kind != SKETCH_TEXT ||
        memchr(called->text.data, ']', called->text.size))
        return path;
    return arena_format(arena, "%.*s[%s=%.*s%s", VIEW(item->parent->key), by,
                        VIEW(called->text), rest);
}

bool shape_place(struct proveout_document *document, const struct machine *machine,
                 const struct shape_field *field, struct field_place *out)
{
    struct arena *arena = document_arena(document);
    if (field->id == FIELD_COUNT)
        return false;
    /* Lists of several files are one list, in which an item may have another index. */
    const char *path = document->file->tree.source->next ? shape_lasting(arena, field->node)
                                                         : sketch_path(arena, field->node);
    if (machine_resolve(arena, machine, view_of(path), out, 1) != 1)
        return false;
    if (field->part)
        out->part = field->part;
    return true;
}

/* --- what may stand in a section --- */

static void add_key(struct arena *arena, struct shape_keys *out, const char *general,
                    struct shape_key key)
{
    for (size_t i = 0; i < out->items.count; i++)
        if (view_equal(out->items.items[i].name, key.name)) {
            out->items.items[i].end = key.end;
            return;
        }
    const char *path =
        arena_format(arena, "%s%s%.*s", general, *general ? "." : "", VIEW(key.name));
    key.rank = field_rank(view_of(path));
    VECTOR_ADD(arena, &out->items, key);
}

/* What of a field's path lies below `general`; NULL where the field does not. */
static const char *below(const char *path, const char *general)
{
    size_t size = strlen(general);
    if (!size)
        return path;
    if (strncmp(path, general, size) != 0)
        return NULL;
    return path[size] == '.' || path[size] == '[' ? path + size + (path[size] == '.') : NULL;
}

static void add_field(struct arena *arena, struct shape_keys *out, const char *general,
                      enum field_id id)
{
    const char *rest = below(field_path(arena, id), general);
    enum field_group group = field_table[id].group;
    if (!rest || *rest == '[')
        return;
    if (*rest == '*') {
        static const char axes[] = "xyz";
        for (size_t i = 0; i < 3 && group_table[group].shape == SHAPE_AXES; i++)
            add_key(arena, out, general,
                    (struct shape_key){.name = {axes + i, 1},
                                       .first = group_table[group].first,
                                       .end = group_table[group].end});
        return;
    }
    size_t size = strcspn(rest, ".[");
    struct shape_key key = {.name = {rest, size}, .first = id, .end = id + 1};
    key.leaf = rest[size] == '\0';
    key.group = *general ? GROUP_ROOT : group_of(key.name);
    add_key(arena, out, general, key);
}

/* Keys by which a file takes in another: they stand for no field. */
static void add_taking(struct arena *arena, struct shape_keys *out, const char *general)
{
    struct explain_row row;
    for (size_t i = 0; explain_taking_row(i, &row); i++) {
        const char *rest = below(row.what, general);
        if (!rest || strchr(rest, '.') || strcmp(rest, "<<") == 0)
            continue;
        struct shape_key key = {.name = view_of(rest),
                                .first = FIELD_COUNT,
                                .end = FIELD_COUNT,
                                .leaf = true,
                                .told = row.text};
        add_key(arena, out, general, key);
    }
}

void shape_keys(struct arena *arena, const char *general, struct shape_keys *out)
{
    *out = (struct shape_keys){0};
    for (enum field_id id = 0; id < FIELD_COUNT; id++)
        add_field(arena, out, general, id);
    add_taking(arena, out, general);
    struct shape_key *items = out->items.items;
    for (size_t i = 1; i < out->items.count; i++)
        for (size_t k = i; k && items[k].rank < items[k - 1].rank; k--) {
            struct shape_key earlier = items[k];
            items[k] = items[k - 1];
            items[k - 1] = earlier;
        }
}

/* --- the machine of a broken file --- */

/* The file with blanks in the place of `gone`, where it can be read to its end so. */
static const struct machine *without(struct proveout_document *document, struct span gone)
{
    struct arena *arena = document_arena(document);
    struct view bytes = document->source->bytes;
    char *copy = arena_copy(arena, bytes.data, bytes.size);
    memset(copy + gone.start, ' ', gone.end - gone.start);
    struct machine_file *file = ARENA_NEW(arena, struct machine_file);
    machine_file_read(arena, document->file->path, (struct view){copy, bytes.size},
                      document->file->shared, file);
    return file->tree.status == TREE_WHOLE ? &file->machine : NULL;
}

const struct machine *document_machine(struct proveout_document *document, uint32_t offset)
{
    struct view bytes = document->source->bytes;
    struct span line = {offset, offset};
    if (document->file->own.status == TREE_WHOLE || bytes.size > MEND_BYTES)
        return &document->file->machine;
    while (line.start && bytes.data[line.start - 1] != '\n')
        line.start--;
    while (line.end < bytes.size && bytes.data[line.end] != '\n' &&
           bytes.data[line.end] != '\r')
        line.end++;
    struct span word = {offset, offset};
    while (word.start > line.start && bytes.data[word.start - 1] > ' ')
        word.start--;
    const struct machine *machine = without(document, line);
    if (!machine && word.start < word.end)
        machine = without(document, word);
    return machine ? machine : &document->file->machine;
}

/* --- layout --- */

const char *document_line_end(const struct proveout_document *document)
{
    struct view bytes = document->source->bytes;
    const char *end = bytes.size ? memchr(bytes.data, '\n', bytes.size) : NULL;
    return end && end > bytes.data && end[-1] == '\r' ? "\r\n" : "\n";
}

uint32_t document_step(struct proveout_document *document)
{
    const struct sketch_node *root = &document_sketch(document)->root;
    for (const struct sketch_node *child = root->first; child; child = child->next)
        if (child->kind == SKETCH_MAP && !child->flow && child->column > root->column)
            return child->column - root->column;
    return 2;
}
