/* What agreements of one machine share: files read once, and one budget for all patterns. */
#include <criterion/criterion.h>

#include <string.h>

#include "base/buffer.h"
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

TestSuite(agree, .init = begin, .fini = end);

/* The same bytes for whatever file is named. */
struct folder {
    struct view bytes;
    size_t reads;
};

static bool read_any(void *user, struct arena *into, struct view path, struct view *bytes,
                     const char **why)
{
    (void)into, (void)path, (void)why;
    struct folder *folder = user;
    folder->reads++;
    *bytes = folder->bytes;
    return true;
}

/* A machine of which `count` agreements name `file`, "%d" in it being their number. */
static struct file_report check(struct folder *folder, const char *file, const char *pattern,
                                int count)
{
    static const struct rulebook *const books[] = {&builtin_rulebook};
    struct file_reader reader = {folder, read_any};
    const struct check_options options = {
        .books = books, .book_count = 1, .words = true, .agreements = &reader};
    struct buffer text;
    buffer_init(&text, &arena);
    buffer_text(&text, "proveout: 1\nchange: {standoff: 10 mm}\nagrees_with:\n");
    for (int i = 0; i < count; i++) {
        buffer_text(&text, "  - {unit: mm, field: change.standoff, file: ");
        buffer_format(&text, file, i);
        buffer_format(&text, ", pattern: '%s'}\n", pattern);
    }
    struct file_report report;
    check_bytes(&arena, &options, view_of("m.yaml"), buffer_view(&text), &report);
    return report;
}

/* How many findings called `rule` say `what`. */
static size_t said(const struct file_report *report, const char *rule, const char *what)
{
    size_t count = 0;
    for (size_t i = 0; i < report->count; i++)
        count += strcmp(report->findings[i].rule, rule) == 0 &&
                 strstr(report->findings[i].message, what);
    for (size_t i = 0; i < report->more_count; i++)
        if (strcmp(report->more[i].rule, rule) == 0)
            count += report->more[i].failed;
    return count;
}

static struct folder folder_of(char fill, size_t size)
{
    struct buffer bytes;
    buffer_init(&bytes, &arena);
    buffer_fill(&bytes, fill, size);
    buffer_text(&bytes, "\nstandoff = 10\n");
    return (struct folder){.bytes = buffer_view(&bytes)};
}

Test(agree, each_file_is_read_once)
{
    struct folder folder = folder_of(' ', 10);
    const char *pattern = "standoff = (?<value>.*)";
    struct file_report report = check(&folder, "change.txt", pattern, 20);
    cr_assert_eq(folder.reads, 1);
    cr_assert_eq(said(&report, "agreement-lost", ""), 0);
    cr_assert_eq(said(&report, "agreement-unmatched", ""), 0);
    report = check(&folder, "change-%d.txt", pattern, 20);
    cr_assert_eq(folder.reads, 21);
    cr_assert_eq(said(&report, "agreement-unmatched", ""), 0);
}

Test(agree, files_together_have_a_size)
{
    struct folder folder = folder_of(' ', AGREEMENT_FILE_MAX - 100);
    struct file_report report = check(&folder, "change-%d.txt", "(?<value>10)", 20);
    cr_assert_geq(folder.reads, 14);
    cr_assert_leq(folder.reads, 16);
    cr_assert_eq(said(&report, "agreement-unmatched", "more than 64 MB"), 20 - folder.reads);
}

Test(agree, many_matches_cost_what_they_are)
{
    struct buffer bytes;
    buffer_init(&bytes, &arena);
    for (int i = 0; i < 40000; i++)
        buffer_format(&bytes, "standoff = 10 ; line %d\n", i);
    struct folder folder = {.bytes = buffer_view(&bytes)};
    struct file_report report = check(&folder, "change.txt", "^standoff = (?<value>\\S+)", 1);
    cr_assert_eq(said(&report, "agreement-pattern-costly", ""), 0);
    cr_assert_eq(said(&report, "agreement-lost", ""), 0);
    cr_assert_eq(said(&report, "agreement-unmatched", ""), 0);
}

/* One that can be answered alone is not once the budget is spent, and is said to be so. */
Test(agree, one_budget_is_for_all)
{
    struct folder folder = folder_of('a', 150);
    const char *pattern = "(?<value>a*a*)[bc]";
    struct file_report report = check(&folder, "change.txt", pattern, 1);
    cr_assert_eq(said(&report, "agreement-unmatched", "finds nothing"), 1);
    report = check(&folder, "change.txt", pattern, 60);
    size_t answered = said(&report, "agreement-unmatched", "finds nothing");
    cr_assert(answered >= 1 && answered < 60, "%zu", answered);
    cr_assert_eq(said(&report, "agreement-pattern-costly", "too many steps"), 60 - answered);
}
