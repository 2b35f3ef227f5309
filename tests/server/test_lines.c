/* Positions: there and back. */
#include <criterion/criterion.h>

#include "server/lines.h"
#include "text/utf8.h"

struct place {
    const char *text;
    size_t offset, line;
    size_t units[3]; /* UTF-16, UTF-8, UTF-32 */
};

/* A character outside the first 65536 is two units of UTF-16. */
static const struct place places[] = {
    {"", 0, 0, {0, 0, 0}},
    {"ab", 0, 0, {0, 0, 0}},
    {"ab", 2, 0, {2, 2, 2}},
    {"ab\ncd", 2, 0, {2, 2, 2}},
    {"ab\ncd", 3, 1, {0, 0, 0}},
    {"ab\r\ncd", 4, 1, {0, 0, 0}},
    {"ab\rcd\n", 3, 1, {0, 0, 0}},
    {"ab\rcd\n", 6, 2, {0, 0, 0}},
    {"\r\n\r\r\n", 2, 1, {0, 0, 0}},
    {"\r\n\r\r\n", 3, 2, {0, 0, 0}},
    {"\r\n\r\r\n", 5, 3, {0, 0, 0}},
    {"\xc3\xa9x", 2, 0, {1, 2, 1}},
    {"\xe6\x97\xa5x", 3, 0, {1, 3, 1}},
    {"\xf0\x9f\x98\x80x", 4, 0, {2, 4, 1}},
    {"a\xff\xfex", 3, 0, {3, 3, 3}},
    {"\xef\xbb\xbfx", 3, 0, {1, 3, 1}},
    {"a\xe2\x80\xa8x", 4, 0, {2, 4, 2}}, /* no end of a line here */
};

Test(lines, places)
{
    for (size_t i = 0; i < sizeof places / sizeof *places; i++)
        for (enum line_units units = UNITS_UTF16; units <= UNITS_UTF32; units++) {
            const struct place *one = &places[i];
            struct arena arena;
            struct lines lines;
            arena_init(&arena, NULL);
            lines_find(&lines, &arena, view_of(one->text));
            struct position at = lines_position(&lines, one->offset, units);
            cr_expect(at.line == one->line && at.character == one->units[units],
                      "%zu, units %d: %zu:%zu", i, units, at.line, at.character);
            cr_expect(lines_offset(&lines, at, units) == one->offset, "%zu, units %d", i, units);
            cr_expect(position_offset(view_of(one->text), at, units) == one->offset,
                      "%zu, units %d", i, units);
            arena_free(&arena);
        }
}

struct beyond {
    const char *text;
    struct position at;
    size_t offset[3];
};

static const struct beyond beyonds[] = {
    {"ab\r\ncd", {0, 9}, {2, 2, 2}}, /* behind the end of its line */
    {"ab\r\ncd", {9, 0}, {6, 6, 6}}, /* behind the last line */
    {"ab\r\ncd", {1, (size_t)-1}, {6, 6, 6}},
    {"\xf0\x9f\x98\x80x", {0, 1}, {0, 0, 4}}, /* inside of a character */
    {"\xf0\x9f\x98\x80x", {0, 3}, {5, 0, 5}},
    {"", {3, 3}, {0, 0, 0}},
    {"\n", {1, 3}, {1, 1, 1}},
};

Test(lines, beyond)
{
    for (size_t i = 0; i < sizeof beyonds / sizeof *beyonds; i++)
        for (enum line_units units = UNITS_UTF16; units <= UNITS_UTF32; units++) {
            const struct beyond *one = &beyonds[i];
            struct arena arena;
            struct lines lines;
            arena_init(&arena, NULL);
            lines_find(&lines, &arena, view_of(one->text));
            size_t offset = position_offset(view_of(one->text), one->at, units);
            cr_expect(offset == one->offset[units], "%zu, units %d: %zu", i, units, offset);
            cr_expect(lines_offset(&lines, one->at, units) == offset, "%zu, units %d", i, units);
            arena_free(&arena);
        }
}

/* Of every offset of texts at random: a position that leads back, to the beginning of the character
 * in which it lies, or before what ends its line. */
Test(lines, back)
{
    static const char *const pieces[] = {"a", " ", "\n", "\r", "\r\n", "\xc3\xa9", "\xe6\x97\xa5",
                                         "\xf0\x9f\x98\x80", "\xff", "\xe6\x97"};
    unsigned long long state = 1;
    for (size_t round = 0; round < 500; round++) {
        struct arena arena;
        struct lines lines;
        char text[64] = "";
        for (size_t i = 0; i < 12; i++) {
            state = state * 6364136223846793005u + 1442695040888963407u;
            strcat(text, pieces[(state >> 33) % (sizeof pieces / sizeof *pieces)]);
        }
        arena_init(&arena, NULL);
        lines_find(&lines, &arena, view_of(text));
        for (enum line_units units = UNITS_UTF16; units <= UNITS_UTF32; units++)
            for (size_t offset = 0; offset <= strlen(text) + 2; offset++) {
                struct position at = lines_position(&lines, offset, units);
                size_t back = lines_offset(&lines, at, units);
                struct position again = lines_position(&lines, back, units);
                cr_assert(back <= offset && offset - back < 6, "%s at %zu", text, offset);
                cr_assert(again.line == at.line && again.character == at.character);
                cr_assert(position_offset(view_of(text), at, units) == back);
                cr_assert(back <= lines_end(&lines, at.line));
            }
        arena_free(&arena);
    }
}

Test(lines, hidden_mark)
{
    struct arena arena;
    struct lines lines;
    arena_init(&arena, NULL);
    lines_find(&lines, &arena, view_of("\xef\xbb\xbfxy\n\xef\xbb\xbfz"));
    lines.hides_mark = true;
    cr_expect(lines_position(&lines, 4, UNITS_UTF8).character == 1);
    cr_expect(lines_position(&lines, 1, UNITS_UTF8).character == 0);
    cr_expect(lines_position(&lines, 9, UNITS_UTF8).character == 3);
    cr_expect(lines_offset(&lines, (struct position){0, 1}, UNITS_UTF16) == 4);
    arena_free(&arena);
}
