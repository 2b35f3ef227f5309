#include "server/lines.h"

#include "base/vector.h"
#include "text/utf8.h"

/* Where the line ends that begins at `at`: before what ends it. */
static size_t line_end(struct view text, size_t at)
{
    while (at < text.size && text.data[at] != '\n' && text.data[at] != '\r')
        at++;
    return at;
}

/* Behind what ends a line at `end`. */
static size_t behind_end(struct view text, size_t end)
{
    bool is_pair = end + 1 < text.size && text.data[end] == '\r' && text.data[end + 1] == '\n';
    return end + (is_pair ? 2 : 1);
}

/* How many units the character at the start of `text` counts; `*size` is its bytes. */
static size_t units_of(struct view text, enum line_units units, size_t *size)
{
    uint32_t point = 0;
    *size = (unsigned char)text.data[0] < 0x80 ? 1 : utf8_read(text, &point);
    if (!*size)
        *size = 1;
    if (units == UNITS_UTF8)
        return *size;
    return units == UNITS_UTF16 && point > 0xffff ? 2 : 1;
}

/* The bytes of a line that come before so many units. */
static size_t bytes_before(struct view line, size_t character, enum line_units units)
{
    size_t at = 0, size;
    while (at < line.size) {
        size_t count = units_of(view_skip(line, at), units, &size);
        if (count > character)
            break;
        character -= count;
        at += size;
    }
    return at;
}

/* The units of the characters that begin before `end`. */
static size_t units_before(struct view line, size_t end, enum line_units units)
{
    size_t at = 0, count = 0, size;
    while (at < end) {
        size_t more = units_of(view_skip(line, at), units, &size);
        if (at + size > end)
            break;
        count += more;
        at += size;
    }
    return count;
}

static size_t offset_in_line(struct view text, size_t start, struct position position,
                             enum line_units units)
{
    struct view line = {text.data + start, line_end(text, start) - start};
    return start + bytes_before(line, position.character, units);
}

size_t position_offset(struct view text, struct position position, enum line_units units)
{
    size_t start = 0;
    for (size_t line = 0; line < position.line; line++) {
        size_t end = line_end(text, start);
        if (end >= text.size)
            return text.size;
        start = behind_end(text, end);
    }
    return text.size ? offset_in_line(text, start, position, units) : 0;
}

void lines_find(struct lines *lines, struct arena *arena, struct view text)
{
    VECTOR(size_t) starts = {0};
    VECTOR_ADD(arena, &starts, 0);
    for (size_t end = line_end(text, 0); end < text.size;) {
        size_t start = behind_end(text, end);
        VECTOR_ADD(arena, &starts, start);
        end = line_end(text, start);
    }
    *lines = (struct lines){.text = text, .starts = starts.items, .count = starts.count};
}

/* The last line that begins at or before an offset. */
static size_t line_of(const struct lines *lines, size_t offset)
{
    size_t low = 0, high = lines->count;
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (lines->starts[middle] <= offset)
            low = middle;
        else
            high = middle;
    }
    return low;
}

/* Where the line begins for whoever counts. */
static size_t counted_start(const struct lines *lines, size_t line)
{
    bool has_mark = lines->hides_mark && line == 0 && view_starts(lines->text, "\xef\xbb\xbf");
    return lines->starts[line] + (has_mark ? 3 : 0);
}

struct position lines_position(const struct lines *lines, size_t offset, enum line_units units)
{
    if (offset > lines->text.size)
        offset = lines->text.size;
    size_t line = line_of(lines, offset), start = counted_start(lines, line);
    size_t end = line_end(lines->text, lines->starts[line]);
    if (offset > end)
        offset = end;
    size_t character = offset > start
                           ? units_before((struct view){lines->text.data + start, end - start},
                                          offset - start, units)
                           : 0;
    return (struct position){line, character};
}

size_t lines_offset(const struct lines *lines, struct position position, enum line_units units)
{
    if (position.line >= lines->count)
        return lines->text.size;
    size_t start = counted_start(lines, position.line);
    return lines->text.size ? offset_in_line(lines->text, start, position, units) : 0;
}

size_t lines_end(const struct lines *lines, size_t line)
{
    return line < lines->count ? line_end(lines->text, lines->starts[line]) : lines->text.size;
}
