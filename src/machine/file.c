/* One machine file: its bytes read, its values found, told and set. */
#include "machine/file.h"

#include "machine/internal.h"
#include "quantity/quantity.h"
#include "text/escape.h"
#include "text/utf8.h"
#include "tree/change.h"

enum { SHOWN = 60 };

void machine_file_read(struct arena *arena, const char *path, struct view bytes,
                       const struct shared_files *shared, struct machine_file *out)
{
    out->path = path;
    out->bytes = bytes;
    out->shared = shared;
    out->edited = (struct edited_files){0};
    source_init(&out->source, arena, view_of(path), bytes);
    sink_init(&out->sink, arena, &out->source);
    tree_read(&out->own, arena, &out->source, &out->sink);
    tree_compose(&out->tree, arena, &out->own, shared, &out->sink);
    machine_read(&out->machine, arena, &out->tree, &out->sink);
}

size_t machine_file_errors(const struct machine_file *file)
{
    size_t count = 0;
    for (size_t i = 0; i < file->sink.findings.count; i++)
        count += file->sink.findings.items[i].level == LEVEL_ERROR;
    return count;
}

const char *machine_file_no_place(struct arena *arena, const struct machine_file *file,
                                  const char *path)
{
    const char *shown = escape_short(arena, view_of(path), SHOWN);
    if (field_find(view_of(path)) != FIELD_COUNT)
        return arena_format(arena, "%s is not in %s", shown, file->path);
    const char *near = field_nearest(arena, view_of(path));
    return arena_format(arena, "there is no field %s%s%s%s", shown,
                        near ? "; did you mean " : "", near ? near : "", near ? "?" : "");
}

const char *machine_file_path(struct arena *arena, const struct machine_file *file,
                              const struct field_place *place)
{
    return machine_path(arena, &file->machine, place->field, place->record, place->part);
}

const char *machine_file_text(struct arena *arena, const struct machine_file *file,
                              const struct field_place *place)
{
    const struct field_value *value =
        machine_field(&file->machine, place->field, place->record);
    if (value->state != VALUE_GIVEN)
        return "";
    if (!place->part)
        return field_value_text(arena, place->field, value);
    const struct field_value *half = &value->pair[place->part - 1];
    return quantity_text_with(arena, half->si, half->tolerance,
                              field_table[place->field].dimension, half->unit);
}

const char *machine_file_find(struct arena *arena, const struct machine_file *file,
                              const char *path, struct field_place *out)
{
    struct field_place places[2];
    size_t count = machine_resolve(arena, &file->machine, view_of(path), places, 2);
    if (count > 1)
        return arena_format(arena, "%s stands for several values; name one",
                            escape_short(arena, view_of(path), SHOWN));
    if (!count)
        return machine_file_no_place(arena, file, path);
    *out = places[0];
    return NULL;
}

/* Setting a value. */

static uint32_t rank(const void *user, struct view path)
{
    (void)user;
    return field_rank(path);
}

/* A list as it stands in a file, in brackets, from what people type with or without them. */
static const char *list_text(struct arena *arena, struct view text)
{
    struct buffer out;
    buffer_init(&out, arena);
    if (text.size >= 2 && text.data[0] == '[' && text.data[text.size - 1] == ']')
        text = view_trim((struct view){text.data + 1, text.size - 2});
    buffer_byte(&out, '[');
    while (text.size) {
        struct view item = view_trim(view_take(&text, ','));
        buffer_format(&out, "%s%s", out.size > 1 ? ", " : "", change_quoted(arena, item, true));
    }
    buffer_byte(&out, ']');
    return buffer_string(&out);
}

static const char *write_one(struct arena *arena, const struct tree *tree,
                             const struct value_change *change, struct view *bytes)
{
    static const struct change_order order = {rank, NULL};
    const char *why = NULL;
    bool refused = change_value(arena, tree, change, &order, bytes, &why) == CHANGE_REFUSED;
    return refused ? why : NULL;
}

/* Item by item, so that a list laid out one item a line stays so, and comments stay with their
 * items. */
static const char *write_items(struct arena *arena, const struct tree *tree, const char *path,
                               const struct tree_node *new, struct view *bytes)
{
    const char *why = NULL;
    const struct tree_node *item = new->first;
    for (unsigned i = 0; item && !why; item = item->next, i++) {
        const struct value_change change = {view_of(arena_format(arena, "%s[%u]", path, i)),
                                            item->text, item->kind == TREE_TEXT, false};
        if (i)
            tree = tree_of(arena, tree->source->name, *bytes);
        why = write_one(arena, tree, &change, bytes);
    }
    return why;
}

/* Takes the lines of a key out of a block map of which it is not the only one.  False where it
 * shares them with something else, or a comment would go with it. */
static bool take_out_key(struct arena *arena, const struct tree *tree, const char *path,
                         const struct tree_node *key, struct view *bytes)
{
    struct view whole = tree->source->bytes;
    size_t start = key->key_span.start, end = key->span.end;
    while (start > 0 && whole.data[start - 1] == ' ')
        start--;
    while (end < whole.size && whole.data[end] != '\n')
        end++;
    end += end < whole.size;
    if (start == 0 || whole.data[start - 1] != '\n' ||
        memchr(whole.data + start, '#', end - start))
        return false;
    struct buffer out;
    buffer_init(&out, arena);
    buffer_add(&out, (struct view){whole.data, start});
    buffer_add(&out, view_skip(whole, end));
    const struct tree *left = tree_of(arena, tree->source->name, buffer_view(&out));
    const struct tree_node *map = tree_at(left, view_of(path));
    const struct tree_node *was = tree_at(tree, view_of(path));
    if (left->status != TREE_WHOLE || !map || map->kind != TREE_MAP ||
        map->count + 1 != was->count || tree_child(map, key->key))
        return false;
    *bytes = buffer_view(&out);
    return true;
}

/* Readings in the place of others, key by key, so that layout and comments stay.  False where
 * that cannot be done. */
static bool write_readings(struct arena *arena, const struct tree *tree, const char *path,
                           struct view text, struct view *bytes)
{
    const struct tree_node *old = tree_at(tree, view_of(path));
    const char *alone = arena_format(arena, "value: %.*s", VIEW(text));
    const struct tree_node *root = tree_of(arena, (struct view){0}, view_of(alone))->root;
    const struct tree_node *new = root ? root->first : NULL;
    if (!old || !new || old->kind != TREE_MAP || new->kind != TREE_MAP)
        return false;
    for (const struct tree_node *key = new->first; key; key = key->next) {
        const char *at = arena_format(arena, "%s.%.*s", path, VIEW(key->key));
        const struct tree_node *was = tree_child(old, key->key);
        struct view said = {alone + key->span.start, key->span.end - key->span.start};
        bool is_list = key->kind == TREE_LIST;
        bool lines = is_list && was && was->kind == TREE_LIST && was->style == STYLE_BLOCK;
        if (lines && was->count > key->count)
            return false;
        const char *why =
            lines ? write_items(arena, tree, at, key, bytes)
                  : write_one(arena, tree,
                              &(struct value_change){view_of(at), is_list ? said : key->text,
                                                     !is_list, false},
                              bytes);
        if (why)
            return false;
        tree = tree_of(arena, tree->source->name, *bytes);
    }
    for (const struct tree_node *key = old->first; key; key = key->next) {
        if (tree_child(new, key->key))
            continue;
        const struct tree_node *map = tree_at(tree, view_of(path));
        if (!map || map->style != STYLE_BLOCK ||
            !take_out_key(arena, tree, path, tree_child(map, key->key), bytes))
            return false;
        tree = tree_of(arena, tree->source->name, *bytes);
    }
    return true;
}

const char *field_write(struct arena *arena, const struct tree *tree, const char *path,
                        struct view text, bool list, struct view *bytes)
{
    const struct tree_node *old = tree_at(tree, view_of(path));
    /* One number takes the place of readings with all that stands beside them. */
    bool over_map = old && node_has_readings(old);
    enum field_id id = field_find(view_of(path));
    bool plain = id == FIELD_COUNT || !readings_stand(id, text);
    if (over_map && !plain && write_readings(arena, tree, path, text, bytes))
        return NULL;
    if (!list)
        return write_one(arena, tree,
                         &(struct value_change){view_of(path), text, plain, over_map}, bytes);
    text = view_of(list_text(arena, text));
    const char *alone = arena_format(arena, "list: %.*s", VIEW(text));
    const struct tree_node *root = tree_of(arena, (struct view){0}, view_of(alone))->root;
    const struct tree_node *new = root ? root->first : NULL;
    if (!old || old->kind != TREE_LIST || old->style != STYLE_BLOCK || !new ||
        new->kind != TREE_LIST || old->count != new->count)
        return write_one(arena, tree, &(struct value_change){view_of(path), text, false, false},
                         bytes);
    return write_items(arena, tree, path, new, bytes);
}

/* What is wrong with a text as the value of a place; NULL: nothing. */
static const char *wrong_value(struct arena *arena, const struct machine_file *file,
                               const struct field_place *place, struct view text,
                               struct field_value *value)
{
    const struct machine *machine = &file->machine;
    if (!text.size)
        return "a value is missing; nothing is taken away here";
    if (utf8_check(text) < text.size)
        return "it is not UTF-8";
    if (field_table[place->field].kind == KIND_VERSION)
        return "the version of the format is not revised";
    if (place->part) {
        /* Judged together with its other half. */
        struct field_place other = {place->field, place->record, (uint8_t)(3 - place->part)};
        const char *rest = machine_file_text(arena, file, &other);
        if (!*rest)
            return "its other half is not given; set both, as in [0 mm, 800 mm]";
        bool low = place->part == 1;
        text = view_of(arena_format(arena, "[%.*s, %.*s]", VIEW(low ? text : view_of(rest)),
                                    VIEW(low ? view_of(rest) : text)));
    }
    const char *wrong = field_read_text(arena, place->field, text, value);
    if (wrong || field_table[place->field].kind != KIND_INPUT)
        return wrong;
    const struct machine_group *inputs = &machine->groups[GROUP_INPUT];
    for (uint32_t i = 0; i < inputs->count; i++)
        if (view_equal(inputs->nodes[i]->key, text))
            return NULL;
    return arena_format(arena, "there is no input %s", escape_short(arena, text, SHOWN));
}

static bool is_list(const struct field_place *place, const struct field_value *value)
{
    switch (field_table[place->field].kind) {
    case KIND_PAIR:
        return !place->part;
    case KIND_WORDS:
    case KIND_ORDER:
        return !value->words->none;
    case KIND_LIST:
        return true;
    default:
        return false;
    }
}

/* A change to be made: which bytes, and where in them. */
struct setting {
    const struct tree *tree; /* of one file */
    struct source *source;
    const char *path;
    struct view text;
    bool is_list;
    const char *item; /* a list's item that has to be named first, or NULL */
    struct view name;
};

const char *machine_file_elsewhere(struct arena *arena, const struct machine_file *file,
                                   const struct field_place *place)
{
    const struct field_place whole = {place->field, place->record, 0};
    struct view path = view_of(machine_file_path(arena, file, &whole));
    struct source *source = (struct source *)&file->source;
    if (file->tree.root == file->own.root)
        return NULL;
    if (!tree_path_at_home(arena, &file->tree, path, &source)) {
        const char *item;
        struct view name;
        bool is_value;
        if (tree_path_in_own(arena, &file->tree, &file->own, path, &item, &name))
            return NULL;
        const struct tree_node *near =
            machine_nearest(&file->machine, place->field, place->record, &is_value);
        struct span span = near->span;
        source = source_holding(file->tree.source, &span);
    }
    return source == &file->source ? NULL
                                   : arena_copy(arena, source->name.data, source->name.size);
}

/* Finds where a value is to be written.  The halves of a pair that the file does not give are
 * written both. */
static const char *find_setting(struct arena *arena, const struct machine_file *file,
                                const struct field_place *place, enum set_where where,
                                struct setting *out)
{
    struct field_place whole = {place->field, place->record, 0};
    const char *pair = machine_file_path(arena, file, &whole);
    const char *path =
        place->part ? arena_format(arena, "%s[%d]", pair, place->part - 1) : pair;
    out->tree = &file->own;
    out->source = (struct source *)&file->source;
    out->path = path;
    if (file->tree.root == file->own.root)
        return NULL;
    const char *home = tree_path_at_home(arena, &file->tree, view_of(path), &out->source);
    if (home && (where == SET_AT_HOME || out->source == &file->source)) {
        if (out->source != &file->source)
            out->tree = tree_of(arena, out->source->name, out->source->bytes);
        out->path = home;
        return NULL;
    }
    out->source = (struct source *)&file->source;
    if (place->part) {
        struct field_place other = {place->field, place->record, (uint8_t)(3 - place->part)};
        struct view rest = view_of(machine_file_text(arena, file, &other));
        bool low = place->part == 1;
        out->text = view_of(arena_format(arena, "[%.*s, %.*s]", VIEW(low ? out->text : rest),
                                         VIEW(low ? rest : out->text)));
        out->is_list = true;
    }
    out->path =
        tree_path_in_own(arena, &file->tree, &file->own, view_of(pair), &out->item, &out->name);
    return out->path ? NULL : "its list is taken from another file whole; set it there";
}

/* The new bytes of the file in which it is set. */
static const char *write_setting(struct arena *arena, const struct setting *setting,
                                 struct view *bytes)
{
    const struct tree *tree = setting->tree;
    if (setting->item) {
        const char *wrong =
            field_write(arena, tree, setting->item, setting->name, false, bytes);
        if (wrong)
            return wrong;
        tree = tree_of(arena, setting->source->name, *bytes);
    }
    return field_write(arena, tree, setting->path, setting->text, setting->is_list, bytes);
}

/* --- other files with new bytes --- */

struct overlay {
    const struct shared_files *below;
    const struct edited_files *edited;
    struct shared_files files;
};

static bool overlay_read(void *user, struct arena *arena, struct view path, struct view *bytes,
                         const char **why)
{
    const struct overlay *overlay = user;
    const struct edited_files *edited = overlay->edited;
    for (size_t i = 0; i < edited->items.count; i++)
        if (view_equal(edited->items.items[i].path, path)) {
            *bytes = edited->items.items[i].now;
            return true;
        }
    return overlay->below->reader.read(overlay->below->reader.user, arena, path, bytes, why);
}

/* The machine as it is when `source`, which it takes in, has other bytes. */
static struct machine_file *with_edited(struct arena *arena, const struct machine_file *kept,
                                        const struct source *source, struct view bytes)
{
    struct machine_file *file = ARENA_NEW(arena, struct machine_file);
    struct edited_files *edited = ARENA_NEW(arena, struct edited_files);
    struct overlay *overlay = ARENA_NEW(arena, struct overlay);
    struct view path = view_skip(source->name, strlen(kept->shared->root));
    bool is_new = true;
    for (size_t i = 0; i < kept->edited.items.count; i++) {
        struct edited_file other = kept->edited.items.items[i];
        if (view_equal(other.path, path)) {
            other.now = bytes;
            is_new = false;
        }
        VECTOR_ADD(arena, &edited->items, other);
    }
    if (is_new)
        VECTOR_ADD(arena, &edited->items,
                   (struct edited_file){path,
                                        arena_copy(arena, source->name.data, source->name.size),
                                        source->bytes, bytes});
    *overlay = (struct overlay){kept->shared, edited, *kept->shared};
    overlay->files.reader = (struct file_reader){overlay, overlay_read};
    machine_file_read(arena, kept->path, kept->bytes, &overlay->files, file);
    file->edited = *edited;
    return file;
}

struct machine_file *machine_file_with(struct arena *arena, const struct machine_file *kept,
                                       struct view bytes)
{
    struct machine_file *file = ARENA_NEW(arena, struct machine_file);
    machine_file_read(arena, kept->path, bytes, kept->shared, file);
    file->edited = kept->edited;
    return file;
}

const char *machine_file_set(struct arena *arena, struct machine_file **file,
                             const struct field_place *place, struct view text,
                             enum set_where where)
{
    const struct machine_file *kept = *file;
    struct field_value value;
    struct setting setting = {.text = view_trim(text)};
    const char *wrong = wrong_value(arena, *file, place, setting.text, &value);
    if (wrong)
        return wrong;
    setting.is_list = is_list(place, &value);
    wrong = find_setting(arena, kept, place, where, &setting);
    if (wrong)
        return wrong;
    struct view bytes;
    wrong = write_setting(arena, &setting, &bytes);
    if (wrong || view_equal(bytes, setting.source->bytes))
        return wrong;
    *file = setting.source == &kept->source ? machine_file_with(arena, kept, bytes)
                                            : with_edited(arena, kept, setting.source, bytes);
    return NULL;
}

void machine_file_amend(struct arena *arena, struct machine_file **file,
                        const struct source *source, struct span span, struct view text)
{
    struct buffer out;
    buffer_init(&out, arena);
    buffer_add(&out, (struct view){source->bytes.data, span.start});
    buffer_add(&out, text);
    buffer_add(&out, view_skip(source->bytes, span.end));
    *file = view_equal(source->name, (*file)->source.name)
                ? machine_file_with(arena, *file, buffer_view(&out))
                : with_edited(arena, *file, source, buffer_view(&out));
}
