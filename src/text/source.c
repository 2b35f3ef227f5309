/* Lines and places.
 *
 * How many lines end before each stride of the file is counted when the first place is asked
 * for: a file without findings never pays for it, and one of nothing but line ends no more than
 * any other. The last place counted is kept, so that many findings on one long line cost no
 * more than one pass over it.
 */
#include "text/source.h"

#include "base/bug.h"
#include "text/utf8.h"

enum { STRIDE = 128 };

static const char byte_order_mark[] = "\xef\xbb\xbf";

void source_init(struct source *source, struct arena *arena, struct view name,
                 struct view bytes)
{
    BUG_UNLESS(bytes.size <= UINT32_MAX - 1);
    *source = (struct source){.name = name, .bytes = bytes, .arena = arena};
}

uint32_t source_mark_size(const struct source *source)
{
    return view_starts(source->bytes, byte_order_mark) ? 3 : 0;
}

/* Does a line begin at `at`, which is past the first byte? */
static bool starts_line(struct view bytes, uint32_t at)
{
    char before = bytes.data[at - 1];
    return before == '\n' || (before == '\r' && (at == bytes.size || bytes.data[at] != '\n'));
}

/* How many lines begin behind `from`, up to and with `to`. */
static uint32_t count_starts(struct view bytes, uint32_t from, uint32_t to)
{
    uint32_t count = 0;
    for (uint32_t at = from + 1; at <= to; at++)
        count += starts_line(bytes, at);
    return count;
}

static void make_strides(struct source *source)
{
    if (source->strides)
        return;
    uint32_t size = (uint32_t)source->bytes.size, count = 0;
    source->strides = arena_alloc(source->arena, (size / STRIDE + 1) * sizeof(uint32_t));
    for (uint32_t i = 0; i <= size / STRIDE; i++) {
        uint32_t start = i * STRIDE, end = size - start < STRIDE ? size : start + STRIDE;
        source->strides[i] = count;
        count += count_starts(source->bytes, start, end);
    }
    source->line_count = count + 1;
}

/* The line (from 0) in which `offset` lies. */
static uint32_t find_line(const struct source *source, uint32_t offset)
{
    uint32_t stride = offset / STRIDE;
    return source->strides[stride] + count_starts(source->bytes, stride * STRIDE, offset);
}

/* Where line `line` (from 0) begins; that behind the last, at the end. */
static uint32_t find_start(const struct source *source, uint32_t line)
{
    if (line == 0)
        return 0;
    if (line == source->line_count)
        return (uint32_t)source->bytes.size;
    uint32_t low = 0, high = (uint32_t)source->bytes.size / STRIDE + 1;
    while (high - low > 1) {
        uint32_t middle = low + (high - low) / 2;
        if (source->strides[middle] < line)
            low = middle;
        else
            high = middle;
    }
    uint32_t at = low * STRIDE;
    for (uint32_t left = line - source->strides[low]; left;
         left -= starts_line(source->bytes, at))
        at++;
    return at;
}

/* Counts on from the kept place to `offset`, or from the start of its line. */
static void count_to(struct source *source, uint32_t line, uint32_t offset)
{
    struct source_count *kept = &source->kept;
    if (kept->line != line || kept->offset > offset || !kept->is_set) {
        uint32_t start = find_start(source, line);
        if (line == 0)
            start += source_mark_size(source);
        *kept = (struct source_count){.is_set = true, .line = line, .offset = start};
    }
    while (kept->offset < offset) {
        uint32_t point;
        size_t size = utf8_read(view_skip(source->bytes, kept->offset), &point);
        size_t step = size ? size : 1;
        if (kept->offset + step > offset)
            break; /* inside a character: its own column */
        kept->offset += (uint32_t)step;
        kept->points++;
    }
}

struct place source_place(struct source *source, uint32_t offset, enum column_kind kind)
{
    make_strides(source);
    if (offset > source->bytes.size)
        offset = (uint32_t)source->bytes.size;
    uint32_t line = find_line(source, offset);
    if (kind == COLUMN_BYTES) {
        uint32_t start = find_start(source, line) + (line == 0 ? source_mark_size(source) : 0);
        return (struct place){line + 1, offset > start ? offset - start + 1 : 1};
    }
    count_to(source, line, offset);
    return (struct place){line + 1, source->kept.points + 1};
}

struct span source_line(struct source *source, uint32_t line)
{
    make_strides(source);
    BUG_UNLESS(line >= 1 && line <= source->line_count);
    struct span span = {find_start(source, line - 1), find_start(source, line)};
    if (line == 1)
        span.start += source_mark_size(source);
    const char *data = source->bytes.data;
    if (span.end > span.start && data[span.end - 1] == '\n')
        span.end--;
    if (span.end > span.start && data[span.end - 1] == '\r')
        span.end--;
    return span;
}

void source_join(struct source *first, struct source *other)
{
    struct source *last = first;
    while (last->next)
        last = last->next;
    /* One apart, so that the end of a file is no place of the next. */
    other->base = last->base + (uint32_t)last->bytes.size + 1;
    last->next = other;
}

struct source *source_holding(struct source *first, struct span *span)
{
    struct source *found = first;
    if (first->base)
        return first;
    while (found->next && found->next->base <= span->start)
        found = found->next;
    *span = (struct span){span->start - found->base, span->end - found->base};
    return found;
}

struct view source_slice(const struct source *first, struct span span)
{
    const struct source *source = source_holding((struct source *)first, &span);
    uint32_t size = (uint32_t)source->bytes.size;
    uint32_t end = span.end < size ? span.end : size;
    uint32_t start = span.start < end ? span.start : end;
    return (struct view){source->bytes.size ? source->bytes.data + start : NULL, end - start};
}

uint32_t source_offset_of_point(const struct source *source, size_t point, uint32_t *hint,
                                size_t *hint_points)
{
    uint32_t at = *hint;
    size_t count = *hint_points;
    if (at == 0 && count == 0)
        at = source_mark_size(source);
    const unsigned char *data = (const unsigned char *)source->bytes.data;
    size_t size = source->bytes.size;
    for (; count < point && at < size; count++)
        for (at++; at < size && (data[at] & 0xc0) == 0x80;)
            at++;
    for (; count > point && at > 0; count--)
        for (at--; at > 0 && (data[at] & 0xc0) == 0x80;)
            at--;
    *hint = at;
    *hint_points = count;
    return at;
}
