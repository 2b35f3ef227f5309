/* A shop's list of agreements: what is read, what is refused and where, and what is added. */
#include <criterion/criterion.h>

#include <string.h>

#include "base/buffer.h"
#include "rules/own.h"

static struct arena arena;

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(agree_shared, .init = begin, .fini = end);

#define HEAD "proveout-agreements: 1\nagreements:\n"
#define ENTRY                                                                                  \
    "  - field: change.standoff\n    file: \"*.conf\"\n"                                       \
    "    pattern: '^S (?<value>.*)'\n    unit: mm\n    within: 0.05 mm\n    for: the mills\n"

Test(agree_shared, all_of_it_is_read)
{
    struct rulebook_mistakes mistakes = {.arena = &arena};
    struct shared_agreements list;
    const char *text = HEAD ENTRY
        "  - {field: 'cutters[number=3].stickout', file: a.txt, pattern: 'C (?<value>.)'}\n";
    cr_assert(shared_agreements_read(&mistakes, "a.yaml", view_of(text), &list));
    cr_assert_eq(list.count, 2);
    cr_expect(view_is(list.items[0].field, "change.standoff"));
    cr_expect(view_is(list.items[0].file, "*.conf"));
    cr_expect(view_is(list.items[0].pattern, "^S (?<value>.*)"));
    cr_expect(view_is(list.items[0].unit, "mm"));
    cr_expect(view_is(list.items[0].within, "0.05 mm"));
    cr_expect(view_is(list.items[0].what_for, "the mills"));
    cr_expect_eq(list.items[0].line, 3);
    cr_expect_eq(list.items[1].unit.size, 0);
    cr_expect_eq(list.items[1].line, 9);
}

Test(agree_shared, nothing_in_it_yet)
{
    struct rulebook_mistakes mistakes = {.arena = &arena};
    struct shared_agreements list;
    cr_assert(shared_agreements_read(&mistakes, "a.yaml", view_of(HEAD), &list));
    cr_expect_eq(list.count, 0);
}

/* A part of the list written otherwise, and the mistake: its line, its column, its words. */
static const struct {
    const char *old, *new;
    uint32_t line, column;
    const char *words;
} mistakes_of[] = {
    {"change.standoff", "change.standof", 3, 12, "there is no field called change.standof"},
    {"\"*.conf\"", "\"c/*.conf\"", 4, 11, "without a folder"},
    {"\"*.conf\"", "\"\"", 4, 11, "file is a name"},
    {"(?<value>.*)", "(.*)", 5, 14, "one named group"},
    {"(?<value>.*)", "(?<value>.*", 5, 14, "cannot be read"},
    {"unit: mm", "unit: kg", 6, 11, "kg is no unit"},
    {"unit: mm", "unit: smoot", 6, 11, "smoot is no unit"},
    {"0.05 mm", "1 s", 7, 13, "1 s is no distance"},
    {"within:", "about:", 7, 5, "has no key 'about' here"},
    {"    unit: mm\n", "    unit: [mm]\n", 6, 11, "unit wants a text"},
    {"field: change.standoff\n    ", "", 3, 5, "field is missing here"},
    {"proveout-agreements: 1", "proveout-agreements: 2", 1, 1, "begins with the line"},
    {"agreements:\n", "agreement:\n", 2, 1, "has no key 'agreement' here"},
};

Test(agree_shared, a_mistake_is_told_at_its_place)
{
    for (size_t i = 0; i < sizeof mistakes_of / sizeof *mistakes_of; i++) {
        const char *text = HEAD ENTRY, *at = strstr(text, mistakes_of[i].old);
        struct rulebook_mistakes mistakes = {.arena = &arena};
        struct shared_agreements list;
        if (strcmp(mistakes_of[i].old, "agreements:\n") == 0)
            at = strstr(text, "\nagreements:") + 1;
        cr_assert(at);
        const char *wrong =
            arena_format(&arena, "%.*s%s%s", (int)(at - text), text, mistakes_of[i].new,
                         at + strlen(mistakes_of[i].old));
        cr_expect_not(shared_agreements_read(&mistakes, "a.yaml", view_of(wrong), &list));
        bool is_told = false;
        for (size_t k = 0; k < mistakes.list.count; k++) {
            const struct rulebook_mistake *one = &mistakes.list.items[k];
            struct place place =
                source_place(one->source, one->span.start, COLUMN_CODE_POINTS);
            is_told |= strstr(one->message, mistakes_of[i].words) &&
                       place.line == mistakes_of[i].line &&
                       place.column == mistakes_of[i].column;
        }
        cr_expect(is_told, "%s: %zu: %s", mistakes_of[i].new, mistakes.list.count,
                  mistakes.list.count ? mistakes.list.items[0].message : "");
    }
}

static struct view add(struct view bytes, const struct shared_agreement *agreement)
{
    struct view out = {0};
    const char *why = shared_agreements_add(&arena, "a.yaml", bytes, agreement, &out);
    cr_expect_null(why, "%s", why);
    return out;
}

Test(agree_shared, what_is_added_reads_back)
{
    const struct shared_agreement one = {.field = view_of("cutters[number=3].stickout"),
                                         .file = view_of("a *.txt"),
                                         .pattern = view_of("^\\s*'#\": (?<value>.) # \\\"$"),
                                         .unit = view_of("mm")};
    static const char *const starts[] = {"", HEAD, HEAD ENTRY, HEAD "# none yet\n",
                                         "proveout-agreements: 1\nagreements: []\n",
                                         "proveout-agreements: 1\n",
                                         "proveout-agreements: 1\r\nagreements:\r\n"};
    for (size_t i = 0; i < sizeof starts / sizeof *starts; i++) {
        struct rulebook_mistakes mistakes = {.arena = &arena};
        struct shared_agreements list;
        struct view bytes = add(view_of(starts[i]), &one);
        bytes = add(bytes, &one);
        cr_expect(shared_agreements_read(&mistakes, "a.yaml", bytes, &list), "%zu: %.*s", i,
                  VIEW(bytes));
        cr_assert_eq(list.count, i == 2 ? 3 : 2, "%zu: %.*s", i, VIEW(bytes));
        for (size_t k = list.count - 2; k < list.count; k++) {
            cr_expect(view_equal(list.items[k].field, one.field));
            cr_expect(view_equal(list.items[k].file, one.file));
            cr_expect(view_equal(list.items[k].pattern, one.pattern));
            cr_expect(view_equal(list.items[k].unit, one.unit));
            cr_expect_eq(list.items[k].within.size + list.items[k].what_for.size, 0);
        }
        if (i == 2)
            cr_expect(view_starts(bytes, HEAD ENTRY), "%.*s", VIEW(bytes));
    }
}
