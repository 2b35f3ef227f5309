/* Paths, copies and changes of trees; and which files are machine files at all. */
#include <criterion/criterion.h>

#include "tree/tree.h"

static struct arena arena;
static struct source source;
static struct tree tree;

static void read_tree(const char *text)
{
    struct finding_sink sink;
    source_init(&source, &arena, view_of("test.yaml"), view_of(text));
    sink_init(&sink, &arena, &source);
    tree_read(&tree, &arena, &source, &sink);
}

static void begin(void)
{
    arena_init(&arena, NULL);
    read_tree("change: &x {standoff: 10 mm}\n"
              "inputs:\n  setter-in: {scan: 5 ms}\n  a.b: {scan: 6 ms}\n  a.b.c: {scan: 7 ms}\n"
              "cutters:\n  - {number: 3, stickout: 42 mm}\n  - number: 12\n"
              "    sizes: [1, [2, 3]]\n"
              "again: *x\nempty:\n");
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(path, .init = begin, .fini = end);

struct case_path {
    const char *path, *text; /* NULL: nothing there; "": a list or map */
};

static const struct case_path paths[] = {
    {"change.standoff", "10 mm"},
    {"change", ""},
    {"", ""},
    {"cutters[0].stickout", "42 mm"},
    {"cutters[1].number", "12"},
    {"cutters[number=3].stickout", "42 mm"},
    {"cutters[number=12].sizes[1][0]", "2"},
    {"cutters[ number = 12 ].number", "12"},
    {"inputs.setter-in.scan", "5 ms"},
    {"inputs.a.b.scan", "6 ms"},
    {"inputs.a.b.c.scan", "7 ms"},
    {"again.standoff", "10 mm"},
    {"cutters[2]", NULL},
    {"cutters[number=4]", NULL},
    {"cutters[length=4]", NULL},
    {"cutters[-1]", NULL},
    {"cutters[", NULL},
    {"cutters[]", NULL},
    {"cutters[0", NULL},
    {"cutters[0]stickout", NULL},
    {"cutters[99999999999999999999]", NULL},
    {"cutters.stickout", NULL},
    {"change[0]", NULL},
    {"change.", NULL},
    {".change", NULL},
    {"change..standoff", NULL},
    {"change.standoff.x", NULL},
    {"change.standoffs", NULL},
    {"chang", NULL},
    {"inputs.a", NULL},
};

Test(path, leads_to)
{
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        const struct tree_node *node = tree_at(&tree, view_of(paths[i].path));
        cr_assert((node != NULL) == (paths[i].text != NULL), "%s", paths[i].path);
        if (!node)
            continue;
        node = tree_resolve(node);
        if (paths[i].text[0])
            cr_expect(view_is(node->text, paths[i].text), "%s", paths[i].path);
        else
            cr_expect_neq(node->kind, TREE_TEXT, "%s", paths[i].path);
    }
}

Test(path, children)
{
    const struct tree_node *change = tree_child(tree.root, view_of("change"));
    cr_assert_not_null(change);
    cr_expect_not_null(tree_child(change, view_of("standoff")));
    cr_expect_null(tree_child(change, view_of("x")));
    cr_expect_null(tree_child(change->first, view_of("standoff")));
    const struct tree_node *again = tree_child(tree.root, view_of("again"));
    cr_expect_eq(again->kind, TREE_ALIAS);
    cr_expect_eq(tree_resolve(again), change);
    cr_expect_eq(tree_resolve(change), change);
    read_tree("a: 1\na: 2\n");
    cr_expect(view_is(tree_child(tree.root, view_of("a"))->text, "1"));
}

/* A tree in brackets, to be compared whole. */
static void write_node(struct buffer *out, const struct tree_node *node)
{
    if (node->kind == TREE_TEXT) {
        buffer_add(out, node->text);
        return;
    }
    cr_assert_neq(node->kind, TREE_ALIAS);
    buffer_byte(out, node->kind == TREE_MAP ? '{' : '[');
    uint32_t count = 0;
    for (const struct tree_node *child = node->first; child; child = child->next, count++) {
        if (count)
            buffer_byte(out, ' ');
        buffer_add(out, child->key);
        if (node->kind == TREE_MAP)
            buffer_byte(out, ':');
        write_node(out, child);
    }
    cr_expect_eq(count, node->count);
    buffer_byte(out, node->kind == TREE_MAP ? '}' : ']');
}

static const char *written(const struct tree_node *node)
{
    struct buffer out;
    buffer_init(&out, &arena);
    write_node(&out, node);
    return buffer_string(&out);
}

Test(path, copies)
{
    struct tree_node *copy = tree_copy(&arena, tree.root);
    cr_expect_str_eq(written(copy),
                     "{change:{standoff:10 mm} inputs:{setter-in:{scan:5 ms} a.b:{scan:6 ms} "
                     "a.b.c:{scan:7 ms}} cutters:[{number:3 stickout:42 mm} {number:12 "
                     "sizes:[1 [2 3]]}] again:{standoff:10 mm} empty:}");
    const struct tree_node *again = tree_child(copy, view_of("again"));
    cr_expect_neq(again->first, tree_child(copy, view_of("change"))->first);
    cr_expect(view_is(source_slice(&source, again->key_span), "again"));
}

struct case_put {
    const char *before, *path, *value;
    const char *after; /* NULL: refused, and nothing changed */
};

static const struct case_put changes[] = {
    {"a: 1", "a", "2", "{a:2}"},
    {"a: 1", "b", "2", "{a:1 b:2}"},
    {"a: 1", "b.c.d", "2", "{a:1 b:{c:{d:2}}}"},
    {"a: 1", "b[0]", "2", "{a:1 b:[2]}"},
    {"a: 1", "b[0].c", "2", "{a:1 b:[{c:2}]}"},
    {"a: 1", "b[1]", "2", NULL},
    {"a: 1", "b.c[1]", "2", NULL},
    {"a: 1", "b[x=1]", "2", NULL},
    {"a: 1", "a.b", "2", NULL},
    {"a: 1", "a[0]", "2", NULL},
    {"a: 1", "", "2", NULL},
    {"a: 1", "b.", "2", NULL},
    {"a: 1", "b[", "2", NULL},
    {"a: [1, 2]", "a[1]", "3", "{a:[1 3]}"},
    {"a: [1, 2]", "a[2]", "3", "{a:[1 2 3]}"},
    {"a: [1, 2]", "a[3]", "3", NULL},
    {"a: [1, 2]", "a.b", "3", NULL},
    {"a: [{n: 1}, {n: 2}]", "a[n=2].x", "3", "{a:[{n:1} {n:2 x:3}]}"},
    {"a: [{n: 1}, {n: 2}]", "a[n=3].x", "3", NULL},
    {"a: {b: 1}", "a", "2", "{a:2}"},
    {"a: {b: 1}", "a", "[2, {c: 3}]", "{a:[2 {c:3}]}"},
    {"a:", "a.b", "2", "{a:{b:2}}"},
    {"a:", "a[0]", "2", "{a:[2]}"},
    {"a: ~", "a.b", "2", "{a:{b:2}}"},
    {"a: &x {b: 1}\nc: *x", "c.b", "2", "{a:{b:1} c:{b:2}}"},
    {"a.b: {c: 1}", "a.b.c", "2", "{a.b:{c:2}}"},
    /* Taking away. */
    {"a: 1\nb: 2\nc: 3", "b", "~", "{a:1 c:3}"},
    {"a: 1\nb: 2", "b", "", "{a:1}"},
    {"a: 1\nb: 2", "a", "~", "{b:2}"},
    {"a: 1", "a", "'~'", "{a:~}"},
    {"a: 1", "b", "~", "{a:1}"},
    {"a: 1", "b.c", "~", "{a:1}"},
    {"a:", "a.b", "~", "{a:}"},
    {"a: [1, 2, 3]", "a[1]", "~", "{a:[1 3]}"},
    {"a: [1, 2, 3]", "a[3]", "~", "{a:[1 2 3]}"},
    {"a: {b: {c: 1}}", "a.b.c", "~", "{a:{b:{}}}"},
};

Test(path, put)
{
    for (size_t i = 0; i < sizeof changes / sizeof *changes; i++) {
        const struct case_put *c = &changes[i];
        read_tree(arena_format(&arena, "v: %s\n", c->value));
        const struct tree_node *value = tree.root->first;
        struct source value_source = source; /* what `value` looks into */
        read_tree(c->before);
        struct tree_node *root = tree_copy(&arena, tree.root);
        const char *before = written(root);
        bool is_done = tree_put(&arena, root, view_of(c->path), value);
        cr_expect(is_done == (c->after != NULL), "%s at %s", c->before, c->path);
        cr_expect_str_eq(written(root), c->after ? c->after : before);
        cr_expect_not_null(value_source.bytes.data);
    }
}

Test(path, put_keeps_the_key)
{
    struct tree_node *root = tree_copy(&arena, tree.root);
    struct tree_node value = {.kind = TREE_TEXT, .text = view_of("9 mm")};
    cr_assert(tree_put(&arena, root, view_of("cutters[0].stickout"), &value));
    struct tree copy = {.root = root, .source = &source};
    const struct tree_node *node = tree_at(&copy, view_of("cutters[number=3].stickout"));
    cr_expect(view_is(node->text, "9 mm"));
    cr_expect(view_is(node->key, "stickout"));
    /* What it was copied from is as it was. */
    cr_expect(view_is(tree_at(&tree, view_of("cutters[0].stickout"))->text, "42 mm"));
}

struct case_start {
    const char *bytes;
    bool is_machine;
};

static const struct case_start starts[] = {
    {"proveout: 1\n", true},
    {"proveout:\n", true},
    {"proveout:", true},
    {"proveout : 1\n", true},
    {"\xef\xbb\xbf"
     "proveout: 1\r\n",
     true},
    {"\xef\xbb\xbf"
     "# shed\r\n\r\nproveout: 1\r\n",
     true},
    {"\xef\xbb\xbf#\n%YAML 1.1\n--- # x\nproveout: 1\n", true},
    {"# shed\n\n  # ours\nproveout: 1\n", true},
    {"---\nproveout: 1\n", true},
    {"%YAML 1.1\n---\nproveout: 1\n", true},
    {"\"proveout\": 1\n", true},
    {"'proveout': 1\n", true},
    {"{proveout: 1}\n", true},
    {"{ \"proveout\":1}\n", true},
    {"{\n  # x\n  proveout: 1}\n", true},
    {"  proveout: 1\n", true},
    {"proveout: 1\n\tbroken: [", true},
    {"", false},
    {"# proveout: 1\n", false},
    {"machine:\n  proveout: 1\n", false},
    {"proveout:1\n", false},
    {"proveouts: 1\n", false},
    {"proveout", false},
    {"proveout 1: 2\n", false},
    {"\"proveout: 1\n", false},
    {"- proveout: 1\n", false},
    {"[proveout: 1]\n", false},
    {" --- proveout: 1\n", false},
    {"{}\n", false},
    {"{", false},
    {"---", false},
    {"Proveout: 1\n", false},
    {"\xff\xfep\0", false},
};

/* In letters of `width` bytes, the byte that is not 0 the `place`th of them. */
static struct view widened(const char *text, size_t width, size_t place, char *room)
{
    size_t size = strlen(text);
    memset(room, 0, size * width);
    for (size_t i = 0; i < size; i++)
        room[i * width + place] = text[i];
    return (struct view){room, size * width};
}

static void expect_hidden(const char *text, size_t width, size_t place, bool hides)
{
    static const char *const marks[] = {"", "\xff\xfe", "\xfe\xff"};
    char room[200], whole[200];
    struct view wide = widened(text, width, place, room);
    cr_expect_not(tree_starts_machine(wide));
    for (size_t m = 0; m < sizeof marks / sizeof *marks; m++) {
        size_t mark = strlen(marks[m]);
        memcpy(whole, marks[m], mark);
        memcpy(whole + mark, wide.data, wide.size);
        cr_expect_eq(tree_hides_machine((struct view){whole, mark + wide.size}), hides);
    }
}

Test(path, machines_in_wide_letters)
{
    static const struct {
        const char *text;
        bool hides;
    } files[] = {{"proveout: 1\n", true},
                 {"# shed\nproveout: 1\n", true},
                 {"proveout", true},
                 {"on: push\n", false},
                 {"proveou: 1\n", false},
                 {"", false}};
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        cr_expect_not(tree_hides_machine(view_of(files[i].text)), "%s", files[i].text);
        for (size_t width = 2; width <= 4; width += 2) {
            expect_hidden(files[i].text, width, 0, files[i].hides);
            expect_hidden(files[i].text, width, width - 1, files[i].hides);
        }
    }
}

Test(path, starts_of_files)
{
    for (size_t i = 0; i < sizeof starts / sizeof *starts; i++)
        cr_expect(tree_starts_machine(view_of(starts[i].bytes)) == starts[i].is_machine, "%s",
                  starts[i].bytes);
}
