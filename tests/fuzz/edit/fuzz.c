/* change_value in any file, at any path.
 *
 * The input is three texts behind each other, with a NUL between: a path, a value, the file.
 * Beyond not crashing: what was changed is found again, and the same change again changes
 * nothing.  That nothing else changed, change_value proves itself.
 */
#include "tree/change.h"

#include "base/buffer.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static uint32_t rank(const void *user, struct view path)
{
    (void)user;
    uint32_t number = 0;
    for (size_t i = 0; i < path.size; i++)
        number = number * 31 + (unsigned char)path.data[i];
    return number % 8;
}

static const struct change_order order = {rank, NULL};

static void read_tree(struct arena *arena, struct view bytes, struct source *source,
                      struct tree *tree)
{
    struct finding_sink *sink = ARENA_NEW(arena, struct finding_sink);
    source_init(source, arena, view_of("f"), bytes);
    sink_init(sink, arena, source);
    tree_read(tree, arena, source, sink);
}

static struct view take(struct view *rest)
{
    const char *end = rest->size ? memchr(rest->data, '\0', rest->size) : NULL;
    struct view text = {rest->data, end ? (size_t)(end - rest->data) : rest->size};
    *rest = view_skip(*rest, text.size + 1);
    return text;
}

static void change(struct arena *arena, struct view bytes, struct view path, struct view text)
{
    struct source source, after_source;
    struct tree tree, after;
    struct view out, again;
    const char *why = NULL;
    bool is_list = text.size > 1 && text.data[0] == '[' && text.data[text.size - 1] == ']';
    const struct value_change wanted = {path, text, !is_list, false};
    read_tree(arena, bytes, &source, &tree);
    enum change_result result = change_value(arena, &tree, &wanted, &order, &out, &why);
    if (result == CHANGE_REFUSED) {
        BUG_UNLESS(why && *why);
        return;
    }
    BUG_UNLESS(result == CHANGE_DONE || view_equal(out, bytes));
    read_tree(arena, out, &after_source, &after);
    BUG_UNLESS(after.status == TREE_WHOLE);
    const struct tree_node *node = tree_at(&after, path);
    BUG_UNLESS(node);
    if (!is_list)
        BUG_UNLESS(node->kind == TREE_TEXT && view_equal(node->text, text));
    result = change_value(arena, &after, &wanted, &order, &again, &why);
    BUG_UNLESS(result == CHANGE_SAME || is_list);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct arena arena;
    arena_init(&arena, NULL);
    struct view rest = {(const char *)data, size};
    struct view path = take(&rest), text = take(&rest);
    if (path.size)
        change(&arena, rest, path, text);
    arena_free(&arena);
    return 0;
}
