/* The library's public face: what `check` finds, record by record. */
#include <proveout/check.h>
#include <proveout/version.h>

#include "library/result.h"
#include "mend/mend.h"

const char *proveout_version(void)
{
    return PROVEOUT_VERSION;
}

const char *proveout_rules_fingerprint(void)
{
    return builtin_fingerprint;
}

static void copy_place(struct arena *arena, const struct finding_spot *from,
                       struct proveout_place *to)
{
    *to = (struct proveout_place){.field = from->field, .text = from->text};
    if (!from->source)
        return;
    struct place start = source_place(from->source, from->span.start, COLUMN_CODE_POINTS);
    struct place end = source_place(from->source, from->span.end, COLUMN_CODE_POINTS);
    to->path = arena_copy(arena, from->source->name.data, from->source->name.size);
    to->offset = from->span.start;
    to->length = from->span.end - from->span.start;
    to->line = start.line;
    to->column = start.column;
    to->end_line = end.line;
    to->end_column = end.column;
}

static void copy_finding(struct arena *arena, const struct finding *from,
                         struct proveout_finding *to)
{
    struct proveout_place *related =
        ARENA_ARRAY(arena, struct proveout_place, from->related_count);
    struct proveout_fix *fixes = ARENA_ARRAY(arena, struct proveout_fix, from->fix_count);
    struct proveout_fix_note *notes =
        ARENA_ARRAY(arena, struct proveout_fix_note, from->fix_count);
    for (size_t i = 0; i < from->related_count; i++)
        copy_place(arena, &from->related[i], &related[i]);
    for (size_t i = 0; i < from->fix_count; i++) {
        const struct finding_fix *fix = &from->fixes[i];
        struct view path = fix->source->name;
        fixes[i] = (struct proveout_fix){
            .title = fix->title,
            .path = arena_copy(arena, path.data, path.size),
            .offset = fix->span.start,
            .length = fix->span.end - fix->span.start,
            .text = fix->text,
        };
        notes[i] = (struct proveout_fix_note){.why = fix->why, .asks = fix->asks};
    }
    *to = (struct proveout_finding){
        .rule = from->rule,
        .level = (enum proveout_level)from->level,
        .outcome = (enum proveout_outcome)from->outcome,
        .hurts = (enum proveout_hurts)from->hurts,
        .subject = from->subject,
        .has_margin = from->has_margin,
        .margin = from->has_margin ? from->margin : 0,
        .margin_text = from->has_margin ? from->margin_text : NULL,
        .related = related,
        .related_count = from->related_count,
        .message = from->message,
        .why = from->why,
        .put_right = from->put_right,
        .fixes = fixes,
        .fix_count = from->fix_count,
        .implied_by = from->implied_by,
        .waived_reason = from->waived_reason,
        .waived_by = from->waived_by,
        .fix_notes = notes,
        .fingerprint = from->fingerprint,
    };
    copy_place(arena, &from->at, &to->at);
}

void result_fill(struct request *request, struct proveout_result *result)
{
    struct arena *arena = request_arena(request);
    const struct file_report *report = &result->report;
    request_keep_status(request, report);
    result->findings = ARENA_ARRAY(arena, struct proveout_finding, report->count);
    for (size_t i = 0; i < report->count; i++)
        copy_finding(arena, &report->findings[i], &result->findings[i]);
}

static void work_out_findings(struct request *request)
{
    struct proveout_result *result = (struct proveout_result *)request->answer;
    struct arena *arena = request_arena(request);
    mender_check(mender_new(arena, &request->checking), arena, view_of(request->path),
                 request->bytes, &result->report);
    result_fill(request, result);
}

const char *proveout_policy_name(void)
{
    return POLICY_NAME;
}

struct proveout_result *proveout_check(const char *name, const void *bytes, size_t size,
                                       const struct proveout_options *options)
{
    struct question question = {
        {.path = name, .bytes = {bytes, size}}, options, work_out_findings};
    return question_answer(&question, sizeof(struct proveout_result));
}

void proveout_free(struct proveout_result *result)
{
    answer_free((struct answer *)result);
}

enum proveout_status proveout_status(const struct proveout_result *result)
{
    return result ? result->answer.status : PROVEOUT_UNREADABLE;
}

const char *proveout_trouble(const struct proveout_result *result)
{
    return result ? result->answer.trouble : NULL;
}

size_t proveout_findings(const struct proveout_result *result, enum proveout_level level)
{
    return result && (unsigned)level < LEVEL_COUNT ? result->report.findings_by_level[level]
                                                   : 0;
}

size_t proveout_count(const struct proveout_result *result)
{
    return result ? result->report.count : 0;
}

const struct proveout_finding *proveout_finding(const struct proveout_result *result,
                                                size_t index)
{
    return index < proveout_count(result) ? &result->findings[index] : NULL;
}
