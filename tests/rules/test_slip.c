/* One slip of the pen in the machine of the examples: told once, where it was made. */
#include <criterion/criterion.h>

#include <string.h>

#include "finding/sink.h"
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

TestSuite(slip, .init = open_arena, .fini = close_arena);

static struct view base_machine(void)
{
    for (size_t i = 0; i < builtin_text_count; i++)
        if (strcmp(builtin_texts[i].name, "rules/base-machine.yaml") == 0)
            return (struct view){builtin_texts[i].bytes, builtin_texts[i].size};
    cr_assert_fail("there is no base machine");
    return (struct view){0};
}

/* The text with `old`, which stands there once, replaced; an empty one adds at the end. */
static struct view with(struct view text, const char *old, const char *new)
{
    const char *all = arena_copy(&arena, text.data, text.size);
    const char *at = *old ? strstr(all, old) : all + text.size;
    cr_assert(at, "%s does not stand there", old);
    cr_assert(!*old || !strstr(at + 1, old), "%s stands there twice", old);
    return view_of(
        arena_format(&arena, "%.*s%s%s", (int)(at - all), all, new, at + strlen(old)));
}

static struct file_report check(struct view text)
{
    static const struct rulebook *const books[] = {&builtin_rulebook};
    const struct check_options options = {
        .books = books, .book_count = 1, .words = true, .remedies = true};
    struct file_report report = {0};
    check_bytes(&arena, &options, view_of("m.yaml"), text, &report);
    return report;
}

/* The one thing that is told; fails where there are several. */
static const struct finding *only(const struct file_report *report)
{
    size_t count;
    struct finding_group *groups =
        findings_group(&arena, report->findings, report->count, &count);
    for (size_t i = 1; i < count; i++)
        cr_expect_fail("besides %s there is %s at %s", groups[0].worst->rule,
                       groups[i].worst->rule, groups[i].worst->at.field);
    cr_assert(count > 0, "nothing is told");
    return groups[0].worst;
}

static const struct finding *told(struct view text, const char *rule, const char *field,
                                  const char *words)
{
    struct file_report report = check(text);
    const struct finding *finding = only(&report);
    cr_expect_str_eq(finding->rule, rule);
    cr_expect_str_eq(finding->at.field, field);
    cr_expect(strstr(finding->put_right, words), "%s: %s", words, finding->put_right);
    return finding;
}

Test(slip, table_read_in_another_frame)
{
    static const char *const read[][2] = {
        {"5 mm", "-165 mm in place of 5 mm would do"},
        {"-65 mm", "-165 mm in place of -65 mm would do"},
        {"165 mm", "-165 mm in place of 165 mm would do"},
    };
    for (size_t i = 0; i < sizeof read / sizeof *read; i++) {
        struct view text = with(base_machine(), "nose_contact: -165 mm",
                                arena_format(&arena, "nose_contact: %s", read[i][0]));
        const struct finding *finding =
            told(text, "number-out-of-line", "table.nose_contact", read[i][1]);
        cr_expect_eq(finding->level, LEVEL_ERROR);
        cr_expect(finding->related_count > 0);
    }
    told(with(base_machine(), "nose_contact: -165 mm", "nose_contact: -500 mm"),
         "number-out-of-line", "table.nose_contact", "-165 mm in place of -500 mm would do");
}

/* Table, setter and the height between them: any of the three may be wrong. */
Test(slip, one_of_three_is_left_open)
{
    struct file_report report =
        check(with(base_machine(), "nose_contact: -165 mm", "nose_contact: -162 mm"));
    const struct finding *finding = only(&report);
    cr_expect_str_eq(finding->rule, "setter-height-disagrees");
    cr_expect_null(strstr(finding->put_right, "in place of"));
}

Test(slip, travel_without_its_sign)
{
    told(with(base_machine(), "travel: [-140 mm, 0 mm]", "travel: [0 mm, 140 mm]"),
         "number-out-of-line", "axes.z.travel",
         "axes.z.travel [-140 mm, 0 mm] in place of [0 mm, 140 mm] would do");
    told(with(base_machine(), "travel: [0 mm, 800 mm]", "travel: [-800 mm, 0 mm]"),
         "number-out-of-line", "axes.x.travel",
         "axes.x.travel [0 mm, 800 mm] in place of [-800 mm, 0 mm] would do");
}

Test(slip, signs_of_single_numbers)
{
    told(with(base_machine(), "nose_contact: -125 mm", "nose_contact: 125 mm"),
         "gantry-hits-setter", "setter.nose_contact", "-125 mm in place of 125 mm would do");
    told(with(base_machine(), "at: {x: 770 mm", "at: {x: -770 mm"), "setter-outside-travel",
         "setter.at.x", "770 mm in place of -770 mm would do");
    told(with(base_machine(), "y: 20 mm, z: -5 mm", "y: 20 mm, z: 5 mm"), "park-outside-travel",
         "change.park.z", "-5 mm in place of 5 mm would do");
    told(with(base_machine(), "traverse_z: -5 mm", "traverse_z: 5 mm"),
         "traverse-outside-travel", "change.traverse_z", "-5 mm in place of 5 mm would do");
}

Test(slip, exchanged_numbers)
{
    told(with(base_machine(), "at: {x: 770 mm, y: 30 mm}", "at: {x: 30 mm, y: 770 mm}"),
         "setter-outside-travel", "setter.at.y",
         "setter.at.x 770 mm, setter.at.y 30 mm exchanged would do");
    told(with(base_machine(), "park: {x: 400 mm, y: 20 mm", "park: {x: 400 mm, y: 790 mm"),
         "park-outside-travel", "change.park.y",
         "change.park.x 790 mm, change.park.y 400 mm exchanged would do");
    told(with(with(base_machine(), "travel: [0 mm, 800 mm]", "travel: [-4 mm, 595 mm]"),
              "travel: [-4 mm, 600 mm]", "travel: [0 mm, 800 mm]"),
         "number-out-of-line", "axes.x.travel",
         "axes.x.travel [0 mm, 800 mm], axes.y.travel [-4 mm, 595 mm] exchanged would do");
}

/* No slip of the pen explains these; a height or a stick-out does, whatever was meant. */
Test(slip, number_that_is_not_known)
{
    struct view text = with(base_machine(), "  height: 40 mm\n", "");
    text = with(text, "  thickness: 10 mm\n", "");
    told(with(text, "nose_contact: -165 mm", "nose_contact: 5 mm"), "number-out-of-line",
         "table.nose_contact", "table.nose_contact between ");
    told(with(base_machine(), "stickout: 32 mm", "stickout: 3 mm"), "number-out-of-line",
         "cutters[0].stickout", "cutters[0].stickout between ");
}

/* Where an error names the number already, its own words are better; the rest follows from it.
 */
Test(slip, number_that_an_error_names)
{
    told(with(base_machine(), "stickout: 45 mm", "stickout: 145 mm"), "cutter-impossible",
         "cutters[1].stickout", "measure the stick-out");
}

/* A cutter may be as short as the list says, whatever a note makes of it. */
Test(slip, number_that_is_only_noted)
{
    struct file_report report =
        check(with(base_machine(), "stickout: 32 mm", "stickout: 24 mm"));
    for (size_t i = 0; i < report.count; i++)
        cr_expect_str_neq(report.findings[i].rule, "number-out-of-line");
}

/* What is wrong besides stays told, as it is. */
Test(slip, beside_another_mistake)
{
    struct view text =
        with(base_machine(), "travel: [-140 mm, 0 mm]", "travel: [0 mm, 140 mm]");
    struct file_report report = check(with(text, "no_contact: stops", "no_contact: continues"));
    size_t count;
    struct finding_group *groups =
        findings_group(&arena, report.findings, report.count, &count);
    cr_assert_eq(count, 2);
    cr_expect_str_eq(groups[0].worst->rule, "number-out-of-line");
    cr_expect_str_eq(groups[1].worst->rule, "no-contact-continues");
    cr_expect_null(strstr(groups[1].worst->put_right, "would do"));
}

/* A slip that would make something else fail is none. */
Test(slip, no_new_failure)
{
    struct view text =
        with(base_machine(), "at: {x: 770 mm, y: 30 mm}", "at: {x: 900 mm, y: 300 mm}");
    struct file_report report = check(text);
    const struct finding *finding = only(&report);
    cr_expect_str_eq(finding->rule, "setter-outside-travel");
    cr_expect_null(strstr(finding->put_right, "would do"));
}

/* It stands for errors of rules: nobody waives them with it, unseen. */
Test(slip, cannot_be_waived)
{
    struct view text = with(base_machine(), "nose_contact: -165 mm", "nose_contact: 5 mm");
    text = with(text, "",
                "waivers:\n"
                "  - rule: number-out-of-line\n"
                "    reason: it is like that\n");
    struct file_report report = check(text);
    size_t count, told_too = 0;
    struct finding_group *groups =
        findings_group(&arena, report.findings, report.count, &count);
    for (size_t i = 0; i < count; i++)
        told_too += strcmp(groups[i].worst->rule, "number-out-of-line") == 0;
    cr_expect_eq(told_too, 1);
}

/* Rules that somebody has waived are not told through the back door; what followed from one
 * stands for itself. */
Test(slip, of_what_is_waived)
{
    struct view text = with(base_machine(), "at: {x: 770 mm", "at: {x: -770 mm");
    text = with(text, "",
                "waivers:\n"
                "  - rule: setter-outside-travel\n"
                "    reason: the rail is longer than the travel\n");
    struct file_report report = check(text);
    size_t followed = 0;
    for (size_t i = 0; i < report.count; i++) {
        const struct finding *finding = &report.findings[i];
        followed += strcmp(finding->rule, "setter-near-limit") == 0 &&
                    finding->outcome == OUTCOME_FAILED && !finding->implied_by;
        cr_expect(strcmp(finding->rule, "number-out-of-line") != 0);
        cr_expect(!finding->put_right || !strstr(finding->put_right, "in place of"));
    }
    cr_expect_eq(followed, 1);
}
