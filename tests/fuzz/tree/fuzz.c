/* tree_read on any bytes, and all that is done with a tree afterwards.
 *
 * Beyond not crashing: the invariants of tests/tree, excerpts keep to their width and print
 * nothing that a terminal would obey, a copy has no references left, and what is put at a path
 * is found there.
 */
#include "../../tree/invariants.h"

#include "text/escape.h"
#include "text/excerpt.h"
#include "text/nearest.h"
#include "text/utf8.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum { WIDTH = 60, DEEPEST = 64 };

static void look_at_excerpt(struct arena *arena, struct source *source, struct span span)
{
    struct buffer out;
    buffer_init(&out, arena);
    excerpt_add(&out, source, span, WIDTH);
    struct view text = buffer_view(&out);
    size_t lines = 0, start = 0;
    for (size_t i = 0; i < text.size; i++) {
        unsigned char c = (unsigned char)text.data[i];
        BUG_UNLESS(c == '\n' || (c >= 0x20 && c != 0x7f));
        if (c != '\n')
            continue;
        BUG_UNLESS(utf8_cells((struct view){text.data + start, i - start}) <= WIDTH);
        start = i + 1;
        lines++;
    }
    BUG_UNLESS(lines == 2 && utf8_check(text) == text.size);
}

static void look_at_place(struct source *source, uint32_t offset)
{
    struct place bytes = source_place(source, offset, COLUMN_BYTES);
    struct place points = source_place(source, offset, COLUMN_CODE_POINTS);
    BUG_UNLESS(bytes.line == points.line && points.column <= bytes.column);
    struct span line = source_line(source, bytes.line);
    BUG_UNLESS(line.start <= line.end && line.end <= source->bytes.size);
}

static int look_at_copy(const struct tree_node *node, int depth)
{
    BUG_UNLESS(node->kind != TREE_ALIAS && depth <= DEEPEST);
    int count = 1;
    for (const struct tree_node *child = node->first; child; child = child->next)
        count += look_at_copy(child, depth + 1);
    return count;
}

static void look_at_changes(struct arena *arena, const struct tree *tree)
{
    if (!tree->root)
        return;
    struct tree changed = {.source = tree->source, .root = tree_copy(arena, tree->root)};
    if (look_at_copy(changed.root, 0) > 10000)
        return;
    struct tree_node value = {.kind = TREE_TEXT, .text = view_of("1 mm")};
    struct tree_node nothing = {.kind = TREE_TEXT, .text = view_of("~")};
    static const char *const paths[] = {"a", "a.b.c", "a[0].x", "b[number=3].d", "c[1]", "a["};
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        struct view path = view_of(paths[i]);
        if (!tree_put(arena, changed.root, path, &value))
            continue;
        const struct tree_node *there = tree_at(&changed, path);
        BUG_UNLESS(there && view_equal(there->text, value.text));
        BUG_UNLESS(tree_put(arena, changed.root, path, &nothing));
    }
    /* What the file itself calls its keys is a path as well. */
    for (const struct tree_node *child = tree->root->first; child; child = child->next)
        tree_at(tree, child->key);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct view bytes = {(const char *)data, size};
    struct arena arena;
    arena_init(&arena, NULL);
    struct source source;
    source_init(&source, &arena, view_of("fuzz.yaml"), bytes);
    struct finding_sink sink;
    sink_init(&sink, &arena, &source);
    struct tree tree;
    tree_read(&tree, &arena, &source, &sink);

    struct span where;
    const char *fault = tree_fault(&tree, &where);
    if (!fault)
        fault = findings_fault(&sink, &where);
    if (fault)
        BUG("expected at %u-%u: %s", (unsigned)where.start, (unsigned)where.end, fault);
    BUG_UNLESS(tree.status == TREE_WHOLE || sink.findings.count > 0);
    for (size_t i = 0; i < sink.findings.count && i < 20; i++) {
        look_at_excerpt(&arena, &source, sink.findings.items[i].at.span);
        look_at_place(&source, sink.findings.items[i].at.span.end);
    }
    findings_sort(sink.findings.items, sink.findings.count);
    size_t groups;
    findings_group(&arena, sink.findings.items, sink.findings.count, &groups);
    if (tree_starts_machine(bytes) && tree.status == TREE_WHOLE)
        BUG_UNLESS(tree.root->first == NULL || view_is(tree.root->first->key, "proveout"));
    look_at_changes(&arena, &tree);
    nearest_distance(bytes, view_of("probe_stroke"));
    arena_free(&arena);
    return 0;
}
