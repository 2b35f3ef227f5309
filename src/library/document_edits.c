#include "library/document_edits.h"

#include "machine/field.h"

void editing_begin(struct editing *editing, struct proveout_document *document)
{
    *editing = (struct editing){.arena = document_arena(document),
                                .before = document->source->bytes,
                                .now = document->source->bytes,
                                .tree = &document->file->own};
}

static uint32_t rank(const void *user, struct view path)
{
    (void)user;
    return field_rank(path);
}

/* Takes the empty quotes away that came in between `start` and `end`, and the blank before them
 * where the line ends there: a key with nothing behind it. */
static struct view without_quotes(struct arena *arena, struct view bytes, size_t start,
                                  size_t end)
{
    size_t at = end;
    while (at > start + 1 && memcmp(bytes.data + at - 2, "\"\"", 2) != 0)
        at--;
    if (at <= start + 1)
        return bytes;
    bool ends = at == bytes.size || bytes.data[at] == '\n' || bytes.data[at] == '\r';
    size_t from = at - 2 - (ends && at > 2 && bytes.data[at - 3] == ' ');
    char *copy = arena_copy(arena, bytes.data, bytes.size);
    memmove(copy + from, copy + at, bytes.size - at);
    return (struct view){copy, bytes.size - (at - from)};
}

/* Puts `text`, which came in at `at` of what the file is by now, among what came in before. */
static void insert(struct editing *editing, size_t at, struct view text)
{
    size_t grown = 0, i = 0;
    for (; i < editing->inserted.count; i++) {
        struct insertion *one = &editing->inserted.items[i];
        size_t start = one->at + grown;
        if (at < start)
            break;
        if (at <= start + one->text.size) {
            size_t inside = at - start;
            one->text = view_of(arena_format(editing->arena, "%.*s%.*s%.*s", (int)inside,
                                             one->text.data, VIEW(text),
                                             VIEW(view_skip(one->text, inside))));
            return;
        }
        grown += one->text.size;
    }
    VECTOR_ADD(editing->arena, &editing->inserted, (struct insertion){0});
    memmove(&editing->inserted.items[i + 1], &editing->inserted.items[i],
            (editing->inserted.count - 1 - i) * sizeof(struct insertion));
    editing->inserted.items[i] = (struct insertion){(uint32_t)(at - grown), text};
}

static size_t common_start(struct view a, struct view b)
{
    size_t size = 0;
    while (size < a.size && size < b.size && a.data[size] == b.data[size])
        size++;
    /* Not within a code point. */
    while (size && size < a.size && ((unsigned char)a.data[size] & 0xC0) == 0x80)
        size--;
    return size;
}

static size_t common_end(struct view a, struct view b, size_t start)
{
    size_t size = 0, most = (a.size < b.size ? a.size : b.size) - start;
    while (size < most && a.data[a.size - 1 - size] == b.data[b.size - 1 - size])
        size++;
    while (size && ((unsigned char)a.data[a.size - size] & 0xC0) == 0x80)
        size--;
    return size;
}

bool editing_set(struct editing *editing, const char *path, const char *text)
{
    static const struct change_order order = {rank, NULL};
    const struct value_change change = {
        .path = view_of(path), .text = view_of(text ? text : ""), .is_text = true};
    const char *why;
    struct view next;
    if (change_value(editing->arena, editing->tree, &change, &order, &next, &why) ==
        CHANGE_REFUSED)
        return false;
    size_t start = common_start(editing->now, next);
    size_t end = common_end(editing->now, next, start);
    if (!text) {
        next = without_quotes(editing->arena, next, start, next.size - end);
        start = common_start(editing->now, next);
        end = common_end(editing->now, next, start);
    }
    if (start + end < editing->now.size)
        editing->replaced = true;
    else if (next.size > editing->now.size)
        insert(editing, start, (struct view){next.data + start, next.size - editing->now.size});
    editing->now = next;
    editing->tree = tree_of(editing->arena, editing->tree->source->name, next);
    return editing->tree->status == TREE_WHOLE;
}

struct proveout_edits editing_end(struct editing *editing)
{
    struct arena *arena = editing->arena;
    struct view before = editing->before, now = editing->now;
    if (editing->replaced) {
        struct proveout_edit *edit = ARENA_NEW(arena, struct proveout_edit);
        size_t start = common_start(before, now), end = common_end(before, now, start);
        *edit = (struct proveout_edit){
            .span = {start, before.size - end},
            .text = arena_copy(arena, now.data + start, now.size - end - start)};
        return (struct proveout_edits){edit, 1};
    }
    size_t count = editing->inserted.count;
    struct proveout_edit *edits = ARENA_ARRAY(arena, struct proveout_edit, count);
    for (size_t i = 0; i < count; i++) {
        const struct insertion *one = &editing->inserted.items[i];
        edits[i] =
            (struct proveout_edit){.span = {one->at, one->at},
                                   .text = arena_copy(arena, one->text.data, one->text.size)};
    }
    return (struct proveout_edits){count ? edits : NULL, count};
}
