/* JUnit XML: a suite for each file, a case for each rule that was asked of it.
 *
 * The form has no specification; what is written keeps to what the two common schemas of it
 * have alike.  A case of it holds one outcome, so that what does not fail the run (findings
 * below
 * --stop-at, what is waived) is told at the end of its suite, in the form of GNU messages like
 * the text of failures.
 */
#include "report/gate.h"

#include <proveout/version.h>
#include <stdlib.h>
#include <string.h>

#include "rules/check.h"
#include "text/escape.h"

/* The records of one rule, and what was found by it. */
struct rule_case {
    const char *rule;
    size_t failed, unchecked, waived, implied, known; /* records */
    const struct finding *sample;                     /* one of those, for its words */
    size_t stops;                                     /* items that count against the file */
};

struct suite {
    const struct layout *layout;
    struct gate_list list;
    struct rule_case *cases; /* by name */
    size_t count;
    size_t failures, skipped;
};

static void add_attribute(struct buffer *out, const char *name, struct view value)
{
    buffer_format(out, " %s=\"", name);
    escape_xml(out, value);
    buffer_byte(out, '"');
}

/* "FILE:LINE:COLUMN: level: sentence [rule]", a line. */
static void add_item(const struct suite *suite, const struct gate_item *item)
{
    struct buffer *out = suite->layout->out;
    const struct finding *worst = item->worst;
    struct gate_region region = gate_region(&worst->at);
    escape_xml(out, gate_path(suite->layout, &worst->at));
    if (region.start.line)
        buffer_format(out, ":%u:%u", region.start.line, region.start.column);
    buffer_format(out, ": %s%s: ", gate_is_waived(item) ? "waived " : "",
                  finding_level_name(worst->level));
    escape_xml(out, view_of(gate_text(suite->layout, item)));
    buffer_text(out, " [");
    escape_xml(out, view_of(worst->rule));
    buffer_text(out, "]\n");
}

/* --- cases --- */

static int compare_rules(const void *left, const void *right)
{
    return strcmp((*(const struct finding *const *)left)->rule,
                  (*(const struct finding *const *)right)->rule);
}

static void count_record(struct rule_case *one, const struct finding *finding)
{
    bool is_sample = !one->sample;
    switch (finding->outcome) {
    case OUTCOME_FAILED:
        one->failed++;
        one->implied += finding->implied_by != NULL;
        one->known += finding->known;
        break;
    case OUTCOME_WAIVED:
        one->waived++;
        break;
    case OUTCOME_UNCHECKED:
        one->unchecked++;
        break;
    case OUTCOME_HELD:
    case OUTCOME_COUNT:
        is_sample = false;
        break;
    }
    if (is_sample)
        one->sample = finding;
}

static void find_cases(struct suite *suite)
{
    struct arena *arena = suite->layout->out->arena;
    const struct file_report *file = suite->layout->file;
    const struct finding **records =
        ARENA_ARRAY(arena, const struct finding *, file->count + 1);
    for (size_t i = 0; i < file->count; i++)
        records[i] = &file->findings[i];
    if (file->count)
        qsort(records, file->count, sizeof *records, compare_rules);
    suite->cases = ARENA_ARRAY(arena, struct rule_case, file->count + 1);
    for (size_t i = 0; i < file->count; i++) {
        struct rule_case *last = suite->count ? &suite->cases[suite->count - 1] : NULL;
        if (!last || strcmp(last->rule, records[i]->rule) != 0) {
            last = &suite->cases[suite->count++];
            last->rule = records[i]->rule;
        }
        count_record(last, records[i]);
    }
    for (size_t k = 0; k < suite->list.count; k++)
        for (size_t i = 0; gate_stops(suite->layout, &suite->list.items[k]) && i < suite->count;
             i++)
            suite->cases[i].stops +=
                strcmp(suite->cases[i].rule, suite->list.items[k].worst->rule) == 0;
}

/* Why a case that does not fail is no success either; NULL: it is one. */
static const char *skipped(const struct suite *suite, const struct rule_case *one)
{
    struct arena *arena = suite->layout->out->arena;
    const struct finding *sample = one->sample;
    if (one->stops)
        return NULL;
    if (one->unchecked)
        return sample->outcome == OUTCOME_UNCHECKED ? text_told(suite->layout, sample->message)
                                                    : "not checked of some things";
    if (one->waived)
        return arena_format(arena, "waived: %s",
                            sample->waived_reason ? sample->waived_reason : "see below");
    if (one->known)
        return "known and set aside";
    if (one->implied && one->implied == one->failed)
        return arena_format(arena, "follows from %s", sample->implied_by);
    return NULL;
}

static void add_case_start(const struct suite *suite, const char *name)
{
    struct buffer *out = suite->layout->out;
    buffer_text(out, "    <testcase");
    add_attribute(out, "name", view_of(name));
    add_attribute(out, "classname", gate_path_of(suite->layout, view_of(suite->layout->path)));
    buffer_text(out, " time=\"0\"");
}

static void add_failure(const struct suite *suite, const struct rule_case *one)
{
    struct buffer *out = suite->layout->out;
    const struct gate_item *first = NULL;
    for (size_t i = 0; i < suite->list.count && !first; i++)
        if (strcmp(suite->list.items[i].worst->rule, one->rule) == 0 &&
            gate_stops(suite->layout, &suite->list.items[i]))
            first = &suite->list.items[i];
    buffer_text(out, ">\n      <failure");
    add_attribute(out, "type", view_of(finding_level_name(first->worst->level)));
    add_attribute(out, "message", view_of(text_told(suite->layout, first->worst->message)));
    buffer_byte(out, '>');
    for (size_t i = 0; i < suite->list.count; i++)
        if (strcmp(suite->list.items[i].worst->rule, one->rule) == 0 &&
            gate_stops(suite->layout, &suite->list.items[i]))
            add_item(suite, &suite->list.items[i]);
    buffer_text(out, "</failure>\n    </testcase>\n");
}

static void add_skipped(struct buffer *out, const char *why)
{
    buffer_text(out, ">\n      <skipped>");
    escape_xml(out, view_of(why));
    buffer_text(out, "</skipped>\n    </testcase>\n");
}

static void add_case(const struct suite *suite, const struct rule_case *one)
{
    const char *why = skipped(suite, one);
    add_case_start(suite, one->rule);
    if (one->stops)
        add_failure(suite, one);
    else if (why)
        add_skipped(suite->layout->out, why);
    else
        buffer_text(suite->layout->out, "/>\n");
}

/* --- the suite --- */

/* Whether the file could be read is a case of its own. */
static void add_reading(const struct suite *suite, const char *trouble)
{
    const struct file_report *file = suite->layout->file;
    struct buffer *out = suite->layout->out;
    add_case_start(suite, "read");
    if (trouble) {
        buffer_text(out, ">\n      <error");
        add_attribute(out, "type", view_of(file_status_name(file->status)));
        add_attribute(out, "message", view_of(trouble));
        buffer_text(out, "/>\n    </testcase>\n");
    } else if (file->status == FILE_SHARED) {
        add_skipped(out, arena_format(out->arena, "no machine by itself; checked with %s",
                                      file->shared_by));
    } else {
        buffer_text(out, "/>\n");
    }
}

/* All that fails no case, and what a clean suite does not mean. */
static void add_rest(const struct suite *suite)
{
    const struct file_report *file = suite->layout->file;
    struct buffer *out = suite->layout->out;
    const char *unchecked = gate_unchecked(suite->layout);
    buffer_text(out, "    <system-out>");
    for (size_t i = 0; i < suite->list.count; i++)
        if (!gate_stops(suite->layout, &suite->list.items[i]))
            add_item(suite, &suite->list.items[i]);
    for (size_t i = 0; i < file->more_count; i++) {
        buffer_format(out, "%zu more of ", file->more[i].failed);
        escape_xml(out, view_of(file->more[i].rule));
        buffer_text(out, " are not listed.\n");
    }
    const char *known = gate_known(suite->layout);
    if (known)
        buffer_format(out, "%s.\n", known);
    if (unchecked) {
        escape_xml(out, view_of(unchecked));
        buffer_text(out, ".\n");
    }
    buffer_text(out, "Numbers on paper: the first run is still made in air, with a hand on the "
                     "stop.\n</system-out>\n    <system-err></system-err>\n");
}

static void add_file(const struct layout *whole, const struct report *report)
{
    struct layout own = *whole;
    struct suite suite = {.layout = &own};
    own.file = report->findings;
    struct buffer *out = own.out;
    const char *trouble = gate_trouble(own.file), *day = own.options->day;
    gate_list(&own, &suite.list);
    find_cases(&suite);
    for (size_t i = 0; i < suite.count; i++) {
        suite.failures += suite.cases[i].stops > 0;
        suite.skipped += skipped(&suite, &suite.cases[i]) != NULL;
    }
    buffer_text(out, "  <testsuite");
    add_attribute(out, "name", gate_path_of(&own, view_of(own.path)));
    buffer_text(out, " package=\"proveout\" id=\"0\" hostname=\"localhost\" time=\"0\"");
    buffer_format(out, " timestamp=\"%sT00:00:00\"", day ? day : "1970-01-01");
    buffer_format(out, " tests=\"%zu\" failures=\"%zu\" errors=\"%d\" skipped=\"%zu\">\n",
                  suite.count + 1, suite.failures, trouble != NULL,
                  suite.skipped + (own.file->status == FILE_SHARED));
    buffer_text(out, "    <properties><property name=\"proveout\" value=\"" PROVEOUT_VERSION
                     "\"/></properties>\n");
    add_reading(&suite, trouble);
    for (size_t i = 0; i < suite.count; i++)
        add_case(&suite, &suite.cases[i]);
    add_rest(&suite);
    buffer_text(out, "  </testsuite>\n");
}

static void add_begin(const struct layout *layout)
{
    buffer_text(layout->out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites>\n");
}

static void add_end(const struct layout *layout, const struct run_totals *totals)
{
    if (totals->passed_over)
        buffer_format(layout->out, "  <!-- %zu passed over, being no machine file%s -->\n",
                      totals->passed_over, totals->passed_over == 1 ? "" : "s");
    if (totals->ignored)
        buffer_format(layout->out, "  <!-- %zu left out by proveout.ignore -->\n",
                      totals->ignored);
    buffer_text(layout->out, "</testsuites>\n");
}

const struct report_writer findings_junit = {
    .tells_held = true,
    .begin = add_begin,
    .file = add_file,
    .end = add_end,
};
