/* One value set in a machine file. */
#include "library/machine_file.h"

#include "quantity/quantity.h"
#include "text/escape.h"
#include "text/utf8.h"
#include "tree/change.h"

enum { SHOWN = 60 };

static uint32_t rank(const void *user, struct view path)
{
    (void)user;
    return field_rank(path);
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

/* A list as it stands in a file, in brackets, from what people type with or without them. */
static const char *list_text(struct arena *arena, struct view text)
{
    struct buffer out;
    buffer_init(&out, arena);
    if (text.size >= 2 && text.data[0] == '[' && text.data[text.size - 1] == ']')
        text = view_trim((struct view){text.data + 1, text.size - 2});
    buffer_byte(&out, '[');
    while (text.size) {
        const char *comma = memchr(text.data, ',', text.size);
        size_t size = comma ? (size_t)(comma - text.data) : text.size;
        struct view item = view_trim((struct view){text.data, size});
        buffer_format(&out, "%s%s", out.size > 1 ? ", " : "", change_quoted(arena, item, true));
        text = view_skip(text, size + 1);
    }
    buffer_byte(&out, ']');
    return buffer_string(&out);
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

/* Changes one value of the bytes; NULL on success. */
static const char *change_one(struct arena *arena, struct machine_file **file, const char *path,
                              struct view text, bool is_text)
{
    static const struct change_order order = {rank, NULL};
    struct view bytes;
    const char *why = NULL;
    const struct value_change change = {view_of(path), text, is_text};
    enum change_result result =
        change_value(arena, &(*file)->tree, &change, &order, &bytes, &why);
    if (result == CHANGE_REFUSED)
        return why;
    if (result == CHANGE_SAME)
        return NULL;
    struct machine_file *next = ARENA_NEW(arena, struct machine_file);
    machine_file_read(arena, (*file)->path, bytes, next);
    *file = next;
    return NULL;
}

/* A list laid out one item a line stays so where its items are as many as before: their
 * comments stay with them.  False where it is no such list. */
static bool change_items(struct arena *arena, struct machine_file **file, const char *path,
                         const char *list, const char **wrong)
{
    struct source source;
    struct finding_sink sink;
    struct tree tree;
    const struct tree_node *old = tree_at(&(*file)->tree, view_of(path));
    const char *text = arena_format(arena, "list: %s", list);
    source_init(&source, arena, view_of("list"), view_of(text));
    sink_init(&sink, arena, &source);
    tree_read(&tree, arena, &source, &sink);
    const struct tree_node *new = tree.root ? tree.root->first : NULL;
    if (!old || !new || old->kind != TREE_LIST || old->style != STYLE_BLOCK ||
        new->kind != TREE_LIST || old->count != new->count)
        return false;
    const struct tree_node *item = new->first;
    for (unsigned i = 0; item; item = item->next, i++) {
        *wrong = change_one(arena, file, arena_format(arena, "%s[%u]", path, i), item->text,
                            item->kind == TREE_TEXT);
        if (*wrong)
            break;
    }
    return true;
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

const char *machine_file_set(struct arena *arena, struct machine_file **file,
                             const struct field_place *place, struct view text)
{
    struct machine_file *kept = *file;
    struct field_value value;
    text = view_trim(text);
    const char *wrong = wrong_value(arena, *file, place, text, &value);
    if (wrong)
        return wrong;
    const char *path = machine_path(arena, &kept->machine, place->field, place->record, 0);
    if (place->part)
        path = arena_format(arena, "%s[%d]", path, place->part - 1);
    if (!is_list(place, &value)) {
        wrong = change_one(arena, file, path, text, true);
    } else {
        const char *list = list_text(arena, text);
        if (!change_items(arena, file, path, list, &wrong))
            wrong = change_one(arena, file, path, view_of(list), false);
    }
    if (wrong)
        *file = kept;
    return wrong;
}
