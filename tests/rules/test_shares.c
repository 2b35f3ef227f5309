/* What the tolerance of a finding is made of: the fields, also of what motion computes of them.
 */
#include <criterion/criterion.h>

#include <math.h>
#include <string.h>

#include "rules/check.h"

static struct arena arena;

static void open_arena(void)
{
    arena_init(&arena, NULL);
}

static void close_arena(void)
{
    arena_free(&arena);
}

TestSuite(shares, .init = open_arena, .fini = close_arena);

/* The machine of the examples with each of the words, which stand there once, replaced. */
static struct view machine_with(const char *const (*words)[2], size_t count)
{
    const char *text = NULL;
    for (size_t i = 0; i < builtin_text_count; i++)
        if (strcmp(builtin_texts[i].name, "rules/base-machine.yaml") == 0)
            text = arena_copy(&arena, builtin_texts[i].bytes, builtin_texts[i].size);
    cr_assert(text);
    for (size_t i = 0; i < count; i++) {
        const char *at = strstr(text, words[i][0]);
        cr_assert(at && !strstr(at + 1, words[i][0]), "%s does not stand there once",
                  words[i][0]);
        text = arena_format(&arena, "%.*s%s%s", (int)(at - text), text, words[i][1],
                            at + strlen(words[i][0]));
    }
    return view_of(text);
}

static const struct finding *found(struct view text, const char *rule)
{
    static const struct rulebook *const books[] = {&builtin_rulebook};
    const struct check_options options = {.books = books, .book_count = 1, .words = true};
    struct file_report *report = ARENA_ARRAY(&arena, struct file_report, 1);
    check_bytes(&arena, &options, view_of("m.yaml"), text, report);
    for (size_t i = 0; i < report->count; i++)
        if (strcmp(report->findings[i].rule, rule) == 0)
            return &report->findings[i];
    cr_assert_fail("%s is not found", rule);
    return NULL;
}

/* The way to the setter leads over a fence: what is to spare there is uncertain by the seat of
 * the cutter, the fence, the cutter and the axis, each by what the file says, and not by the
 * clearance as a whole, which nobody can measure. */
Test(shares, of_a_clearance_are_those_of_the_fields)
{
    static const char *const words[][2] = {
        {"y: [575 mm, 595 mm]", "y: [540 mm, 595 mm]"},
        {"top: 40 mm", "top: 108 mm +/- 2 mm"},
        {"stickout: 45 mm", "stickout: 45 mm +/- 1 mm"},
    };
    static const struct finding_share wanted[] = {
        {"allowances.reseat", 0.005},
        {"obstacles[0].top", 0.002},
        {"cutters[1].stickout", 0.001},
        {"homing.z.repeatability", 0.00002},
    };
    const struct finding *finding = found(machine_with(words, 3), "move-meets-obstacle");
    cr_assert_eq(finding->share_count, 4, "%zu", finding->share_count);
    for (size_t i = 0; i < 4; i++) {
        cr_expect_str_eq(finding->shares[i].name, wanted[i].name);
        cr_expect(fabs(finding->shares[i].si - wanted[i].si) < 1e-12, "%s: %.17g",
                  wanted[i].name, finding->shares[i].si);
    }
}
