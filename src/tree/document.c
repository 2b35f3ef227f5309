/* What stands around the one document of a file: lines with `%` before it, nothing after it. */
#include "tree/internal.h"

enum {
    DIRECTIVES_MAX = 16, /* libyaml compares each `%TAG` line with each */
};

bool check_directives(struct reader *reader)
{
    struct view bytes = reader->source->bytes;
    uint32_t at = skip_to_content(bytes, reader->base);
    for (int count = 0; at < bytes.size && bytes.data[at] == '%'; count++) {
        if (count == DIRECTIVES_MAX) {
            sink_report(reader->sink, READER_NOT_YAML, (struct span){at, at + 1}, NULL,
                        "more than %d lines begin with '%%'; none is needed", DIRECTIVES_MAX);
            return false;
        }
        at = skip_to_content(bytes, line_around(bytes, at).end);
    }
    return true;
}

void report_empty(struct reader *reader)
{
    bool is_empty = reader->source->bytes.size == reader->base;
    sink_report(
        reader->sink, READER_NOT_YAML, (struct span){reader->base, reader->base}, NULL,
        is_empty ? "the file is empty; keys with values are wanted, such as 'name: value'"
                 : "the file holds no keys; keys with values are wanted, as in 'name: value'");
}

void report_second_document(struct reader *reader, uint32_t at)
{
    struct view bytes = reader->source->bytes;
    struct span span = {at, line_around(bytes, at).end};
    if (view_starts(view_skip(bytes, at), "---"))
        span.end = at + 3;
    struct finding *finding =
        sink_report(reader->sink, READER_SECOND_DOCUMENT, span, NULL,
                    "a second document begins here; one file describes one machine");
    if (finding)
        finding->put_right = "keep each in a file of its own";
}

bool check_rest(struct reader *reader, uint32_t at, bool is_implicit)
{
    struct view bytes = reader->source->bytes;
    at = skip_to_content(bytes, at);
    while (line_around(bytes, at).start == at && view_starts(view_skip(bytes, at), "..."))
        at = skip_to_content(bytes, at + 3);
    reader->is_whole = true;
    if (at >= reader->base + reader->bytes.size)
        return false;
    bool is_line = line_around(bytes, at).start == at;
    if (is_implicit && is_line && bytes.data[at] == '%') {
        report_directive(reader, at);
        reader->is_whole = false;
    } else if (is_implicit && !(is_line && view_starts(view_skip(bytes, at), "---"))) {
        reader->is_whole = false;
        return true;
    } else {
        report_second_document(reader, at);
    }
    return false;
}
