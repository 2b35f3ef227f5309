/* Places in files with every kind of line end and character. */
#include <criterion/criterion.h>

#include <stdint.h>

#include "text/source.h"

static struct arena arena;

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(source, .init = begin, .fini = end);

static struct source source_of(const char *bytes)
{
    struct source source;
    source_init(&source, &arena, view_of("test.yaml"), view_of(bytes));
    return source;
}

/* Line and both columns of an offset. */
struct case_place {
    const char *bytes;
    uint32_t offset, line, byte, point;
};

static const struct case_place places[] = {
    {"", 0, 1, 1, 1},
    {"abc", 0, 1, 1, 1},
    {"abc", 3, 1, 4, 4},
    {"abc", 9, 1, 4, 4},
    {"a\nb", 1, 1, 2, 2},
    {"a\nb", 2, 2, 1, 1},
    {"a\n", 2, 2, 1, 1},
    {"a\r\nb", 1, 1, 2, 2},
    {"a\r\nb", 2, 1, 3, 3},
    {"a\r\nb", 3, 2, 1, 1},
    {"a\rb", 2, 2, 1, 1},
    {"a\n\r\nb", 4, 3, 1, 1},
    {"\xc3\xa9 b", 3, 1, 4, 3},
    {"\xe6\x97\xa5"
     "b",
     3, 1, 4, 2},
    {"\xf0\x9f\x98\x80"
     "b",
     4, 1, 5, 2},
    {"e\xcc\x81"
     "b",
     3, 1, 4, 3},
    {"\xff\xfe"
     "b",
     2, 1, 3, 3},
    {"\xef\xbb\xbf"
     "ab",
     3, 1, 1, 1},
    {"\xef\xbb\xbf"
     "ab",
     4, 1, 2, 2},
    {"\xef\xbb\xbf"
     "ab",
     0, 1, 1, 1},
    {"\xef\xbb\xbf"
     "a\nb",
     5, 2, 1, 1},
    {"\xc3\xa9", 1, 1, 2, 1}, /* inside a character: its own column */
    {"\tb", 1, 1, 2, 2},
};

Test(source, places)
{
    for (size_t i = 0; i < sizeof places / sizeof *places; i++) {
        const struct case_place *c = &places[i];
        struct source source = source_of(c->bytes);
        struct place byte = source_place(&source, c->offset, COLUMN_BYTES);
        struct place point = source_place(&source, c->offset, COLUMN_CODE_POINTS);
        cr_expect(byte.line == c->line && point.line == c->line, "%zu: line %u", i, byte.line);
        cr_expect(byte.column == c->byte, "%zu: byte %u", i, byte.column);
        cr_expect(point.column == c->point, "%zu: point %u", i, point.column);
    }
}

/* The place kept from the last question must not show. */
Test(source, places_in_any_order)
{
    const char *bytes = "\xc3\xa9 a\r\n\xe6\x97\xa5 b \xf0\x9f\x98\x80 c\n\nd";
    uint32_t size = (uint32_t)strlen(bytes);
    struct source kept = source_of(bytes);
    for (uint32_t i = 0; i < 5 * size; i++) {
        uint32_t offset = i * 7 % (size + 1);
        struct source fresh = source_of(bytes);
        enum column_kind kind = i % 2 ? COLUMN_BYTES : COLUMN_CODE_POINTS;
        struct place a = source_place(&kept, offset, kind);
        struct place b = source_place(&fresh, offset, kind);
        cr_expect(a.line == b.line && a.column == b.column, "offset %u", offset);
    }
}

struct case_line {
    const char *bytes;
    uint32_t line;
    const char *text;
};

static const struct case_line lines[] = {
    {"", 1, ""},
    {"a", 1, "a"},
    {"a\n", 1, "a"},
    {"a\n", 2, ""},
    {"a\r\nbc\r\n", 2, "bc"},
    {"a\rbc\r", 2, "bc"},
    {"a\n\rb", 2, ""},
    {"\xef\xbb\xbf"
     "a\nb",
     1, "a"},
    {"\xef\xbb\xbf", 1, ""},
};

Test(source, lines)
{
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        const struct case_line *c = &lines[i];
        struct source source = source_of(c->bytes);
        struct view line = source_slice(&source, source_line(&source, c->line));
        cr_expect(view_is(line, c->text), "%zu: '%.*s'", i, VIEW(line));
    }
}

Test(source, offsets_of_points)
{
    const char *bytes = "\xef\xbb\xbf"
                        "a\xc3\xa9\r\n\xf0\x9f\x98\x80z";
    static const uint32_t offsets[] = {3, 4, 6, 7, 8, 12, 13};
    struct source source = source_of(bytes);
    uint32_t hint = 0;
    size_t points = 0;
    for (size_t i = 0; i < 7; i++)
        cr_expect_eq(source_offset_of_point(&source, i, &hint, &points), offsets[i]);
    for (size_t i = 7; i > 0; i--)
        cr_expect_eq(source_offset_of_point(&source, i - 1, &hint, &points), offsets[i - 1]);
    cr_expect_eq(source_offset_of_point(&source, 99, &hint, &points), 13);
}

Test(source, slices_stay_inside)
{
    struct source source = source_of("abc");
    cr_expect(view_is(source_slice(&source, (struct span){1, 2}), "b"));
    cr_expect(view_is(source_slice(&source, (struct span){1, 9}), "bc"));
    cr_expect(view_is(source_slice(&source, (struct span){9, 12}), ""));
    cr_expect_eq(source_mark_size(&source), 0);
}

/* Lines and their ends in long files, against counting from the start. */
Test(source, lines_of_long_files)
{
    static const char kinds[] = "ab\n\r";
    uint64_t state = 1;
    for (unsigned round = 0; round < 200; round++) {
        char bytes[1500];
        uint32_t size = 900 + round * 3, line = 1, start = 0;
        for (uint32_t i = 0; i < size; i++) {
            state = state * 6364136223846793005u + 1442695040888963407u;
            uint32_t letter = (uint32_t)(state >> 33) % (round % 2 ? 4 : 40);
            bytes[i] = kinds[letter < 4 ? letter : 0];
        }
        struct source source;
        source_init(&source, &arena, view_of("long.yaml"), (struct view){bytes, size});
        for (uint32_t at = 0; at <= size; at++) {
            bool ends = at && (bytes[at - 1] == '\n' || bytes[at - 1] == '\r');
            if (ends && (bytes[at - 1] == '\n' || at == size || bytes[at] != '\n'))
                line++, start = at;
            struct place place = source_place(&source, at, COLUMN_BYTES);
            cr_assert(place.line == line && place.column == at - start + 1, "%u", at);
            struct span span = source_line(&source, line);
            cr_assert_eq(span.start, start);
            for (uint32_t i = span.start; i < span.end; i++)
                cr_assert(bytes[i] != '\n' && bytes[i] != '\r');
            cr_assert(span.end == size || bytes[span.end] == '\n' || bytes[span.end] == '\r');
        }
        arena_reset(&arena);
    }
}
