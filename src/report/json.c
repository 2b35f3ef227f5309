/* JSON, format proveout-findings version 1: a contract with programs that read it.
 *
 * Keys are only ever added.  Everything that was evaluated and is listed stands here one by
 * one, with what implies or waives it; grouping is for people.
 */
#include "report/internal.h"

#include "report/json_writer.h"
#include "rules/check.h"

enum {
    FORMAT_VERSION = 1,
    PART = 256 * 1024, /* bytes of evaluations that are passed on together */
};

static void add_begin(const struct layout *layout)
{
    struct json json = {.out = layout->out};
    json_open(&json, '{');
    json_key(&json, "format"), json_text(&json, "proveout-findings");
    json_key(&json, "version"), json_count(&json, FORMAT_VERSION);
    json_line(&json, 2);
    json_key(&json, "files"), json_open(&json, '[');
    json_line(&json, 0);
}

/* Line, column and their ends; all null where the spot is nowhere. */
static void add_place(struct json *json, const struct finding_spot *spot)
{
    static const char *const keys[] = {"line", "column", "end_line", "end_column"};
    size_t counts[4] = {0};
    if (spot->source) {
        struct place start = source_place(spot->source, spot->span.start, COLUMN_CODE_POINTS);
        struct place end = source_place(spot->source, spot->span.end, COLUMN_CODE_POINTS);
        counts[0] = start.line, counts[1] = start.column;
        counts[2] = end.line, counts[3] = end.column;
    }
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        json_key(json, keys[i]);
        if (spot->source)
            json_count(json, counts[i]);
        else
            json_nothing(json);
    }
}

/* Of a place in a file that others take in: which file, and who takes it in, nearest first. */
static void add_chain(struct json *json, const struct source *source)
{
    if (!source || !source->taker)
        return;
    json_key(json, "path"), json_view(json, source->name);
    json_key(json, "taken_in_by"), json_open(json, '[');
    for (; source->taker; source = source->taker) {
        const struct finding_spot at = {.source = source->taker, .span = source->taken_at};
        json_open(json, '{');
        json_key(json, "path"), json_view(json, source->taker->name);
        add_place(json, &at);
        json_close(json, '}');
    }
    json_close(json, ']');
}

static void add_related(struct json *json, const struct finding *finding)
{
    json_key(json, "related"), json_open(json, '[');
    for (size_t i = 0; i < finding->related_count; i++) {
        const struct finding_spot *spot = &finding->related[i];
        json_open(json, '{');
        json_key(json, "field"), json_text(json, spot->field);
        json_key(json, "path");
        if (spot->source)
            json_view(json, spot->source->name);
        else
            json_nothing(json);
        add_place(json, spot);
        json_key(json, "text"), json_text(json, spot->text);
        json_close(json, '}');
    }
    json_close(json, ']');
}

static void add_margin(struct json *json, const struct finding *finding)
{
    json_key(json, "margin");
    if (!finding->has_margin) {
        json_nothing(json);
        return;
    }
    json_open(json, '{');
    json_key(json, "si"), json_number(json, finding->margin);
    json_key(json, "dimension");
    json_text(json, dimension_name(finding->dimension, json->out->arena));
    json_key(json, "text"), json_text(json, finding->margin_text);
    json_close(json, '}');
}

/* Changes of bytes that would put it right; offsets count from the first byte of the file. */
static void add_fixes(struct json *json, const struct finding *finding)
{
    json_key(json, "fixes"), json_open(json, '[');
    for (size_t i = 0; i < finding->fix_count; i++) {
        const struct finding_fix *fix = &finding->fixes[i];
        json_open(json, '{');
        json_key(json, "title"), json_text(json, fix->title);
        json_key(json, "path"), json_view(json, fix->source->name);
        json_key(json, "offset"), json_count(json, fix->span.start);
        json_key(json, "length"), json_count(json, fix->span.end - fix->span.start);
        json_key(json, "text"), json_text(json, fix->text);
        json_key(json, "why"), json_text(json, fix->why);
        json_key(json, "asks"), json_text(json, fix->asks);
        json_close(json, '}');
    }
    json_close(json, ']');
}

static void add_tolerances(struct json *json, const struct finding *finding)
{
    json_key(json, "tolerances"), json_open(json, '[');
    for (size_t i = 0; i < finding->share_count; i++) {
        json_open(json, '{');
        json_key(json, "name"), json_text(json, finding->shares[i].name);
        json_key(json, "si"), json_number(json, finding->shares[i].si);
        json_close(json, '}');
    }
    json_close(json, ']');
}

static void add_waived(struct json *json, const struct finding *finding)
{
    json_key(json, "waived");
    if (finding->outcome != OUTCOME_WAIVED) {
        json_nothing(json);
        return;
    }
    json_open(json, '{');
    json_key(json, "reason"), json_text(json, finding->waived_reason);
    json_key(json, "until"), json_text(json, finding->waived_until);
    json_key(json, "accepted_by"), json_text(json, finding->waived_by);
    json_close(json, '}');
}

static void add_rival(struct json *json, const char *key, const struct finding_rival *rival)
{
    json_key(json, key), json_open(json, '{');
    json_key(json, "rule"), json_text(json, rival->rule);
    json_key(json, "subject"), json_text(json, rival->subject);
    json_key(json, "level"), json_text(json, finding_level_name(rival->level));
    json_key(json, "value"), json_text(json, rival->wants);
    json_close(json, '}');
}

static void add_conflict(struct json *json, const struct finding_conflict *conflict)
{
    if (!conflict)
        return;
    json_key(json, "conflict"), json_open(json, '{');
    json_key(json, "field"), json_text(json, conflict->field);
    add_rival(json, "wants_more", &conflict->more);
    add_rival(json, "wants_less", &conflict->less);
    json_key(json, "outweighs"), json_text(json, conflict->outweighs);
    json_close(json, '}');
}

static void add_evaluation(struct json *json, const struct finding *finding)
{
    json_open(json, '{');
    json_key(json, "rule"), json_text(json, finding->rule);
    json_key(json, "level"), json_text(json, finding_level_name(finding->level));
    json_key(json, "hurts"), json_text(json, finding_hurts_name(finding->hurts));
    json_key(json, "subject"), json_text(json, finding->subject);
    json_key(json, "outcome"), json_text(json, finding_outcome_name(finding->outcome));
    add_margin(json, finding);
    json_key(json, "field"), json_text(json, finding->at.field);
    add_place(json, &finding->at);
    add_chain(json, finding->at.source);
    add_related(json, finding);
    json_key(json, "message"), json_text(json, finding->message);
    json_key(json, "put_right"), json_text(json, finding->put_right);
    add_conflict(json, finding->conflict);
    add_fixes(json, finding);
    add_tolerances(json, finding);
    json_key(json, "missing"), json_open(json, '[');
    for (size_t i = 0; i < finding->missing_count; i++)
        json_text(json, finding->missing[i]);
    json_close(json, ']');
    json_key(json, "implied_by"), json_text(json, finding->implied_by);
    add_waived(json, finding);
    if (finding->parting)
        json_key(json, "parting"), parting_json(json, finding->parting);
    if (finding->known)
        json_key(json, "known"), json_bool(json, true);
    json_key(json, "fingerprint"), json_text(json, finding->fingerprint);
    json_close(json, '}');
}

static void add_more(struct json *json, const struct file_report *file)
{
    json_key(json, "more"), json_open(json, '[');
    for (size_t i = 0; i < file->more_count; i++) {
        json_open(json, '{');
        json_key(json, "rule"), json_text(json, file->more[i].rule);
        json_key(json, "failed"), json_count(json, file->more[i].failed);
        if (file->more[i].waived)
            json_key(json, "waived"), json_bool(json, true);
        json_close(json, '}');
    }
    json_close(json, ']');
}

static void add_rules(struct json *json, const struct file_report *file)
{
    json_key(json, "rules"), json_open(json, '{');
    for (int outcome = 0; outcome < OUTCOME_COUNT; outcome++) {
        json_key(json, finding_outcome_name((enum finding_outcome)outcome));
        json_count(json, file->rules[outcome]);
    }
    json_key(json, "inapplicable"), json_count(json, file->inapplicable);
    json_close(json, '}');
}

static void add_file(const struct layout *layout, const struct report *report)
{
    const struct file_report *file = report->findings;
    struct json json = {.out = layout->out};
    buffer_fill(layout->out, ' ', 4);
    json_open(&json, '{');
    json_key(&json, "path"), json_text(&json, layout->path);
    json_key(&json, "status"), json_text(&json, file_status_name(file->status));
    if (file->status == FILE_SHARED)
        json_key(&json, "checked_with"), json_text(&json, file->shared_by);
    json_line(&json, 6);
    json_key(&json, "evaluations"), json_open(&json, '[');
    for (size_t i = 0; i < file->count; i++) {
        if (layout->options->show == SHOW_WAIVED && file->findings[i].outcome != OUTCOME_WAIVED)
            continue;
        json_line(&json, 8);
        add_evaluation(&json, &file->findings[i]);
        if (layout->options->pass_on && layout->out->size >= PART)
            layout->options->pass_on(layout->options->user, layout->out);
    }
    json_close(&json, ']');
    json_line(&json, 6);
    add_more(&json, file);
    json_line(&json, 6);
    add_rules(&json, file);
    json_close(&json, '}');
}

static void add_levels(struct json *json, const size_t by_level[LEVEL_COUNT])
{
    for (int level = LEVEL_COUNT; level-- > 0;) {
        json_key(json, finding_level_name((enum finding_level)level));
        json_count(json, by_level[level]);
    }
}

static void add_end(const struct layout *layout, const struct run_totals *totals)
{
    struct json json = {.out = layout->out, .follows = true};
    json_close(&json, ']');
    json_line(&json, 2);
    json_key(&json, "counts"), json_open(&json, '{');
    add_levels(&json, totals->by_level);
    json_key(&json, "files"), json_count(&json, totals->files);
    json_key(&json, "unreadable"), json_count(&json, totals->unreadable);
    if (totals->ignored)
        json_key(&json, "ignored"), json_count(&json, totals->ignored);
    json_key(&json, "waived"), json_open(&json, '{');
    add_levels(&json, totals->waived_by_level);
    json_close(&json, '}');
    if (layout->options->knows) {
        json_key(&json, "known"), json_open(&json, '{');
        add_levels(&json, totals->known_by_level);
        json_close(&json, '}');
    }
    json_close(&json, '}');
    json_close(&json, '}');
    buffer_byte(layout->out, '\n');
}

const struct report_writer findings_json = {
    .tells_held = true,
    .between = ",\n",
    .begin = add_begin,
    .file = add_file,
    .end = add_end,
};
