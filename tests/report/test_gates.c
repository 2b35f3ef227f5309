/* report: what is held back for the end of a run, the least of it left out. */
#include <criterion/criterion.h>

#include <string.h>

#include "records.h"
#include "report/held.h"

static struct arena arena;

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(held, .init = begin, .fini = end);

static const struct report_limit limit = {4, 100};
static const struct report_writer writer = {.limit = &limit};
static const struct report_output output = {.writer = &writer};

/* All lines that stay, joined. */
static const char *kept(struct report_held *held, char part)
{
    struct buffer out;
    struct view line;
    buffer_init(&out, &arena);
    for (size_t at = 0; held_next(held, part, &at, &line);) {
        buffer_add(&out, line);
        buffer_byte(&out, ' ');
    }
    return buffer_string(&out);
}

Test(held, nothing_is_where_there_is_no_limit)
{
    cr_assert_null(report_held_new(&arena, report_output(REPORT_FINDINGS, 0)));
}

Test(held, the_gravest_stay_in_their_order)
{
    struct report_held *held = report_held_new(&arena, &output);
    report_hold(held, view_of("3rlate\n1rone\n"));
    report_hold(held, view_of("2rtwo\n0nnote\n1rthree"));
    report_hold(held, view_of("3rmore\n"));
    cr_expect_eq(held_left_out(held, 'r'), 2);
    cr_expect_eq(held_left_out(held, 'n'), 0);
    cr_expect_str_eq(kept(held, 'r'), "one two three ");
    cr_expect_str_eq(kept(held, 'n'), "note ");
}

/* However often room is made, what stays is the beginning of all, in order of gravity. */
Test(held, as_if_all_had_been_there_at_once)
{
    struct report_held *held = report_held_new(&arena, &output);
    for (int i = 0; i < 500; i++) {
        struct buffer line;
        buffer_init(&line, &arena);
        buffer_format(&line, "%drl%d\n", 9 - i / 100, i);
        report_hold(held, buffer_view(&line));
    }
    cr_expect_eq(held_left_out(held, 'r'), 496);
    cr_expect_str_eq(kept(held, 'r'), "l400 l401 l402 l403 ");
}

/* A lesser line does not slip in behind a graver one that was too long. */
Test(held, bytes_count_too)
{
    struct report_held *held = report_held_new(&arena, &output);
    char text[128];
    memset(text, 'x', sizeof text);
    memcpy(text, "1r", 2);
    report_hold(held, view_of("0rfirst\n"));
    report_hold(held, (struct view){text, sizeof text});
    report_hold(held, view_of("1rsecond\n2rthird\n"));
    cr_expect_eq(held_left_out(held, 'r'), 3);
    report_hold(held, view_of("1rfourth\n0rfifth\n"));
    cr_expect_eq(held_left_out(held, 'r'), 4);
    cr_expect_str_eq(kept(held, 'r'), "first fifth ");
}
