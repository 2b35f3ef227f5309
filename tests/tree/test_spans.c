/* Every key and value stands exactly where its span says, in every layout.
 *
 * One line a value: its file, its path, and what its key's and its own span cut out of the
 * file.
 */
#include <criterion/criterion.h>

#include "invariants.h"

struct case_span {
    const char *path;
    const char *key;   /* NULL: an item of a list */
    const char *value; /* the bytes */
    const char *text;  /* decoded; NULL: no text */
};

struct case_file {
    const char *bytes;
    struct case_span spans[10];
};

static const struct case_file files[] = {
    /* Block style, comments, blanks at ends of lines. */
    {"# first\nproveout: 1  # version\nmachine:\n  name:   Shed mill   # ours\n"
     "  note: a b\n\n# end\n",
     {{"proveout", "proveout", "1", "1"},
      {"machine", "machine", "name:   Shed mill   # ours\n  note: a b", NULL},
      {"machine.name", "name", "Shed mill", "Shed mill"},
      {"machine.note", "note", "a b", "a b"}}},
    /* Lists in blocks, indented and not, of maps and of lists. */
    {"a:\n- x: 1\n  y: 2\n\n- z: 3\nb:\n  - - p\n    - q\n  -   r\nc: d\n",
     {{"a", "a", "- x: 1\n  y: 2\n\n- z: 3", NULL},
      {"a[0]", NULL, "x: 1\n  y: 2", NULL},
      {"a[0].y", "y", "2", "2"},
      {"a[1]", NULL, "z: 3", NULL},
      {"b", "b", "- - p\n    - q\n  -   r", NULL},
      {"b[0]", NULL, "- p\n    - q", NULL},
      {"b[0][1]", NULL, "q", "q"},
      {"b[1]", NULL, "r", "r"},
      {"c", "c", "d", "d"}}},
    /* Brackets, over lines, with comments, empty ones, pairs in lists. */
    {"a: [1 mm,  2 mm ] # x\nb: {x: 1,\n  y: [] , # c\n  z: {}}\nc: [p: 1, {q: 2}]\n",
     {{"a", "a", "[1 mm,  2 mm ]", NULL},
      {"a[0]", NULL, "1 mm", "1 mm"},
      {"a[1]", NULL, "2 mm", "2 mm"},
      {"b", "b", "{x: 1,\n  y: [] , # c\n  z: {}}", NULL},
      {"b.y", "y", "[]", NULL},
      {"b.z", "z", "{}", NULL},
      {"c[0]", NULL, "p: 1", NULL},
      {"c[0].p", "p", "1", "1"},
      {"c[1]", NULL, "{q: 2}", NULL}}},
    /* Quotes, with all that may stand in them. */
    {"\"a b\": 'it''s' # x\n'c': \"\\u00e9 \\\"q\\\" # no\"\nd: \"\"\ne: ''\nf: \"x\n  y\"\n",
     {{"a b", "\"a b\"", "'it''s'", "it's"},
      {"c", "'c'", "\"\\u00e9 \\\"q\\\" # no\"", "\xc3\xa9 \"q\" # no"},
      {"d", "d", "\"\"", ""},
      {"e", "e", "''", ""},
      {"f", "f", "\"x\n  y\"", "x y"}}},
    /* Values that are not there. */
    {"a:\nb: # x\nc:   \nd: {e: , f, \"h\":, \"i\" : }\nj:\n  -\n  - k:\n  - # y\n",
     {{"a", "a", "", ""},
      {"b", "b", "", ""},
      {"d.e", "e", "", ""},
      {"d.f", "f", "", ""},
      {"d.h", "\"h\"", "", ""},
      {"d.i", "\"i\"", "", ""},
      {"j[0]", NULL, "", ""},
      {"j", "j", "-\n  - k:\n  -", NULL},
      {"j[1]", NULL, "k:", NULL},
      {"j[2]", NULL, "", ""}}},
    /* A comma within a number parts nothing; beside one it does. */
    {"a: {x: 1,0 mm, y: 2,0 mm}\nb: {x: 1, 0 mm, y: 2 mm,3: 4}\nc: {x: 1,500,5 mm}\n",
     {{"a", "a", "{x: 1,0 mm, y: 2,0 mm}", NULL},
      {"a.x", "x", "1,0 mm", "1,0 mm"},
      {"a.y", "y", "2,0 mm", "2,0 mm"},
      {"b.x", "x", "1", "1"},
      {"b.0 mm", "0 mm", "", ""},
      {"b.y", "y", "2 mm", "2 mm"},
      {"b.3", "3", "4", "4"},
      {"c.x", "x", "1,500,5 mm", "1,500,5 mm"}}},
    /* Texts in blocks. */
    {"a: |\n  x\n   y\n\nb: >-  # c\n  p\n  q\n\n\nc: |+\n  r\n\nd: |\ne: >2-\nf:\n"
     "  - |1\n    s\n# end\n",
     {{"a", "a", "|\n  x\n   y", "x\n y\n"},
      {"b", "b", ">-  # c\n  p\n  q", "p q"},
      {"c", "c", "|+\n  r", "r\n\n"},
      {"d", "d", "|", ""},
      {"e", "e", ">2-", ""},
      {"f[0]", NULL, "|1\n    s", " s\n"}}},
    /* Plain texts over lines. */
    {"a: x\n  y\n\n  z # c\nb: [p\n  q, r]\n",
     {{"a", "a", "x\n  y\n\n  z", "x y\nz"},
      {"b[0]", NULL, "p\n  q", "p q"},
      {"b[1]", NULL, "r", "r"}}},
    /* Names, references, tags. */
    {"a: &n  5 mm\nb: *n\nc: &m\n  d: &k !t x\n  e: !!str\nf: [*m , &e , !<v> \"q\"]\n"
     "&h g: 1\n*n : 2\ni: !t {j: 1}\n",
     {{"a", "a", "5 mm", "5 mm"},
      {"b", "b", "*n", NULL},
      {"c", "c", "d: &k !t x\n  e: !!str", NULL},
      {"c.d", "d", "x", "x"},
      {"c.e", "e", "", ""},
      {"f[0]", NULL, "*m", NULL},
      {"f[1]", NULL, "", ""},
      {"f[2]", NULL, "\"q\"", "q"},
      {"5 mm", "*n", "2", "2"},
      {"i", "i", "{j: 1}", NULL}}},
    /* Keys with question marks. */
    {"? a\n: 1\n? b\n? c d\n# x\n: - 2\n{x: 1}: 3\n",
     {{"a", "a", "1", "1"},
      {"b", "b", "", ""},
      {"c d", "c d", "- 2", NULL},
      {"c d[0]", NULL, "2", "2"}}},
    /* Byte order mark, CRLF, tabs between, wide and combining characters. */
    {"\xef\xbb\xbf"
     "a:\t1\t# \xe6\x97\xa5\r\nb: [ \xe6\x97\xa5\xe6\x9c\xac\t,\te\xcc\x81 ]\r\nc:\r\n\r\n",
     {{"a", "a", "1", "1"},
      {"b", "b", "[ \xe6\x97\xa5\xe6\x9c\xac\t,\te\xcc\x81 ]", NULL},
      {"b[0]", NULL, "\xe6\x97\xa5\xe6\x9c\xac", "\xe6\x97\xa5\xe6\x9c\xac"},
      {"b[1]", NULL, "e\xcc\x81", "e\xcc\x81"},
      {"c", "c", "", ""}}},
    {"\xc3\xa4: \"\xf0\x9f\x98\x80\\t\"\r\nb: |\r\n  \xc2\xb1 1\r\n  x\r\n"
     "c: 42 mm \xc2\xb1 0.5 mm\r\n",
     {{"\xc3\xa4", "\xc3\xa4", "\"\xf0\x9f\x98\x80\\t\"", "\xf0\x9f\x98\x80\t"},
      {"b", "b", "|\r\n  \xc2\xb1 1\r\n  x", "\xc2\xb1 1\nx\n"},
      {"c", "c", "42 mm \xc2\xb1 0.5 mm", "42 mm \xc2\xb1 0.5 mm"}}},
    /* Lone CR ends lines too. */
    {"a: 1\rb:\r  c: \xc3\xa9\r",
     {{"a", "a", "1", "1"},
      {"b", "b", "c: \xc3\xa9", NULL},
      {"b.c", "c", "\xc3\xa9", "\xc3\xa9"}}},
    /* The document's signs, and no last line end. */
    {"%YAML 1.1\n---\na: 1\nb: 2", {{"a", "a", "1", "1"}, {"b", "b", "2", "2"}}},
    {"{a: 1,\nb: [2]}\n...\n# x\n", {{"a", "a", "1", "1"}, {"b", "b", "[2]", NULL}}},
    /* What looks like something else. */
    {"a: x#y\nb: http://h:80/\nc: -1\nd: 'x: y'\ne: a, b\nf: ~\ng: 6 1/8\"\nh: 1:30\n"
     "i: {j: 1/4\"}\n",
     {{"a", "a", "x#y", "x#y"},
      {"b", "b", "http://h:80/", "http://h:80/"},
      {"c", "c", "-1", "-1"},
      {"e", "e", "a, b", "a, b"},
      {"f", "f", "~", "~"},
      {"g", "g", "6 1/8\"", "6 1/8\""},
      {"h", "h", "1:30", "1:30"},
      {"i.j", "j", "1/4\"", "1/4\""}}},
};

static struct arena arena;

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(spans, .init = begin, .fini = end);

static void expect_span(const struct tree *tree, const struct case_span *c)
{
    const struct tree_node *node = tree_at(tree, view_of(c->path));
    cr_assert(node != NULL, "no %s in %s", c->path, tree->source->bytes.data);
    struct view value = source_slice(tree->source, node->span);
    cr_expect(view_is(value, c->value), "%s is '%.*s'", c->path, VIEW(value));
    if (c->key) {
        struct view key = source_slice(tree->source, node->key_span);
        cr_expect(view_is(key, c->key), "the key of %s is '%.*s'", c->path, VIEW(key));
    }
    if (c->text)
        cr_expect(node->kind == TREE_TEXT && view_is(node->text, c->text), "%s says '%.*s'",
                  c->path, VIEW(node->text));
    else
        cr_expect_neq(node->kind, TREE_TEXT, "%s", c->path);
}

Test(spans, of_keys_and_values)
{
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        struct source source;
        struct finding_sink sink;
        struct tree tree;
        struct span where;
        source_init(&source, &arena, view_of("test.yaml"), view_of(files[i].bytes));
        sink_init(&sink, &arena, &source);
        tree_read(&tree, &arena, &source, &sink);
        const char *fault = tree_fault(&tree, &where);
        cr_expect_null(fault, "%s: %s", files[i].bytes, fault);
        for (size_t k = 0; k < 10 && files[i].spans[k].path; k++)
            expect_span(&tree, &files[i].spans[k]);
    }
}

/* Where an empty value stands: right behind the colon or the dash. */
Test(spans, of_nothing)
{
    static const struct {
        const char *bytes, *path;
        uint32_t at;
    } cases[] = {
        {"a:   \nb: 1\n", "a", 2},
        {"a :\n", "a", 3},
        {"a: # x\n", "a", 2},
        {"{a:   , b: 1}\n", "a", 3},
        {"{a   , b: 1}\n", "a", 2},
        {"{\"a\"  : }\n", "a", 7},
        {"{a: &x , b: 1}\n", "a", 6},
        {"a: !t  \nb: 1\n", "a", 5},
        {"a:\n  -   \n  - 1\n", "a[0]", 6},
        {"? a\n", "a", 3},
        {"? a\n:\n", "a", 5},
        {"a:\n- - \n  - 1\n", "a[0][0]", 6},
        {"\xc3\xa9:\n", "\xc3\xa9", 3},

    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct source source;
        struct finding_sink sink;
        struct tree tree;
        source_init(&source, &arena, view_of("test.yaml"), view_of(cases[i].bytes));
        sink_init(&sink, &arena, &source);
        tree_read(&tree, &arena, &source, &sink);
        const struct tree_node *node =
            tree.root ? tree_at(&tree, view_of(cases[i].path)) : NULL;
        cr_assert(node && node->kind == TREE_TEXT, "%s", cases[i].bytes);
        cr_expect(node->span.start == cases[i].at && node->span.end == cases[i].at,
                  "%s: %u to %u", cases[i].bytes, node->span.start, node->span.end);
    }
}

/* Texts that the file holds as they are cost nothing: they are looked at in place. */
Test(spans, views)
{
    const char *bytes = "a: plain\nb: \"quoted\"\nc: 'it''s'\nd: |\n  block\n";
    struct source source;
    struct finding_sink sink;
    struct tree tree;
    source_init(&source, &arena, view_of("test.yaml"), view_of(bytes));
    sink_init(&sink, &arena, &source);
    tree_read(&tree, &arena, &source, &sink);
    static const struct {
        const char *path;
        bool is_view;
        enum tree_style style;
    } cases[] = {{"a", true, STYLE_PLAIN},
                 {"b", true, STYLE_QUOTED},
                 {"c", false, STYLE_QUOTED},
                 {"d", false, STYLE_BLOCK}};
    for (size_t i = 0; i < 4; i++) {
        const struct tree_node *node = tree_at(&tree, view_of(cases[i].path));
        bool is_view = node->text.data >= bytes && node->text.data < bytes + strlen(bytes);
        cr_expect(is_view == cases[i].is_view, "%s", cases[i].path);
        cr_expect_eq(node->style, cases[i].style);
        cr_expect(node->key.data >= bytes && node->key.data < bytes + strlen(bytes));
    }
    cr_expect_eq(tree.root->style, STYLE_BLOCK);
    cr_expect(sizeof(struct tree_node) <= 80);
}
