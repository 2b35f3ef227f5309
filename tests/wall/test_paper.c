#include <criterion/criterion.h>

#include <string.h>

#include "wall/paper.h"

static const struct paper_table table = {
    "a table", 2, {{"what", PAPER_WIDTH / 2}, {"how much", PAPER_WIDTH / 2}}};

static size_t times(const char *text, const char *what)
{
    size_t count = 0;
    for (const char *at = text; (at = strstr(at, what)); at++)
        count++;
    return count;
}

static struct arena kept;

static struct arena *new_arena(void)
{
    arena_init(&kept, NULL);
    return &kept;
}

static struct paper new_paper(struct arena *arena)
{
    return (struct paper){.arena = arena, .title = "a <title>"};
}

static const char *finished(struct paper *paper)
{
    struct buffer out;
    buffer_init(&out, paper->arena);
    paper_finish(paper, &out);
    return buffer_string(&out);
}

static void add_rows(struct paper *paper, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const struct paper_cell cells[] = {{.text = arena_format(paper->arena, "row %zu.", i)},
                                           {.text = NULL}};
        paper_row(paper, &table, cells, NULL);
    }
}

Test(paper, one_page_of_what_fits)
{
    struct arena *arena = new_arena();
    struct paper paper = new_paper(arena);
    paper_heading(&paper, "numbers");
    add_rows(&paper, 3);
    const char *text = finished(&paper);
    cr_expect_eq(times(text, "<section class=\"page\">"), 1);
    cr_expect(strstr(text, "page 1 of 1"));
    cr_expect_eq(times(text, "<thead"), 1);
    arena_free(arena);
}

/* Rows are lost nowhere, and each page of a table has its head. */
Test(paper, a_table_goes_on_with_its_head)
{
    struct arena *arena = new_arena();
    struct paper paper = new_paper(arena);
    add_rows(&paper, 200);
    const char *text = finished(&paper);
    size_t pages = times(text, "<section class=\"page\">");
    cr_expect_gt(pages, 4);
    cr_expect_lt(pages, 9);
    cr_expect_eq(times(text, "<thead"), pages);
    cr_expect_eq(times(text, "<thead class=\"again\">"), pages - 1);
    cr_expect_eq(times(text, "<table>"), times(text, "</table>"));
    for (size_t i = 0; i < 200; i++)
        cr_expect_eq(times(text, arena_format(arena, ">row %zu.<", i)), 1);
    arena_free(arena);
}

/* Wherever a page ends, no heading is the last of it. */
Test(paper, a_heading_stays_with_what_follows)
{
    for (size_t before = 0; before < 80; before++) {
        struct arena *arena = new_arena();
        struct paper paper = new_paper(arena);
        add_rows(&paper, before);
        paper_heading(&paper, "HEADING");
        paper_text(&paper, "FOLLOWS", false);
        const char *text = finished(&paper);
        const char *heading = strstr(text, "HEADING"), *follows = strstr(text, "FOLLOWS");
        cr_assert(heading && follows && heading < follows);
        const char *end = strstr(heading, "</section>");
        cr_expect(end > follows, "%zu rows before", before);
        arena_free(arena);
    }
}

Test(paper, a_row_is_as_high_as_its_fullest_cell)
{
    struct arena *arena = new_arena();
    struct paper paper = new_paper(arena);
    const char *lines = "1\n2\n3\n4\n5\n6\n7\n8\n9\n10\n11\n12\n13\n14\n15\n16\n17\n18\n19\n20";
    const struct paper_cell cells[] = {{.text = "short"}, {.text = lines}};
    for (int i = 0; i < 3; i++) /* 92 mm each: two to a page */
        paper_row(&paper, &table, cells, NULL);
    const char *text = finished(&paper);
    cr_expect(strstr(text, "page 2 of 2"));
    cr_expect_eq(times(text, "1<br>2<br>3"), 3);
    arena_free(arena);
}

Test(paper, numbers_go_on_over_the_page)
{
    struct arena *arena = new_arena();
    struct paper paper = new_paper(arena);
    for (int i = 0; i < 60; i++)
        paper_item(&paper, "item", true);
    paper_item(&paper, "another", false);
    paper_item(&paper, "first of a new list", true);
    const char *text = finished(&paper);
    cr_expect_eq(times(text, "<ol start="), 1);
    cr_expect_eq(times(text, "<ol>"), 2);
    cr_expect_eq(times(text, "<ul>"), 1);
    cr_expect_eq(times(text, "<li>"), 62);
    arena_free(arena);
}

Test(paper, texts_are_harmless)
{
    struct arena *arena = new_arena();
    struct paper paper = new_paper(arena);
    const struct paper_cell cells[] = {{.ticks = "\"><script>"}, {.text = "</td>"}};
    paper_heading(&paper, "<b>");
    paper_row(&paper, &table, cells, &(struct paper_value){"field", "a\"b", "<c>"});
    const char *text = finished(&paper);
    cr_expect(strstr(text, "a &lt;title&gt;"));
    cr_expect(strstr(text, "&lt;b&gt;"));
    cr_expect(strstr(text, "data-field=\"a&quot;b\" data-value=\"&lt;c&gt;\""));
    cr_expect(strstr(text, "aria-label=\"&quot;&gt;&lt;script&gt;\""));
    cr_expect_not(strstr(text, "<script"));
    arena_free(arena);
}

/* What is for screens has no page and no number. */
Test(paper, the_screen_counts_for_no_page)
{
    struct arena *arena = new_arena();
    struct paper paper = new_paper(arena);
    paper_text(&paper, "printed", false);
    paper_screen(&paper);
    add_rows(&paper, 300);
    const char *text = finished(&paper);
    cr_expect(strstr(text, "page 1 of 1"));
    cr_expect_eq(times(text, "<div class=\"screen\">"), 1);
    cr_expect_eq(times(text, "<thead"), 1);
    arena_free(arena);
}

/* After it the page goes on where it was. */
Test(paper, paper_goes_on_after_the_screen)
{
    struct arena *arena = new_arena();
    struct paper paper = new_paper(arena);
    paper_text(&paper, "printed", false);
    paper_screen(&paper);
    add_rows(&paper, 300);
    paper_again(&paper);
    paper_text(&paper, "printed too", false);
    const char *text = finished(&paper);
    cr_expect(strstr(text, "page 1 of 1"));
    cr_expect(strstr(text, "</div>\n<p>printed too</p>"));
    arena_free(arena);
}

/* A break after a break, or at the top, leaves no page empty. */
Test(paper, no_page_is_empty)
{
    struct arena *arena = new_arena();
    struct paper paper = new_paper(arena);
    paper_text(&paper, "first", false);
    paper_break(&paper);
    paper_break(&paper);
    paper_markup(&paper, "<svg></svg>\n", PAPER_HEIGHT - PAPER_HEAD);
    paper_break(&paper);
    paper_text(&paper, "last", false);
    const char *text = finished(&paper);
    cr_expect_eq(times(text, "<section class=\"page\">"), 3);
    arena_free(arena);
}

/* A line of boxes holds as many as the page is wide. */
Test(paper, boxes_go_on_in_the_next_line)
{
    static const struct paper_box boxes[] = {
        {"one", 6000}, {"two", 6000}, {"three", 6000}, {"<four>", 6000}};
    for (size_t count = 1; count <= 4; count++) {
        struct arena *arena = new_arena();
        struct paper paper = new_paper(arena);
        const int32_t height = (PAPER_HEIGHT - PAPER_HEAD - 2000) / 2;
        paper_boxes(&paper, "to write in", boxes, count, height);
        paper_boxes(&paper, "to write in", boxes, count, height);
        const char *text = finished(&paper);
        cr_expect_eq(times(text, "<section class=\"page\">"), count > 3 ? 2 : 1);
        cr_expect_eq(times(text, "<li style=\"width:60mm;"), 2 * count);
        cr_expect_eq(times(text, "&lt;four&gt;"), count > 3 ? 2 : 0);
        arena_free(arena);
    }
}

Test(paper, no_box_is_wider_than_the_page)
{
    struct arena *arena = new_arena();
    struct paper paper = new_paper(arena);
    char longest[1000];
    memset(longest, 'W', sizeof longest - 1);
    longest[sizeof longest - 1] = '\0';
    const char *const ticks[] = {"short", longest};
    paper_boxes(&paper, "a", &(struct paper_box){"wide", 2 * PAPER_WIDTH}, 1, 1150);
    paper_ticks(&paper, "b", ticks, 2);
    const char *text = finished(&paper);
    cr_expect_eq(times(text, "width:180mm"), 2);
    cr_expect_eq(times(text, "<label><input type=\"checkbox\"> short</label>"), 1);
    arena_free(arena);
}

/* Wherever a page ends, an entry and all that is kept with it are on one. */
Test(paper, what_is_kept_together_stays_so)
{
    for (size_t before = 0; before < 80; before++) {
        struct arena *arena = new_arena();
        struct paper paper = new_paper(arena);
        add_rows(&paper, before);
        paper_heading(&paper, "HEADING");
        paper_entry(&paper, "ENTRY", "a.field");
        paper_text(&paper, "what it is", false);
        paper_keep(&paper);
        paper_boxes(&paper, "LAST", &(struct paper_box){"box", 2500}, 1, 1150);
        paper_text(&paper, "behind", false);
        const char *text = finished(&paper);
        const char *heading = strstr(text, "HEADING"), *last = strstr(text, "LAST");
        cr_assert(heading && last && heading < last);
        cr_expect(strstr(heading, "</section>") > last, "%zu rows before", before);
        cr_expect(strstr(text, "<h3 data-field=\"a.field\">ENTRY</h3>"));
        arena_free(arena);
    }
}

/* What no page holds is not kept from being shown. */
Test(paper, too_much_is_not_kept_together)
{
    struct arena *arena = new_arena();
    struct paper paper = new_paper(arena);
    paper_text(&paper, "first", false);
    for (size_t i = 0; i < 100; i++) {
        paper_text(&paper, "of many", false);
        paper_keep(&paper);
    }
    const char *text = finished(&paper);
    cr_expect_eq(times(text, "of many"), 100);
    cr_expect_eq(times(text, "<section class=\"page\">"), 3);
    arena_free(arena);
}
