/* tree_compose of any files that take each other in.
 *
 * The input is up to nine texts with a NUL between: the machine's own file, and those called
 * 1, 2, ... beside it.  Beyond not crashing: everything stands in one of the files, what could
 * not be taken in is reported, and where a value is found at home it can be changed there.
 */
#include "tree/change.h"
#include "tree/compose.h"

enum { FILES = 9, NODES = 20000 };

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static bool read_text(void *user, struct arena *arena, struct view path, struct view *bytes,
                      const char **why)
{
    const struct view *texts = user;
    (void)arena;
    *why = "there is no such file";
    if (path.size != 1 || path.data[0] < '1' || path.data[0] >= '0' + FILES)
        return false;
    *bytes = texts[path.data[0] - '0'];
    return bytes->data != NULL;
}

static void check_node(struct source *first, const struct tree_node *node, size_t *left)
{
    struct span span = node->span;
    const struct source *source = source_holding(first, &span);
    BUG_UNLESS(span.start <= span.end && span.end <= source->bytes.size);
    uint32_t count = 0;
    for (const struct tree_node *child = node->first; child; child = child->next, count++)
        if (*left && --*left)
            check_node(first, child, left);
    BUG_UNLESS(node->kind == TREE_ALIAS || node->kind == TREE_TEXT || count == node->count);
}

/* Each key of the top, and the first below it. */
static void look_home(struct arena *arena, const struct tree *tree, const struct tree *own)
{
    for (const struct tree_node *child = tree->root->first; child; child = child->next) {
        struct view name, path = child->key;
        struct source *source;
        const char *item;
        const char *home = tree_path_at_home(arena, tree, path, &source);
        const struct tree_node *there = tree_at(tree, path);
        if (home && there && there->kind == TREE_TEXT) {
            const struct tree *alone = tree_of(arena, source->name, source->bytes);
            const struct tree_node *found = tree_at(alone, view_of(home));
            BUG_UNLESS(!found || found->key.size == there->key.size);
        }
        tree_path_in_own(arena, tree, own, path, &item, &name);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct view rest = {(const char *)data, size}, texts[FILES] = {{0}};
    texts[0] = view_of("");
    for (size_t i = 0; i < FILES && rest.size; i++) {
        const char *end = memchr(rest.data, '\0', rest.size);
        texts[i] = (struct view){rest.data, end ? (size_t)(end - rest.data) : rest.size};
        rest = view_skip(rest, end ? texts[i].size + 1 : rest.size);
    }
    struct arena arena;
    struct source source;
    struct finding_sink sink;
    struct tree own, tree;
    arena_init(&arena, NULL);
    source_init(&source, &arena, view_of("0"), texts[0]);
    sink_init(&sink, &arena, &source);
    tree_read(&own, &arena, &source, &sink);
    const struct shared_files files = {{texts, read_text}, "", ""};
    tree_compose(&tree, &arena, &own, &files, &sink);
    BUG_UNLESS(tree.status == TREE_WHOLE || sink.findings.count);
    BUG_UNLESS(!tree.lacks_parts || tree.status != TREE_WHOLE);
    size_t left = NODES;
    if (tree.root) {
        check_node(&source, tree.root, &left);
        if (left > NODES - 500)
            look_home(&arena, &tree, &own);
    }
    for (size_t i = 0; i < sink.findings.count && i < 20; i++) {
        struct span span = sink.findings.items[i].at.span;
        struct source *where = source_holding(sink.findings.items[i].at.source, &span);
        source_place(where, span.end, COLUMN_CODE_POINTS);
    }
    arena_free(&arena);
    return 0;
}
