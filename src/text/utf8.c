/* UTF-8 by its definition (RFC 3629): no overlong form, no surrogate, nothing beyond U+10FFFF.
 *
 * Texts are nearly all ASCII, so the check steps over eight such bytes at a time.
 */
#include "text/utf8.h"

#include "text/internal.h"

/* The byte ranges that may follow a first byte differ only for the second. */
static bool continues(unsigned char byte)
{
    return (byte & 0xc0) == 0x80;
}

static size_t read_two(const unsigned char *b, size_t size, uint32_t *point)
{
    if (b[0] < 0xc2 || size < 2 || !continues(b[1]))
        return 0;
    *point = (uint32_t)(b[0] & 0x1f) << 6 | (b[1] & 0x3fu);
    return 2;
}

static size_t read_three(const unsigned char *b, size_t size, uint32_t *point)
{
    if (size < 3 || !continues(b[1]) || !continues(b[2]))
        return 0;
    uint32_t value = (uint32_t)(b[0] & 0x0f) << 12 | (b[1] & 0x3fu) << 6 | (b[2] & 0x3fu);
    if (value < 0x800 || (value >= 0xd800 && value <= 0xdfff))
        return 0;
    *point = value;
    return 3;
}

static size_t read_four(const unsigned char *b, size_t size, uint32_t *point)
{
    if (size < 4 || !continues(b[1]) || !continues(b[2]) || !continues(b[3]))
        return 0;
    uint32_t value = (uint32_t)(b[0] & 0x07) << 18 | (b[1] & 0x3fu) << 12 |
                     (b[2] & 0x3fu) << 6 | (b[3] & 0x3fu);
    if (value < 0x10000 || value > 0x10ffff)
        return 0;
    *point = value;
    return 4;
}

size_t utf8_read(struct view text, uint32_t *point)
{
    const unsigned char *b = (const unsigned char *)text.data;
    if (b[0] < 0x80) {
        *point = b[0];
        return 1;
    }
    if (b[0] < 0xe0)
        return read_two(b, text.size, point);
    if (b[0] < 0xf0)
        return read_three(b, text.size, point);
    if (b[0] < 0xf8)
        return read_four(b, text.size, point);
    return 0;
}

size_t utf8_write(uint32_t point, char bytes[4])
{
    static const unsigned char firsts[] = {0, 0, 0xc0, 0xe0, 0xf0};
    size_t size = point < 0x80 ? 1 : point < 0x800 ? 2 : point < 0x10000 ? 3 : 4;
    if (point > 0x10ffff || (point >= 0xd800 && point <= 0xdfff))
        return 0;
    for (size_t i = size; i-- > 1; point >>= 6)
        bytes[i] = (char)(0x80 | (point & 0x3f));
    bytes[0] = (char)(firsts[size] | point);
    return size;
}

size_t utf8_check(struct view text)
{
    size_t at = 0;
    while (at < text.size) {
        uint64_t eight;
        while (text.size - at >= sizeof eight) {
            memcpy(&eight, text.data + at, sizeof eight);
            if (eight & 0x8080808080808080u)
                break;
            at += sizeof eight;
        }
        if (at == text.size)
            break;
        uint32_t point;
        size_t size = utf8_read(view_skip(text, at), &point);
        if (size == 0)
            return at;
        at += size;
    }
    return text.size;
}

bool point_set_has(const struct point_set *set, uint32_t point)
{
    size_t low = 0, high = set->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (point > set->ranges[middle].last)
            low = middle + 1;
        else if (point < set->ranges[middle].first)
            high = middle;
        else
            return true;
    }
    return false;
}

int utf8_width(uint32_t point)
{
    if (point >= 0x20 && point < 0x7f)
        return 1;
    if (point_set_has(&width_zero, point))
        return 0;
    return point_set_has(&width_two, point) ? 2 : 1;
}

static bool is_blank(uint32_t point)
{
    static const struct point_range ranges[] = {
        {0, 0x20},        {0x7f, 0xa0},     {0x1680, 0x1680}, {0x2000, 0x200a},
        {0x2028, 0x2029}, {0x202f, 0x202f}, {0x205f, 0x205f}, {0x2800, 0x2800} /* no dots */,
        {0x3000, 0x3000}};
    static const struct point_set blanks = {ranges, sizeof ranges / sizeof *ranges};
    return point_set_has(&blanks, point) || point_set_has(&width_zero, point) ||
           point_set_has(&points_invisible, point);
}

bool utf8_is_blank(struct view text)
{
    while (text.size) {
        uint32_t point;
        size_t size = utf8_read(text, &point);
        if (!size || !is_blank(point))
            return false;
        text = view_skip(text, size);
    }
    return true;
}

size_t utf8_cells(struct view text)
{
    size_t cells = 0;
    while (text.size) {
        uint32_t point;
        size_t size = utf8_read(text, &point);
        cells += size ? (size_t)utf8_width(point) : 1;
        text = view_skip(text, size ? size : 1);
    }
    return cells;
}
