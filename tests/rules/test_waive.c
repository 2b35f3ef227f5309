/* What a waiver takes with it: nothing but what it names.
 *
 * Three rules, one about the whole file and two about each of two cutters, fail and hold in
 * every combination, follow from each other in every way without a circle, and are waived in
 * every way.  What must come of each failure is worked out here by the words of the
 * documentation alone.
 */
#include <criterion/criterion.h>

#include <stdio.h>
#include <string.h>

#include "base/buffer.h"
#include "rules/check.h"
#include "rules/rulebook.h"

enum { RULES = 3, CUTTERS = 2, WAIVED_NOT, WAIVED_WHOLLY, WAIVED_FIRST };

static const char *const names[RULES] = {"standoff-small", "cutter-short", "cutter-thin"};
static struct arena books, files;

static void begin(void)
{
    arena_init(&books, NULL);
    arena_init(&files, NULL);
}

static void end(void)
{
    arena_free(&books);
    arena_free(&files);
}

TestSuite(waive, .init = begin, .fini = end);

/* `follows[i]` has a bit for each rule from which rule i follows. */
static void write_rule(struct buffer *out, int i, const unsigned follows[RULES])
{
    static const char *const parts[RULES] = {
        "    require: change.standoff >= 5 mm\n",
        "    each: c in cutters\n    require: c.stickout >= 20 mm\n",
        "    each: c in cutters\n    require: c.diameter >= 3 mm\n",
    };
    static const char *const changes[RULES][2] = {
        {"change.standoff: 9 mm", "change.standoff: 4 mm"},
        {"\"cutters[0].stickout\": 30 mm", "\"cutters[0].stickout\": 10 mm"},
        {"\"cutters[0].diameter\": 4 mm", "\"cutters[0].diameter\": 2 mm"},
    };
    buffer_format(out, "  %s:\n    level: error\n    hurts: %s\n%s", names[i],
                  i == 2 ? "person" : "work", parts[i]);
    if (follows[i]) {
        buffer_text(out, "    implied_by: [");
        for (int k = 0, many = 0; k < RULES; k++)
            if (follows[i] >> k & 1)
                buffer_format(out, "%s%s", many++ ? ", " : "", names[k]);
        buffer_text(out, "]\n");
    }
    buffer_format(
        out,
        "    says: it is small\n    why: it is too small\n    put_right: make it larger\n"
        "    source: a test\n    examples:\n"
        "      holds: [{%s}, {}]\n"
        "      fails: [{%s, margin: -1%s}, {%s}]\n",
        changes[i][0], changes[i][1], i == 1 ? "0 mm" : " mm", changes[i][1]);
}

static void load(const unsigned follows[RULES], struct rulebook *out)
{
    struct buffer text;
    buffer_init(&text, &books);
    buffer_text(&text, "rulebook: 1\ntitle: a test\nrules:\n");
    for (int i = 0; i < RULES; i++)
        write_rule(&text, i, follows);
    struct rulebook_mistakes mistakes = {.arena = &books};
    const struct rulebook_text own = {"own.yaml", text.data, text.size};
    bool loaded = rulebook_load(&mistakes, &own, 1, NULL, 0, out);
    cr_assert(loaded, "%s\n%s", mistakes.list.count ? mistakes.list.items[0].message : "",
              buffer_string(&text));
}

/* `fails` has one bit for the first rule and two for each of the others. */
static bool does_fail(unsigned fails, int rule, int record)
{
    return fails >> (rule ? 1 + 2 * (rule - 1) + record : 0) & 1;
}

static const char *path_of(int rule, int record)
{
    static const char *const paths[RULES][CUTTERS] = {
        {"change.standoff", NULL},
        {"cutters[0].stickout", "cutters[1].stickout"},
        {"cutters[0].diameter", "cutters[1].diameter"}};
    return paths[rule][record];
}

static struct view machine(unsigned fails, const int waived[RULES])
{
    struct buffer text;
    buffer_init(&text, &files);
    buffer_format(&text, "proveout: 1\nchange: {standoff: %s mm}\ncutters:\n",
                  does_fail(fails, 0, 0) ? "4" : "9");
    for (int c = 0; c < CUTTERS; c++)
        buffer_format(&text, "  - {number: %d, stickout: %s mm, diameter: %s mm}\n", c + 1,
                      does_fail(fails, 1, c) ? "10" : "30", does_fail(fails, 2, c) ? "2" : "4");
    buffer_text(&text, "waivers:\n");
    for (int i = 0; i < RULES; i++) {
        if (waived[i] == WAIVED_NOT)
            continue;
        buffer_format(&text, "  - {rule: %s, reason: known, accepted_by: V. Owner, %s%s",
                      names[i], "until: 2026-12-01",
                      waived[i] == WAIVED_FIRST ? ", where: \"" : "");
        buffer_format(&text, "%s%s}\n", waived[i] == WAIVED_FIRST ? path_of(i, 0) : "",
                      waived[i] == WAIVED_FIRST ? "\"" : "");
    }
    if (waived[0] == WAIVED_NOT && waived[1] == WAIVED_NOT && waived[2] == WAIVED_NOT)
        buffer_text(&text, "  []\n");
    return buffer_view(&text);
}

static bool is_waived(const int waived[RULES], int rule, int record)
{
    return waived[rule] == WAIVED_WHOLLY || (waived[rule] == WAIVED_FIRST && record == 0);
}

/* Does rule `other` explain a failure of `rule` for this record? */
static bool explains(const unsigned follows[RULES], unsigned fails, const int waived[RULES],
                     int rule, int record, int other)
{
    int at = other ? record : 0;
    if (!(follows[rule] >> other & 1) || (other && !rule))
        return false; /* what is said of one cutter says nothing of the whole file */
    return does_fail(fails, other, at) && !is_waived(waived, other, at);
}

static const struct finding *find(const struct file_report *report, int rule, int record)
{
    for (size_t i = 0; i < report->count; i++)
        if (strcmp(report->findings[i].rule, names[rule]) == 0 &&
            report->findings[i].at.field &&
            strcmp(report->findings[i].at.field, path_of(rule, record)) == 0)
            return &report->findings[i];
    return NULL;
}

/* Returns how many failures count. */
static size_t compare(const struct file_report *report, const unsigned follows[RULES],
                      unsigned fails, const int waived[RULES], const char *where)
{
    size_t counted = 0;
    for (int rule = 0; rule < RULES; rule++)
        for (int record = 0; record < (rule ? CUTTERS : 1); record++) {
            const struct finding *finding = find(report, rule, record);
            if (!does_fail(fails, rule, record)) {
                cr_assert_null(finding, "%s: %s", where, path_of(rule, record));
                continue;
            }
            cr_assert(finding, "%s: %s is not told", where, path_of(rule, record));
            bool waives = is_waived(waived, rule, record), explained = false;
            cr_assert_eq(finding->outcome, waives ? OUTCOME_WAIVED : OUTCOME_FAILED, "%s: %s",
                         where, path_of(rule, record));
            for (int other = 0; other < RULES && !waives; other++)
                explained |= explains(follows, fails, waived, rule, record, other);
            cr_assert_eq(finding->implied_by != NULL, explained, "%s: %s follows from %s",
                         where, path_of(rule, record),
                         finding->implied_by ? finding->implied_by : "nothing");
            counted += !waives && !explained;
        }
    return counted;
}

static bool has_circle(const unsigned follows[RULES])
{
    unsigned ways[RULES];
    memcpy(ways, follows, sizeof ways);
    for (int step = 0; step < RULES; step++)
        for (int i = 0; i < RULES; i++)
            for (int k = 0; k < RULES; k++)
                if (ways[i] >> k & 1)
                    ways[i] |= ways[k];
    for (int i = 0; i < RULES; i++)
        if (ways[i] >> i & 1)
            return true;
    return false;
}

static void check_all(const unsigned follows[RULES])
{
    struct rulebook book;
    load(follows, &book);
    const struct rulebook *const list[] = {&book};
    /* 2026-11-01 */
    const struct check_options options = {.books = list,
                                          .book_count = 1,
                                          .show = SHOW_FAILED,
                                          .words = true,
                                          .today = 1793491200};
    struct checker *checker = checker_new(&books, &options);
    size_t missing = 0; /* the machine is no more than these rules want */
    for (unsigned fails = 0; fails < 32; fails++)
        for (int w = 0; w < 18; w++) {
            const int waived[RULES] = {WAIVED_NOT + w % 2, WAIVED_NOT + w / 2 % 3,
                                       WAIVED_NOT + w / 6};
            struct view bytes = machine(fails, waived);
            struct file_report report;
            char where[80];
            snprintf(where, sizeof where, "follows %u %u %u, fails %u, waived %d", follows[0],
                     follows[1], follows[2], fails, w);
            checker_check(checker, &files, view_of("m.yaml"), bytes, &report);
            size_t counted = compare(&report, follows, fails, waived, where);
            if (!fails && !w)
                missing = report.findings_by_level[LEVEL_ERROR];
            cr_assert_eq(report.findings_by_level[LEVEL_ERROR], missing + counted,
                         "%s: %zu count", where, report.findings_by_level[LEVEL_ERROR]);
            arena_reset(&files);
        }
}

Test(waive, takes_nothing_with_it)
{
    int books_tried = 0;
    for (unsigned edges = 0; edges < 512; edges++) {
        const unsigned follows[RULES] = {edges & 7, edges >> 3 & 7, edges >> 6 & 7};
        if (has_circle(follows))
            continue;
        check_all(follows);
        arena_reset(&books);
        books_tried++;
    }
    cr_assert_eq(books_tried, 25); /* as many as there are such orders of three */
}

/* A waiver of the rule that can hurt a person, with these further keys, on a day. */
static const struct finding *waived_person(const char *keys, const char *rule)
{
    static const unsigned follows[RULES] = {0};
    struct rulebook *book = ARENA_NEW(&books, struct rulebook);
    load(follows, book);
    const struct rulebook *const list[] = {book};
    const struct check_options options = {
        .books = list, .book_count = 1, .words = true, .today = 1793491200};
    struct buffer text;
    buffer_init(&text, &files);
    buffer_text(&text, "proveout: 1\ncutters: [{number: 1, diameter: 2 mm}]\nwaivers:\n");
    buffer_format(&text, "  - {rule: cutter-thin, %s}\n", keys);
    struct file_report report;
    check_bytes(&files, &options, view_of("m.yaml"), buffer_view(&text), &report);
    for (size_t i = 0; i < report.count; i++)
        if (strcmp(report.findings[i].rule, rule) == 0)
            return &report.findings[i];
    return NULL;
}

static void holds(const char *keys)
{
    const struct finding *finding = waived_person(keys, "cutter-thin");
    cr_assert_eq(finding->outcome, OUTCOME_WAIVED, "%s", keys);
    cr_assert_str_eq(finding->waived_by, "V. Owner");
}

static void holds_not(const char *keys, const char *rule, const char *why)
{
    cr_assert_eq(waived_person(keys, "cutter-thin")->outcome, OUTCOME_FAILED, "%s", keys);
    const struct finding *finding = waived_person(keys, rule);
    cr_assert(finding, "%s: no %s", keys, rule);
    cr_assert(strstr(finding->message, why), "%s: %s", keys, finding->message);
}

Test(waive, of_what_hurts_a_person_wants_a_person)
{
    const char *name = "waiver-unaccepted";
    holds("reason: known, accepted_by: V. Owner, until: 2026-12-01");
    holds("reason: known, accepted_by: V. Owner, until: 2027-11-01");
    holds_not("reason: known", name, "who decided so");
    holds_not("reason: known, until: 2026-12-01", name, "who decided so");
    holds_not("reason: known, until: 2026-12-01, accepted_by: \" \"", name, "who decided so");
    holds_not("reason: known, accepted_by: V. Owner", name, "no last day");
    holds_not("reason: known, accepted_by: V. Owner, until: 2027-11-03", name, "a year ahead");
    holds_not("reason: known, accepted_by: V. Owner, until: 2026-10-31", "waiver-expired",
              "ended on");
}

Test(waive, white_space_is_no_reason)
{
    static const char *const blanks[] = {"\" \"",       "\"\\t\"",     "\"\\n\"",
                                         "\"\\_\"",     "\"\\u3000\"", "\"\\u200b\"",
                                         "\"\\u2028\"", "\"\\ufeff\"", "\"\\u2800 \\u00ad\""};
    for (size_t i = 0; i < sizeof blanks / sizeof *blanks; i++) {
        char keys[120];
        snprintf(keys, sizeof keys, "accepted_by: V. Owner, until: 2026-12-01, reason: %s",
                 blanks[i]);
        holds_not(keys, "waiver-unreasoned", "gives no reason");
    }
}
