/* SARIF 2.1.0 (OASIS standard, 27 March 2020): one run; what failed or is waived are results,
 * what was not checked or could not be read are notifications of the invocation.
 *
 * Whoever takes it in sets limits: 25,000 results and 10 MB.  The least grave are
 * left out; how many is a notification.
 */
#include "report/gate.h"

#include <proveout/version.h>
#include <string.h>

#include "report/explain.h"
#include "report/held.h"
#include "report/json_writer.h"
#include "rules/check.h"
#include "text/path.h"

enum {
    RESULTS_MAX = 25000,
    BYTES_MAX = 10 * 1000 * 1000,
    OWN_ROOM = 1000 * 1000, /* of them, for the rules and what frames the results */
    RELATED_MAX = 20,       /* places of one result beside its own */
};

enum { RESULT = 'r', NOTIFICATION = 'n' }; /* parts of what is held */

static const struct report_limit limit = {RESULTS_MAX, BYTES_MAX - OWN_ROOM};

static void add_text(struct json *json, const char *key, const char *text)
{
    json_key(json, key), json_open(json, '{');
    json_key(json, "text"), json_text(json, text);
    json_close(json, '}');
}

/* A message, in which a brace is written twice (3.11.5 of the standard). */
static void add_message(struct json *json, const char *key, const char *text)
{
    struct buffer out;
    buffer_init(&out, json->out->arena);
    for (; *text; text++) {
        buffer_byte(&out, *text);
        if (*text == '{' || *text == '}')
            buffer_byte(&out, *text);
    }
    add_text(json, key, buffer_string(&out));
}

/* --- the rules --- */

static const char *level_word(const char *level)
{
    return strncmp(level, "error", 5) == 0     ? "error"
           : strncmp(level, "warning", 7) == 0 ? "warning"
                                               : "note";
}

/* What a rule says, with dots where it shows a value. */
static const char *without_values(struct arena *arena, const char *says)
{
    struct buffer out;
    buffer_init(&out, arena);
    for (; *says; says++) {
        const char *end = *says == '{' ? strchr(says, '}') : NULL;
        if (end)
            buffer_text(&out, "...");
        else
            buffer_byte(&out, *says);
        says = end ? end : says;
    }
    return buffer_string(&out);
}

static void add_rule(struct json *json, const struct rule_summary *rule)
{
    struct arena *arena = json->out->arena;
    json_line(json, 8);
    json_open(json, '{');
    json_key(json, "id"), json_view(json, rule->name);
    add_message(json, "shortDescription", without_values(arena, rule->says));
    if (*rule->why)
        add_message(json, "fullDescription", rule->why);
    const char *to_do =
        *rule->put_right ? arena_format(arena, "Put right: %s. ", rule->put_right) : "";
    add_message(json, "help",
                arena_format(arena, "%s%s%s`proveout explain %.*s` tells the whole of it.",
                             rule->why, *rule->why ? " " : "", to_do, VIEW(rule->name)));
    json_key(json, "defaultConfiguration"), json_open(json, '{');
    json_key(json, "level"), json_text(json, level_word(rule->level));
    json_close(json, '}');
    if (rule->hurts.size) {
        json_key(json, "properties"), json_open(json, '{');
        json_key(json, "tags"), json_open(json, '[');
        json_text(json, arena_format(arena, "hurts-%.*s", VIEW(rule->hurts)));
        json_close(json, ']');
        json_close(json, '}');
    }
    json_close(json, '}');
}

/* The rule that a held result is of: its line begins with it. */
static struct view result_rule(struct view line)
{
    static const char key[] = "{\"ruleId\": \"";
    struct view rest = view_skip(line, sizeof key - 1);
    const char *end = memchr(rest.data, '"', rest.size);
    return (struct view){rest.data, end ? (size_t)(end - rest.data) : 0};
}

static bool has_results(const struct report_held *held, struct view rule)
{
    struct view line;
    for (size_t at = 0; held_next(held, RESULT, &at, &line);)
        if (view_equal(result_rule(line), rule))
            return true;
    return false;
}

/* Only those that something was found by. */
static void add_tool(struct json *json, const struct layout *layout)
{
    struct rule_summary rule;
    const struct rule_texts *rules = layout->options->rules;
    json_line(json, 4);
    json_key(json, "tool"), json_open(json, '{');
    json_key(json, "driver"), json_open(json, '{');
    json_key(json, "name"), json_text(json, "proveout");
    json_key(json, "version"), json_text(json, PROVEOUT_VERSION);
    json_key(json, "rules"), json_open(json, '[');
    for (size_t i = 0; rules && rule_summary(layout->out->arena, rules, i, &rule); i++)
        if (has_results(layout->options->held, rule.name))
            add_rule(json, &rule);
    json_close(json, ']');
    json_close(json, '}');
    json_close(json, '}');
}

/* --- a result --- */

static void add_region(struct json *json, const char *key, struct gate_region region)
{
    json_key(json, key), json_open(json, '{');
    json_key(json, "startLine"), json_count(json, region.start.line);
    json_key(json, "startColumn"), json_count(json, region.start.column);
    json_key(json, "endLine"), json_count(json, region.end.line);
    json_key(json, "endColumn"), json_count(json, region.end.column);
    json_close(json, '}');
}

static void add_artifact(struct json *json, struct view path)
{
    json_key(json, "artifactLocation"), json_open(json, '{');
    json_key(json, "uri"), json_text(json, gate_uri(json->out->arena, path));
    if (!path_has_root(path))
        json_key(json, "uriBaseId"), json_text(json, "%SRCROOT%");
    json_close(json, '}');
}

/* A location within brackets; `text` NULL: without words. */
static void add_location(struct json *json, const struct layout *layout,
                         const struct finding_spot *spot, const char *text)
{
    struct gate_region region = gate_region(spot);
    json_open(json, '{');
    json_key(json, "physicalLocation"), json_open(json, '{');
    add_artifact(json, gate_path(layout, spot));
    if (region.start.line)
        add_region(json, "region", region);
    json_close(json, '}');
    if (spot->field) {
        json_key(json, "logicalLocations"), json_open(json, '['), json_open(json, '{');
        json_key(json, "fullyQualifiedName"), json_text(json, text_told(layout, spot->field));
        json_close(json, '}'), json_close(json, ']');
    }
    if (text && *text)
        add_message(json, "message", text_told(layout, text));
    json_close(json, '}');
}

static void add_related(struct json *json, const struct layout *layout,
                        const struct finding *finding)
{
    size_t count = 0;
    for (size_t i = 0; i < finding->related_count && count < RELATED_MAX; i++) {
        const struct finding_spot *spot = &finding->related[i];
        if (!spot->source)
            continue;
        if (!count++)
            json_key(json, "relatedLocations"), json_open(json, '[');
        add_location(json, layout, spot, spot->text ? spot->text : spot->field);
    }
    if (count)
        json_close(json, ']');
}

/* Only what is certain is offered: neither one number of many that would do, nor what has to be
 * asked first. */
static void add_fixes(struct json *json, const struct layout *layout,
                      const struct finding *finding)
{
    size_t count = 0;
    for (size_t i = 0; i < finding->fix_count; i++) {
        const struct finding_fix *fix = &finding->fixes[i];
        const struct finding_spot spot = {.source = fix->source, .span = fix->span};
        if (fix->asks || fix->chosen)
            continue;
        if (!count++)
            json_key(json, "fixes"), json_open(json, '[');
        json_open(json, '{');
        add_message(json, "description", fix->title);
        json_key(json, "artifactChanges"), json_open(json, '['), json_open(json, '{');
        add_artifact(json, gate_path(layout, &spot));
        json_key(json, "replacements"), json_open(json, '['), json_open(json, '{');
        add_region(json, "deletedRegion", gate_region(&spot));
        add_text(json, "insertedContent", fix->text);
        json_close(json, '}'), json_close(json, ']');
        json_close(json, '}'), json_close(json, ']');
        json_close(json, '}');
    }
    if (count)
        json_close(json, ']');
}

static void add_suppression(struct json *json, const struct finding *finding)
{
    struct buffer why;
    buffer_init(&why, json->out->arena);
    buffer_text(&why, finding->waived_reason);
    if (finding->waived_by)
        buffer_format(&why, "; accepted by %s", finding->waived_by);
    if (finding->waived_until)
        buffer_format(&why, "; until %s", finding->waived_until);
    json_key(json, "suppressions"), json_open(json, '['), json_open(json, '{');
    json_key(json, "kind"), json_text(json, "inSource");
    json_key(json, "status"), json_text(json, "accepted");
    json_key(json, "justification"), json_text(json, buffer_string(&why));
    json_close(json, '}'), json_close(json, ']');
}

static void add_properties(struct json *json, const struct gate_item *item)
{
    const struct finding *worst = item->worst;
    json_key(json, "properties"), json_open(json, '{');
    json_key(json, "hurts"), json_text(json, finding_hurts_name(worst->hurts));
    if (worst->has_margin)
        json_key(json, "margin"), json_text(json, worst->margin_text);
    json_key(json, "findings"), json_open(json, '[');
    json_text(json, worst->fingerprint);
    for (size_t i = 0; i < item->group->other_count; i++)
        json_text(json, item->group->others[i]->fingerprint);
    json_close(json, ']');
    json_close(json, '}');
}

static void add_result(const struct layout *layout, const struct gate_item *item)
{
    const struct finding *worst = item->worst;
    struct json json = {.out = layout->out};
    unsigned gravity =
        1 + (unsigned)(LEVEL_ERROR - worst->level) + (gate_is_waived(item) ? LEVEL_COUNT : 0);
    buffer_format(layout->out, "%u%c", gravity, RESULT);
    json_open(&json, '{');
    json_key(&json, "ruleId"), json_text(&json, worst->rule);
    json_key(&json, "level"), json_text(&json, finding_level_name(worst->level));
    add_message(&json, "message", gate_text(layout, item));
    json_key(&json, "locations"), json_open(&json, '[');
    add_location(&json, layout, &worst->at, NULL);
    json_close(&json, ']');
    add_related(&json, layout, worst);
    json_key(&json, "partialFingerprints"), json_open(&json, '{');
    json_key(&json, "proveoutFinding/v1"), json_text(&json, item->fingerprint);
    json_close(&json, '}');
    if (gate_is_waived(item))
        add_suppression(&json, worst);
    else
        add_fixes(&json, layout, worst);
    add_properties(&json, item);
    json_close(&json, '}');
    buffer_byte(layout->out, '\n');
}

/* --- what is no result --- */

static void add_notification(const struct layout *layout, const char *level, const char *id,
                             const char *text)
{
    struct json json = {.out = layout->out};
    json_open(&json, '{');
    json_key(&json, "descriptor"), json_open(&json, '{');
    json_key(&json, "id"), json_text(&json, id);
    json_close(&json, '}');
    json_key(&json, "level"), json_text(&json, level);
    add_message(&json, "message", text);
    if (layout->path) {
        const struct finding_spot whole = {0};
        json_key(&json, "locations"), json_open(&json, '[');
        add_location(&json, layout, &whole, NULL);
        json_close(&json, ']');
    }
    json_close(&json, '}');
}

/* Of one file; graver than any result where nothing can be relied on without it. */
static void hold_notification(const struct layout *layout, bool is_grave, const char *id,
                              const char *text)
{
    buffer_format(layout->out, "%c%c", is_grave ? '0' : '8', NOTIFICATION);
    add_notification(layout, is_grave ? "error" : "note", id, text);
    buffer_byte(layout->out, '\n');
}

static void add_file(const struct layout *whole, const struct report *report)
{
    struct layout own = *whole;
    const struct layout *layout = &own;
    struct gate_list list;
    own.file = report->findings;
    const struct file_report *file = own.file;
    struct arena *arena = own.out->arena;
    const char *trouble = gate_trouble(file), *unchecked = gate_unchecked(layout);
    if (trouble)
        hold_notification(layout, true, "not-read",
                          arena_format(arena, "%s: %s", file->path, trouble));
    if (file->status == FILE_SHARED)
        hold_notification(layout, false, "no-machine",
                          arena_format(arena, "%s: no machine by itself; checked with %s",
                                       file->path, file->shared_by));
    if (unchecked)
        hold_notification(layout, false, "not-checked",
                          arena_format(arena, "%s: %s", file->path, unchecked));
    const char *known = gate_known(layout);
    if (known)
        hold_notification(layout, false, "known",
                          arena_format(arena, "%s: %s", file->path, known));
    for (size_t i = 0; i < file->more_count; i++)
        hold_notification(layout, true, "not-listed",
                          arena_format(arena, "%s: %zu more of %s are not listed", file->path,
                                       file->more[i].failed, file->more[i].rule));
    gate_list(layout, &list);
    for (size_t i = 0; i < list.count; i++)
        if (layout->options->show != SHOW_WAIVED || gate_is_waived(&list.items[i]))
            add_result(layout, &list.items[i]);
}

static void add_begin(const struct layout *layout)
{
    struct json json = {.out = layout->out};
    json_open(&json, '{');
    json_key(&json, "$schema");
    json_text(&json, "https://json.schemastore.org/sarif-2.1.0.json");
    json_key(&json, "version"), json_text(&json, "2.1.0");
    json_line(&json, 2);
    json_key(&json, "runs"), json_open(&json, '['), json_open(&json, '{');
    json_key(&json, "columnKind"), json_text(&json, "unicodeCodePoints");
    json_line(&json, 4);
    json_key(&json, "results"), json_open(&json, '[');
}

/* What was held of a part, a line each. */
static void add_held(struct json *json, struct report_held *held, char part)
{
    struct view line;
    for (size_t at = 0; held_next(held, part, &at, &line); json->follows = true) {
        json_line(json, 6);
        buffer_add(json->out, line);
    }
}

static void add_own(struct json *json, const struct layout *layout, const char *level,
                    const char *id, const char *text)
{
    json_line(json, 6);
    add_notification(layout, level, id, text);
    json->follows = true;
}

static void add_notifications(struct json *json, const struct layout *layout,
                              const struct run_totals *totals)
{
    struct arena *arena = layout->out->arena;
    struct report_held *held = layout->options->held;
    size_t results = held_left_out(held, RESULT), notes = held_left_out(held, NOTIFICATION);
    add_own(json, layout, "note", "in-air",
            "Numbers on paper: the first run is still made in air, with a hand on the stop.");
    if (results)
        add_own(json, layout, "error", "left-out",
                arena_format(arena,
                             "%zu results are left out, the least grave: more than %d, or than "
                             "%d MB, are not taken in by those who read this form",
                             results, RESULTS_MAX, BYTES_MAX / 1000 / 1000));
    if (notes)
        add_own(json, layout, "warning", "left-out",
                arena_format(arena, "%zu notifications are left out likewise", notes));
    if (totals->passed_over)
        add_own(json, layout, "note", "passed-over",
                arena_format(arena, "%zu passed over, being no machine file%s",
                             totals->passed_over, totals->passed_over == 1 ? "" : "s"));
    if (totals->ignored)
        add_own(json, layout, "note", "ignored",
                arena_format(arena, "%zu left out by proveout.ignore", totals->ignored));
    add_held(json, held, NOTIFICATION);
}

static void add_end(const struct layout *layout, const struct run_totals *totals)
{
    struct json json = {.out = layout->out};
    held_left_out(layout->options->held, RESULT);
    add_held(&json, layout->options->held, RESULT);
    json_close(&json, ']');
    json_line(&json, 4);
    json_key(&json, "invocations"), json_open(&json, '['), json_open(&json, '{');
    json_key(&json, "executionSuccessful"),
        json_bool(&json, !totals->unreadable && !totals->partial);
    json_key(&json, "toolExecutionNotifications"), json_open(&json, '[');
    add_notifications(&json, layout, totals);
    json_close(&json, ']');
    json_close(&json, '}'), json_close(&json, ']');
    add_tool(&json, layout);
    json_close(&json, '}'), json_close(&json, ']'), json_close(&json, '}');
    buffer_byte(layout->out, '\n');
}

const struct report_writer findings_sarif = {
    .lists_rules = true,
    .limit = &limit,
    .begin = add_begin,
    .file = add_file,
    .end = add_end,
};
