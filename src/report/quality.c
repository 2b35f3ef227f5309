/* The code quality report of a forge: a JSON list, an object a finding.  What could not be read
 * or checked is one too, since the form has nothing else to say it with.
 */
#include "report/gate.h"

#include "report/json_writer.h"
#include "rules/check.h"
#include "text/fingerprint.h"

static void add_position(struct json *json, const char *key, struct place place)
{
    json_key(json, key), json_open(json, '{');
    json_key(json, "line"), json_count(json, place.line ? place.line : 1);
    json_key(json, "column"), json_count(json, place.column ? place.column : 1);
    json_close(json, '}');
}

static void add_object(const struct layout *layout, const char *rule, const char *severity,
                       const char *text, const char *mark, const struct finding_spot *spot)
{
    struct json json = {.out = layout->out};
    struct arena *arena = layout->out->arena;
    struct view path = gate_path(layout, spot);
    struct gate_region region = gate_region(spot);
    if (layout->out->size)
        buffer_text(layout->out, ",\n");
    json_open(&json, '{');
    json_key(&json, "check_name"), json_text(&json, rule);
    json_key(&json, "description"), json_text(&json, text);
    json_key(&json, "severity"), json_text(&json, severity);
    json_key(&json, "fingerprint");
    json_text(&json,
              fingerprint(arena, rule, arena_copy(arena, path.data, path.size), mark, 0));
    json_key(&json, "location"), json_open(&json, '{');
    json_key(&json, "path"), json_view(&json, path);
    json_key(&json, "positions"), json_open(&json, '{');
    add_position(&json, "begin", region.start);
    add_position(&json, "end", region.end);
    json_close(&json, '}');
    json_close(&json, '}');
    json_close(&json, '}');
}

static void add_file(const struct layout *whole, const struct report *report)
{
    static const char *const severities[LEVEL_COUNT] = {"minor", "major", "critical"};
    const struct finding_spot nowhere = {0};
    struct layout own = *whole;
    struct gate_list list;
    own.file = report->findings;
    const struct file_report *file = own.file;
    struct arena *arena = own.out->arena;
    const char *trouble = gate_trouble(file), *unchecked = gate_unchecked(&own);
    gate_list(&own, &list);
    if (trouble)
        add_object(&own, "not-read", "blocker", trouble, NULL, &nowhere);
    for (size_t i = 0; i < list.count; i++) {
        const struct gate_item *item = &list.items[i];
        const struct finding *worst = item->worst;
        bool is_waived = gate_is_waived(item);
        if (own.options->show == SHOW_WAIVED && !is_waived)
            continue;
        const char *severity = is_waived ? "info"
                               : worst->hurts == HURTS_PERSON && worst->level == LEVEL_ERROR
                                   ? "blocker"
                                   : severities[worst->level];
        add_object(&own, worst->rule, severity, gate_text(&own, item), item->fingerprint,
                   &worst->at);
    }
    for (size_t i = 0; i < file->more_count; i++)
        add_object(&own, file->more[i].rule, "info",
                   arena_format(arena, "%zu more are not listed", file->more[i].failed),
                   "not listed", &nowhere);
    if (gate_known(&own))
        add_object(&own, "known", "info", gate_known(&own), NULL, &nowhere);
    if (unchecked)
        add_object(&own, "not-checked", "info", unchecked, NULL, &nowhere);
}

static void add_begin(const struct layout *layout)
{
    buffer_text(layout->out, "[");
}

static void add_end(const struct layout *layout, const struct run_totals *totals)
{
    (void)totals;
    buffer_text(layout->out, "]\n");
}

const struct report_writer findings_quality = {
    .between = ",\n",
    .begin = add_begin,
    .file = add_file,
    .end = add_end,
};
