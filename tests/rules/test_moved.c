/* What a change moved, from two checks of the base machine. */
#include <criterion/criterion.h>

#include <string.h>

#include "finding/sink.h"
#include "rules/check.h"
#include "tree/change.h"

static struct arena arena;

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(moved, .init = begin, .fini = end);

static struct view base_text(void)
{
    for (size_t i = 0; i < builtin_text_count; i++)
        if (strcmp(builtin_texts[i].name, "rules/base-machine.yaml") == 0)
            return (struct view){builtin_texts[i].bytes, builtin_texts[i].size};
    cr_assert_fail("the base machine is not there");
    return (struct view){0};
}

static void check(struct view bytes, struct file_report *out)
{
    static const struct rulebook *const books[] = {&builtin_rulebook};
    const struct check_options options = {
        .books = books, .book_count = 1, .show = SHOW_ALL, .words = true};
    check_bytes(&arena, &options, view_of("m.yaml"), bytes, out);
}

static uint32_t rank(const void *user, struct view path)
{
    (void)user;
    return field_rank(path);
}

static struct view with(struct view bytes, const char *path, const char *text)
{
    static const struct change_order order = {rank, NULL};
    struct source *source = ARENA_NEW(&arena, struct source);
    struct finding_sink sink;
    struct tree tree;
    struct view out;
    const char *why = "";
    source_init(source, &arena, view_of("m.yaml"), bytes);
    sink_init(&sink, &arena, source);
    tree_read(&tree, &arena, source, &sink);
    const struct value_change change = {view_of(path), view_of(text), true, false};
    cr_assert(change_value(&arena, &tree, &change, &order, &out, &why) != CHANGE_REFUSED,
              "%s: %s", path, why);
    return out;
}

static void compare(struct view before, struct view after, struct moved *out)
{
    struct file_report old, new;
    check(before, &old);
    check(after, &new);
    reports_compare(&arena, &old, &new, out);
}

static bool has(const struct moved *moved, enum moved_kind kind, const char *rule,
                const char *subject)
{
    for (size_t i = 0; i < moved->kinds[kind].count; i++) {
        const struct move_of_margin *move = &moved->kinds[kind].items[i];
        const struct finding *one = move->after ? move->after : move->before;
        if (strcmp(one->rule, rule) == 0 &&
            (!subject || (one->subject && strcmp(one->subject, subject) == 0)))
            return true;
    }
    return false;
}

static bool has_margin(const struct moved *moved, const char *rule)
{
    return has(moved, MOVED_WORSE, rule, NULL) || has(moved, MOVED_BETTER, rule, NULL);
}

Test(moved, nothing)
{
    struct moved moved;
    compare(base_text(), base_text(), &moved);
    for (int kind = 0; kind < MOVED_KINDS; kind++)
        cr_expect_eq(moved.kinds[kind].count, 0, "%d", kind);
}

Test(moved, there_and_back)
{
    struct moved there, back;
    struct view narrow = with(base_text(), "change.probe_stroke", "10 mm");
    compare(base_text(), narrow, &there);
    compare(narrow, base_text(), &back);
    cr_expect_eq(there.kinds[MOVED_BROKEN].count, 3);
    cr_expect_eq(there.kinds[MOVED_MENDED].count, 0);
    cr_expect(has(&there, MOVED_BROKEN, "probe-stroke-short", "cutter 2"));
    cr_expect(has(&there, MOVED_BETTER, "probe-floor", "cutter 1"));
    cr_expect_eq(back.kinds[MOVED_MENDED].count, 3);
    cr_expect_eq(back.kinds[MOVED_BROKEN].count, 0);
    cr_expect_eq(there.kinds[MOVED_WORSE].count, back.kinds[MOVED_BETTER].count);
    cr_assert_eq(there.kinds[MOVED_BETTER].count, back.kinds[MOVED_WORSE].count);
    for (size_t i = 0; i < there.kinds[MOVED_BETTER].count; i++)
        cr_expect_float_eq(there.kinds[MOVED_BETTER].items[i].change,
                           -back.kinds[MOVED_WORSE].items[i].change, 1e-15);
}

/* A value that comes or goes: what could not be told before, or cannot be any more. */
Test(moved, told)
{
    struct moved moved;
    struct view less = with(base_text(), "cutters[0].flute_length", "22 s"); /* a mistake */
    compare(less, base_text(), &moved);
    cr_expect(has(&moved, MOVED_CHECKED, "flutes-in-collet", "cutter 1"));
    cr_expect_not(has(&moved, MOVED_BROKEN, "flutes-in-collet", NULL));
    compare(base_text(), less, &moved);
    cr_expect(has(&moved, MOVED_UNCHECKED, "flutes-in-collet", "cutter 1"));
    cr_expect(has(&moved, MOVED_BROKEN, "wrong-dimension", NULL));
}

/* Rules that do not apply any more are gone, not mended by anybody. */
Test(moved, gone)
{
    struct moved moved;
    struct view narrow = with(base_text(), "change.probe_stroke", "10 mm");
    compare(narrow, with(narrow, "change.measures_with", "plate"), &moved);
    cr_assert(has(&moved, MOVED_MENDED, "probe-stroke-short", "cutter 1"));
    for (size_t i = 0; i < moved.kinds[MOVED_MENDED].count; i++)
        if (strcmp(moved.kinds[MOVED_MENDED].items[i].before->rule, "probe-stroke-short") == 0)
            cr_expect_null(moved.kinds[MOVED_MENDED].items[i].after);
}

/* One requirement that comes to blame another cutter is one move, not a mend and a break. */
Test(moved, blame_that_wanders)
{
    struct moved moved;
    struct view first = with(base_text(), "cutters[1].number", "1");
    struct view second = with(base_text(), "cutters[2].number", "1");
    compare(first, second, &moved);
    cr_expect_not(has(&moved, MOVED_BROKEN, "cutter-number-twice", NULL));
    cr_expect_not(has(&moved, MOVED_MENDED, "cutter-number-twice", NULL));
}

/* Of a rule that fails more often than is listed, what is not listed is not mended. */
Test(moved, long_lists)
{
    struct view base = base_text();
    const char *cutters = strstr(base.data, "\ncutters:\n");
    const char *rest = strstr(base.data, "\nallowances:\n");
    struct view files[2];
    for (unsigned k = 0; k < 2; k++) {
        struct buffer file;
        buffer_init(&file, &arena);
        buffer_add(&file, (struct view){base.data, (size_t)(cutters - base.data)});
        buffer_text(&file, "\ncutters:\n");
        for (unsigned i = 0; i < 1500; i++)
            buffer_format(
                &file,
                "  - {number: %u, description: c, stickout: %u mm, flute_length: 40 mm}\n",
                i + 1, k ? 20 + i % 15 : 34 - i % 15);
        buffer_text(&file, rest);
        files[k] = buffer_view(&file);
    }
    struct moved moved;
    compare(files[0], files[1], &moved);
    cr_expect_not(has(&moved, MOVED_MENDED, "flutes-in-collet", NULL));
    cr_expect_not(has(&moved, MOVED_BROKEN, "flutes-in-collet", NULL));
    cr_expect(has_margin(&moved, "flutes-in-collet"));
}

/* Of several requirements, one that fails now leaves the others as they were. */
Test(moved, one_of_several)
{
    static const struct rulebook *const books[] = {&builtin_rulebook};
    const struct check_options brief = {
        .books = books, .book_count = 1, .show = SHOW_ALL, .words = true, .brief = true};
    struct file_report old, new;
    struct moved moved;
    check_bytes(&arena, &brief, view_of("m.yaml"), base_text(), &old);
    check_bytes(&arena, &brief, view_of("m.yaml"), with(base_text(), "change.park.x", "-9 mm"),
                &new);
    reports_compare(&arena, &old, &new, &moved);
    cr_expect(has(&moved, MOVED_BROKEN, "park-outside-travel", NULL));
    cr_expect_not(has_margin(&moved, "park-outside-travel"));
    for (int kind = MOVED_WORSE; kind <= MOVED_BETTER; kind++)
        for (size_t i = 0; i < moved.kinds[kind].count; i++)
            cr_expect_str_neq(moved.kinds[kind].items[i].after->margin_text, "");
}

Test(moved, numbers_in_subjects_count_as_numbers)
{
    static const char *const wanted[] = {NULL, "cutter 2", "cutter 9", "cutter 10",
                                         "cutter 11"};
    static const size_t order[] = {3, 0, 4, 1, 2};
    struct finding old[5], new[5];
    struct moved moved;
    for (size_t i = 0; i < 5; i++) {
        const char *subject = wanted[order[i]];
        old[i] = (struct finding){.rule = "r", .subject = subject, .outcome = OUTCOME_FAILED};
        new[4 - i] = (struct finding){.rule = "r", .subject = subject, .outcome = OUTCOME_HELD};
    }
    const struct file_report before = {.findings = old, .count = 5};
    const struct file_report after = {.findings = new, .count = 5};
    reports_compare(&arena, &before, &after, &moved);
    cr_assert_eq(moved.kinds[MOVED_MENDED].count, 5);
    for (size_t i = 0; i < 5; i++) {
        const char *subject = moved.kinds[MOVED_MENDED].items[i].after->subject;
        cr_expect((!subject && !wanted[i]) || strcmp(subject, wanted[i]) == 0, "place %zu: %s",
                  i, subject ? subject : "the file");
    }
}
