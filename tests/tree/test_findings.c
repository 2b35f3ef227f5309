/* What the reader says of files that it does not like, and of their twins that are all right.
 *
 * One line a case: the file, what comes of it, and each finding in order with its place, the
 * bytes that it marks, and its words.
 */
#include <criterion/criterion.h>

#include "invariants.h"

enum { CELLS = 4 };

struct case_finding {
    const char *rule;
    uint32_t start;
    const char *slice, *message;
};

struct case_file {
    const char *bytes;
    size_t size;
    enum tree_status status;
    struct case_finding findings[CELLS];
};

static const struct case_file files[] = {
    {"a: 1\nb: \"x\nc: 2\n",
     16,
     TREE_PARTIAL,
     {{"not-yaml", 8, "\"", "the quote opened here is never closed"}}},
    {"a: 1\nb: \"x\nc: \"y\"\nd: 1\n",
     23,
     TREE_PARTIAL,
     {{"not-yaml", 8, "\"",
       "the quote opened here is closed only lines further on, in the midst of a text"}}},
    {"a: 'it's'\n",
     10,
     TREE_UNREADABLE,
     {{"not-yaml", 7, "s'", "'s'' follows where the value is complete already"}}},
    {"a: 1\nb: [1, 2\nc: 3\n",
     19,
     TREE_PARTIAL,
     {{"not-yaml", 8, "[", "the '[' opened here is never closed"}}},
    {"a: 1\nb: {x: 1, y: 2\nc: 3\n",
     25,
     TREE_PARTIAL,
     {{"not-yaml", 8, "{", "the '{' opened here is never closed"}}},
    {"a: 1\nb: [1,\n  \"x\" \"y\"]\n",
     23,
     TREE_PARTIAL,
     {{"not-yaml", 18, "\"", "a comma or ']' is wanted before this '\"'"}}},
    {"a: 1\nb: [1,\n",
     12,
     TREE_PARTIAL,
     {{"not-yaml", 8, "[", "the '[' opened here is never closed"}}},
    {"a: 1\nb: [1, , 2]\n",
     17,
     TREE_PARTIAL,
     {{"not-yaml", 12, ",", "a value is missing before this ','"}}},
    {"a: 1\n b: 2\n",
     11,
     TREE_UNREADABLE,
     {{"not-yaml", 6, "b", "'b' is indented further than the keys beside it"}}},
    {"a: 1\nb: c: d\n",
     13,
     TREE_PARTIAL,
     {{"not-yaml", 9, ":",
       "a second colon follows in this line; its key has a value already"}}},
    {"a: 1\nfoo\nbar: 2\n",
     16,
     TREE_PARTIAL,
     {{"not-yaml", 5, "foo",
       "no colon follows 'foo'; a key and its value are wanted, as in 'name: value'"}}},
    {"a: 1\nfoo\n",
     9,
     TREE_PARTIAL,
     {{"not-yaml", 5, "foo",
       "no colon follows 'foo'; a key and its value are wanted, as in 'name: value'"}}},
    {"foo 1\nbar: 2\n",
     13,
     TREE_UNREADABLE,
     {{"not-yaml", 0, "foo 1",
       "no colon follows 'foo 1'; a key and its value are wanted, as in 'name: value'"}}},
    {"a: 1\nb:2\nc: 3\n",
     14,
     TREE_PARTIAL,
     {{"not-yaml", 5, "b:", "no blank follows the colon of 'b:'"}}},
    {"a: 1\n// hi\nb: 1\n",
     16,
     TREE_PARTIAL,
     {{"not-yaml", 5, "// hi", "'// hi' is neither a key with a value nor a comment"}}},
    {"a: 1\n\tb: 2\n",
     11,
     TREE_UNREADABLE,
     {{"tab-indent", 5, "\t", "a tab stands in the indentation; only blanks may"}}},
    {"a:\n\tb: 2\n",
     9,
     TREE_UNREADABLE,
     {{"tab-indent", 3, "\t", "a tab stands in the indentation; only blanks may"}}},
    {"a:\n  b: 1\n\tc: 2\n",
     16,
     TREE_UNREADABLE,
     {{"tab-indent", 10, "\t", "a tab stands in the indentation; only blanks may"}}},
    {"a:\n  b: 1\n  \tc: 2\n",
     18,
     TREE_UNREADABLE,
     {{"tab-indent", 12, "\t", "a tab stands in the indentation; only blanks may"}}},
    {"a: 1\n \tb: 2\n",
     12,
     TREE_UNREADABLE,
     {{"tab-indent", 6, "\t", "a tab stands in the indentation; only blanks may"}}},
    {"a: 1\n- b\n",
     9,
     TREE_PARTIAL,
     {{"not-yaml", 5, "- b", "a list item stands where a key is wanted"}}},
    {"a:\n- b\nc: 1\n", 12, TREE_WHOLE, {{NULL, 0, NULL, NULL}}},
    {"a:\n  - b: 1\n  c: 1\n",
     19,
     TREE_PARTIAL,
     {{"not-yaml", 14, "c: 1",
       "'c: 1' stands beside the list's '-'; an item's key is indented further"}}},
    {"a:\n  - b: 1\n   c: 1\n",
     20,
     TREE_PARTIAL,
     {{"not-yaml", 15, "c: 1",
       "'c: 1' stands beside the list's '-'; an item's key is indented further"}}},
    {"a:\n    b: 1\n  c: 2\n",
     19,
     TREE_PARTIAL,
     {{"not-yaml", 14, "c: 2", "the indentation of 'c: 2' fits no line above it"}}},
    {"  a: 1\nb: 2\n",
     12,
     TREE_PARTIAL,
     {{"not-yaml", 7, "b: 2", "the indentation of 'b: 2' fits no line above it"}}},
    {"a: 1\n]\n", 7, TREE_PARTIAL, {{"not-yaml", 5, "]", "a ']' stands here without its '['"}}},
    {"a: 1]\n", 6, TREE_WHOLE, {{NULL, 0, NULL, NULL}}},
    {"a: ]\n", 5, TREE_UNREADABLE, {{"not-yaml", 3, "]", "a ']' stands here without its '['"}}},
    {"a: [1]]\n",
     8,
     TREE_UNREADABLE,
     {{"not-yaml", 6, "]", "a ']' stands here without its '['"}}},
    {"a: [1] x\n",
     9,
     TREE_UNREADABLE,
     {{"not-yaml", 7, "x", "'x' follows where the value is complete already"}}},
    {"a: @x\n",
     6,
     TREE_UNREADABLE,
     {{"not-yaml", 3, "@", "a text cannot begin with '@' unless it stands in quotes"}}},
    {"a: `x`\n",
     7,
     TREE_UNREADABLE,
     {{"not-yaml", 3, "`", "a text cannot begin with '`' unless it stands in quotes"}}},
    {"a: %x\n",
     6,
     TREE_UNREADABLE,
     {{"not-yaml", 3, "%", "a text cannot begin with '%' unless it stands in quotes"}}},
    {"%foo: 1\n",
     8,
     TREE_UNREADABLE,
     {{"not-yaml", 0, "%foo: 1",
       "this line begins with '%' but is no instruction that the reader knows"}}},
    {"a: 1\n%foo: 1\n",
     13,
     TREE_PARTIAL,
     {{"not-yaml", 5, "%foo: 1",
       "this line begins with '%' but is no instruction that the reader knows"}}},
    {"a: *x\n",
     6,
     TREE_UNREADABLE,
     {{"not-yaml", 3, "*x", "'*x' refers to nothing, since nothing before it has that name"}}},
    {"a: *important*\n",
     15,
     TREE_UNREADABLE,
     {{"not-yaml", 3, "*important*",
       "a text cannot begin with '*' unless it stands in quotes"}}},
    {"a: &\n",
     5,
     TREE_UNREADABLE,
     {{"not-yaml", 3, "&", "a text cannot begin with '&' unless it stands in quotes"}}},
    {"a: & b\n",
     7,
     TREE_UNREADABLE,
     {{"not-yaml", 3, "& b", "a text cannot begin with '&' unless it stands in quotes"}}},
    {"a: !\nb: 1\n", 10, TREE_WHOLE, {{NULL, 0, NULL, NULL}}},
    {"a: !<x\n",
     7,
     TREE_UNREADABLE,
     {{"not-yaml", 3, "!<x", "a text cannot begin with '!' unless it stands in quotes"}}},
    {"a: !x!y 1\n",
     10,
     TREE_UNREADABLE,
     {{"not-yaml", 3, "!x!y 1", "a text cannot begin with '!' unless it stands in quotes"}}},
    {"a: \"\\q\"\n",
     8,
     TREE_UNREADABLE,
     {{"not-yaml", 4, "\\q", "'\\q' means nothing in double quotes"}}},
    {"a: \"\\xzz\"\n",
     10,
     TREE_UNREADABLE,
     {{"not-yaml", 4, "\\x", "'\\x' means nothing in double quotes"}}},
    {"a: \"c:\\dir\"\n",
     12,
     TREE_UNREADABLE,
     {{"not-yaml", 6, "\\d", "'\\d' means nothing in double quotes"}}},
    {"a: | text\n",
     10,
     TREE_UNREADABLE,
     {{"not-yaml", 3, "| text", "after '|' the text must begin on the next line"}}},
    {"a: >text\n",
     9,
     TREE_UNREADABLE,
     {{"not-yaml", 3, ">text", "after '>' the text must begin on the next line"}}},
    {"a: |0\n",
     6,
     TREE_UNREADABLE,
     {{"not-yaml", 3, "|0", "after '|' the text must begin on the next line"}}},
    {"a: - b\n",
     7,
     TREE_UNREADABLE,
     {{"not-yaml", 3, "-", "a list with '-' must begin on a line of its own"}}},
    {"a: ? b\n",
     7,
     TREE_UNREADABLE,
     {{"not-yaml", 3, "?",
       "a text cannot begin with '?' and a blank unless it stands in quotes"}}},
    {"a: \"x\" y\n",
     9,
     TREE_UNREADABLE,
     {{"not-yaml", 7, "y", "'y' follows where the value is complete already"}}},
    {"a: \"x\": y\n",
     10,
     TREE_UNREADABLE,
     {{"not-yaml", 6, ":",
       "a second colon follows in this line; its key has a value already"}}},
    {"a: 1\n---\nb: 1\n",
     14,
     TREE_WHOLE,
     {{"second-document", 5, "---",
       "a second document begins here; one file describes one machine"}}},
    {"a: 1\n...\nb: 1\n",
     14,
     TREE_WHOLE,
     {{"second-document", 9, "b: 1",
       "a second document begins here; one file describes one machine"}}},
    {"a: 1\n...\n# x\n", 13, TREE_WHOLE, {{NULL, 0, NULL, NULL}}},
    {"---\na: 1\n", 9, TREE_WHOLE, {{NULL, 0, NULL, NULL}}},
    {"--- a\n",
     6,
     TREE_UNREADABLE,
     {{"wrong-kind", 4, "a", "the file holds only the text 'a'; keys with values are wanted"}}},
    {"",
     0,
     TREE_UNREADABLE,
     {{"not-yaml", 0, "",
       "the file is empty; keys with values are wanted, such as 'name: value'"}}},
    {"# hi\n",
     5,
     TREE_UNREADABLE,
     {{"not-yaml", 0, "",
       "the file holds no keys; keys with values are wanted, as in 'name: value'"}}},
    {"- a\n",
     4,
     TREE_UNREADABLE,
     {{"wrong-kind", 0, "-",
       "the file begins with a list; keys with values are wanted at its top"}}},
    {"hello world\n",
     12,
     TREE_UNREADABLE,
     {{"wrong-kind", 0, "hello world",
       "the file holds only the text 'hello world'; keys with values are wanted"}}},
    {"a: &x [1, *x]\n",
     14,
     TREE_UNREADABLE,
     {{"not-yaml", 10, "*x", "'*x' stands inside the very thing that it refers to"}}},
    {"? [a]\n: b\nc: 1\n",
     15,
     TREE_WHOLE,
     {{"wrong-kind", 2, "[a]", "a list stands where a key is wanted; a key is a text"}}},
    {"{a: 1}: b\nc: 1\n",
     15,
     TREE_WHOLE,
     {{"wrong-kind", 0, "{a: 1}",
       "something in braces stands where a key is wanted; a key is a text"}}},
    {"a: {{ x }}\nc: 1\n",
     16,
     TREE_WHOLE,
     {{"wrong-kind", 4, "{ x }",
       "something in braces stands where a key is wanted; a key is a text"}}},
    {"a: 1\na: 2\na: 3\n",
     15,
     TREE_WHOLE,
     {{"duplicate-key", 5, "a", "the key 'a' stands twice here"},
      {"duplicate-key", 10, "a", "the key 'a' stands twice here"}}},
    {"a: \x07\nb: 1\n",
     10,
     TREE_UNREADABLE,
     {{"not-yaml", 3, "\x07",
       "the control character U+0007 stands here; a text cannot hold it"}}},
    {"b: 1\na: \x07\nb: 1\n",
     15,
     TREE_PARTIAL,
     {{"not-yaml", 8, "\x07",
       "the control character U+0007 stands here; a text cannot hold it"}}},
    {"a: \x00\n",
     5,
     TREE_UNREADABLE,
     {{"not-yaml", 3, "\x00",
       "a byte 0 (U+0000) stands here; this is no text, or not in UTF-8"}}},
    {"a: b\n\t\nc: 1\n", 12, TREE_WHOLE, {{NULL, 0, NULL, NULL}}},
    {"a: b\n\t# hi\nc: 1\n", 16, TREE_WHOLE, {{NULL, 0, NULL, NULL}}},
    {"a: x\n  y: z\n",
     12,
     TREE_UNREADABLE,
     {{"not-yaml", 7, "y", "'y' is indented further than the keys beside it"}}},
    {"a: 1\n  \nb: 'x\ny: '\nc: 1\n", 24, TREE_WHOLE, {{NULL, 0, NULL, NULL}}},
    {"a:\n  - x\n - y\n",
     14,
     TREE_PARTIAL,
     {{"not-yaml", 10, "- y", "a list item stands where a key is wanted"}}},
    {"a: |\n \tx\n\ty\n",
     12,
     TREE_UNREADABLE,
     {{"tab-indent", 6, "\t", "a tab stands in the indentation; only blanks may"}}},
    {"a: 1,\nb: [a b: c]\n", 18, TREE_WHOLE, {{NULL, 0, NULL, NULL}}},
    {"a: [\n\tb,\n\tc\n]\nd: {\n\te: 1 }\n", 27, TREE_WHOLE, {{NULL, 0, NULL, NULL}}},
    {"a: {b: 1 c: 2}\n",
     15,
     TREE_UNREADABLE,
     {{"not-yaml", 10, ":", "a comma or '}' is wanted before this ':'"}}},
    {"a: {b 1, c: 2}\n", 15, TREE_WHOLE, {{NULL, 0, NULL, NULL}}},
    {"a: [1, 2}\n",
     10,
     TREE_UNREADABLE,
     {{"not-yaml", 8, "}", "a comma or ']' is wanted before this '}'"}}},
    {"a: 'x\n\nb: 1\n",
     12,
     TREE_UNREADABLE,
     {{"not-yaml", 3, "'", "the quote opened here is never closed"}}},
    {"a: -\tb\n",
     7,
     TREE_UNREADABLE,
     {{"not-yaml", 3, "-", "a list with '-' must begin on a line of its own"}}},
    {"-\tb: 1\n",
     7,
     TREE_UNREADABLE,
     {{"wrong-kind", 0, "-",
       "the file begins with a list; keys with values are wanted at its top"}}},
    {"a: b #c\n", 8, TREE_WHOLE, {{NULL, 0, NULL, NULL}}},
    {"a: \"b\"#c\n", 9, TREE_WHOLE, {{NULL, 0, NULL, NULL}}},
    {"%YAML 1.3\n---\na: 1\n",
     19,
     TREE_UNREADABLE,
     {{"not-yaml", 0, "%YAML 1.3",
       "this line begins with '%' but is no instruction that the reader knows"}}},
    {"%YAML 2.0\n---\na: 1\n",
     19,
     TREE_UNREADABLE,
     {{"not-yaml", 0, "%YAML 2.0",
       "this line begins with '%' but is no instruction that the reader knows"}}},
    {"%TAG ! x\n%TAG ! y\n---\na: 1\n",
     27,
     TREE_UNREADABLE,
     {{"not-yaml", 9, "%TAG ! y",
       "this line begins with '%' but is no instruction that the reader knows"}}},
    {"%YAML 1.1\na: 1\n",
     15,
     TREE_UNREADABLE,
     {{"not-yaml", 10, "a: 1", "a line '---' is wanted here, after the line with '%'"}}},
    {"a: [b: c, d]\n", 13, TREE_WHOLE, {{NULL, 0, NULL, NULL}}},
    {"{a: 1, b: 2\n",
     12,
     TREE_PARTIAL,
     {{"not-yaml", 0, "{", "the '{' opened here is never closed"}}},
    {"a: {b: \"x}\nc: 1\n",
     16,
     TREE_UNREADABLE,
     {{"not-yaml", 7, "\"", "the quote opened here is never closed"}}},
    {"a: 1\n  # c\n b: 1\n",
     17,
     TREE_PARTIAL,
     {{"not-yaml", 12, "b: 1", "the indentation of 'b: 1' fits no line above it"}}},
    {"a: b: \"c\"\n",
     10,
     TREE_UNREADABLE,
     {{"not-yaml", 4, ":",
       "a second colon follows in this line; its key has a value already"}}},
    {"a:\n b: 1\n  c: 2\n",
     16,
     TREE_UNREADABLE,
     {{"not-yaml", 11, "c", "'c' is indented further than the keys beside it"}}},
    {"a: 5 mm\n    # x\n  b: 3\n",
     23,
     TREE_PARTIAL,
     {{"not-yaml", 18, "b: 3", "the indentation of 'b: 3' fits no line above it"}}},
    {"a: [b]\n c: d\n",
     13,
     TREE_PARTIAL,
     {{"not-yaml", 8, "c: d", "the indentation of 'c: d' fits no line above it"}}},
    {"a: \"q\"\n c: d\n",
     13,
     TREE_PARTIAL,
     {{"not-yaml", 8, "c: d", "the indentation of 'c: d' fits no line above it"}}},
    {"a: 1\n...\n...\nb: 1\n",
     18,
     TREE_WHOLE,
     {{"second-document", 13, "b: 1",
       "a second document begins here; one file describes one machine"}}},
    {"a: 1\n---\n",
     9,
     TREE_WHOLE,
     {{"second-document", 5, "---",
       "a second document begins here; one file describes one machine"}}},
    {"a: x\n\tb: 1\n",
     11,
     TREE_UNREADABLE,
     {{"tab-indent", 5, "\t", "a tab stands in the indentation; only blanks may"}}},
    {"a: [x\n\t\n# c\n",
     12,
     TREE_UNREADABLE,
     {{"not-yaml", 3, "[", "the '[' opened here is never closed"}}},
    {"a: 1\r\n\tb: 2\r\n",
     13,
     TREE_UNREADABLE,
     {{"tab-indent", 6, "\t", "a tab stands in the indentation; only blanks may"}}},
    {"\xef\xbb\xbf"
     "a: 1\r\nb: \"x\r\n",
     16,
     TREE_PARTIAL,
     {{"not-yaml", 12, "\"", "the quote opened here is never closed"}}},
    {"\xc3\xa9: 1\nb: @x\n",
     12,
     TREE_PARTIAL,
     {{"not-yaml", 9, "@", "a text cannot begin with '@' unless it stands in quotes"}}},
    {"a: \xb5m\n",
     6,
     TREE_UNREADABLE,
     {{"not-utf8", 3, "\xb5", "the byte 0xB5 here is not UTF-8 text"}}},
    {"\xff\xfe"
     "a\x00",
     4,
     TREE_UNREADABLE,
     {{"not-utf8", 0, "\xff", "the file is UTF-16, and UTF-8 is wanted"}}},
    {"a: 1\nb: \xc2\x85x\n",
     12,
     TREE_PARTIAL,
     {{"not-yaml", 8, "\xc2\x85",
       "the unusual line end U+0085 stands here; not every editor shows it as one"}}},
    {"a: 1\n\xef\xbb\xbf"
     "b: 1\n",
     13,
     TREE_PARTIAL,
     {{"not-yaml", 5, "\xef\xbb\xbf",
       "a byte order mark (U+FEFF) stands in the midst of the file"}}},
    {"a:\n- [1, 2\n- [3]\n",
     17,
     TREE_UNREADABLE,
     {{"not-yaml", 5, "[", "the '[' opened here is never closed"}}},
    {"a:\n[1]\n",
     7,
     TREE_UNREADABLE,
     {{"not-yaml", 3, "[1]", "'[1]' stands where a key is wanted"}}},
    {"a: {b: 1\n  c: 2}\n",
     17,
     TREE_UNREADABLE,
     {{"not-yaml", 12, ":", "a comma or '}' is wanted before this ':'"}}},
    {"a: &x\n  b: *x\n",
     14,
     TREE_UNREADABLE,
     {{"not-yaml", 11, "*x", "'*x' stands inside the very thing that it refers to"}}},
    {"%a\n%a\n%a\n%a\n%a\n%a\n%a\n%a\n%a\n%a\n%a\n%a\n%a\n%a\n%a\n%a\n%a\na: 1\n",
     56,
     TREE_UNREADABLE,
     {{"not-yaml", 48, "%", "more than 16 lines begin with '%'; none is needed"}}},
    {"a: [*b]\n",
     8,
     TREE_UNREADABLE,
     {{"not-yaml", 4, "*b", "'*b' refers to nothing, since nothing before it has that name"}}},
    {"a: 1\na: 1\nb:\n  - {c: 1, c: 2}\n",
     30,
     TREE_WHOLE,
     {{"duplicate-key", 5, "a", "the key 'a' stands twice here"},
      {"duplicate-key", 24, "c", "the key 'c' stands twice here"}}},
    {"a: &a [1]\n*a : 2\n",
     17,
     TREE_WHOLE,
     {{"wrong-kind", 10, "*a",
       "a reference to a list or to keys with values stands where a key is wanted; "
       "a key is a text"}}},
    {"? |\n  a\n: 1\n", 12, TREE_WHOLE, {{NULL, 0, NULL, NULL}}},
    {"a: 1\n? [b, c]\n: {d: 1, d: 2}\n",
     29,
     TREE_WHOLE,
     {{"wrong-kind", 7, "[b, c]", "a list stands where a key is wanted; a key is a text"},
      {"duplicate-key", 23, "d", "the key 'd' stands twice here"}}},
    {"a: \"\\",
     5,
     TREE_UNREADABLE,
     {{"not-yaml", 3, "\"", "the quote opened here is never closed"}}},
    {"'a\n",
     3,
     TREE_UNREADABLE,
     {{"not-yaml", 0, "'", "the quote opened here is never closed"}}},
    {"\"a\": \"b\nc: \"d\"\n",
     15,
     TREE_UNREADABLE,
     {{"not-yaml", 5, "\"",
       "the quote opened here is closed only lines further on, in the midst of a text"}}},
    {"a: 'b'\n 'c': 1\n",
     15,
     TREE_PARTIAL,
     {{"not-yaml", 8, "'c': 1", "the indentation of ''c': 1' fits no line above it"}}},
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

TestSuite(findings, .init = begin, .fini = end);

static void read_file(struct view bytes, struct tree *tree, struct finding_sink *sink)
{
    struct source *source = ARENA_NEW(&arena, struct source);
    source_init(source, &arena, view_of("test.yaml"), bytes);
    sink_init(sink, &arena, source);
    tree_read(tree, &arena, source, sink);
    findings_sort(sink->findings.items, sink->findings.count);
}

static void expect_finding(const struct case_file *file, size_t index,
                           const struct finding *finding)
{
    const struct case_finding *wanted = &file->findings[index];
    struct view slice = source_slice(finding->at.source, finding->at.span);
    cr_assert(index < CELLS && wanted->rule, "unexpected in \"%s\": %s", file->bytes,
              finding->message);
    cr_expect_str_eq(finding->rule, wanted->rule, "\"%s\": %s", file->bytes, finding->rule);
    cr_expect_str_eq(finding->message, wanted->message);
    cr_expect(finding->at.span.start == wanted->start, "\"%s\": at %u", file->bytes,
              finding->at.span.start);
    bool is_zero = slice.size == 1 && slice.data[0] == '\0'; /* no literal can say so */
    cr_expect(view_is(slice, wanted->slice) || (is_zero && wanted->slice[0] == '\0'),
              "\"%s\": marks '%.*s'", file->bytes, VIEW(slice));
}

Test(findings, of_files)
{
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        const struct case_file *file = &files[i];
        struct tree tree;
        struct finding_sink sink;
        read_file((struct view){file->bytes, file->size}, &tree, &sink);
        cr_expect(tree.status == file->status, "\"%s\": status %d", file->bytes, tree.status);
        for (size_t k = 0; k < sink.findings.count; k++)
            expect_finding(file, k, &sink.findings.items[k]);
        cr_expect(sink.findings.count == CELLS || !file->findings[sink.findings.count].rule,
                  "missing in \"%s\"", file->bytes);
        struct span where;
        const char *fault = tree_fault(&tree, &where);
        cr_expect_null(fault, "\"%s\": %s", file->bytes, fault);
        fault = findings_fault(&sink, &where);
        cr_expect_null(fault, "\"%s\": %s", file->bytes, fault);
    }
}

/* The other place of a finding. */
struct case_related {
    const char *bytes;
    uint32_t start;
    const char *slice, *text, *field;
};

static const struct case_related related[] = {
    {"a: 1\nb: 2\na: 3\n", 0, "a", "it stands here first", "a"},
    {"l:\n  - 1\n  - {n: {x: 1, x: 2}}\n", 18, "x", "it stands here first", "l[1].n.x"},
    {"a: \"x\nb: \"y\"\n", 9, "\"", "it is closed here", NULL},
    {"a: [1, \"x\" \"y\"]\n", 3, "[", "the bracket is opened here", NULL},
    {"a: 1\n  b: 2\n", 3, "1\n  b", "the value above seems to go on into it", NULL},
    {"a: &x\n  b: *x\n", 8, "b", "it begins here", NULL},
};

Test(findings, other_places)
{
    for (size_t i = 0; i < sizeof related / sizeof *related; i++) {
        const struct case_related *c = &related[i];
        struct tree tree;
        struct finding_sink sink;
        read_file(view_of(c->bytes), &tree, &sink);
        cr_assert_eq(sink.findings.count, 1);
        const struct finding *finding = &sink.findings.items[0];
        cr_assert_eq(finding->related_count, 1);
        const struct finding_spot *spot = &finding->related[0];
        cr_expect(spot->span.start == c->start, "%zu: at %u", i, spot->span.start);
        struct view slice = source_slice(spot->source, spot->span);
        cr_expect(view_starts(slice, c->slice), "%zu: '%.*s'", i, VIEW(slice));
        cr_expect_str_eq(spot->text, c->text);
        if (c->field)
            cr_expect_str_eq(finding->at.field, c->field);
        else
            cr_expect_null(finding->at.field);
    }
}

/* Many keys, many of them twice: each later one is reported, at its own place. */
Test(findings, many_keys)
{
    struct buffer bytes;
    buffer_init(&bytes, &arena);
    for (unsigned i = 0; i < 900; i++)
        buffer_format(&bytes, "k%u: 1\n", i * 7 % 600);
    struct tree tree;
    struct finding_sink sink;
    read_file(buffer_view(&bytes), &tree, &sink);
    cr_expect_eq(tree.status, TREE_WHOLE);
    cr_expect_eq(sink.findings.count, 300);
    unsigned flagged = 0, index = 0;
    for (const struct tree_node *key = tree.root->first; key; key = key->next, index++) {
        bool is_twice = index < 300 || index >= 600;
        flagged += key->duplicate;
        cr_expect(key->duplicate == is_twice, "%u", index);
    }
    cr_expect_eq(flagged, 600);
    struct place place =
        source_place(tree.source, sink.findings.items[0].at.span.start, COLUMN_BYTES);
    cr_expect_eq(place.line, 601);
}
