/* Sketches: the same nodes as the tree's where a file has no mistake of form, and something to go on
 * where it has one. */
#include <criterion/criterion.h>

#include <dirent.h>
#include <stdio.h>
#include <string.h>

#include "base/buffer.h"
#include "tree/sketch.h"
#include "tree/tree.h"

static struct arena arena;

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(sketch, .init = begin, .fini = end);

static struct sketch *sketch_of(struct view bytes)
{
    struct source *source = ARENA_NEW(&arena, struct source);
    struct sketch *sketch = ARENA_NEW(&arena, struct sketch);
    source_init(source, &arena, view_of("t"), bytes);
    sketch_read(sketch, &arena, source);
    return sketch;
}

static bool same_span(struct span a, struct span b)
{
    return a.start == b.start && a.end == b.end;
}

static void compare(const char *name, const struct tree_node *node,
                    const struct sketch_node *sketch)
{
    static const uint8_t kinds[] = {[TREE_TEXT] = SKETCH_TEXT,
                                    [TREE_MAP] = SKETCH_MAP,
                                    [TREE_LIST] = SKETCH_LIST,
                                    [TREE_ALIAS] = SKETCH_ALIAS};
    const char *path = sketch_path(&arena, sketch);
    bool empty = node->kind == TREE_TEXT && node->span.start == node->span.end;
    cr_assert(sketch->kind == (empty ? SKETCH_NOTHING : kinds[node->kind]), "%s: %s is of kind %d",
              name, path, sketch->kind);
    cr_assert(same_span(node->key_span, sketch->key_span) && view_equal(node->key, sketch->key),
              "%s: key of %s", name, path);
    if (node->kind == TREE_TEXT && node->style != STYLE_BLOCK)
        cr_assert(same_span(node->span, sketch->span), "%s: %s at %u to %u, not %u to %u", name,
                  path, sketch->span.start, sketch->span.end, node->span.start, node->span.end);
    if (node->kind == TREE_TEXT && (node->style == STYLE_PLAIN || node->style == STYLE_QUOTED) &&
        !memchr(sketch->text.data ? sketch->text.data : "", '\\', sketch->text.size) &&
        !memchr(sketch->text.data ? sketch->text.data : "", '\n', sketch->text.size))
        cr_assert(view_equal(node->text, sketch->text), "%s: text of %s", name, path);
    if (node->kind == TREE_ALIAS)
        return;
    cr_assert_eq(node->count, sketch->count, "%s: children of %s: %u, not %u", name, path,
                 sketch->count, node->count);
    const struct sketch_node *other = sketch->first;
    for (const struct tree_node *child = node->first; child; child = child->next) {
        compare(name, child, other);
        other = other->next;
    }
}

static void check_same(const char *name, struct view bytes)
{
    struct tree *tree = tree_of(&arena, view_of(name), bytes);
    cr_assert(tree->status == TREE_WHOLE, "%s", name);
    compare(name, tree->root, &sketch_of(bytes)->root);
}

static struct view read_file(const char *folder, const char *name)
{
    FILE *file = fopen(arena_format(&arena, "%s/%s", folder, name), "rb");
    char *data = arena_alloc(&arena, 1 << 20);
    cr_assert(file, "%s", name);
    size_t size = fread(data, 1, 1 << 20, file);
    fclose(file);
    return (struct view){data, size};
}

static struct view with_line_ends(struct view bytes)
{
    struct buffer out;
    buffer_init(&out, &arena);
    buffer_text(&out, "\xef\xbb\xbf");
    for (size_t i = 0; i < bytes.size; i++) {
        if (bytes.data[i] == '\n')
            buffer_byte(&out, '\r');
        buffer_byte(&out, bytes.data[i]);
    }
    return buffer_view(&out);
}

/* Do brackets, block lists and texts of several lines come out as libyaml has them? */
Test(sketch, is_the_tree_of_files)
{
    static const char *const folders[] = {SAMPLE_FOLDER, RULE_FOLDER};
    size_t count = 0;
    for (size_t i = 0; i < 2; i++) {
        DIR *folder = opendir(folders[i]);
        for (struct dirent *entry = readdir(folder); entry; entry = readdir(folder)) {
            if (!strstr(entry->d_name, ".yaml"))
                continue;
            struct view bytes = read_file(folders[i], entry->d_name);
            check_same(entry->d_name, bytes);
            check_same(entry->d_name, with_line_ends(bytes));
            arena_reset(&arena);
            count++;
        }
        closedir(folder);
    }
    cr_assert(count > 60);
}

Test(sketch, is_the_tree_of_odd_layouts)
{
    static const char *const texts[] = {
        "a: 1\nb:\n- 1\n- x: 2\n  y: 3\nc: 4\n",
        "a:\n    b: &n {x: 1,\n        y: 2}   # c\n    c: *n\nd: # nothing\n",
        "a: |\n  text: no key\n  - no item\n\nb: >-\n  folded\n  more\nc:\n  - |\n    lines\n  - x\n",
        "---\na: plain text\n   goes on # not this\nb: 'it''s'\n\"c\": \"say \\\"x\\\"\"\n",
        "a: {x: 1,0 mm, y: [1,2, {z: q}]}\n",
        "a:\n  - - 1\n    - 2\n  - []\n  - {}\n  -\n    b: 1\n",
        "a: x#y\nb: 'c: d'\ne: http://x\nf: a:b\n# end",
        "<<: {a: 1}\nb:\n  [1,\n   2]\n",
        "a:\n  text on\n  the next lines\nb: 2\n",
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        check_same(texts[i], view_of(texts[i]));
}

/* --- broken files --- */

static void check_path(const char *text, const char *key, const char *wanted)
{
    struct sketch *sketch = sketch_of(view_of(text));
    const char *at = strstr(text, key);
    bool on_key;
    const struct sketch_node *node = sketch_touched(sketch, (uint32_t)(at - text), &on_key);
    cr_assert(node, "%s", key);
    cr_expect(on_key);
    cr_expect_str_eq(sketch_path(&arena, node), wanted);
}

Test(sketch, goes_on_behind_mistakes)
{
    check_path("a:\n  x: [1, 2\nb:\n  y: 3\n", "y", "b.y");
    check_path("a:\n  x: {q: 1\n  z: 4\n", "z", "a.z");
    check_path("a:\n  x: \"open\n  z: 4\nb: \"closed\"\n", "z", "a.z");
    check_path("a:\n  half\n  z: 4\n", "z", "a.z");
    check_path("cutters:\n  - {number: 1, st\n  - number: 2\n    z: 3\n", "z", "cutters[1].z");
    check_path("a: 1: 2\nb:\n  z: 1\n", "z", "b.z");
    check_path("a:\n\tz: 1\n", "z", "a.z");
}

/* --- what may be written at the mark | --- */

static const char *context_words(const char *marked)
{
    static const char *const words[] = {"nothing", "key", "value", "item"};
    const char *mark = strchr(marked, '|');
    char *text = arena_format(&arena, "%.*s%s", (int)(mark - marked), marked, mark + 1);
    struct sketch *sketch = sketch_of(view_of(text));
    struct sketch_context context;
    sketch_find_context(sketch, (uint32_t)(mark - marked), &context);
    if (context.wanted == WANTED_NOTHING)
        return "nothing";
    const char *path = sketch_path(&arena, context.node);
    return arena_format(&arena, "%s of %s: \"%.*s\"", words[context.wanted], *path ? path : "it",
                        (int)(context.token.end - context.token.start),
                        text + context.token.start);
}

static void check_context(const char *marked, const char *wanted)
{
    cr_expect_str_eq(context_words(marked), wanted, "%s: %s", marked, context_words(marked));
}

Test(sketch, contexts_in_lines)
{
    check_context("|", "key of it: \"\"");
    check_context("pro|", "key of it: \"pro\"");
    check_context("a: 1\nb|\nc: 2\n", "key of it: \"b\"");
    check_context("a:\n  x: 1\n  |\nc: 2\n", "key of a: \"\"");
    check_context("a:\n  x: 1\n|\nc: 2\n", "key of it: \"\"");
    check_context("a:\n  x: 1\n |\nc: 2\n", "nothing");
    check_context("a:\n  |\nc: 2\n", "key of a: \"\"");
    check_context("a:\n  st|\nc: 2\n", "key of a: \"st\"");
    check_context("a:\n  s|tand: 2\nc: 2\n", "key of a: \"stand\"");
    check_context("a:\n  stand: |\nc: 2\n", "value of a.stand: \"\"");
    check_context("a:\n  stand:|\nc: 2\n", "value of a.stand: \"\"");
    check_context("a:\n  stand: 12 |\nc: 2\n", "value of a.stand: \"12 \"");
    check_context("a:\n  stand: 12 m|m\nc: 2\n", "value of a.stand: \"12 mm\"");
    check_context("a: 1 # so|\n", "nothing");
    check_context("a: |-\n", "value of a: \"-\"");
    check_context("l:\n  - n: 1\n    |\n", "key of l[0]: \"\"");
    check_context("l:\n  - n: 1\n  |\n", "item of l: \"\"");
    check_context("l:\n- n: 1\n  |\nx: 1\n", "key of l[0]: \"\"");
    check_context("l:\n  - n: 1\n|\nx: 1\n", "key of it: \"\"");
    check_context("l:\n  - |\n", "value of l[0]: \"\"");
    check_context("l:\n  - nu|\n", "value of l[0]: \"nu\"");
    check_context("l:\n  - nu|m: 1\n    b: 2\n", "key of l[0]: \"num\"");
    check_context("a: two words|\n", "value of a: \"two words\"");
    check_context("a:\n  two words|\n", "nothing");
    check_context("a:\n|  x: 1\n", "nothing");
}

Test(sketch, contexts_in_brackets)
{
    check_context("a: {|}\n", "key of a: \"\"");
    check_context("a: {x|}\n", "key of a: \"x\"");
    check_context("a: {x: 1, |}\n", "key of a: \"\"");
    check_context("a: {x: 1, y|", "key of a: \"y\"");
    check_context("a: {x: |}\n", "value of a.x: \"\"");
    check_context("a: {x: 12 |}\n", "value of a.x: \"12 \"");
    check_context("a: {x: 1 |, y: 2}\n", "value of a.x: \"1 \"");
    check_context("a: {x: 1}|\n", "nothing");
    check_context("a:\n  b: {x: 1, |\nc: 2\n", "key of a.b: \"\"");
    check_context("a: [|]\n", "item of a: \"\"");
    check_context("a: [1, t|, 3]\n", "item of a: \"t\"");
    check_context("a:\n  - {n: 1, |\n  - {n: 2}\n", "key of a[0]: \"\"");
    check_context("a: {x: {y: |}}\n", "value of a.x.y: \"\"");
    check_context("a: {x: {y: 1}, |}\n", "key of a: \"\"");
}
