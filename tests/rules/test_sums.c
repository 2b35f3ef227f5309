/* What is left out of what is not checked where only its sum is told. */
#include <criterion/criterion.h>

#include <string.h>

#include "rules/check.h"

static struct arena arena;

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(sums, .init = begin, .fini = end);

static struct view base_text(void)
{
    for (size_t i = 0; i < builtin_text_count; i++)
        if (strcmp(builtin_texts[i].name, "rules/base-machine.yaml") == 0)
            return (struct view){builtin_texts[i].bytes, builtin_texts[i].size};
    cr_assert_fail("the base machine is not there");
    return (struct view){0};
}

static void check(struct view bytes, bool sums, struct file_report *out)
{
    static const struct rulebook *const books[] = {&builtin_rulebook};
    const struct check_options options = {
        .books = books, .book_count = 1, .show = SHOW_FAILED, .words = true, .sums = sums};
    check_bytes(&arena, &options, view_of("m.yaml"), bytes, out);
}

/* The next that was not left out: of what is not checked the first of each rule. */
static const struct finding *next(const struct file_report *report, size_t *at)
{
    for (; *at < report->count; (*at)++) {
        const struct finding *finding = &report->findings[*at];
        if (finding->outcome != OUTCOME_UNCHECKED)
            return &report->findings[(*at)++];
    }
    return NULL;
}

static size_t unchecked_rules(const struct file_report *report)
{
    size_t count = 0;
    for (size_t i = 0; i < report->count; i++) {
        bool seen = report->findings[i].outcome != OUTCOME_UNCHECKED;
        for (size_t k = 0; k < i && !seen; k++)
            seen = report->findings[k].outcome == OUTCOME_UNCHECKED &&
                   strcmp(report->findings[k].rule, report->findings[i].rule) == 0;
        count += !seen;
    }
    return count;
}

static void compare(const struct file_report *all, const struct file_report *sums)
{
    cr_assert_eq(memcmp(all->rules, sums->rules, sizeof all->rules), 0);
    cr_assert_eq(all->wanted_count, sums->wanted_count);
    for (size_t i = 0; i < all->wanted_count; i++)
        cr_expect_str_eq(all->wanted[i], sums->wanted[i]);
    cr_expect_eq(unchecked_rules(all), unchecked_rules(sums));
    size_t a = 0, s = 0;
    const struct finding *one, *other;
    do {
        one = next(all, &a), other = next(sums, &s);
        cr_assert_eq(!one, !other);
        cr_expect(!one || strcmp(one->message, other->message) == 0);
    } while (one);
}

/* Whatever the file lacks: fields, sections, lists, or what comes after a mistake. */
Test(sums, the_same_is_wanted)
{
    struct view whole = base_text();
    size_t fewer = 0, line = 0;
    for (size_t size = 0; size < whole.size; size++) {
        if (whole.data[size] != '\n' || ++line % 7)
            continue;
        struct file_report all, sums;
        struct view cut = {whole.data, size + 1};
        check(cut, false, &all);
        check(cut, true, &sums);
        compare(&all, &sums);
        cr_expect_leq(sums.count, all.count);
        fewer += sums.count < all.count;
        struct buffer broken;
        buffer_init(&broken, &arena);
        buffer_add(&broken, cut);
        buffer_text(&broken, "\n: [\n");
        check(buffer_view(&broken), false, &all);
        check(buffer_view(&broken), true, &sums);
        compare(&all, &sums);
        arena_reset(&arena);
    }
    cr_expect_gt(fewer, 5);
}
