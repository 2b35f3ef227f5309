/* A number of which the controller's own file says something else: where both stand, and what
 * rests on it, in words and as JSON. */
#include "report/internal.h"

#include "text/escape.h"

enum { PATH_CELLS = 60, TEXT_CELLS = 30 };

const char *parting_rests(struct arena *arena, const struct finding_parting *parting)
{
    struct buffer out;
    buffer_init(&out, arena);
    if (!parting->is_counted)
        return "which margins rest on it is not told";
    if (!parting->margins)
        return "no margin rests on it";
    buffer_format(&out, "%zu margin%s on it", parting->margins,
                  parting->margins == 1 ? " rests" : "s rest");
    if (parting->failing)
        buffer_format(&out, ", of which %zu fail%s with the controller's number",
                      parting->failing, parting->failing == 1 ? "s" : "");
    buffer_format(&out, "; the tightest then is %s%s%s%s: %s, where this file has %s",
                  parting->rule, parting->subject ? " (" : "",
                  parting->subject ? parting->subject : "", parting->subject ? ")" : "",
                  parting->margin_there, parting->margin_here);
    return buffer_string(&out);
}

static void add_side(struct buffer *out, const struct finding_spot *spot, const char *says)
{
    struct arena *arena = out->arena;
    struct place place = source_place(spot->source, spot->span.start, COLUMN_CODE_POINTS);
    buffer_format(out, "%s:%u says %s", escape_short(arena, spot->source->name, PATH_CELLS),
                  (unsigned)place.line, escape_short(arena, view_of(says), TEXT_CELLS));
}

const char *parting_text(struct arena *arena, const struct finding *finding)
{
    struct buffer out;
    buffer_init(&out, arena);
    add_side(&out, &finding->at, finding->parting->here);
    buffer_text(&out, ", ");
    add_side(&out, &finding->related[0], finding->parting->there);
    buffer_format(&out, "; %s", parting_rests(arena, finding->parting));
    return buffer_string(&out);
}

const struct finding *parting_next(const struct file_report *file, size_t *at)
{
    while (*at < file->count) {
        const struct finding *finding = &file->findings[(*at)++];
        if (finding->parting && finding->outcome == OUTCOME_FAILED && finding->at.source &&
            finding->related_count && finding->related[0].source)
            return finding;
    }
    return NULL;
}

void parting_json(struct json *json, const struct finding_parting *parting)
{
    json_open(json, '{');
    json_key(json, "here"), json_text(json, parting->here);
    json_key(json, "there"), json_text(json, parting->there);
    json_key(json, "margins");
    if (parting->is_counted)
        json_count(json, parting->margins);
    else
        json_nothing(json);
    json_key(json, "failing_there");
    if (parting->is_counted)
        json_count(json, parting->failing);
    else
        json_nothing(json);
    json_key(json, "tightest");
    if (parting->rule) {
        json_open(json, '{');
        json_key(json, "rule"), json_text(json, parting->rule);
        json_key(json, "subject"), json_text(json, parting->subject);
        json_key(json, "here"), json_text(json, parting->margin_here);
        json_key(json, "there"), json_text(json, parting->margin_there);
        json_close(json, '}');
    } else {
        json_nothing(json);
    }
    json_close(json, '}');
}
