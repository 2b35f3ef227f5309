/* Advances of letters. */
#include "draw/letters.h"

#include "base/buffer.h"
#include "text/escape.h"
#include "text/utf8.h"

enum { FIRST = 0x20, LAST = 0x7E, NARROW = 667, WIDE = 1000, EM = 1000 };

/* Of the letters from blank to tilde, in thousandths of the size: those of the usual sans-serif
 * letters, which other fonts are near. */
static const uint16_t advances[LAST - FIRST + 1] = {
    278,  278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, /* to / */
    556,  556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, /* to ? */
    1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778, /* to O */
    667,  778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556, /* to _ */
    333,  556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556, /* to o */
    556,  556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,      /* to ~ */
};

/* Thousandths of the size; `*size` bytes. */
static int32_t advance(struct view text, size_t *size)
{
    uint32_t point = 0;
    *size = utf8_read(text, &point);
    if (!*size) {
        *size = 1;
        return WIDE;
    }
    if (point >= FIRST && point <= LAST)
        return advances[point - FIRST];
    static const int32_t by_cells[] = {0, NARROW, WIDE};
    return by_cells[utf8_width(point)];
}

/* Bold ones are some 8 % wider. */
static int32_t to_paper(int64_t thousandths, bool bold)
{
    return (int32_t)(thousandths * LETTER_SIZE / EM * (bold ? 108 : 100) / 100 + 1);
}

int32_t letters_width(struct view text, bool bold)
{
    int64_t sum = 0;
    for (size_t size; text.size; text = view_skip(text, size))
        sum += advance(text, &size);
    return to_paper(sum, bold);
}

const char *text_cut(struct arena *arena, struct view raw, size_t most)
{
    struct buffer shown;
    buffer_init(&shown, arena);
    escape_terminal(&shown, raw);
    const struct view text = buffer_view(&shown);
    size_t letters = 0, kept = 0;
    for (size_t at = 0; at < text.size; letters++) {
        uint32_t point;
        size_t size = utf8_read(view_skip(text, at), &point);
        at += size ? size : 1;
        if (letters < most)
            kept = at;
    }
    if (letters <= most)
        return arena_copy(arena, text.data, text.size);
    return arena_format(arena, "%.*s... (%zu letters)", (int)kept, text.data, letters);
}

/* May a line end at this blank?  Not between a number and its unit or its tolerance. */
static bool breaks_at(struct view text, size_t at)
{
    if (text.data[at] != ' ' || at == 0 || at + 1 >= text.size)
        return false;
    unsigned char before = (unsigned char)text.data[at - 1];
    unsigned char after = (unsigned char)text.data[at + 1];
    enum { HALF_OF_PLUS_MINUS = 0xB1, OTHER_HALF = 0xC2 };
    if (before == HALF_OF_PLUS_MINUS || after == OTHER_HALF)
        return false;
    return before < '0' || before > '9' || (after != 'm' && after != 'i');
}

struct view letters_fit(struct view text, int32_t width, bool bold, struct view *rest)
{
    int64_t sum = 0;
    size_t at = 0, end = 0;
    while (at < text.size) {
        size_t size;
        sum += advance(view_skip(text, at), &size);
        if (to_paper(sum, bold) > width && at > 0)
            break;
        at += size;
        if (at == text.size || breaks_at(text, at))
            end = at;
    }
    if (!end)
        end = at;
    *rest = view_skip(text, end);
    while (rest->size && rest->data[0] == ' ')
        *rest = view_skip(*rest, 1);
    return (struct view){text.data, end};
}
