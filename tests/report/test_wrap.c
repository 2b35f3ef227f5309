/* report: prose in lines. */
#include <criterion/criterion.h>

#include "records.h"
#include "report/wrap.h"

static void expect_wrapped(struct wrap wrap, const char *text, const char *wanted)
{
    struct arena arena;
    arena_init(&arena, NULL);
    struct buffer out;
    buffer_init(&out, &arena);
    wrap_add(&out, &wrap, view_of(text));
    records_expect(buffer_string(&out), wanted);
    arena_free(&arena);
}

Test(wrap, breaks_at_blanks)
{
    const struct wrap ten = {.width = 10, .first = 2, .rest = 4};
    expect_wrapped(ten, "", "");
    expect_wrapped(ten, " \n ", "");
    expect_wrapped(ten, "one", "  one\n");
    expect_wrapped(ten, "one  two\n", "  one two\n");
    expect_wrapped(ten, "one fours", "  one\n    fours\n");
    expect_wrapped(ten, "one fours six", "  one\n    fours\n    six\n");
    expect_wrapped(ten, "longer/than/all of it", "  longer/than/all\n    of it\n");
    expect_wrapped(ten, "刀刀刀刀", "  刀刀刀刀\n");
    expect_wrapped(ten, "ab 刀刀刀", "  ab\n    刀刀刀\n");
    expect_wrapped(ten, "abc 12 mm", "  abc\n    12 mm\n");
    expect_wrapped(ten, "abc 12 mm.", "  abc\n    12 mm.\n");
    expect_wrapped(ten, "abc 12 cat", "  abc 12\n    cat\n");
    expect_wrapped(ten, "a (line 12), b", "  a\n    (line 12),\n    b\n");
    expect_wrapped(ten, "a line of it", "  a line\n    of it\n");
    expect_wrapped(ten, "airline 12", "  airline\n    12\n");
    expect_wrapped(ten, "a\tb\x1b", "  a\\tb\\x1b\n");
}

static void expect_row(const char *name, const char *text, const char *wanted)
{
    struct arena arena;
    arena_init(&arena, NULL);
    struct buffer out;
    buffer_init(&out, &arena);
    wrap_row(&out, 16, 6, name, view_of(text));
    records_expect(buffer_string(&out), wanted);
    arena_free(&arena);
}

Test(wrap, sets_two_columns)
{
    expect_row("ab", "one two six", "ab    one two\n      six\n");
    expect_row("", "one two six", "      one two\n      six\n");
    expect_row("abcde", "one", "abcde\n      one\n");
    expect_row("abcd", "one", "abcd  one\n");
    expect_row("abcd", "", "abcd\n");
}

Test(wrap, keeps_widths_within_what_can_be_read)
{
    cr_assert_eq(wrap_width(0), 40);
    cr_assert_eq(wrap_width(72), 72);
    cr_assert_eq(wrap_width(500), 100);
}
