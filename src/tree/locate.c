/* Where things stand in the bytes: libyaml's marks, and what lies around a place.
 *
 * Marks count code points from behind the byte order mark: the file is known as runs of
 * characters of one length, a single run in most files, a few where somebody writes `±`.  Only
 * a file with very many is counted through.
 */
#include "tree/internal.h"

void locate_note(struct reader *reader, uint32_t offset, uint32_t width)
{
    struct run run = {0, offset, width, UINT32_MAX};
    if (reader->runs.count) {
        struct run *last = &reader->runs.items[reader->runs.count - 1];
        if (last->width == width || reader->runs.count > RUNS_MAX)
            return;
        last->count = (offset - last->offset) / last->width;
        run.point = last->point + last->count;
    }
    VECTOR_ADD(reader->arena, &reader->runs, run);
}

/* The last run that begins at or before a mark. */
static const struct run *find_run(const struct reader *reader, size_t index)
{
    const struct run *runs = reader->runs.items;
    size_t low = 0, high = reader->runs.count;
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (runs[middle].point <= index)
            low = middle;
        else
            high = middle;
    }
    return &runs[low];
}

uint32_t locate_far(struct reader *reader, size_t index)
{
    if (reader->runs.count > RUNS_MAX)
        return source_offset_of_point(reader->source, index, &reader->hint,
                                      &reader->hint_points);
    reader->run = *find_run(reader, index);
    return reader->run.offset + (uint32_t)(index - reader->run.point) * reader->run.width;
}

uint32_t skip_to_content(struct view bytes, uint32_t at)
{
    bool starts = at == 0 || (at == 3 && view_starts(bytes, "\xef\xbb\xbf"));
    bool may_comment = starts || is_blank(bytes.data[at - 1]) || is_break(bytes.data[at - 1]);
    for (; at < bytes.size; at++) {
        char c = bytes.data[at];
        if (is_blank(c) || is_break(c)) {
            may_comment = true;
        } else if (c == '#' && may_comment) {
            while (at + 1 < bytes.size && !is_break(bytes.data[at + 1]))
                at++;
        } else {
            break;
        }
    }
    return at;
}

static bool ends_property(char c, bool is_anchor)
{
    if (is_blank(c) || is_break(c))
        return true;
    return c && strchr(is_anchor ? "?:,]}%@`" : ",[]{}", c);
}

uint32_t skip_properties(struct view bytes, uint32_t at, int count, uint32_t *end)
{
    *end = at;
    for (; count > 0 && at < bytes.size; count--) {
        bool is_anchor = bytes.data[at] == '&';
        bool is_verbatim = !is_anchor && at + 1 < bytes.size && bytes.data[at + 1] == '<';
        for (at++; at < bytes.size; at++) {
            char c = bytes.data[at];
            if (is_verbatim ? c == '>' : ends_property(c, is_anchor))
                break;
        }
        if (is_verbatim && at < bytes.size)
            at++;
        *end = at;
        at = skip_to_content(bytes, at);
    }
    return at;
}

uint32_t after_colon(struct view bytes, uint32_t at, uint32_t next)
{
    uint32_t colon = skip_to_content(bytes, at);
    return colon < next && bytes.data[colon] == ':' ? colon + 1 : at;
}

struct span trim_block_text(struct view bytes, struct span span, bool is_empty)
{
    if (is_empty) {
        uint32_t end = span.start + 1;
        while (end < span.end && bytes.data[end] && strchr("+-0123456789", bytes.data[end]))
            end++;
        return (struct span){span.start, end};
    }
    while (span.end > span.start + 1 &&
           (is_blank(bytes.data[span.end - 1]) || is_break(bytes.data[span.end - 1])))
        span.end--;
    return span;
}

struct span line_around(struct view bytes, uint32_t at)
{
    struct span line = {at, at};
    while (line.start > 0 && !is_break(bytes.data[line.start - 1]))
        line.start--;
    while (line.end < bytes.size && !is_break(bytes.data[line.end]))
        line.end++;
    return line;
}
