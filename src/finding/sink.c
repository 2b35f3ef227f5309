/* The sink: takes the reader's findings, keeps the first of each name, counts all. */
#include "finding/sink.h"

#include "base/buffer.h"

void sink_init(struct finding_sink *sink, struct arena *arena, struct source *source)
{
    *sink = (struct finding_sink){.arena = arena, .source = source};
}

static const char *copy_or_null(struct arena *arena, const char *text)
{
    return text ? arena_copy(arena, text, strlen(text)) : NULL;
}

struct finding *sink_report(struct finding_sink *sink, enum reader_finding name,
                            struct span span, const char *field, const char *format, ...)
{
    const char *rule = reader_finding_name(name);
    if (sink->counts[name]++ >= FINDINGS_A_NAME)
        return NULL;
    struct buffer message;
    buffer_init(&message, sink->arena);
    va_list arguments;
    va_start(arguments, format);
    buffer_format_list(&message, format, arguments);
    va_end(arguments);
    struct finding finding = {
        .rule = rule,
        .level = reader_finding_level(name),
        .outcome = OUTCOME_FAILED,
        .at = {.field = copy_or_null(sink->arena, field), .source = sink->source, .span = span},
        .message = buffer_string(&message),
        .from_reader = true,
    };
    VECTOR_ADD(sink->arena, &sink->findings, finding);
    return &sink->findings.items[sink->findings.count - 1];
}

void finding_relate(struct finding_sink *sink, struct finding *finding, struct span span,
                    const char *field, const char *text)
{
    if (!finding)
        return;
    size_t count = finding->related_count;
    struct finding_spot *spots = ARENA_ARRAY(sink->arena, struct finding_spot, count + 1);
    if (count)
        memcpy(spots, finding->related, count * sizeof *spots);
    spots[count] = (struct finding_spot){
        .field = copy_or_null(sink->arena, field),
        .source = sink->source,
        .span = span,
        .text = copy_or_null(sink->arena, text),
    };
    finding->related = spots;
    finding->related_count = count + 1;
}

void finding_fix(struct arena *arena, struct finding *finding, struct span span,
                 const char *text, const char *title)
{
    if (!finding)
        return;
    const struct finding_fix fix = {
        .title = title, .source = finding->at.source, .span = span, .text = text};
    finding_offer(arena, finding, &fix);
}

void finding_offer(struct arena *arena, struct finding *finding, const struct finding_fix *fix)
{
    struct finding_fix *fixes = ARENA_ARRAY(arena, struct finding_fix, finding->fix_count + 1);
    if (finding->fix_count)
        memcpy(fixes, finding->fixes, finding->fix_count * sizeof *fixes);
    fixes[finding->fix_count++] = *fix;
    finding->fixes = fixes;
}
