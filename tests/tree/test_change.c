/* Changing one value in files of every layout: what is not meant stays, byte for byte. */
#include <criterion/criterion.h>

#include <string.h>

#include "../share.h"
#include "base/buffer.h"
#include "tree/change.h"

static struct arena arena;

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

/* The order of the keys in these tests: that of the alphabet, with `proveout` before all. */
static uint32_t rank(const void *user, struct view path)
{
    (void)user;
    uint32_t number = 0;
    size_t start = 0;
    for (size_t i = 0; i < path.size; i++)
        if (path.data[i] == '.')
            start = i + 1;
    struct view key = view_skip(path, start);
    if (view_is(key, "proveout"))
        return 0;
    for (size_t i = 0; i < 4; i++)
        number = number * 256 + (i < key.size ? (unsigned char)key.data[i] : 0);
    return number;
}

static const struct change_order order = {rank, NULL};

static void read_tree(struct view bytes, struct source *source, struct tree *tree)
{
    struct finding_sink *sink = ARENA_NEW(&arena, struct finding_sink);
    source_init(source, &arena, view_of("in.yaml"), bytes);
    sink_init(sink, &arena, source);
    tree_read(tree, &arena, source, sink);
}

static enum change_result change(struct view bytes, const char *path, const char *text,
                                 struct view *out, const char **why)
{
    struct source source;
    struct tree tree;
    size_t size = strlen(text);
    bool is_list = size && text[0] == '[' && text[size - 1] == ']';
    read_tree(bytes, &source, &tree);
    const struct value_change wanted = {view_of(path), view_of(text), !is_list, false};
    return change_value(&arena, &tree, &wanted, &order, out, why);
}

struct one {
    const char *before, *path, *text, *after; /* NULL: refused */
};

static void check(const struct one *one)
{
    struct view out, again;
    const char *why = NULL;
    enum change_result result = change(view_of(one->before), one->path, one->text, &out, &why);
    if (!one->after) {
        cr_expect(result == CHANGE_REFUSED, "`%s` %s was not refused but gave\n%.*s", one->path,
                  one->text, VIEW(out));
        cr_expect(result != CHANGE_REFUSED || (why && strlen(why) > 10));
        return;
    }
    cr_assert(result != CHANGE_REFUSED, "`%s` = %s in\n%s\nwas refused: %s", one->path,
              one->text, one->before, why);
    cr_expect(view_is(out, one->after), "`%s` = %s gave\n%.*s\nnot\n%s", one->path, one->text,
              VIEW(out), one->after);
    result = change(out, one->path, one->text, &again, &why);
    cr_expect(result == CHANGE_SAME, "`%s` = %s changed again", one->path, one->text);
    cr_expect(result == CHANGE_REFUSED || view_equal(again, out));
}

static void check_all(const struct one *all, size_t count)
{
    for (size_t i = 0; i < count; i++)
        check(&all[i]);
}

#define CHECK_ALL(all) check_all(all, sizeof all / sizeof *all)

TestSuite(change, .init = begin, .fini = end);

Test(change, values_in_place)
{
    static const struct one all[] = {
        {"a: 1 mm\nb: 2\n", "a", "5 mm", "a: 5 mm\nb: 2\n"},
        {"a:   1 mm   # why\nb: 2\n", "a", "5 mm", "a:   5 mm   # why\nb: 2\n"},
        {"a:\t1 mm\t# tab\nb: 2\n", "a", "5 mm", "a:\t5 mm\t# tab\nb: 2\n"},
        {"a: 1 mm\r\nb: 2\r\n", "b", "3", "a: 1 mm\r\nb: 3\r\n"},
        {"a: 1 mm\rb: 2\r", "b", "3", "a: 1 mm\rb: 3\r"},
        {"a: 1\nb: 2", "b", "3", "a: 1\nb: 3"},
        {"\xef\xbb\xbf"
         "a: 1\nb: 2\n",
         "a", "3",
         "\xef\xbb\xbf"
         "a: 3\nb: 2\n"},
        {"---\na: 1\n...\n", "a", "3", "---\na: 3\n...\n"},
        {"%YAML 1.1\n---\na: 1\n", "a", "3", "%YAML 1.1\n---\na: 3\n"},
        {"a: 'it''s'\n", "a", "it's so", "a: 'it''s so'\n"},
        {"a: \"x\"\n", "a", "say \"y\"", "a: \"say \\\"y\\\"\"\n"},
        {"a: 'x'\n", "a", "two\nlines", "a: \"two\\nlines\"\n"},
        {"\"a\": 1\n'b': 2\n", "b", "3", "\"a\": 1\n'b': 3\n"},
        {"a: &one 1 mm\nb: *one\n", "a", "2 mm", "a: &one 2 mm\nb: *one\n"},
        {"a: &one 1 mm\nb: *one\n", "b", "2 mm", "a: &one 1 mm\nb: 2 mm\n"},
        {"a: !!str 1 mm # x\n", "a", "2 mm", "a: !!str 2 mm # x\n"},
        {"a: &x !!str 1\n", "a", "2", "a: &x !!str 2\n"},
        {"p: {x: 1 mm, y: 2 mm} # park\n", "p.x", "5 mm", "p: {x: 5 mm, y: 2 mm} # park\n"},
        {"p: {\"x\": 1 mm,\n    y: 2 mm   # y\n   }\n", "p.y", "3 mm",
         "p: {\"x\": 1 mm,\n    y: 3 mm   # y\n   }\n"},
        {"c:\n  - n: 1 # one\n    s: 2 mm\n  -\n    n: 3\n    s: 4 mm\n", "c[1].s", "9 mm",
         "c:\n  - n: 1 # one\n    s: 2 mm\n  -\n    n: 3\n    s: 9 mm\n"},
        {"c:\n- n: 1\n  s: 2 mm\n", "c[n=1].s", "9 mm", "c:\n- n: 1\n  s: 9 mm\n"},
        {"c: [{n: 1, s: 2 mm}, {n: 2}]\n", "c[0].s", "9 mm", "c: [{n: 1, s: 9 mm}, {n: 2}]\n"},
        {"a: one\n  two\n  three\nb: 2\n", "a", "four", "a: four\nb: 2\n"},
        {"a: |\n  one\n  two\nb: 2\n", "a", "four", "a: four\nb: 2\n"},
        {"a: >-\n  one\n  two\n\n\nb: 2\n", "a", "four", "a: four\n\n\nb: 2\n"},
        {"a: |\n  one\n", "a", "four", "a: four\n"},
        {"a:\nb: 2\n", "a", "1 mm", "a: 1 mm\nb: 2\n"},
        {"a: # not yet\nb: 2\n", "a", "1 mm", "a: 1 mm # not yet\nb: 2\n"},
        {"a: ~\nb: 2\n", "a", "1 mm", "a: 1 mm\nb: 2\n"},
        {"b: 2\na:", "a", "1 mm", "b: 2\na: 1 mm"},
        {"p: {x: , y: 2}\n", "p.x", "1", "p: {x: 1 , y: 2}\n"},
        {"\xc3\xa4: 1\nb: \xc3\xb6\n", "b", "\xc3\xbc", "\xc3\xa4: 1\nb: \xc3\xbc\n"},
        {"? a\n: 1\nb: 2\n", "a", "3", "? a\n: 3\nb: 2\n"},
    };
    CHECK_ALL(all);
}

Test(change, texts_that_need_quotes)
{
    static const struct one all[] = {
        {"a: x\n", "a", "x: y", "a: \"x: y\"\n"},
        {"a: x\n", "a", "x #y", "a: \"x #y\"\n"},
        {"a: x\n", "a", "x#y", "a: x#y\n"},
        {"a: x\n", "a", "- x", "a: \"- x\"\n"},
        {"a: x\n", "a", "-155.2 mm", "a: -155.2 mm\n"},
        {"a: x\n", "a", "@x", "a: \"@x\"\n"},
        {"a: x\n", "a", "'x", "a: \"'x\"\n"},
        {"a: x\n", "a", "{x", "a: \"{x\"\n"},
        {"a: x\n", "a", "x, y", "a: x, y\n"},
        {"p: {a: x}\n", "p.a", "x, y", "p: {a: \"x, y\"}\n"},
        {"p: {a: x}\n", "p.a", "1/4\"", "p: {a: 1/4\"}\n"},
        {"a: x\n", "a", "~", "a: \"~\"\n"},
        {"a: x\n", "a", "---", "a: \"---\"\n"},
        {"a: x\n", "a", "tab\there", "a: \"tab\\x09here\"\n"},
        {"a: x\n", "a", "42 mm \xc2\xb1 0.5 mm", "a: 42 mm \xc2\xb1 0.5 mm\n"},
        {"a: x\n", "a", "", "a: \"\"\n"},
        {"a: 'x'\n", "a", "", "a: ''\n"},
        {"a: x\n", "a", "ends:", "a: \"ends:\"\n"},
        {"a: x\n", "a", "!x", "a: \"!x\"\n"},
        {"a: x\n", "a", "*x", "a: \"*x\"\n"},
        {"a: x\n", "a", "? x", "a: \"? x\"\n"},
        {"a: x\n", "a", "back\\slash", "a: back\\slash\n"},
        {"a: \"x\"\n", "a", "back\\slash", "a: \"back\\\\slash\"\n"},
    };
    CHECK_ALL(all);
}

Test(change, lists)
{
    static const struct one all[] = {
        {"a: [1, 2] # two\n", "a", "[3, 4]", "a: [3, 4] # two\n"},
        {"a: [1,\n    2]\nb: 1\n", "a", "[3, 4]", "a: [3, 4]\nb: 1\n"},
        {"a: [1, # one\n    2]\n", "a", "[3, 4]", NULL},
        {"a: [1, # one\n    2]\n", "a[0]", "3", "a: [3, # one\n    2]\n"},
        {"a:\n  - 1\n  - 2\nb: 1\n", "a", "[3]", "a: [3]\nb: 1\n"},
        {"a:\n- 1\n- 2\nb: 1\n", "a", "[3]", "a: [3]\nb: 1\n"},
        {"a:\n- 1\n- 2\nb: 1\n", "a", "none", "a: none\nb: 1\n"},
        {"a: # order\n  # of things\n  - 1\n  - 2\n\nb: 1\n", "a", "[3]",
         "a: [3] # order\n  # of things\n\nb: 1\n"},
        {"a:\n  - 1 # one\n  - 2\n", "a", "[3]", NULL},
        {"a:\n  - 1\n  - 2 # two\n", "a", "[3]", NULL},
        {"a:\n  - 1 # one\n  - 2\n", "a[1]", "3", "a:\n  - 1 # one\n  - 3\n"},
        {"a:\n  - 1\n  - 2", "a", "[3]", "a: [3]\n"},
        {"a:\r\n  - 1\r\n  - 2\r\nb: 1\r\n", "a", "[3]", "a: [3]\r\nb: 1\r\n"},
        {"a: 1\n", "a", "[3]", "a: [3]\n"},
        {"a: &x\n  - 1\nb: *x\n", "a", "[3]", NULL},
        {"a:\n  x: 1\n", "a", "3", NULL},
        {"c: [1, 2]\n", "c[5]", "3", NULL},
    };
    CHECK_ALL(all);
}

Test(change, items_added)
{
    static const struct one all[] = {
        {"c:\n- n: 1\n", "c[1].n", "2", "c:\n- n: 1\n- n: 2\n"},
        {"c:\n  - n: 1\n    s: 2 mm # one\n    # of it\n\nd: 1\n", "c[1].n", "2",
         "c:\n  - n: 1\n    s: 2 mm # one\n    # of it\n  - n: 2\n\nd: 1\n"},
        {"c:\r\n  - n: 1", "c[1].p.q", "2", "c:\r\n  - n: 1\r\n  - p:\r\n      q: 2"},
        {"c:\n  -\n    n: 1\n", "c[1].n", "2", "c:\n  -\n    n: 1\n  - n: 2\n"},
        {"c: [{n: 1}]\n", "c[1].n", "a, b", "c: [{n: 1}, {n: \"a, b\"}]\n"},
        {"c:\n  - {n: 1} # one\n", "c[1].n", "a, b",
         "c:\n  - {n: 1} # one\n  - {n: \"a, b\"}\n"},
        {"c:\n  - &x {n: 1}\n  - *x\nd: 1\n", "c[2].n", "2",
         "c:\n  - &x {n: 1}\n  - *x\n  - n: 2\nd: 1\n"},
        {"c:\n-   n: 1\n    m: 2\n", "c[1].n", "2", "c:\n-   n: 1\n    m: 2\n-   n: 2\n"},
        {"c: []\n", "c[0].n", "2", "c: [{n: 2}]\n"},
        {"c: ~\n", "c[0].n", "2", "c: [{n: 2}]\n"},
        {"c:\nd: 1\n", "c[0].n", "2", "c:\n  - n: 2\nd: 1\n"},
        {"b: 1\nd: 1\n", "c[0].n", "2", "b: 1\nc:\n  - n: 2\nd: 1\n"},
        {"b: 1\n...\n", "c[0].n", "2", "b: 1\nc:\n  - n: 2\n...\n"},
        {"{b: 1}\n", "c[0].n", "2", "{b: 1, c: [{n: 2}]}\n"},
        {"b:\n  c: 1\n", "b.d[0].n", "2", "b:\n  c: 1\n  d:\n    - n: 2\n"},
        {"c: &x\n  - n: 1\nd: *x\n", "d[1].n", "2", NULL},
        {"c: text\n", "c[0].n", "2", NULL},
        {"c: {n: 1}\n", "c[0].n", "2", NULL},
        {"c:\n- n: 1\n", "c[2].n", "2", NULL},
        {"b: 1\n", "c[1].n", "2", NULL},
        {"c:\n- n: 1\n", "c[n=2].n", "2", NULL},
    };
    CHECK_ALL(all);
}

Test(change, keys_added)
{
    static const struct one all[] = {
        {"p:\n  a: 1\n  c: 3\nq: 1\n", "p.b", "2", "p:\n  a: 1\n  b: 2\n  c: 3\nq: 1\n"},
        {"p:\n  b: 1\n  c: 3\nq: 1\n", "p.a", "2", "p:\n  a: 2\n  b: 1\n  c: 3\nq: 1\n"},
        {"p:\n  a: 1\n  b: 3\nq: 1\n", "p.c", "2", "p:\n  a: 1\n  b: 3\n  c: 2\nq: 1\n"},
        {"p:\n  a: 1 # one\n\n  # of c\n  c: 3\n", "p.b", "2",
         "p:\n  a: 1 # one\n  b: 2\n\n  # of c\n  c: 3\n"},
        {"p:\n  # of b\n  b: 1\n", "p.a", "2", "p:\n  a: 2\n  # of b\n  b: 1\n"},
        {"p:\n    a: 1\nq:\n    s:\n        t: 1\n", "q.s.u", "2",
         "p:\n    a: 1\nq:\n    s:\n        t: 1\n        u: 2\n"},
        {"p:\n    a: 1\n", "r.s.t", "2", "p:\n    a: 1\nr:\n    s:\n        t: 2\n"},
        {"p:\n  a: 1", "p.b", "2", "p:\n  a: 1\n  b: 2"},
        {"p:\n  a: 1", "q.b", "2", "p:\n  a: 1\nq:\n  b: 2"},
        {"p:\r\n  a: 1\r\n", "p.b", "2", "p:\r\n  a: 1\r\n  b: 2\r\n"},
        {"p:\r  a: 1\r", "p.b", "2", "p:\r  a: 1\r  b: 2\r"},
        {"p: {a: 1, c: 3}\n", "p.b", "2", "p: {a: 1, b: 2, c: 3}\n"},
        {"p: {b: 1}\n", "p.a", "x, y", "p: {a: \"x, y\", b: 1}\n"},
        {"p: {b: 1}\n", "p.c.d", "2", "p: {b: 1, c: {d: 2}}\n"},
        {"p: {}\n", "p.a", "2", "p: {a: 2}\n"},
        {"p: { }\n", "p.a", "2", "p: {a: 2 }\n"},
        {"p: {a: 1,\n    # of c\n    c: 3}\n", "p.b", "2",
         "p: {a: 1, b: 2,\n    # of c\n    c: 3}\n"},
        {"p: {a: 1,}\n", "p.b", "2", "p: {a: 1, b: 2,}\n"},
        {"p:\nq: 1\n", "p.a", "2", "p:\n  a: 2\nq: 1\n"},
        {"p: # later\nq: 1\n", "p.a", "2", "p: # later\n  a: 2\nq: 1\n"},
        {"p: ~\nq: 1\n", "p.a", "2", "p: {a: 2}\nq: 1\n"},
        {"q: {p: }\n", "q.p.a", "2", "q: {p: {a: 2} }\n"},
        {"p:", "p.a", "2", "p:\n  a: 2"},
        {"c:\n  - n: 1\n    t: 2\n", "c[0].s", "3", "c:\n  - n: 1\n    s: 3\n    t: 2\n"},
        {"c:\n  - n: 1\n    t: 2\n", "c[0].a", "3", "c:\n  - n: 1\n    a: 3\n    t: 2\n"},
        {"c:\n- n: 1\n- n: 2\n", "c[n=2].s", "3", "c:\n- n: 1\n- n: 2\n  s: 3\n"},
        {"c:\n- {n: 1}\n", "c[0].s", "3", "c:\n- {n: 1, s: 3}\n"},
        {"c:\n  -\n    n: 1\n", "c[0].a", "3", "c:\n  -\n    a: 3\n    n: 1\n"},
        {"p:\n  a:\n    x: 1\n    # of x\n  # of p\nq: 1\n", "p.b", "2",
         "p:\n  a:\n    x: 1\n    # of x\n  b: 2\n  # of p\nq: 1\n"},
        {"p:\n  a: |\n    text\n  c: 1\n", "p.b", "2",
         "p:\n  a: |\n    text\n  b: 2\n  c: 1\n"},
        {"p:\n  a:\n    - 1\n    - 2\n", "p.b", "2", "p:\n  a:\n    - 1\n    - 2\n  b: 2\n"},
        {"p:\n  a: [1,\n      2] # x\n", "p.b", "[3]",
         "p:\n  a: [1,\n      2] # x\n  b: [3]\n"},
        {"p:\n  a: 'x\n    y'\n", "p.b", "2", "p:\n  a: 'x\n    y'\n  b: 2\n"},
        {"p:\n  a: x\n    y\n", "p.b", "2", "p:\n  a: x\n    y\n  b: 2\n"},
        {"---\np:\n  a: 1\n...\n", "p.b", "2", "---\np:\n  a: 1\n  b: 2\n...\n"},
        {"p:\n  a: 1\n\n\n# the end\n", "q", "2", "p:\n  a: 1\nq: 2\n\n\n# the end\n"},
        {"{p: 1}\n", "q", "2", "{p: 1, q: 2}\n"},
        {"\xef\xbb\xbfp:\n  b: 1\n", "a", "2",
         "\xef\xbb\xbf"
         "a: 2\np:\n  b: 1\n"},
        {"p: &x\n  a: 1\nq: *x\n", "p.b", "2", "p: &x\n  a: 1\n  b: 2\nq: *x\n"},
        {"p: &x\n  a: 1\nq: *x\n", "q.b", "2", NULL},
        {"p: &x\n  a: 1\nq: *x\n", "q.a", "2", NULL},
        {"p: &x {a: 1}\n", "p.b", "2", "p: &x {a: 1, b: 2}\n"},
        {"p: &x {}\n", "p.b", "2", "p: &x {b: 2}\n"},
        {"p: text\n", "p.b", "2", NULL},
        {"p: [1]\n", "p.b", "2", NULL},
        {"p: 1\np: 2\n", "p", "3", NULL},
        {"p: [1\n", "p", "3", NULL},
        {"p:\n  a: |+\n    text\n\n\nq: 1\n", "p.b", "2", NULL},
    };
    CHECK_ALL(all);
}

/* Files put together at random from pieces of all layouts; every value of each is changed. */
static uint64_t state;

static uint32_t draw(uint32_t below)
{
    state = state * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)((state >> 33) % below);
}

static const char *pick(const char *const *texts, size_t count)
{
    return texts[draw((uint32_t)count)];
}

#define PICK(...)                                                                              \
    pick((const char *const[]){__VA_ARGS__},                                                   \
         sizeof((const char *const[]){__VA_ARGS__}) / sizeof(const char *))

static void add_value(struct buffer *out, bool flow)
{
    buffer_text(out, flow ? PICK("1 mm", "'2'", "\"three\"", "four five", "6", "\xc3\xa4 x")
                          : PICK("1 mm", "'it''s'", "\"a, b\"", "x:y", "-5 mm", "a, b", "~",
                                 "\xe2\x82\xac 3", "&m 4 mm", "!!str 5"));
}

static void add_flow(struct buffer *out)
{
    buffer_byte(out, '{');
    for (uint32_t i = 0, count = draw(4); i < count; i++) {
        buffer_format(out, "%s%c%s", i ? PICK(", ", ",  ", " , ") : PICK("", " "),
                      (int)('b' + 2 * i), PICK(": ", ":   "));
        add_value(out, true);
    }
    buffer_text(out, PICK("}", " }"));
}

static void add_section(struct buffer *out, size_t column, int depth, const char *line_end);

static void add_content(struct buffer *out, size_t column, int depth, const char *line_end)
{
    const char *comment = PICK("", "", " # why", "\t# tab", "   ");
    switch (depth > 2 ? draw(2) : draw(4)) {
    case 0:
        buffer_byte(out, ' ');
        add_value(out, false);
        buffer_format(out, "%s%s", comment, line_end);
        break;
    case 1:
        buffer_byte(out, ' ');
        add_flow(out);
        buffer_format(out, "%s%s", comment, line_end);
        break;
    default:
        buffer_format(out, "%s%s", comment, line_end);
        add_section(out, column + 1 + draw(4), depth + 1, line_end);
    }
}

static void add_section(struct buffer *out, size_t column, int depth, const char *line_end)
{
    for (uint32_t i = 0, count = 1 + draw(4); i < count; i++) {
        if (draw(4) == 0)
            buffer_text(out, line_end);
        if (draw(4) == 0) {
            buffer_fill(out, ' ', draw(2) ? column : column + 2);
            buffer_format(out, "# a remark: %c%s", (int)('a' + i), line_end);
        }
        buffer_fill(out, ' ', column);
        buffer_format(out, draw(5) ? "%c:" : "\"%c\":", (int)('b' + 2 * i));
        add_content(out, column, depth, line_end);
    }
}

/* A value that was there: all before and behind it is as it was.  One that was not: something
 * was put in, and nothing taken out. */
static void check_bytes(struct view before, struct view after, const struct tree_node *node)
{
    size_t start = node ? node->span.start : 0, rest = node ? before.size - node->span.end : 0;
    if (!node) {
        while (start < before.size && before.data[start] == after.data[start])
            start++;
        rest = before.size - start;
        if (view_is(view_skip(before, start), "") && after.size > before.size)
            return;
    }
    cr_expect(
        after.size >= start + rest && memcmp(before.data, after.data, start) == 0 &&
            memcmp(before.data + before.size - rest, after.data + after.size - rest, rest) == 0,
        "more than the value changed in\n%.*s\nwhich became\n%.*s", VIEW(before), VIEW(after));
}

static void check_change(struct view bytes, const char *path, const char *text)
{
    struct view out, again;
    const char *why;
    enum change_result result = change(bytes, path, text, &out, &why);
    if (result == CHANGE_REFUSED) {
        cr_expect(strstr(why, "whole section") || strstr(why, "something else"),
                  "%s = %s in\n%.*s\nwas refused: %s", path, text, VIEW(bytes), why);
        return;
    }
    struct source source;
    struct tree tree;
    read_tree(out, &source, &tree);
    const struct tree_node *node = tree_at(&tree, view_of(path));
    cr_assert(node && node->kind == TREE_TEXT && view_is(node->text, text),
              "%s = %s is not found in\n%.*s", path, text, VIEW(out));
    read_tree(bytes, &source, &tree);
    node = tree_at(&tree, view_of(path));
    bool is_void = node && node->span.start == node->span.end;
    check_bytes(bytes, out, is_void ? NULL : node);
    cr_expect(change(out, path, text, &again, &why) == CHANGE_SAME);
}

static void change_everywhere(struct view bytes, const struct tree_node *map, const char *path)
{
    static const char *const texts[] = {"7 mm", "x # y", "say \"z\"", "it's: so", "-1"};
    for (const struct tree_node *child = map->first; child; child = child->next) {
        const char *below =
            arena_format(&arena, "%s%s%.*s", path, *path ? "." : "", VIEW(child->key));
        if (child->kind == TREE_TEXT)
            check_change(bytes, below, texts[draw(5)]);
        else
            change_everywhere(bytes, child, below);
    }
    for (char key = 'a'; key <= 'i'; key += 2) /* one that is not there, in each gap */
        check_change(bytes, arena_format(&arena, "%s%s%c", path, *path ? "." : "", key),
                     texts[draw(5)]);
    check_change(bytes, arena_format(&arena, "%s%se.deep.er", path, *path ? "." : ""), "8 mm");
}

Test(change, files_at_random)
{
    for (unsigned i = 0; i < share_of(700); i++) {
        struct buffer file;
        state = i + 1;
        buffer_init(&file, &arena);
        const char *line_end = PICK("\n", "\n", "\r\n");
        buffer_text(&file, PICK("", "", "\xef\xbb\xbf", "# head\n", "---\n"));
        add_section(&file, 0, 0, line_end);
        if (draw(3) == 0)
            while (file.data[file.size - 1] == '\n' || file.data[file.size - 1] == '\r')
                file.size--;
        struct view bytes = buffer_view(&file);
        bytes.data = arena_copy(&arena, bytes.data, bytes.size);
        struct source source;
        struct tree tree;
        read_tree(bytes, &source, &tree);
        cr_assert(tree.status == TREE_WHOLE, "not YAML:\n%.*s", VIEW(bytes));
        change_everywhere(bytes, tree.root, "");
        arena_reset(&arena);
    }
}
