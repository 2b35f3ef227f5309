/* One slip or one word in the machine of the examples, and the one small change that is
 * offered. */
#include <criterion/criterion.h>

#include <string.h>

#include "mend/mend.h"

static struct arena arena;

static void open_arena(void)
{
    arena_init(&arena, NULL);
}

static void close_arena(void)
{
    arena_free(&arena);
}

TestSuite(mend, .init = open_arena, .fini = close_arena);

static struct view base_machine(void)
{
    for (size_t i = 0; i < builtin_text_count; i++)
        if (strcmp(builtin_texts[i].name, "rules/base-machine.yaml") == 0)
            return (struct view){builtin_texts[i].bytes, builtin_texts[i].size};
    cr_assert_fail("there is no base machine");
    return (struct view){0};
}

/* The text with `old`, which stands there first, replaced. */
static struct view with(struct view text, const char *old, const char *new)
{
    const char *all = arena_copy(&arena, text.data, text.size);
    const char *at = strstr(all, old);
    cr_assert(at, "%s does not stand there", old);
    return view_of(
        arena_format(&arena, "%.*s%s%s", (int)(at - all), all, new, at + strlen(old)));
}

static struct file_report check(struct view text)
{
    static const struct rulebook *const books[] = {&builtin_rulebook};
    const struct check_options options = {
        .books = books, .book_count = 1, .words = true, .remedies = true};
    struct file_report report = {0};
    mender_check(mender_new(&arena, &options), &arena, view_of("m.yaml"), text, &report);
    return report;
}

/* The change offered for what this rule says; NULL: none is. */
static const struct finding_fix *offered(const struct file_report *report, const char *rule)
{
    const struct finding_fix *fix = NULL;
    bool found = false;
    for (size_t i = 0; i < report->count; i++) {
        const struct finding *finding = &report->findings[i];
        if (finding->outcome != OUTCOME_FAILED || strcmp(finding->rule, rule) != 0)
            continue;
        found = true;
        for (size_t k = 0; k < finding->fix_count; k++)
            if (finding->fixes[k].why)
                fix = &finding->fixes[k];
    }
    cr_expect(found, "%s is not told", rule);
    return fix;
}

static struct view fixed(struct view text, const struct finding_fix *fix)
{
    return view_of(arena_format(&arena, "%.*s%s%.*s", (int)fix->span.start, text.data,
                                fix->text, (int)(text.size - fix->span.end),
                                text.data + fix->span.end));
}

/* A spoilt place of the machine, and what is offered. */
struct spoilt {
    const char *good, *bad;
    const char *rule, *title;
    const char *asks;  /* part of the question; NULL: none is put */
    const char *comes; /* what then stands there; NULL: what stood there before */
};

static void expect_offer(const struct spoilt *spoilt)
{
    struct view text = with(base_machine(), spoilt->good, spoilt->bad);
    struct file_report report = check(text);
    const struct finding_fix *fix = offered(&report, spoilt->rule);
    if (!fix) {
        cr_expect_fail("nothing is offered for %s", spoilt->bad);
        return;
    }
    cr_expect_str_eq(fix->title, spoilt->title);
    cr_expect(!fix->asks == !spoilt->asks, "%s asks %s", spoilt->bad, fix->asks);
    if (fix->asks && spoilt->asks)
        cr_expect(strstr(fix->asks, spoilt->asks), "%s", fix->asks);
    const char *comes = spoilt->comes ? spoilt->comes : spoilt->good;
    struct view now = fixed(text, fix), wanted = with(base_machine(), spoilt->good, comes);
    cr_expect(view_equal(now, wanted), "%s: '%s' at %u", spoilt->bad, fix->text,
              (unsigned)fix->span.start);
    struct file_report after = check(now);
    for (size_t i = 0; i < after.count; i++)
        cr_expect(after.findings[i].outcome != OUTCOME_FAILED, "%s is told after it",
                  after.findings[i].rule);
}

#define EXPECT_OFFERS(cases)                                                                   \
    for (size_t i_ = 0; i_ < sizeof(cases) / sizeof *(cases); i_++)                            \
    expect_offer(&(cases)[i_])

Test(mend, a_word_of_the_procedure)
{
    static const struct spoilt cases[] = {
        {"no_contact: stops", "no_contact: continues", "no-contact-continues",
         "set change.no_contact to stops, at the machine first", NULL, NULL},
        {"offset_applied: before_descent", "offset_applied: after_descent",
         "offset-after-descent",
         "set change.offset_applied to before_descent, at the machine first", NULL, NULL},
        {"idle_checked: yes", "idle_checked: no", "idle-unchecked",
         "set change.idle_checked to yes, at the machine first", NULL, NULL},
        {"refuses_unhomed: yes", "refuses_unhomed: no", "unhomed-change",
         "set change.refuses_unhomed to yes, at the machine first", NULL, NULL},
    };
    EXPECT_OFFERS(cases);
}

Test(mend, the_order_of_homing)
{
    static const struct spoilt cases[] = {
        {"order: [z, xy]", "order: [xy, z]", "home-z-not-first",
         "set homing.order to [z, xy], at the machine first", NULL, NULL},
        {"order: [z, xy]", "order: [xyz]", "home-z-not-first",
         "set homing.order to [z, xy], at the machine first", NULL, NULL},
        /* As few axes as can be change their place. */
        {"order: [z, xy]", "order: [y, z, x]", "home-z-not-first",
         "set homing.order to [z, y, x], at the machine first", NULL, "order: [z, y, x]"},
        {"order: [z, xy]", "order: [x, y, z]", "home-z-not-first",
         "set homing.order to [z, x, y], at the machine first", NULL, "order: [z, x, y]"},
    };
    EXPECT_OFFERS(cases);
}

/* An axis that is not homed yet: whether it is by now is asked. */
Test(mend, one_more_axis)
{
    static const struct spoilt cases[] = {
        {"order: [z, xy]", "order: [z, x]", "home-incomplete",
         "set homing.order to [z, x, y], at the machine first",
         "is it so at the machine by now", "order: [z, x, y]"},
    };
    EXPECT_OFFERS(cases);
}

/* A key in a section where it means nothing goes to the one where it does. */
Test(mend, a_key_in_the_wrong_section)
{
    struct view good = base_machine();
    struct view text = with(good, "  standoff: 12 mm\n", "");
    text = with(
        text, "  overtravel: 4 mm\n  repeatability: 0.01 mm\n  release: 0.4 mm\n",
        "  overtravel: 4 mm\n  standoff: 12 mm\n  repeatability: 0.01 mm\n  release: 0.4 mm\n");
    struct file_report report = check(text);
    const struct finding_fix *fix = offered(&report, "unknown-key");
    cr_assert(fix);
    cr_expect_str_eq(fix->title, "move it to change.standoff");
    cr_expect(view_equal(fixed(text, fix), good));
}

/* What the controller asks is asked, whatever the finding is. */
Test(mend, questions_of_the_change)
{
    static const char asked[] = "does the change ask so by now";
    static const struct spoilt cases[] = {
        {"cutter_in, clip_on", "clip_on", "cutter-unasked",
         "let the change ask cutter_in after setter_clean", asked, NULL},
        {"supply_on, speed_set, spindle_on", "spindle_on, supply_on, speed_set",
         "supply-on-unasked", "let the change ask spindle_on after speed_set", asked, NULL},
    };
    EXPECT_OFFERS(cases);
}

/* Of a spindle that nothing but a hand stops, the first question of all. */
Test(mend, the_question_to_switch_the_spindle_off)
{
    struct view good = with(base_machine(), "switched_by: controller", "switched_by: hand");
    struct view text = with(good, "asks: [spindle_off, standstill", "asks: [standstill");
    struct file_report report = check(text);
    const struct finding_fix *fix = offered(&report, "hand-spindle-unasked");
    cr_assert(fix);
    cr_expect_str_eq(fix->title, "let the change ask spindle_off first");
    cr_expect(fix->asks);
    cr_expect(view_equal(fixed(text, fix), good));
}

Test(mend, what_was_mistyped)
{
    static const struct spoilt cases[] = {
        {"travel: [-140 mm, 0 mm]", "travel: [0 mm, -140 mm]", "out-of-order",
         "put -140 mm before 0 mm", NULL, NULL},
        /* A digit may have been lost as well. */
        {"x: [60 mm, 700 mm]", "x: [700 mm, 60 mm]", "out-of-order", "put 60 mm before 700 mm",
         "is it from 60 mm to 700 mm?", NULL},
        {"order: [z, xy]", "order: z, xy", "wrong-kind", "write [z, xy]", NULL, NULL},
        {"order: [z, xy]", "order: [z xy]", "unknown-choice", "write z, xy", NULL, NULL},
        {"run_down: 6 s", "run_down: 6,5 s", "not-a-number", "write 6.5 s", NULL,
         "run_down: 6.5 s"},
        {"rapid: 3000 mm/min", "rapid: 3,000 mm/min", "not-a-number", "write 3000 mm/min",
         "is 3000 mm/min meant?", NULL},
        {"  height: 45 mm\n", "  height: 45 mm\n  height: 45 mm\n", "duplicate-key",
         "take this line out", NULL, NULL},
        /* A comment is not lost with it. */
        {"  height: 45 mm\n", "  height: 45 mm\n  height: 45 mm # clamps\n", "duplicate-key",
         "take the earlier line out", NULL, "  height: 45 mm # clamps\n"},
        {"  - number: 2\n",
         "  - number: 1\n    description: 6 mm end mill\n    stickout: 32 mm\n    diameter: 6 mm\n"
         "    shank: 6 mm\n    length: 60 mm\n    flute_length: 22 mm\n    centre: cutting\n"
         "    speed: 18000 rpm\n    top_speed: 30000 rpm\n    measured_on: 2026-03-20\n"
         "  - number: 2\n",
         "cutter-number-twice", "take it out here, where it is listed again", NULL, NULL},
        {"  height: 45 mm\n", "\theight: 45 mm\n", "tab-indent",
         "indent the line with blanks, as those beside it", NULL, NULL},
        {"height: 45 mm", "height:45 mm", "not-yaml", "put a blank after the colon", NULL,
         NULL},
        {"name: fence", "name: \"fence", "not-yaml", "close the quote at the end of the line",
         NULL, "name: \"fence\""},
        {"y: [80 mm, 560 mm]", "y: [80 mm, 560 mm", "not-yaml",
         "close the bracket at the end of the line", NULL, NULL},
    };
    EXPECT_OFFERS(cases);
}

/* Whatever the finding, only people can know the unit. */
Test(mend, a_unit_is_asked)
{
    static const struct spoilt cases[] = {
        {"travel: [-140 mm, 0 mm]", "travel: [-140, 0]", "unit-missing",
         "write -140 mm, 0 mm for axes.z.travel", "is -140 mm, 0 mm meant for axes.z.travel?",
         NULL},
        {"feed_override_max: 120 %", "feed_override_max: 120", "implausible",
         "write 120 % for change.feed_override_max", "is 120 % meant for", NULL},
        {"run_down: 6 s", "run_down: 6", "unit-missing", "write 6 s for spindle.run_down",
         "is 6 s meant for", NULL},
        {"height: 45 mm", "height: 45", "unit-missing", "write 45 mm for work.height",
         "is 45 mm meant for", NULL},
        {"rapid: 3000 mm/min", "rapid: 3000 mm", "wrong-dimension",
         "write 3000 mm/min for axes.z.rapid", "is 3000 mm/min meant for", NULL},
        {"rapid: 3000 mm/min", "rapid: 3000 mm/s", "step-rate-over-limit",
         "write 3000 mm/min for axes.z.rapid", "is 3000 mm/min meant for", NULL},
        {"height: 45 mm", "height: 45 in", "gantry-hits-work", "write 45 mm for work.height",
         "is 45 mm meant for", NULL},
        {"run_down: 6 s", "run_down: 6 min", "run-down-disagrees",
         "write 6 s for spindle.run_down", "is 6 s meant for", NULL},
        {"stickout: 32 mm", "stickout: 32 in", "cutter-impossible",
         "write 32 mm for cutters[number=1].stickout", "is 32 mm meant for", NULL},
    };
    EXPECT_OFFERS(cases);
}

/* The plate comes on and off twice; the off of the first cutter is not taken for that of the
 * next. */
Test(mend, a_question_of_a_pair)
{
    static const char asked[] = "cutter_in, clip_on, plate_on, plate_off";
    struct view good = with(base_machine(), "measures_with: setter", "measures_with: plate");
    struct view text = with(good, asked, "cutter_in, clip_on, plate_on");
    struct file_report report = check(text);
    const struct finding_fix *fix = offered(&report, "plate-left-on");
    cr_assert(fix);
    cr_expect_str_eq(fix->title, "let the change ask plate_off after plate_on");
    cr_expect(fix->asks);
    cr_expect(view_equal(fixed(text, fix), good));
}

/* A key is missing since a word says so; whether the word is wrong is asked. */
Test(mend, what_makes_it_wanted)
{
    static const struct spoilt cases[] = {
        {"approach: computed\n  standoff: 12 mm\n  approach_z: -60 mm\n",
         "approach: fixed\n  standoff: 12 mm\n", "missing-key",
         "set change.approach to computed, at the machine first", "is it so at the machine",
         "approach: computed\n  standoff: 12 mm\n"},
    };
    EXPECT_OFFERS(cases);
}

/* Where a person may be hurt it is asked whether the machine does so by now. */
Test(mend, what_hurts_a_person_is_asked)
{
    struct view text = with(base_machine(), "returns_to_start: yes",
                            "returns_to_start: yes\n  starts_spindle: always");
    text = with(text, "    speed: 14000 rpm\n    top_speed: 18000 rpm\n", "    turns: no\n");
    struct file_report report = check(text);
    size_t persons = 0;
    for (size_t i = 0; i < report.count; i++)
        for (size_t k = 0; k < report.findings[i].fix_count; k++) {
            const struct finding_fix *fix = &report.findings[i].fixes[k];
            if (!fix->why || report.findings[i].hurts != HURTS_PERSON)
                continue;
            persons++;
            cr_expect(fix->asks, "%s", fix->title);
        }
    cr_expect(persons > 0);
}

static void expect_none(const char *good, const char *bad, const char *rule)
{
    struct file_report report = check(with(base_machine(), good, bad));
    const struct finding_fix *fix = offered(&report, rule);
    cr_expect(!fix, "%s: %s", bad, fix ? fix->title : "");
}

Test(mend, nothing_is_offered)
{
    /* What is measured is measured again. */
    expect_none("stickout: 45 mm", "stickout: 65 mm", "shank-barely-held");
    /* The same thing is said twice, and not alike. */
    expect_none("  height: 45 mm\n", "  height: 45 mm\n  height: 54 mm\n", "duplicate-key");
    /* A tolerance, or the rest of a fraction, is not lost. */
    expect_none("run_down: 6 s", "run_down: 6 s ± 10 s", "dwell-stop-tight");
    expect_none("height: 45 mm", "height: 45 in ± 1/8 in", "gantry-hits-work");
    expect_none("height: 45 mm", "height: 45 ± 5", "unit-missing");
    /* In quotes a # is no comment. */
    expect_none("  note: changed by the examples of the rules\n",
                "  note: \"mill #1\"\n  note: \"mill #2\"\n", "duplicate-key");
    /* A fact is looked at, not chosen. */
    expect_none("spindle_held_off: isolated", "spindle_held_off: no", "spindle-can-start");
}

/* With something else wrong as well it is offered still, and what else is wrong stays. */
Test(mend, beside_another_fault)
{
    struct view text = with(base_machine(), "no_contact: stops", "no_contact: continues");
    text = with(text, "probe_stroke: 20 mm", "probe_stroke: 12 mm");
    struct file_report report = check(text);
    const struct finding_fix *fix = offered(&report, "no-contact-continues");
    cr_assert(fix);
    report = check(fixed(text, fix));
    for (size_t i = 0; i < report.count; i++)
        if (report.findings[i].outcome == OUTCOME_FAILED)
            cr_expect_str_eq(report.findings[i].rule, "probe-stroke-short");
}

/* A larger file is told what is wrong all the same. */
Test(mend, a_file_too_large)
{
    struct view text = with(base_machine(), "no_contact: stops", "no_contact: continues");
    char *padding = arena_alloc(&arena, MEND_BYTES + 2);
    memset(padding, '#', MEND_BYTES + 1);
    padding[MEND_BYTES + 1] = '\0';
    text = view_of(arena_format(&arena, "%.*s\n%s\n", VIEW(text), padding));
    struct file_report report = check(text);
    cr_expect(!offered(&report, "no-contact-continues"));
}
