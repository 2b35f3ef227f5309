/* The library's public face: records of one check, copied into plain structs. */
#include <proveout/check.h>
#include <proveout/version.h>

#include <setjmp.h>
#include <stdlib.h>

#include "rules/check.h"

struct proveout_result {
    struct arena arena;
    struct arena_host host;
    jmp_buf exhausted;
    struct file_report report;
    struct proveout_finding *findings;
};

const char *proveout_version(void)
{
    return PROVEOUT_VERSION;
}

static void no_memory(void *user)
{
    struct proveout_result *result = user;
    longjmp(result->exhausted, 1);
}

static void copy_finding(const struct finding *from, struct proveout_finding *to)
{
    *to = (struct proveout_finding){
        .rule = from->rule,
        .level = (enum proveout_level)from->level,
        .outcome = (enum proveout_outcome)from->outcome,
        .subject = from->subject,
        .has_margin = from->has_margin,
        .margin = from->has_margin ? from->margin : 0,
        .margin_text = from->has_margin ? from->margin_text : NULL,
        .field = from->at.field,
        .message = from->message,
        .why = from->why,
        .put_right = from->put_right,
        .implied_by = from->implied_by,
    };
    if (!from->at.source)
        return;
    struct place start = source_place(from->at.source, from->at.span.start, COLUMN_CODE_POINTS);
    struct place end = source_place(from->at.source, from->at.span.end, COLUMN_CODE_POINTS);
    to->line = start.line;
    to->column = start.column;
    to->end_line = end.line;
    to->end_column = end.column;
}

static void check(struct proveout_result *result, const char *name, struct view bytes,
                  const struct proveout_options *options)
{
    static const struct rulebook *const books[] = {&builtin_rulebook};
    const struct check_options checking = {
        .books = books,
        .book_count = 1,
        .show = options && options->held ? SHOW_DEFAULT : SHOW_FAILED,
        .words = true,
        .remedies = true,
    };
    struct arena *arena = &result->arena;
    /* One byte more than the limit is enough for it to be found too large. */
    if (bytes.size > SOURCE_SIZE_MAX + (size_t)1)
        bytes.size = SOURCE_SIZE_MAX + (size_t)1;
    struct view copy = {arena_copy(arena, bytes.data, bytes.size), bytes.size};
    struct view path = {arena_copy(arena, name, strlen(name)), strlen(name)};
    check_bytes(arena, &checking, path, copy, &result->report);
    result->findings = ARENA_ARRAY(arena, struct proveout_finding, result->report.count);
    for (size_t i = 0; i < result->report.count; i++)
        copy_finding(&result->report.findings[i], &result->findings[i]);
}

/* What the guarded check needs, in memory, where a jump back cannot lose it. */
struct request {
    struct proveout_result *result;
    const char *name;
    struct view bytes;
    const struct proveout_options *options;
};

/* False where memory ran out on the way. */
static bool check_guarded(const struct request *request)
{
    if (setjmp(request->result->exhausted))
        return false;
    check(request->result, request->name, request->bytes, request->options);
    return true;
}

struct proveout_result *proveout_check(const char *name, const void *bytes, size_t size,
                                       const struct proveout_options *options)
{
    struct request request = {
        calloc(1, sizeof(struct proveout_result)), name, {bytes, size}, options};
    if (!request.result)
        return NULL;
    request.result->host = (struct arena_host){no_memory, request.result};
    arena_init(&request.result->arena, &request.result->host);
    if (check_guarded(&request))
        return request.result;
    proveout_free(request.result);
    return NULL;
}

void proveout_free(struct proveout_result *result)
{
    if (!result)
        return;
    arena_free(&result->arena);
    free(result);
}

enum proveout_status proveout_status(const struct proveout_result *result)
{
    return (enum proveout_status)result->report.status;
}

size_t proveout_findings(const struct proveout_result *result, enum proveout_level level)
{
    return (unsigned)level < LEVEL_COUNT ? result->report.findings_by_level[level] : 0;
}

size_t proveout_count(const struct proveout_result *result)
{
    return result->report.count;
}

const struct proveout_finding *proveout_finding(const struct proveout_result *result,
                                                size_t index)
{
    return index < result->report.count ? &result->findings[index] : NULL;
}
