/* Numbers carried between a machine file and the controller's own: what is written, to the byte. */
#include <criterion/criterion.h>

#include <string.h>

#include "base/buffer.h"
#include "rules/agree.h"

static struct arena arena;

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(carry, .init = begin, .fini = end);

static bool read_it(void *user, struct arena *into, struct view path, struct view *bytes,
                    const char **why)
{
    (void)into, (void)path, (void)why;
    *bytes = *(struct view *)user;
    return true;
}

/* A machine with one agreement, and how it comes out. */
struct scene {
    struct source source;
    struct finding_sink sink;
    struct tree tree;
    struct machine machine;
    struct view theirs;
    struct agreement_list list;
};

static struct scene *look(const char *machine, const char *agreement, const char *theirs)
{
    struct scene *scene = ARENA_NEW(&arena, struct scene);
    const char *text = arena_format(
        &arena, "proveout: 1\n%s\nagrees_with:\n  - {file: c.txt, pattern: 'V (?<value>.*)', %s}\n",
        machine, agreement);
    scene->theirs = view_of(theirs);
    struct file_reader reader = {&scene->theirs, read_it};
    source_init(&scene->source, &arena, view_of("m.yaml"), view_of(text));
    sink_init(&scene->sink, &arena, &scene->source);
    tree_read(&scene->tree, &arena, &scene->source, &scene->sink);
    machine_read(&scene->machine, &arena, &scene->tree, &scene->sink);
    agreements_look(&arena, &scene->machine, &reader, &scene->list);
    cr_assert_eq(scene->list.items.count, 1);
    return scene;
}

struct row {
    const char *machine, *agreement, *theirs;
    const char *text; /* what is written; NULL: nothing is */
    const char *why;  /* words of the reason then */
};

#define STANDOFF "field: change.standoff, unit: mm"

static void check_row(const struct row *row,
                      const char *(*carry)(struct arena *, const struct machine *,
                                           const struct agreement_seen *, const char **))
{
    struct scene *scene = look(row->machine, row->agreement, row->theirs);
    const struct agreement_seen *seen = &scene->list.items.items[0];
    const char *why = seen->trouble;
    const char *text = seen->state == AGREEMENT_UNTOLD
                           ? NULL
                           : carry(&arena, &scene->machine, seen, &why);
    if (row->text)
        cr_expect(text && strcmp(text, row->text) == 0, "%s, %s: \"%s\", not \"%s\" (%s)",
                  row->machine, row->theirs, text ? text : "nothing", row->text,
                  why ? why : "");
    else
        cr_expect(!text && why && strstr(why, row->why), "%s, %s: \"%s\" (%s)", row->machine,
                  row->theirs, text ? text : "nothing", why ? why : "");
}

Test(carry, into_the_machine_file)
{
    static const struct row rows[] = {
        {"change: {standoff: 10 mm}", STANDOFF, "V 12", "12 mm", NULL},
        {"change: {standoff: 10 mm}", STANDOFF, "V 12.50", "12.5 mm", NULL},
        {"change: {standoff: 10.00 mm}", STANDOFF, "V 12", "12.00 mm", NULL},
        {"change: {standoff: 10mm}", STANDOFF, "V 12", "12mm", NULL},
        /* its unit, where that says it exactly, ... */
        {"change: {standoff: 10 mm}", "field: change.standoff, unit: in", "V 0.5", "12.7 mm",
         NULL},
        {"change: {standoff: 1 cm}", STANDOFF, "V 12.5", "1.25 cm", NULL},
        {"change: {standoff: 10 mm}", "field: change.standoff", "V 0.5 in", "12.7 mm", NULL},
        /* ... else the controller's own */
        {"change: {standoff: 1/2 in}", STANDOFF, "V 12.5", "12.5 mm", NULL},
        {"change: {standoff: 1/2 in}", STANDOFF, "V 12.7", "0.5 in", NULL},
        {"change: {probe_feed: 2.5 mm/s}", "field: change.probe_feed, unit: mm/min", "V 100",
         "100 mm/min", NULL},
        /* the tolerance stays, as it is typed */
        {"change: {standoff: 10 mm ± 0.5 mm}", STANDOFF, "V 12", "12 mm ± 0.5 mm", NULL},
        {"change: {standoff: 10 ± 0.5 mm}", STANDOFF, "V 12", "12 ± 0.5 mm", NULL},
        {"change: {standoff: 10 mm +/- 0.5}", STANDOFF, "V 12", "12 mm +/- 0.5", NULL},
        {"change: {standoff: 1 in ± 0.01}", STANDOFF, "V 12", "12 mm ± 0.01 in", NULL},
        {"change: {standoff: 1 in ± 0.2 mm}", STANDOFF, "V 12", "12 mm ± 0.2 mm", NULL},
        /* what the machine file does not have */
        {"change: {probe_feed: 1 mm/s}", STANDOFF, "V 12.50 ; so", NULL, "no unit"},
        {"change: {probe_feed: 1 mm/s}", STANDOFF, "V 12.50", "12.50 mm", NULL},
        {"change: {probe_feed: 1 mm/s}", "field: change.standoff, unit: in", "V .5", ".5 in",
         NULL},
        /* words */
        {"change: {no_contact: stops}", "field: change.no_contact", "V continues", "continues",
         NULL},
        /* halves */
        {"axes: {z: {travel: [-150 mm, 0 mm]}}", "field: axes.z.travel.low, unit: mm",
         "V -140.5", "-140.5 mm", NULL},
        /* and what is not taken */
        {"setter: {nose_contact: {readings: [-92 mm, -92.1 mm, -92.3 mm]}}",
         "field: setter.nose_contact, unit: mm", "V -80", NULL, "3 readings"},
        {"change: {standoff: 10 mm}", STANDOFF, "V 1e999", NULL, "no number"},
        {"change: {standoff: 10 mm}", STANDOFF, "V 12,5", NULL, "no number"},
        {"change: {standoff: 10 mm}", STANDOFF, "W 12", NULL, "finds nothing"},
        {"change: {standoff: 10 mm}", STANDOFF, "V 12\nV 13", NULL, "two values"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        check_row(&rows[i], carry_to_machine);
}

Test(carry, into_the_controllers_file)
{
    static const struct row rows[] = {
        {"change: {standoff: 10 mm}", STANDOFF, "V 12", "10", NULL},
        {"change: {standoff: 10 mm}", STANDOFF, "V 12.50", "10.00", NULL},
        {"change: {standoff: 10.125 mm}", STANDOFF, "V 12.5", "10.125", NULL},
        {"change: {standoff: 10 mm}", STANDOFF, "V +12.5", "+10.0", NULL},
        {"change: {standoff: 10 mm}", STANDOFF, "V 12.", "10.", NULL},
        {"change: {standoff: 10 mm ± 3 mm}", STANDOFF, "V 12.", "10.", NULL},
        {"change: {standoff: 1/2 in}", STANDOFF, "V 12", "12.7", NULL},
        {"change: {standoff: 10 mm}", "field: change.standoff", "V 0.50 in",
         "0.3937007874015748", NULL},
        {"change: {standoff: 6 1/8 in}", "field: change.standoff, unit: in", "V 6", "6.125",
         NULL},
        {"setter: {nose_contact: -92 mm}", "field: setter.nose_contact, unit: mm",
         "V \xE2\x88\x92" "80.0", "\xE2\x88\x92" "92.0", NULL},
        {"setter: {nose_contact: 92 mm}", "field: setter.nose_contact, unit: mm",
         "V \xE2\x88\x92" "80.0", "92.0", NULL},
        {"change: {no_contact: stops}", "field: change.no_contact", "V continues", "stops",
         NULL},
        {"machine: {name: mill}", "field: machine.name", "V router", "mill", NULL},
        {"machine: {name: Fräse}", "field: machine.name", "V router", NULL, "ASCII"},
        {"machine: {name: \"a\\nb\"}", "field: machine.name", "V router", NULL, "ASCII"},
        {"machine: {name: mill}", STANDOFF, "V 12", NULL, "does not give"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        check_row(&rows[i], carry_to_controller);
}

Test(carry, every_match_is_a_place)
{
    struct scene *scene =
        look("change: {standoff: 10 mm}", STANDOFF, "V  12.5 \r\nx\nV 12.5\t");
    const struct agreement_seen *seen = &scene->list.items.items[0];
    cr_assert_eq(seen->state, AGREEMENT_LOST);
    cr_assert_eq(seen->spans.count, 2);
    for (size_t i = 0; i < 2; i++)
        cr_expect(view_is(source_slice(seen->source, carry_span(seen, i)), "12.5"));
}

static struct carry_edits edits_of(const struct carry_edit *items, size_t count)
{
    struct carry_edits edits = {0};
    for (size_t i = 0; i < count; i++)
        VECTOR_ADD(&arena, &edits.items, items[i]);
    return edits;
}

Test(carry, edits_are_written_in_order_and_nothing_else)
{
    const struct view bytes = VIEW_LITERAL("a\0\xff 12\r\n34");
    const struct carry_edit items[] = {
        {{8, 10}, "9", 0}, {{4, 6}, "1.25", 1}, {{8, 10}, "9", 2}};
    struct carry_edits edits = edits_of(items, 3);
    struct view out;
    size_t clash[2];
    cr_assert(carry_write(&arena, bytes, &edits, &out, clash));
    const struct view wanted = VIEW_LITERAL("a\0\xff 1.25\r\n9");
    cr_expect(view_equal(out, wanted));
}

Test(carry, edits_that_clash_are_named)
{
    const struct carry_edit items[] = {{{4, 6}, "9", 7}, {{4, 6}, "8", 3}};
    struct carry_edits edits = edits_of(items, 2);
    struct view out;
    size_t clash[2];
    cr_assert_not(carry_write(&arena, view_of("0123456789"), &edits, &out, clash));
    cr_expect_eq(clash[0] + clash[1], 10);
    const struct carry_edit over[] = {{{4, 8}, "9", 1}, {{6, 9}, "9", 2}};
    edits = edits_of(over, 2);
    cr_assert_not(carry_write(&arena, view_of("0123456789"), &edits, &out, clash));
}
