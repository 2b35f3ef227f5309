/* The conditions of machine/whens.inc, by which the reader knows what a file needs, and the
 * definitions of rules/definitions.yaml, by which rules know whom they are asked of: some say the
 * same.  Here they do so of every machine that the fields they read can make.
 */
#include <criterion/criterion.h>

#include <stdio.h>

#include "rules/run.h"

/* A definition, and the rows that have to hold for it. */
static const struct {
    const char *name;
    enum field_when rows[2]; /* the second may be WHEN_ALWAYS */
    bool is_wider;           /* it is so, too, where the change asks for the power to be cut */
} same[] = {
    {"homes", {WHEN_HOMES, WHEN_ALWAYS}, false},
    {"by_setter", {WHEN_SETTER, WHEN_HOMES}, false},
    {"by_plate", {WHEN_PLATE, WHEN_ALWAYS}, false},
    {"by_zero", {WHEN_ZERO_SET, WHEN_ALWAYS}, false},
    {"on_gantry", {WHEN_SETTER_CARRIED, WHEN_HOMES}, false},
    {"by_list", {WHEN_LISTED, WHEN_ALWAYS}, false},
    {"probes", {WHEN_PROBES, WHEN_ALWAYS}, false},
    {"power_cut", {WHEN_POWER_CUT, WHEN_ALWAYS}, true},
    {"machine_cut", {WHEN_MACHINE_CUT, WHEN_ALWAYS}, true},
};
enum { SAME = sizeof same / sizeof *same };

/* What the fields that they read may say; "" where nothing is said. */
static const struct {
    enum field_id field;
    const char *section, *key, *words[6];
} says[] = {
    {FIELD_HOMING_ORDER, "homing", "order", {"none", "[z]", "[z, xy]", ""}},
    {FIELD_CHANGE_MEASURES_WITH,
     "change",
     "measures_with",
     {"setter", "plate", "list", "hand", ""}},
    {FIELD_CHANGE_SETS, "change", "sets", {"length", "work_zero", ""}},
    {FIELD_CHANGE_SPINDLE_HELD_OFF,
     "change",
     "spindle_held_off",
     {"isolated", "interlocked", "unplugged", "no", ""}},
    {FIELD_CHANGE_CUTS_POWER_TO, "change", "cuts_power_to", {"spindle", "machine", ""}},
    {FIELD_CHANGE_ASKS, "change", "asks", {"[isolated]", "[unplugged]", "[standstill]", ""}},
    {FIELD_SETTER_RIDES_ON, "setter", "rides_on", {"gantry", "table", ""}},
};
enum { FIELDS = sizeof says / sizeof *says };

/* A rule for each definition, which requires it and nothing else. */
static void load(struct arena *arena, struct rulebook *book)
{
    struct buffer text;
    struct rulebook_mistakes mistakes = {.arena = arena};
    buffer_init(&text, arena);
    buffer_text(&text, "rulebook: 1\ntitle: definitions\nrules:\n");
    for (size_t i = 0; i < SAME; i++)
        buffer_format(&text,
                      "  is-%zu:\n    level: error\n    hurts: work\n    require: %s\n"
                      "    says: no\n    why: so\n    put_right: turn it\n    source: a test\n"
                      "    examples:\n      holds: [{change.standoff: 1 mm}]\n"
                      "      fails: [{change.standoff: 3 mm}]\n",
                      i, same[i].name);
    const struct rulebook_text texts[] = {{"same.yaml", buffer_string(&text), text.size}};
    bool loaded = rulebook_load_own(&mistakes, texts, 1, book);
    cr_assert(loaded, "%s", mistakes.list.count ? mistakes.list.items[0].message : "?");
}

/* The machine with one word of each field. */
static const char *read(struct arena *arena, const size_t *words, struct machine *out)
{
    struct source *source = ARENA_NEW(arena, struct source);
    struct finding_sink *sink = ARENA_NEW(arena, struct finding_sink);
    struct tree *tree = ARENA_NEW(arena, struct tree);
    struct buffer text;
    const char *section = "";
    buffer_init(&text, arena);
    /* So much has to be known for anybody to know what a change asks for. */
    buffer_text(&text, "proveout: 1\nspindle: {switched_by: controller, stop_known_by: wait}\n");
    for (size_t i = 0; i < FIELDS; i++) {
        const char *word = says[i].words[words[i]];
        if (*word && strcmp(section, says[i].section) != 0)
            buffer_format(&text, "%s:\n", section = says[i].section);
        if (*word)
            buffer_format(&text, "  %s: %s\n", says[i].key, word);
    }
    source_init(source, arena, view_of("machine.yaml"), buffer_view(&text));
    sink_init(sink, arena, source);
    tree_read(tree, arena, source, sink);
    machine_read(out, arena, tree, sink);
    for (size_t i = 0; i < FIELDS; i++)
        cr_assert_eq(*says[i].words[words[i]] != '\0',
                     machine_field(out, says[i].field, 0)->state == VALUE_GIVEN, "%s: %s",
                     buffer_string(&text), says[i].key);
    return buffer_string(&text);
}

/* Does a row rest on something that the file does not say, and for which nothing is taken? */
static bool lacks(const struct machine *machine, enum field_when row)
{
    for (; row != WHEN_ALWAYS; row = (enum field_when)when_table[row].and)
        if (machine_field(machine, when_table[row].field, 0)->state == VALUE_ABSENT)
            return true;
    return false;
}

static void compare(const struct machine *machine, size_t i, const struct rule_result *result,
                    const char *text, size_t *wider)
{
    bool row = machine_meets(machine, same[i].rows[0]) && machine_meets(machine, same[i].rows[1]);
    bool may_differ = lacks(machine, same[i].rows[0]) || lacks(machine, same[i].rows[1]) ||
                      (same[i].is_wider && !strstr(text, "asks: [standstill]"));
    cr_assert_eq(result->held + result->failed + result->unchecked, 1);
    if (row)
        cr_assert(result->held, "%s is not so, and its row is, of\n%s", same[i].name, text);
    else if (!may_differ)
        cr_assert(result->failed, "%s may be so, and its row is not, of\n%s", same[i].name,
                  text);
    *wider += result->held && strstr(text, "asks: [") && !row;
}

Test(whens, definitions)
{
    struct arena arena, run;
    struct rulebook book;
    struct runner runner;
    const struct rulebook *books[] = {&book};
    size_t words[FIELDS] = {0}, at = 0, machines = 0, held[SAME] = {0}, failed[SAME] = {0};
    size_t wider[SAME] = {0};
    arena_init(&arena, NULL);
    arena_init(&run, NULL);
    load(&arena, &book);
    runner_init(&runner, &arena, books, 1);
    while (at < FIELDS) {
        struct machine machine;
        const char *text = read(&run, words, &machine);
        runner_run(&runner, &run, &machine, false);
        machines++;
        for (size_t i = 0; i < SAME; i++) {
            compare(&machine, i, &runner.results[i], text, &wider[i]);
            held[i] += runner.results[i].held;
            failed[i] += runner.results[i].failed;
        }
        arena_reset(&run);
        /* The next: as a counter goes on. */
        for (at = 0; at < FIELDS && !*says[at].words[words[at]]; at++)
            words[at] = 0;
        if (at < FIELDS)
            words[at]++;
    }
    cr_assert_eq(machines, 4 * 5 * 3 * 5 * 3 * 4 * 3);
    for (size_t i = 0; i < SAME; i++) {
        cr_assert(held[i] && failed[i], "%s never differs", same[i].name);
        cr_assert(!same[i].is_wider || wider[i], "%s is no wider", same[i].name);
    }
    arena_free(&run);
    arena_free(&arena);
}
