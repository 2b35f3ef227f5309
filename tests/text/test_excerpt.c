/* The marked line, whole: what people see. */
#include <criterion/criterion.h>

#include "text/excerpt.h"
#include "text/utf8.h"

static struct arena arena;

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(excerpt, .init = begin, .fini = end);

static const char *excerpt_of(const char *bytes, uint32_t from, uint32_t to, size_t width)
{
    struct source source;
    struct buffer out;
    source_init(&source, &arena, view_of("test.yaml"), view_of(bytes));
    buffer_init(&out, &arena);
    excerpt_add(&out, &source, (struct span){from, to}, width);
    return buffer_string(&out);
}

struct case_excerpt {
    const char *bytes;
    uint32_t from, to;
    const char *shown;
};

static const struct case_excerpt excerpts[] = {
    {"a: 1\n  probe_stroke: 9 mm\n", 21, 25,
     "    2 |   probe_stroke: 9 mm\n"
     "      |                 ^^^^\n"},
    {"\tx:\t9 mm", 4, 8,
     "    1 |         x:      9 mm\n"
     "      |                 ^^^^\n"},
    {"x: \xe6\x97\xa5\xe6\x9c\xac 9", 3, 9,
     "    1 | x: \xe6\x97\xa5\xe6\x9c\xac 9\n"
     "      |    ^^^^\n"},
    {"x: e\xcc\x81"
     "e\xcc\x81 9",
     10, 11,
     "    1 | x: e\xcc\x81"
     "e\xcc\x81 9\n"
     "      |       ^\n"},
    {"x: \xf0\x9f\x98\x80 9 mm", 8, 12,
     "    1 | x: \xf0\x9f\x98\x80 9 mm\n"
     "      |       ^^^^\n"},
    {"\xef\xbb\xbf"
     "a: 9 mm\r\nb: 2\r\n",
     6, 10,
     "    1 | a: 9 mm\n"
     "      |    ^^^^\n"},
    {"a: 1\r\nb: 2\r\n", 9, 10,
     "    2 | b: 2\n"
     "      |    ^\n"},
    /* Nothing to mark: one sign where it would stand. */
    {"a: 1\r\nb:\r\n", 8, 8,
     "    2 | b:\n"
     "      |   ^\n"},
    {"", 0, 0,
     "    1 |\n"
     "      | ^\n"},
    /* Over several lines: to the end of the first. */
    {"a: [1,\n  2]\n", 3, 11,
     "    1 | a: [1,\n"
     "      |    ^^^\n"},
    {"a: \x1b[31mb\xe2\x80\xae\n", 3, 12,
     "    1 | a: \\x1b[31mb\\u202e\n"
     "      |    ^^^^^^^^^^^^^^^\n"},
    {"a: \xff\xfe 9\n", 6, 7,
     "    1 | a: \\xff\\xfe 9\n"
     "      |             ^\n"},
};

Test(excerpt, short_lines)
{
    for (size_t i = 0; i < sizeof excerpts / sizeof *excerpts; i++) {
        const struct case_excerpt *c = &excerpts[i];
        cr_expect_str_eq(excerpt_of(c->bytes, c->from, c->to, 80), c->shown);
    }
}

/* A text of `before` letters, `9 mm`, and `after` letters. */
static const char *long_line(const char *letter, size_t before, size_t after)
{
    struct buffer line;
    buffer_init(&line, &arena);
    for (size_t i = 0; i < before; i++)
        buffer_text(&line, letter);
    buffer_text(&line, " 9 mm ");
    for (size_t i = 0; i < after; i++)
        buffer_text(&line, letter);
    return buffer_string(&line);
}

Test(excerpt, cut_before)
{
    cr_expect_str_eq(excerpt_of(long_line("x", 100, 0), 101, 105, 60),
                     "    1 | ...xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx 9 mm\n"
                     "      |                                               ^^^^\n");
}

Test(excerpt, cut_on_both_sides)
{
    cr_expect_str_eq(excerpt_of(long_line("x", 100, 100), 101, 105, 60),
                     "    1 | ...xxxxxxxxxxxxxxx 9 mm xxxxxxxxxxxxxxxxxxxxxxxxx...\n"
                     "      |                    ^^^^\n");
}

Test(excerpt, cut_after)
{
    cr_expect_str_eq(excerpt_of(long_line("x", 0, 100), 1, 5, 60),
                     "    1 |  9 mm xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx...\n"
                     "      |  ^^^^\n");
    cr_expect_str_eq(excerpt_of(long_line("x", 0, 100), 1, 106, 60),
                     "    1 |  9 mm xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx...\n"
                     "      |  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^\n");
}

/* Whatever the line, the width is kept and the mark stands under what it marks. */
Test(excerpt, widths)
{
    static const char *const letters[] = {"x", "\xe6\x97\xa5", "e\xcc\x81", "\x1b", "\t"};
    for (size_t i = 0; i < sizeof letters / sizeof *letters; i++)
        for (size_t width = 40; width < 90; width += 7)
            for (size_t count = 0; count < 3000; count = count * 2 + 5) {
                const char *bytes = long_line(letters[i], count, count);
                uint32_t at = (uint32_t)(count * strlen(letters[i])) + 1;
                struct view shown = view_of(excerpt_of(bytes, at, at + 4, width));
                const char *end = memchr(shown.data, '\n', shown.size);
                struct view first = {shown.data, (size_t)(end - shown.data)};
                struct view second = view_skip(shown, first.size + 1);
                cr_expect(utf8_cells(first) <= width, "%zu %zu %zu", i, width, count);
                cr_expect(second.size <= width + 1, "%zu %zu %zu", i, width, count);
                const char *mark = memchr(second.data, '^', second.size);
                const char *text = strstr(first.data, "9 mm");
                cr_assert(mark && text && text < end, "%zu %zu %zu", i, width, count);
                cr_expect(utf8_cells((struct view){first.data, (size_t)(text - first.data)}) ==
                              (size_t)(mark - second.data),
                          "%zu %zu %zu\n%s", i, width, count, shown.data);
            }
}
