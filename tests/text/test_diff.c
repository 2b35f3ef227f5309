/* Unified differences: known ones, and random ones applied again by a small patch of our own.
 */
#include <criterion/criterion.h>

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "text/diff.h"

static struct arena arena;

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(diff, .init = begin, .fini = end);

static struct view diff_of(struct view before, struct view after)
{
    struct buffer out;
    buffer_init(&out, &arena);
    diff_unified(&out, "f", before, after);
    return buffer_view(&out);
}

static void check(const char *before, const char *after, const char *wanted)
{
    struct view given = diff_of(view_of(before), view_of(after));
    cr_expect(view_is(given, wanted), "given\n%.*swanted\n%s", VIEW(given), wanted);
}

#define HEAD "--- a/f\n+++ b/f\n"

Test(diff, known)
{
    check("", "", "");
    check("a\n", "a\n", "");
    check("a", "a", "");
    check("a\n", "b\n", HEAD "@@ -1 +1 @@\n-a\n+b\n");
    check("", "a\n", HEAD "@@ -0,0 +1 @@\n+a\n");
    check("a\n", "", HEAD "@@ -1 +0,0 @@\n-a\n");
    check("a", "a\n", HEAD "@@ -1 +1 @@\n-a\n\\ No newline at end of file\n+a\n");
    check("a\n", "a", HEAD "@@ -1 +1 @@\n-a\n+a\n\\ No newline at end of file\n");
    check("a\nb", "a\nc",
          HEAD "@@ -1,2 +1,2 @@\n a\n-b\n\\ No newline at end of file\n+c\n\\ No "
               "newline at end of file\n");
    check("a\nb", "b", HEAD "@@ -1,2 +1 @@\n-a\n b\n\\ No newline at end of file\n");
    check("1\n2\n3\n4\n5\n6\n7\n8\n9\n", "1\n2\n3\n4\nx\n6\n7\n8\n9\n",
          HEAD "@@ -2,7 +2,7 @@\n 2\n 3\n 4\n-5\n+x\n 6\n 7\n 8\n");
    check("1\n2\n3\n4\n5\n6\n7\n8\n9\n", "1\n2\n3\n4\n5\n6\n7\n8\n9\n10\n",
          HEAD "@@ -7,3 +7,4 @@\n 7\n 8\n 9\n+10\n");
    /* Six lines between two changes join them, seven do not. */
    check("a\n1\n2\n3\n4\n5\n6\nb\n", "A\n1\n2\n3\n4\n5\n6\nB\n",
          HEAD "@@ -1,8 +1,8 @@\n-a\n+A\n 1\n 2\n 3\n 4\n 5\n 6\n-b\n+B\n");
    check("a\n1\n2\n3\n4\n5\n6\n7\nb\n", "A\n1\n2\n3\n4\n5\n6\n7\nB\n",
          HEAD "@@ -1,4 +1,4 @@\n-a\n+A\n 1\n 2\n 3\n@@ -6,4 +6,4 @@\n 5\n 6\n 7\n-b\n+B\n");
    check("a\r\nb\r\n", "a\r\nc\r\n", HEAD "@@ -1,2 +1,2 @@\n a\r\n-b\r\n+c\r\n");
}

/* Takes a line with its end off a text. */
static struct view take_line(struct view *text)
{
    const char *feed = text->size ? memchr(text->data, '\n', text->size) : NULL;
    size_t size = feed ? (size_t)(feed - text->data) + 1 : text->size;
    struct view line = {text->data, size};
    *text = view_skip(*text, size);
    return line;
}

static struct view without_feed(struct view line)
{
    cr_assert(line.size && line.data[line.size - 1] == '\n');
    return (struct view){line.data, line.size - 1};
}

/* What a difference makes of a text, in the strictest way. */
static struct view apply(struct view before, struct view diff)
{
    struct buffer out;
    buffer_init(&out, &arena);
    size_t at = 1;
    if (diff.size) {
        cr_assert(view_is(take_line(&diff), "--- a/f\n"));
        cr_assert(view_is(take_line(&diff), "+++ b/f\n"));
    }
    while (diff.size) {
        struct view line = take_line(&diff);
        if (view_starts(line, "@@ -")) {
            char *rest;
            size_t first = strtoul(line.data + 4, &rest, 10);
            size_t count = *rest == ',' ? strtoul(rest + 1, NULL, 10) : 1;
            for (first += count == 0; at < first; at++)
                buffer_add(&out, take_line(&before));
            continue;
        }
        struct view rest = diff;
        if (view_starts(take_line(&rest), "\\ ")) {
            diff = rest;
            line = without_feed(line);
        }
        struct view text = view_skip(line, 1);
        if (line.data[0] != '+') {
            cr_assert(view_equal(take_line(&before), text), "it does not fit");
            at++;
        }
        if (line.data[0] != '-')
            buffer_add(&out, text);
    }
    buffer_add(&out, before);
    return buffer_view(&out);
}

static uint64_t state = 1;

static uint32_t draw(uint32_t below)
{
    state = state * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)((state >> 33) % below);
}

static void add_lines(struct buffer *out, uint32_t count, uint32_t kinds)
{
    for (uint32_t i = 0; i < count; i++)
        buffer_format(out, "line %u\n", (unsigned)draw(kinds));
}

/* Another text with some lines taken out, put in or exchanged. */
static void edit(struct buffer *out, struct view before, uint32_t kinds)
{
    while (before.size) {
        struct view line = take_line(&before);
        switch (draw(12)) {
        case 0:
            break;
        case 1:
            add_lines(out, 1 + draw(3), kinds);
            break;
        case 2:
            add_lines(out, draw(3), kinds);
            buffer_add(out, line);
            break;
        default:
            buffer_add(out, line);
        }
    }
}

Test(diff, random_ones_apply)
{
    for (int i = 0; i < 20000; i++) {
        struct buffer before, after;
        uint32_t kinds = 1 + draw(30);
        buffer_init(&before, &arena);
        buffer_init(&after, &arena);
        add_lines(&before, draw(40), kinds);
        if (draw(8))
            edit(&after, buffer_view(&before), kinds);
        else
            add_lines(&after, draw(40), kinds);
        if (before.size && draw(4) == 0)
            before.size--;
        if (after.size && draw(4) == 0)
            after.size--;
        struct view diff = diff_of(buffer_view(&before), buffer_view(&after));
        cr_assert(view_equal(apply(buffer_view(&before), diff), buffer_view(&after)),
                  "%.*s\ndoes not lead to\n%.*s", VIEW(diff), VIEW(buffer_view(&after)));
        arena_reset(&arena);
    }
}

/* Beyond what is compared line by line, all is taken out and put in. */
Test(diff, nothing_in_common)
{
    struct buffer before, after;
    buffer_init(&before, &arena);
    buffer_init(&after, &arena);
    for (unsigned i = 0; i < 3000; i++) {
        buffer_format(&before, "old %u\n", i);
        buffer_format(&after, "new %u\n", i);
    }
    struct view diff = diff_of(buffer_view(&before), buffer_view(&after));
    cr_expect(view_equal(apply(buffer_view(&before), diff), buffer_view(&after)));
}

/* Between two changes far apart stands a long run of lines that are all the same: no more is
 * shown than the changes, and where they are. */
Test(diff, far_apart_among_lines_that_repeat)
{
    static const char *const fills[] = {"\n", "#\n", "a\n\n\n"};
    for (size_t i = 0; i < sizeof fills / sizeof *fills; i++) {
        struct buffer before, after;
        buffer_init(&before, &arena);
        buffer_init(&after, &arena);
        buffer_text(&before, "first\n");
        buffer_text(&after, "new\nfirst\n");
        for (int k = 0; k < 400000; k++) {
            buffer_text(&before, fills[i]);
            buffer_text(&after, fills[i]);
        }
        buffer_text(&before, "last\n");
        buffer_format(&after, "%sother\n", fills[i]);
        struct view diff = diff_of(buffer_view(&before), buffer_view(&after));
        cr_expect(diff.size < 200, "%.200s", diff.data);
        cr_expect(view_equal(apply(buffer_view(&before), diff), buffer_view(&after)));
    }
}

/* Texts that would be read over and over come to an end: taken out and put in as a whole. */
Test(diff, shifted_a_little_everywhere)
{
    struct buffer before, after;
    buffer_init(&before, &arena);
    buffer_init(&after, &arena);
    for (unsigned i = 0; i < 300000; i++) {
        buffer_format(&before, "%s\n", i % 500 ? "" : "x");
        buffer_format(&after, "%s\n", i % 501 ? "" : "x");
    }
    struct view diff = diff_of(buffer_view(&before), buffer_view(&after));
    cr_expect(view_equal(apply(buffer_view(&before), diff), buffer_view(&after)));
}

static void check_name(const char *path, const char *wanted)
{
    struct buffer out;
    buffer_init(&out, &arena);
    diff_unified(&out, path, view_of("a\n"), view_of("b\n"));
    struct view rest = buffer_view(&out), line = view_take(&rest, '\n');
    cr_expect(view_is(line, wanted), "%s: %.*s", path, VIEW(line));
}

Test(diff, a_name_is_one_that_patch_takes)
{
    check_name("yards/shed.yaml", "--- a/yards/shed.yaml");
    check_name("/yards/shed.yaml", "--- a/yards/shed.yaml");
    check_name("././/shed.yaml", "--- a/shed.yaml");
    check_name("../other/shed.yaml", "--- a/shed.yaml");
    check_name("my shed.yaml", "--- a/my shed.yaml\t");
    check_name("a../shed.yaml", "--- a/a../shed.yaml");
    check_name("my sh\xc3\xa9"
               "d.yaml",
               "--- a/my sh\xc3\xa9"
               "d.yaml\t");
    check_name("a\x1b\nb \"", "--- \"a/a\\033\\012b \\\"\"");
    check_name("a\\n", "--- \"a/a\\\\n\"");
    check_name("\xe2\x80\xae"
               "7\xc2\x9b"
               "7\xff"
               "7",
               "--- \"a/\\342\\200\\2567\\302\\2337\\3777\"");
    check_name("shed.yaml ", "--- \"a/shed.yaml \"");
}

Test(diff, a_terminal_gets_it_escaped_and_coloured)
{
    struct buffer plain, colored;
    buffer_init(&plain, &arena);
    buffer_init(&colored, &arena);
    struct view before = view_of("k\r\na\x1b[2J\n"), after = view_of("k\r\nb\n");
    diff_shown(&plain, "f", before, after, false);
    cr_expect_str_eq(buffer_string(&plain), HEAD "@@ -1,2 +1,2 @@\n k\n-a\\x1b[2J\n+b\n");
    diff_shown(&colored, "f", before, after, true);
    cr_expect_str_eq(buffer_string(&colored),
                     "\x1b[31m--- a/f\x1b[0m\n\x1b[32m+++ b/f\x1b[0m\n@@ -1,2 +1,2 @@\n k\n"
                     "\x1b[31m-a\\x1b[2J\x1b[0m\n\x1b[32m+b\x1b[0m\n");
}
