/* Limits: each is reached without complaint, and one more is a finding that names it. */
#include <criterion/criterion.h>

#include "invariants.h"

static struct arena arena;
static struct buffer file;

static void begin(void)
{
    arena_init(&arena, NULL);
    buffer_init(&file, &arena);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(limits, .init = begin, .fini = end);

static void repeat(const char *text, size_t count)
{
    for (size_t i = 0; i < count; i++)
        buffer_text(&file, text);
}

/* Reads what is in `file`; expects one finding of this name with `words` in its message, or
 * none (NULL). */
static struct tree expect(enum tree_status status, const char *rule, const char *words)
{
    struct source *source = ARENA_NEW(&arena, struct source);
    struct finding_sink sink;
    struct tree tree;
    source_init(source, &arena, view_of("test.yaml"), buffer_view(&file));
    sink_init(&sink, &arena, source);
    tree_read(&tree, &arena, source, &sink);
    cr_expect(tree.status == status, "status %d for %.20s", tree.status, file.data);
    cr_assert(sink.findings.count == (rule != NULL), "%zu findings", sink.findings.count);
    if (rule) {
        cr_expect_str_eq(sink.findings.items[0].rule, rule);
        cr_expect(strstr(sink.findings.items[0].message, words) != NULL, "%s",
                  sink.findings.items[0].message);
    }
    struct span where;
    const char *fault = tree_fault(&tree, &where);
    cr_expect_null(fault, "%s", fault);
    buffer_init(&file, &arena);
    return tree;
}

Test(limits, depth)
{
    repeat("a: 1\nb: ", 1);
    repeat("[", TREE_DEPTH_MAX - 1);
    repeat("]", TREE_DEPTH_MAX - 1);
    expect(TREE_WHOLE, NULL, NULL);
    repeat("a: 1\nb: ", 1);
    repeat("[", TREE_DEPTH_MAX);
    repeat("]", TREE_DEPTH_MAX);
    expect(TREE_PARTIAL, "too-deep", "64");
    for (int i = 0; i < 100; i++) {
        repeat(" ", (size_t)i);
        repeat("a:\n", 1);
    }
    expect(TREE_UNREADABLE, "too-deep", "64");
}

/* Left to itself libyaml takes seconds for this. */
Test(limits, depth_beyond_measure)
{
    repeat("a: ", 1);
    repeat("[", 80000);
    expect(TREE_UNREADABLE, "too-deep", "64");
    repeat("[", 80000);
    expect(TREE_UNREADABLE, "wrong-kind", "list");
    repeat("{a: ", 80000);
    expect(TREE_UNREADABLE, "too-deep", "64");
    repeat("a: 1\nb: ", 1);
    repeat("[\n", 80000);
    expect(TREE_PARTIAL, "too-deep", "64");
}

/* Following references counts as depth too. */
Test(limits, depth_through_references)
{
    repeat("a: &a ", 1);
    repeat("[", 40);
    repeat("]", 40);
    repeat("\nb: ", 1);
    repeat("[", 23);
    repeat("*a", 1);
    repeat("]", 23);
    struct tree tree = expect(TREE_WHOLE, NULL, NULL);
    tree_copy(&arena, tree.root);
    repeat("a: &a ", 1);
    repeat("[", 40);
    repeat("]", 40);
    repeat("\nb: ", 1);
    repeat("[", 24);
    repeat("*a", 1);
    repeat("]", 24);
    expect(TREE_PARTIAL, "too-deep", "64");
}

Test(limits, keys)
{
    for (int i = 0; i < TREE_KEYS_MAX; i++)
        buffer_format(&file, "k%d: 1\n", i);
    struct tree tree = expect(TREE_WHOLE, NULL, NULL);
    cr_expect_eq(tree.root->count, TREE_KEYS_MAX);
    for (int i = 0; i <= TREE_KEYS_MAX; i++)
        buffer_format(&file, "k%d: 1\n", i);
    tree = expect(TREE_PARTIAL, "too-long", "1000 keys");
    cr_expect_eq(tree.root->count, TREE_KEYS_MAX);
}

Test(limits, items)
{
    repeat("a:\n", 1);
    repeat("-\n", TREE_ITEMS_MAX);
    struct tree tree = expect(TREE_WHOLE, NULL, NULL);
    cr_expect_eq(tree.root->first->count, TREE_ITEMS_MAX);
    repeat("a:\n", 1);
    repeat("-\n", TREE_ITEMS_MAX + 1);
    tree = expect(TREE_PARTIAL, "too-long", "1000000 items");
    cr_expect_eq(tree.root->first->count, TREE_ITEMS_MAX);
}

Test(limits, texts)
{
    repeat("a: ", 1);
    repeat("x", TREE_TEXT_MAX);
    expect(TREE_WHOLE, NULL, NULL);
    repeat("a: 1\nb: ", 1);
    repeat("x", TREE_TEXT_MAX + 1);
    expect(TREE_PARTIAL, "too-long", "65536 bytes");
}

Test(limits, references)
{
    repeat("a: &a x\nb: [", 1);
    repeat("*a, ", TREE_ALIASES_MAX);
    repeat("]", 1);
    expect(TREE_WHOLE, NULL, NULL);
    repeat("a: &a x\nb: [", 1);
    repeat("*a, ", TREE_ALIASES_MAX + 1);
    repeat("]", 1);
    expect(TREE_PARTIAL, "too-long", "1000 references");
    repeat("a: 1\nb: [", 1);
    repeat("&a x, ", TREE_ANCHORS_MAX);
    repeat("]", 1);
    expect(TREE_WHOLE, NULL, NULL);
    repeat("a: 1\nb: [", 1);
    repeat("&a x, ", TREE_ANCHORS_MAX + 1);
    repeat("]", 1);
    expect(TREE_PARTIAL, "too-long", "1000 names");
}

/* Each key holds nine times what the one before it holds. */
Test(limits, expansion)
{
    repeat("a: &a [1, 2, 3, 4, 5, 6, 7, 8, 9]\n", 1);
    for (char c = 'b'; c < 'f'; c++) {
        char before = (char)(c - 1);
        buffer_format(&file, "%c: &%c [", c, c);
        for (int i = 0; i < 9; i++)
            buffer_format(&file, "*%c, ", before);
        repeat("]\n", 1);
    }
    expect(TREE_WHOLE, NULL, NULL);
    repeat("a: &a [1, 2, 3, 4, 5, 6, 7, 8, 9]\n", 1);
    for (char c = 'b'; c < 'z'; c++) {
        char before = (char)(c - 1);
        buffer_format(&file, "%c: &%c [", c, c);
        for (int i = 0; i < 9; i++)
            buffer_format(&file, "*%c, ", before);
        repeat("]\n", 1);
    }
    expect(TREE_PARTIAL, "too-large", "2000000 values");
}

Test(limits, size)
{
    /* The bytes are not looked at. */
    struct source source;
    struct finding_sink sink;
    struct tree tree;
    source_init(&source, &arena, view_of("big.yaml"),
                (struct view){"a: 1\n", (size_t)SOURCE_SIZE_MAX + 1});
    sink_init(&sink, &arena, &source);
    tree_read(&tree, &arena, &source, &sink);
    cr_expect_eq(tree.status, TREE_UNREADABLE);
    cr_assert_eq(sink.findings.count, 1);
    cr_expect_str_eq(sink.findings.items[0].rule, "too-large");
    cr_expect_str_eq(sink.findings.items[0].message,
                     "the file has 67108865 bytes; at most 67108864 are read");
}

/* Nothing here may take time that grows with the square of its length. */
Test(limits, long_files)
{
    repeat("#\n", 500000);
    expect(TREE_UNREADABLE, "not-yaml", "no keys");
    repeat("\t\n", 100000);
    repeat("a: 1\n", 1);
    expect(TREE_WHOLE, NULL, NULL);
    repeat("a: 1\n", 1);
    for (int i = 0; i < 50000; i++)
        buffer_format(&file, "%%TAG !t%d! x\n", i);
    expect(TREE_PARTIAL, "not-yaml", "begins with '%'");
    repeat("a: \"", 1);
    repeat("\xc3\xa9 e\xe6\x97\xa5 ", 5000);
    repeat("\"\nb:\n", 1);
    repeat("- \xc3\xa9"
           "a\n",
           100000);
    expect(TREE_WHOLE, NULL, NULL);
}
