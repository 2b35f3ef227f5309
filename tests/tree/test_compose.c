/* What several files say together: who wins, what is taken away, where everything stands, and
 * what is refused. */
#include <criterion/criterion.h>

#include "base/buffer.h"
#include "tree/compose.h"

enum { FILES = 5, FINDINGS = 4 };

struct shop_file {
    const char *path, *text;
};

struct case_compose {
    const char *what;
    struct shop_file files[FILES]; /* the first is the machine's own */
    const char *says;              /* the tree in brackets; NULL: nothing */
    const char *findings[FINDINGS];
    bool is_short;
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

TestSuite(compose, .init = begin, .fini = end);

static bool read_shop(void *user, struct arena *room, struct view path, struct view *bytes,
                      const char **why)
{
    const struct shop_file *files = user;
    (void)room;
    for (size_t i = 0; i < FILES && files[i].path; i++)
        if (view_is(path, files[i].path)) {
            *bytes = view_of(files[i].text);
            return true;
        }
    *why = "there is no such file";
    return false;
}

static void say(struct buffer *out, const struct tree_node *node, bool has_key)
{
    if (has_key)
        buffer_format(out, "%.*s: ", VIEW(node->key));
    bool is_map = node->kind == TREE_MAP;
    if (node->kind == TREE_TEXT) {
        buffer_add(out, node->text);
        return;
    }
    uint32_t count = 0;
    buffer_byte(out, is_map ? '{' : '[');
    for (const struct tree_node *child = node->first; child; child = child->next, count++) {
        if (count)
            buffer_text(out, ", ");
        say(out, child, is_map);
    }
    cr_expect_eq(count, node->count);
    buffer_byte(out, is_map ? '}' : ']');
}

/* Where it stands, there it stands: in its own file. */
static void expect_spans(struct source *first, const struct tree_node *node)
{
    struct span key = node->key_span, value = node->span;
    const struct source *source = source_holding(first, &value);
    cr_expect_leq(value.end, source->bytes.size);
    if (node->kind == TREE_TEXT && node->style == STYLE_PLAIN)
        cr_expect(view_equal(source_slice(first, node->span), node->text), "%.*s",
                  VIEW(node->text));
    if (key.end - key.start == node->key.size) {
        source_holding(first, &key);
        cr_expect(view_equal(source_slice(first, node->key_span), node->key), "%.*s",
                  VIEW(node->key));
    }
    for (const struct tree_node *child = node->first; child; child = child->next)
        expect_spans(first, child);
}

struct composed {
    struct source source;
    struct finding_sink sink;
    struct tree own, tree;
};

static void compose_shop(struct composed *out, const struct shop_file *files, const char *root,
                         const char *folder)
{
    const struct shared_files shared = {{(void *)files, read_shop}, root, folder};
    const char *name = strrchr(files[0].path, '/');
    name = arena_format(&arena, "%s%s", root, name ? name + 1 : files[0].path);
    source_init(&out->source, &arena, view_of(name), view_of(files[0].text));
    sink_init(&out->sink, &arena, &out->source);
    tree_read(&out->own, &arena, &out->source, &out->sink);
    tree_compose(&out->tree, &arena, &out->own, files[0].path ? &shared : NULL, &out->sink);
}

static const char *finding_text(const struct finding *finding)
{
    struct span span = finding->at.span;
    struct source *source = source_holding(finding->at.source, &span);
    return arena_format(&arena, "%.*s:%u %s: %s", VIEW(source->name),
                        source_place(source, span.start, COLUMN_BYTES).line, finding->rule,
                        finding->message);
}

static void expect_findings(const struct composed *composed, const char *const *wanted,
                            const char *what)
{
    size_t count = 0;
    while (count < FINDINGS && wanted[count])
        count++;
    cr_expect_eq(composed->sink.findings.count, count, "%s: %zu", what,
                 composed->sink.findings.count);
    for (size_t i = 0; i < composed->sink.findings.count; i++) {
        const char *text = finding_text(&composed->sink.findings.items[i]);
        cr_expect_str_eq(text, i < count ? wanted[i] : "nothing", "%s", what);
    }
}

#define P "proveout: 1\n"

static const struct case_compose cases[] = {
    {"keys merge, the nearer wins, the way it wrote it",
     {{"a", P "extends: b\nz: {rapid: 9, travel: 2}\n"},
      {"b", P "z:\n  rapid: 5\n  drive: {steps: 3}\ny: 1\n"}},
     "{proveout: 1, z: {rapid: 9, drive: {steps: 3}, travel: 2}, y: 1}",
     {0},
     false},
    {"a sign for nothing takes a key away, and a section",
     {{"a", P "extends: b\nz: {rapid: ~}\ny: ~\nx: \"~\"\n"},
      {"b", P "z: {rapid: 5, steps: 3}\ny: {a: 1}\nx: 2\n"}},
     "{proveout: 1, z: {steps: 3}, x: ~}",
     {0},
     false},
    {"of a list of files the later is the nearer, and takes away from the earlier",
     {{"a", P "extends: [b, c]\nw: 4\n"},
      {"b", P "w: 1\nx: 1\ny: 1\nz: 1\n"},
      {"c", P "w: 2\nx: 2\ny: ~\n"}},
     "{proveout: 1, w: 4, x: 2, z: 1}",
     {0},
     false},
    {"lists of maps by number",
     {{"a", P "extends: b\ncutters:\n- {number: 2, length: 50}\n- {number: 7, length: 70}\n"},
      {"b", P "cutters: [{number: 1, length: 10}, {number: 2, length: 20, shank: 6}]\n"}},
     "{proveout: 1, cutters: [{number: 1, length: 10}, {number: 2, length: 50, shank: 6}, "
     "{number: 7, length: 70}]}",
     {0},
     false},
    {"lists of maps by name; a number twice below stays twice",
     {{"a", P "extends: b\nobstacles: [{name: vice, top: 2}]\ncutters: [{number: 1, x: 3}]\n"},
      {"b", P
       "obstacles: [{name: vice, top: 1, x: 0}]\ncutters: [{number: 1}, {number: 1, y: 2}]\n"}},
     "{proveout: 1, obstacles: [{name: vice, top: 2, x: 0}], cutters: [{number: 1, x: 3}, "
     "{number: 1, y: 2}]}",
     {0},
     false},
    {"other lists are replaced",
     {{"a", P "extends: b\nx: [1]\ny: [{k: 1}]\nz: []\n"},
      {"b", P "x: [2, 3]\ny: [{k: 2}, {k: 3}]\nz: [4]\n"}},
     "{proveout: 1, x: [1], y: [{k: 1}], z: []}",
     {0},
     false},
    {"an item without its number is no item of the other list",
     {{"a", P "extends: b\ncutters:\n- number: 1\n- stickout: 4\n"},
      {"b", P "cutters: [{number: 1, x: 3}, {number: 4}]\n"}},
     "{proveout: 1, cutters: [{number: 1}, {stickout: 4}]}",
     {"a:5 missing-key: this item has no number, by which lists of several files are put "
      "together"},
     false},
    {"nor one below; an empty list is one, too",
     {{"a", P "extends: b\ncutters:\n- number: 1\nobstacles: []\n"},
      {"b", P "cutters: [{stickout: 3}]\nobstacles: [{name: vice}]\n"}},
     "{proveout: 1, cutters: [{number: 1}], obstacles: []}",
     {"b:2 missing-key: this item has no number, by which lists of several files are put "
      "together"},
     false},
    {"a way down and up again; every name from the file that says it",
     {{"a", P "extends: parts/b\n"},
      {"parts/b", P "extends: ./c\nb: 1\n"},
      {"parts/c", P "extends: [../d, ..//d]\nc: 1\n"},
      {"d", P "d: 1\n"}},
     "{proveout: 1, d: 1, c: 1, b: 1}",
     {0},
     false},
    {"the same file by two ways",
     {{"a", P "extends: [b, c]\n"},
      {"b", P "extends: d\nx: 1\n"},
      {"c", P "extends: d\ny: 1\n"},
      {"d", P "x: 0\ny: 0\nz: 0\n"}},
     "{proveout: 1, x: 0, y: 1, z: 0}",
     {0},
     false},
    {"cutters of another file, and only some",
     {{"a", P "cutters: {from: b, only: [7, 1]}\n"},
      {"b", P "cutters:\n- number: 1\n- number: 2\n- {number: 7, shank: 8}\n"}},
     "{proveout: 1, cutters: [{number: 7, shank: 8}, {number: 1}]}",
     {0},
     false},
    {"all of them",
     {{"a", P "cutters:\n  from: b\n"}, {"b", P "cutters: [{number: 1}, {number: 2}]\n"}},
     "{proveout: 1, cutters: [{number: 1}, {number: 2}]}",
     {0},
     false},
    {"where it is said which cutters there are, there are no others",
     {{"a", P "extends: c\ncutters: {from: b, only: [1]}\n"},
      {"b", P "cutters: [{number: 1}, {number: 2}]\n"},
      {"c", P "cutters: [{number: 3}]\nz: 1\n"}},
     "{proveout: 1, z: 1, cutters: [{number: 1}]}",
     {0},
     false},
    {"what a file below chose can be laid over",
     {{"a", P "extends: c\ncutters: [{number: 1, x: 2}]\n"},
      {"b", P "cutters: [{number: 1, x: 1, y: 1}, {number: 2}]\n"},
      {"c", P "cutters: {from: b, only: [1]}\n"}},
     "{proveout: 1, cutters: [{number: 1, x: 2, y: 1}]}",
     {0},
     false},
    {"numbers that are not there, and twice",
     {{"a", P "cutters: {from: b, only: [4, 1, 1, []], but: 3}\n"},
      {"b", P "cutters: [{number: 1}, {number: 2}]\n"}},
     "{proveout: 1, cutters: [{number: 1}]}",
     {"a:2 unknown-key: beside from only the key only may stand, not but",
      "a:2 unknown-name: b lists no cutter 4",
      "a:2 duplicate-key: cutter 1 is named twice here",
      "a:2 unknown-name: b lists no cutter "},
     true},
    {"no cutters there",
     {{"a", P "cutters: {from: b}\n"}, {"b", P "cutters: none\n"}},
     "{proveout: 1, cutters: []}",
     {"a:2 missing-key: b lists no cutters"},
     true},
    {"not the name of a file",
     {{"a", P "extends: {b: c}\ncutters: {from: [b]}\n"}},
     "{proveout: 1, cutters: []}",
     {"a:3 wrong-kind: from wants the name of a file",
      "a:2 wrong-kind: extends wants the name of a file, or a list of such names"},
     true},
    {"not a list of numbers",
     {{"a", P "extends: [[b]]\ncutters: {from: b, only: 3}\n"}},
     "{proveout: 1, cutters: []}",
     {"a:3 wrong-kind: only wants a list of numbers of cutters",
      "a:2 wrong-kind: extends wants the name of a file, or a list of such names"},
     true},
    {"a map of something else is left to those who know",
     {{"a", P "cutters: {number: 1}\nextends: b\n"}, {"b", P}},
     "{proveout: 1, cutters: {number: 1}}",
     {0},
     false},
    {"a file that is not there; what is, counts",
     {{"a", P "extends:\n  - b\n  - c\nx: 1\n"}, {"c", P "y: 2\n"}},
     "{proveout: 1, y: 2, x: 1}",
     {"a:3 shared-file-unreadable: b cannot be taken in: there is no such file"},
     true},
    {"nothing is named",
     {{"a", P "extends:\nx: 1\n"}},
     "{proveout: 1, x: 1}",
     {"a:2 shared-file-unreadable:  cannot be taken in: there is no such file"},
     true},
    {"outside",
     {{"a", P "extends: [../b, /b, p/../../b]\n"}, {"b", P}},
     "{proveout: 1}",
     {"a:2 shared-file-unreadable: ../b cannot be taken in: it lies outside the folder of this "
      "machine",
      "a:2 shared-file-unreadable: /b cannot be taken in: it lies outside the folder of this "
      "machine",
      "a:2 shared-file-unreadable: p/../../b cannot be taken in: it lies outside the folder of "
      "this machine"},
     true},
    {"a circle of one",
     {{"a", P "extends: a\n"}},
     "{proveout: 1}",
     {"a:2 shared-file-circle: a takes itself in"},
     true},
    {"a circle of three, by way of cutters",
     {{"a", P "extends: b\n"},
      {"b", P "x: 1\nextends: c\n"},
      {"c", P "cutters: {from: ./a}\n"}},
     "{proveout: 1, cutters: [], x: 1}",
     {"c:2 shared-file-circle: a takes itself in, by way of other files"},
     true},
    {"a mistake of form in another file, in its place",
     {{"a", P "extends: b\n"}, {"b", P "x: 1\ny: 'two\n"}},
     "{proveout: 1, x: 1}",
     {"b:3 not-yaml: the quote opened here is never closed"},
     true},
    {"nothing in it",
     {{"a", P "extends: b\n"}, {"b", ""}},
     "{proveout: 1}",
     {"b:1 not-yaml: the file is empty; keys with values are wanted, such as 'name: value'"},
     true},
    {"the version is said in each",
     {{"a", P "extends: [b, c]\n"}, {"b", "x: 1\n"}, {"c", "proveout: 2\n"}},
     "{x: 1, proveout: 1}",
     {"b:1 missing-key: proveout is missing, the version of the format",
      "c:1 unknown-choice: proveout wants 1, the version of the format"},
     false},
    {"waivers stay where they are",
     {{"a", P "extends: [b, c]\nwaivers: [{rule: x}]\n"},
      {"b", P "waivers: [{rule: y}]\n"},
      {"c", P "waivers: []\n"}},
     "{proveout: 1, waivers: [{rule: x}]}",
     {"a:2 waiver-not-shared: the waivers of b do not come with it: they are for one machine"},
     false},
    {"aliases are followed in their own file",
     {{"a", P "extends: b\nx: &x 5\nz: *x\n"}, {"b", P "x: &x {k: 1}\ny: *x\n"}},
     "{proveout: 1, x: 5, y: {k: 1}, z: 5}",
     {0},
     false},
    {"merge keys: own keys win, wherever they stand",
     {{"a", P "a: &a {x: 1, y: 2}\nb:\n  x: 3\n  <<: *a\n  z: 4\n"}},
     "{proveout: 1, a: {x: 1, y: 2}, b: {x: 3, z: 4, y: 2}}",
     {0},
     false},
    {"of several maps the earlier wins",
     {{"a", P "a: &a {x: 1}\nb: &b {x: 2, y: 2}\nc: {<<: [*a, *b, {y: 3, z: 3}]}\n"}},
     "{proveout: 1, a: {x: 1}, b: {x: 2, y: 2}, c: {x: 1, y: 2, z: 3}}",
     {0},
     false},
    {"what is taken in has taken in itself",
     {{"a", P "a: &a {x: 1}\nb: &b {<<: *a, y: 2}\nc: {<<: *b, y: 3}\n<<: {d: {<<: *b}}\n"}},
     "{proveout: 1, a: {x: 1}, b: {y: 2, x: 1}, c: {y: 3, x: 1}, d: {y: 2, x: 1}}",
     {0},
     false},
    {"in quotes it is a key like any other",
     {{"a", P "a: &a {x: 1}\nb: {\"<<\": *a}\nc: {<<: *a}\n"}},
     "{proveout: 1, a: {x: 1}, b: {<<: {x: 1}}, c: {x: 1}}",
     {0},
     false},
    {"what no keys can be taken from",
     {{"a", P "b: {<<: 5, x: 1}\nc: {<<: [{y: 1}, 6]}\n"}},
     "{proveout: 1, b: {x: 1}, c: {y: 1}}",
     {"a:2 wrong-kind: '<<' takes in keys with values: a reference to some, or a list of such",
      "a:3 wrong-kind: '<<' takes in keys with values: a reference to some, or a list of such"},
     false},
    {"two of them are one too many",
     {{"a", P "b: {<<: {x: 1}, <<: {y: 1}}\nc: {<<: {}}\n"}},
     "{proveout: 1, b: {<<: {x: 1}, <<: {y: 1}}, c: {}}",
     {"a:2 duplicate-key: the key '<<' stands twice here"},
     false},
    {"each file's merge keys are its own",
     {{"a", P "extends: b\nc: {x: 5}\n"},
      {"b", P "a: &a {x: 1, y: 1}\nc: {<<: *a}\ncutters: [&d {number: 1, z: 1}, {<<: *d, "
              "number: 2}]\n"}},
     "{proveout: 1, a: {x: 1, y: 1}, c: {x: 5, y: 1}, cutters: [{number: 1, z: 1}, {number: 2, "
     "z: 1}]}",
     {0},
     false},
};

Test(compose, cases)
{
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const struct case_compose *test = &cases[i];
        struct composed composed;
        struct buffer text;
        compose_shop(&composed, test->files, "", "");
        buffer_init(&text, &arena);
        cr_assert(composed.tree.root, "%s", test->what);
        say(&text, composed.tree.root, false);
        cr_expect_str_eq(buffer_string(&text), test->says, "%s", test->what);
        expect_findings(&composed, test->findings, test->what);
        expect_spans(&composed.source, composed.tree.root);
        cr_expect_eq(composed.tree.lacks_parts, test->is_short, "%s", test->what);
        cr_expect_eq(composed.tree.status, test->is_short ? TREE_PARTIAL : TREE_WHOLE, "%s",
                     test->what);
    }
}

/* Nothing is copied where nothing is taken in. */
Test(compose, plain)
{
    const struct shop_file files[FILES] = {{"a", P "a: &a {x: 1}\nb: *a\n"}};
    struct composed composed;
    compose_shop(&composed, files, "", "");
    cr_expect_eq(composed.tree.root, composed.own.root);
}

/* A machine in a folder of its own: what leads upwards stays below the root. */
Test(compose, below_a_root)
{
    const struct shop_file files[FILES] = {
        {"mills/a", P "extends: ../b\ncutters: {from: ../../c}\n"},
        {"b", P "extends: mills/c\n"},
        {"mills/c", P "x: y\n"}};
    static const char *const wanted[FINDINGS] = {
        "shop/a:3 shared-file-unreadable: ../../c cannot be taken in: it lies outside the folder "
        "of this machine"};
    struct composed composed;
    compose_shop(&composed, files, "shop/", "mills/");
    expect_findings(&composed, wanted, "below a root");
    const struct tree_node *x = tree_at(&composed.tree, view_of("x"));
    cr_assert(x);
    struct span span = x->span;
    const struct source *source = source_holding(&composed.source, &span);
    cr_expect(view_is(source->name, "shop/mills/c"), "%.*s", VIEW(source->name));
    cr_expect(view_is(source->taker->name, "shop/b"), "%.*s", VIEW(source->taker->name));
    cr_expect_eq(source->taken_at.start, strlen(P "extends: "));
    cr_expect_eq(source->taker->taker, &composed.source);
}

/* Eight files may take each other in, one below the other; a ninth is not read, whichever way
 * leads there first. */
static bool read_steps(void *user, struct arena *room, struct view path, struct view *bytes,
                       const char **why)
{
    (void)user;
    int step = path.data[0] - '0';
    *why = "there is no such file";
    *bytes = view_of(arena_format(room, P "extends: '%d'\nx%d: 1\n", step + 1, step));
    if (step == 9)
        *bytes = view_of(P);
    return true;
}

static size_t count_steps(const char *text)
{
    struct composed out;
    const struct shared_files shared = {{NULL, read_steps}, "", ""};
    source_init(&out.source, &arena, view_of("0"), view_of(text));
    sink_init(&out.sink, &arena, &out.source);
    tree_read(&out.own, &arena, &out.source, &out.sink);
    tree_compose(&out.tree, &arena, &out.own, &shared, &out.sink);
    for (size_t i = 0; i < out.sink.findings.count; i++) {
        cr_expect_str_eq(out.sink.findings.items[i].rule, "too-deep");
        cr_expect_str_eq(out.sink.findings.items[i].message,
                         "more than 8 files take each other in here");
    }
    return out.sink.findings.count;
}

Test(compose, depth)
{
    cr_expect_eq(count_steps(P "extends: '2'\n"), 0u);
    cr_expect_eq(count_steps(P "extends: '1'\n"), 1u);
    cr_expect_eq(count_steps(P "extends: ['3', '2', '1']\n"), 1u);
}

/* Files that take each other in over and over again come to an end. */
static bool read_doubles(void *user, struct arena *room, struct view path, struct view *bytes,
                         const char **why)
{
    struct buffer text;
    int step = path.data[0] - '0';
    size_t *reads = user;
    *why = NULL;
    ++*reads;
    buffer_init(&text, room);
    buffer_text(&text, P "extends: [");
    for (int i = 0; step < 7 && i < 60; i++)
        buffer_format(&text, "%s%d", i ? ", " : "", step + 1);
    buffer_text(&text, "]\nx: [");
    for (int i = 0; i < 1000; i++)
        buffer_format(&text, "%d, ", i);
    buffer_text(&text, "]\n");
    *bytes = buffer_view(&text);
    return true;
}

Test(compose, budget)
{
    struct composed out;
    size_t reads = 0;
    const struct shared_files shared = {{&reads, read_doubles}, "", ""};
    source_init(&out.source, &arena, view_of("0"), view_of(P "extends: [1, 1, 1]\n"));
    sink_init(&out.sink, &arena, &out.source);
    tree_read(&out.own, &arena, &out.source, &out.sink);
    tree_compose(&out.tree, &arena, &out.own, &shared, &out.sink);
    cr_expect_eq(reads, 7u);
    cr_expect_eq(out.tree.status, TREE_WHOLE);
    /* The same with so much in each that all copies together are too many. */
    struct buffer text;
    buffer_init(&text, &arena);
    buffer_text(&text, P "extends: 1\nx: &x [");
    for (int i = 0; i < 1000; i++)
        buffer_format(&text, "%d, ", i);
    buffer_text(&text, "]\ny: &y [");
    for (int i = 0; i < 990; i++)
        buffer_text(&text, "*x, ");
    buffer_text(&text, "]\nz: [*y]\n");
    source_init(&out.source, &arena, view_of("0"), buffer_view(&text));
    sink_init(&out.sink, &arena, &out.source);
    tree_read(&out.own, &arena, &out.source, &out.sink);
    cr_assert_eq(out.own.status, TREE_WHOLE);
    tree_compose(&out.tree, &arena, &out.own, &shared, &out.sink);
    cr_assert_eq(out.sink.findings.count, 1u);
    cr_expect_str_eq(
        out.sink.findings.items[0].message,
        "what is taken in comes to more than 2000000 values; the rest is left out");
    cr_expect_eq(out.tree.status, TREE_PARTIAL);
}

Test(compose, without_a_reader)
{
    struct composed out;
    source_init(&out.source, &arena, view_of("0"), view_of(P "extends: b\nx: 1\n"));
    sink_init(&out.sink, &arena, &out.source);
    tree_read(&out.own, &arena, &out.source, &out.sink);
    tree_compose(&out.tree, &arena, &out.own, NULL, &out.sink);
    cr_assert_eq(out.sink.findings.count, 1u);
    cr_expect_str_eq(out.sink.findings.items[0].message,
                     "b cannot be taken in: no other file is given here");
    cr_expect_eq(out.tree.status, TREE_PARTIAL);
}

/* What bytes alone tell, against the tree that they make: none that takes files is passed over.
 */
Test(compose, may_take_files_by_its_bytes)
{
    static const struct {
        const char *text;
        bool takes, may;
    } texts[] = {
        {"", false, false},
        {"machine: {name: x}\n", false, false},
        {"measure:\n  stickout_from: list\n", false, false},
        {"# from the maker, who extends it\nfrom_here: 1\n", false, false},
        {"a: from\nb: extends\n", false, false},
        {"axes:\n  from: 1\n", false, true},
        {"a: \"C:\\\\mill\"\n", false, true},
        {"extends: base.yaml\n", true, true},
        {"\xEF\xBB\xBF"
         "extends: base.yaml\n",
         true, true},
        {"a: 1\n'extends' : base.yaml\n", true, true},
        {"{a: 1,extends: base.yaml}", true, true},
        {"a: 1\r\n\"extends\"\t:\r\n - b.yaml\r\n", true, true},
        {"\"ext\\x65nds\": base.yaml\n", true, true},
        {"a: &word extends\n*word : base.yaml\n", true, true},
        {"? extends\n: base.yaml\n", true, true},
        {"!!str extends: base.yaml\n", true, true},
        {"cutters:\n  from: list.yaml\n", true, true},
        {"cutters: {\"from\":list.yaml}\n", true, true},
        {"x: &c {from: list.yaml}\ncutters: *c\n", true, true},
        {"extends", false, false},
        {"extends:", true, true},
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        struct view bytes = view_of(texts[i].text);
        const struct tree *tree = tree_of(&arena, view_of("m.yaml"), bytes);
        cr_expect_eq(tree_takes_files(tree), texts[i].takes, "%s", texts[i].text);
        cr_expect_eq(tree_may_take_files(bytes), texts[i].may, "%s", texts[i].text);
    }
}
