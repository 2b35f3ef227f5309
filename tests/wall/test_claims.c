/* What a page claims, and what differs. */
#include <criterion/criterion.h>

#include "wall/claims.h"
#include "wall/internal.h"

#define MARK                                                                                   \
    "<meta name=\"proveout-sheet\" content=\"1\" data-machine=\"shed\" data-file=\"12ab\" "    \
    "data-made=\"0.1.0\" data-day=\"2026-11-01\" data-cutter=\"\">"

static struct arena arena;

static void open_arena(void)
{
    arena_init(&arena, NULL);
}

static void close_arena(void)
{
    arena_free(&arena);
}

TestSuite(claims, .init = open_arena, .fini = close_arena);

static const char *read(const char *page, struct wall_claims *out)
{
    return wall_claims_read(&arena, view_of(page), out);
}

Test(claims, a_page_is_read)
{
    struct wall_claims claims;
    cr_expect_null(
        read("<!DOCTYPE html>" MARK "<tr data-field=\"a.b\" data-value=\"1 mm &#177; 2\">"
             "<tr data-finding=\"too-long, cutter 3\" data-value=\"failed\"></html>\n",
             &claims));
    cr_expect_str_eq(claims.state.machine, "shed");
    cr_expect_str_eq(claims.state.day, "2026-11-01");
    cr_assert_eq(claims.items.count, 2);
    cr_expect_str_eq(claims.items.items[0].value, "1 mm \u00b1 2");
    cr_expect_not(claims.items.items[0].finding);
    cr_expect(claims.items.items[1].finding);
    cr_expect_str_eq(claims.items.items[1].name, "too-long, cutter 3");
}

Test(claims, attributes_come_in_any_form)
{
    struct wall_claims claims;
    cr_expect_null(
        read(MARK "<tr class='a>b' data-value = '2 \"x\"'\n data-field='a'></html>", &claims));
    cr_assert_eq(claims.items.count, 1);
    cr_expect_str_eq(claims.items.items[0].name, "a");
    cr_expect_str_eq(claims.items.items[0].value, "2 \"x\"");
}

/* Text in an attribute, a comment or between tags is no tag of its own. */
Test(claims, what_is_no_row_claims_nothing)
{
    struct wall_claims claims;
    cr_expect_null(read(MARK "<p title=\"<tr data-field='a' data-value='1'>\">"
                             "<trx data-field=\"b\"><tr title=\"data-field='c'\"></html>",
                        &claims));
    cr_expect_eq(claims.items.count, 0);
}

Test(claims, other_pages_are_refused)
{
    struct wall_claims claims;
    cr_expect_not_null(read("", &claims));
    cr_expect_not_null(read("<html></html>", &claims));
    cr_expect_not_null(read(MARK "<tr data-field=\"a\" data-value=\"1\">", &claims));
    cr_expect_not_null(read("<meta name=\"proveout-sheet\" content=\"2\"></html>", &claims));
}

Test(claims, references)
{
    cr_expect_str_eq(wall_unescaped(&arena, view_of("&lt;&amp;lt;&#x41;&#66;&quot;")),
                     "<&lt;AB\"");
    cr_expect_str_eq(wall_unescaped(&arena, view_of("&nothing; &#xZZ; &#; &#1114112; &")),
                     "&nothing; &#xZZ; &#; &#1114112; &");
}

static void add(struct wall_claims *claims, bool finding, const char *name, const char *value)
{
    VECTOR_ADD(&arena, &claims->items, (struct wall_claim){finding, name, value, 7});
}

Test(claims, what_differs_is_told_once)
{
    struct wall_claims then = {.items = {0}}, now = {.items = {0}};
    struct sheet_comparison compared;
    add(&then, false, "a", "1"), add(&now, false, "a", "2"); /* changed */
    add(&then, false, "b", "1"), add(&now, false, "b", "1"); /* the same */
    add(&then, false, "c", "1"), add(&now, false, "d", "1"); /* gone, and new */
    add(&then, true, "r, x", "failed"), add(&now, true, "r, x", "failed");
    add(&now, true, "r, x", "failed"); /* once more */
    wall_compare(&arena, &then, &now, &compared);
    cr_assert_eq(compared.count, 4);
    cr_expect_str_eq(compared.items[0].name, "a");
    cr_expect_str_eq(compared.items[0].then, "1");
    cr_expect_str_eq(compared.items[0].now, "2");
    cr_expect_str_eq(compared.items[1].name, "d");
    cr_expect_null(compared.items[1].then);
    cr_expect_str_eq(compared.items[2].name, "r, x");
    cr_expect_null(compared.items[2].then);
    cr_expect_str_eq(compared.items[3].name, "c");
    cr_expect_null(compared.items[3].now);
    cr_expect_eq(compared.items[3].line, 0);
}
