/* UTF-8 and widths. */
#include <criterion/criterion.h>

#include "text/utf8.h"

struct case_read {
    const char *bytes;
    size_t size;
    uint32_t point;
};

static const struct case_read reads[] = {
    {"a", 1, 'a'},
    {"\x7f", 1, 0x7f},
    {"\xc2\x80", 2, 0x80},
    {"\xdf\xbf", 2, 0x7ff},
    {"\xe0\xa0\x80", 3, 0x800},
    {"\xed\x9f\xbf", 3, 0xd7ff},
    {"\xee\x80\x80", 3, 0xe000},
    {"\xef\xbf\xbf", 3, 0xffff},
    {"\xf0\x90\x80\x80", 4, 0x10000},
    {"\xf4\x8f\xbf\xbf", 4, 0x10ffff},
    /* Cut off, overlong, surrogates, beyond the last, never a first byte. */
    {"\xc3", 0, 0},
    {"\xe6\x97", 0, 0},
    {"\xf0\x9f\x98", 0, 0},
    {"\xc3(", 0, 0},
    {"\xc0\x80", 0, 0},
    {"\xc1\xbf", 0, 0},
    {"\xe0\x9f\xbf", 0, 0},
    {"\xf0\x8f\xbf\xbf", 0, 0},
    {"\xed\xa0\x80", 0, 0},
    {"\xed\xbf\xbf", 0, 0},
    {"\xf4\x90\x80\x80", 0, 0},
    {"\xf5\x80\x80\x80", 0, 0},
    {"\x80", 0, 0},
    {"\xff", 0, 0},
};

Test(utf8, reads)
{
    for (size_t i = 0; i < sizeof reads / sizeof *reads; i++) {
        const struct case_read *c = &reads[i];
        uint32_t point = 12345;
        size_t size = utf8_read(view_of(c->bytes), &point);
        cr_expect(size == c->size, "%zu: size %zu", i, size);
        cr_expect(point == (c->size ? c->point : 12345), "%zu: point %x", i, point);
    }
}

/* A code point as RFC 3629 has it, surrogates too; returns its bytes. */
static size_t encode(uint32_t point, char out[4])
{
    if (point < 0x80) {
        out[0] = (char)point;
        return 1;
    }
    if (point < 0x800) {
        out[0] = (char)(0xc0 | point >> 6);
        out[1] = (char)(0x80 | (point & 0x3f));
        return 2;
    }
    if (point < 0x10000) {
        out[0] = (char)(0xe0 | point >> 12);
        out[1] = (char)(0x80 | (point >> 6 & 0x3f));
        out[2] = (char)(0x80 | (point & 0x3f));
        return 3;
    }
    out[0] = (char)(0xf0 | point >> 18);
    out[1] = (char)(0x80 | (point >> 12 & 0x3f));
    out[2] = (char)(0x80 | (point >> 6 & 0x3f));
    out[3] = (char)(0x80 | (point & 0x3f));
    return 4;
}

/* Every code point is read back, and no surrogate is. */
Test(utf8, reads_every_code_point)
{
    for (uint32_t point = 0; point <= 0x10ffff; point += point < 0x11000 ? 1 : 97) {
        char bytes[4];
        uint32_t back = 0;
        size_t size = encode(point, bytes);
        bool is_surrogate = point >= 0xd800 && point <= 0xdfff;
        size_t again = utf8_read((struct view){bytes, size}, &back);
        cr_assert(is_surrogate ? again == 0 : again == size && back == point, "%x", point);
    }
}

Test(utf8, check_finds_the_first_bad_byte)
{
    char text[64];
    for (size_t at = 0; at < sizeof text; at++) {
        memset(text, 'a', sizeof text);
        cr_expect_eq(utf8_check((struct view){text, sizeof text}), sizeof text);
        text[at] = (char)0xb5;
        cr_expect_eq(utf8_check((struct view){text, sizeof text}), at);
    }
    cr_expect_eq(utf8_check(view_of("\xc3\xa9\xe6\x97\xa5 \xe6\x97")), 6);
    cr_expect_eq(utf8_check((struct view){NULL, 0}), 0);
}

struct case_width {
    const char *text;
    size_t cells;
};

static const struct case_width widths[] = {
    {"", 0},
    {"abc", 3},
    {"\xc2\xb1 \xc2\xb5m", 4},       /* plus or minus, micro */
    {"\xe6\x97\xa5\xe6\x9c\xac", 4}, /* two ideographs */
    {"\xef\xbc\xa1", 2},             /* full-width A */
    {"\xef\xbd\xb1", 1},             /* half-width kana */
    {"e\xcc\x81", 1},                /* combining acute */
    {"\xe2\x80\x8b", 0},             /* zero-width blank */
    {"\xf0\x9f\x98\x80", 2},         /* emoji */
    {"\xe1\x84\x80\xe1\x85\xa1", 2}, /* conjoining Hangul */
    {"\xea\xb0\x80", 2},             /* the same composed */
    {"\xc2\xad", 1},                 /* soft hyphen */
    {"\xe2\x88\x92", 1},             /* minus */
    {"\x01\x7f", 0},                 /* control characters */
    {"\xff\xfe", 2},                 /* no UTF-8: one each */
    {"\xf0\xa0\x80\x80", 2},         /* ideograph beyond 16 bits */
};

Test(utf8, widths)
{
    for (size_t i = 0; i < sizeof widths / sizeof *widths; i++) {
        size_t cells = utf8_cells(view_of(widths[i].text));
        cr_expect(cells == widths[i].cells, "%zu: %zu cells", i, cells);
    }
}
