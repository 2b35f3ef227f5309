/* Makes texts from a file harmless, one code point at a time. */
#include "text/escape.h"

#include "text/internal.h"
#include "text/utf8.h"

#include <stdio.h>

bool escape_is_hidden(uint32_t point)
{
    if (point < 0x20 || (point >= 0x7f && point < 0xa0))
        return true;
    return point >= 0xa0 && point_set_has(&points_invisible, point);
}

static void write_escape(uint32_t point, char piece[ESCAPE_ROOM])
{
    if (point == '\n')
        snprintf(piece, ESCAPE_ROOM, "\\n");
    else if (point == '\r')
        snprintf(piece, ESCAPE_ROOM, "\\r");
    else if (point == '\t')
        snprintf(piece, ESCAPE_ROOM, "\\t");
    else if (point < 0x80)
        snprintf(piece, ESCAPE_ROOM, "\\x%02x", (unsigned)point);
    else if (point < 0x10000)
        snprintf(piece, ESCAPE_ROOM, "\\u%04x", (unsigned)point);
    else
        snprintf(piece, ESCAPE_ROOM, "\\U%08x", (unsigned)point);
}

static bool is_printable(char byte)
{
    return byte >= 0x20 && byte < 0x7f;
}

size_t escape_next(struct view text, struct escape_piece *out)
{
    unsigned char byte = (unsigned char)text.data[0];
    if (is_printable(text.data[0])) {
        *out = (struct escape_piece){.shown = {text.data, 1}, .cells = 1};
        return 1;
    }
    uint32_t point;
    size_t size = utf8_read(text, &point);
    if (size && !escape_is_hidden(point)) {
        *out = (struct escape_piece){.shown = {text.data, size},
                                     .cells = (size_t)utf8_width(point)};
        return size;
    }
    if (size)
        write_escape(point, out->room);
    else
        snprintf(out->room, ESCAPE_ROOM, "\\x%02x", byte);
    out->shown = view_of(out->room);
    out->cells = out->shown.size;
    return size ? size : 1;
}

void escape_terminal(struct buffer *out, struct view text)
{
    while (text.size) {
        struct escape_piece piece;
        size_t plain = 0;
        while (plain < text.size && is_printable(text.data[plain]))
            plain++;
        buffer_add(out, (struct view){text.data, plain});
        text = view_skip(text, plain);
        if (!text.size)
            return;
        text = view_skip(text, escape_next(text, &piece));
        buffer_add(out, piece.shown);
    }
}

/* How many cells all of `text` takes; stops counting beyond `limit`. */
static size_t shown_cells(struct view text, size_t limit)
{
    size_t cells = 0;
    while (text.size && cells <= limit) {
        struct escape_piece piece;
        text = view_skip(text, escape_next(text, &piece));
        cells += piece.cells;
    }
    return cells;
}

const char *escape_short(struct arena *arena, struct view text, size_t cells)
{
    struct buffer out;
    buffer_init(&out, arena);
    /* Zero-width marks take no cells: without a limit of their own they would not end. */
    size_t most = 8 * cells + 32;
    if (text.size <= most && shown_cells(text, cells) <= cells) {
        escape_terminal(&out, text);
        return buffer_string(&out);
    }
    size_t room = cells > 3 ? cells - 3 : 0, used = 0;
    while (text.size && out.size < most) {
        struct escape_piece piece;
        text = view_skip(text, escape_next(text, &piece));
        used += piece.cells;
        if (used > room)
            break;
        buffer_add(&out, piece.shown);
    }
    buffer_fill(&out, '.', cells < 3 ? cells : 3);
    return buffer_string(&out);
}

bool escape_patch_name(struct buffer *out, struct view name)
{
    bool quoted = name.size && name.data[name.size - 1] == ' ';
    for (struct view rest = name; rest.size && !quoted;) {
        struct escape_piece piece;
        quoted = rest.data[0] == '"' || rest.data[0] == '\\';
        rest = view_skip(rest, escape_next(rest, &piece));
        quoted |= piece.shown.data == piece.room;
    }
    if (!quoted) {
        buffer_add(out, name);
        return false;
    }
    buffer_byte(out, '"');
    while (name.size) {
        struct escape_piece piece;
        struct view bytes = {name.data, escape_next(name, &piece)};
        name = view_skip(name, bytes.size);
        if (bytes.data[0] == '"' || bytes.data[0] == '\\')
            buffer_format(out, "\\%c", bytes.data[0]);
        else if (piece.shown.data != piece.room)
            buffer_add(out, bytes);
        else
            for (size_t i = 0; i < bytes.size; i++)
                buffer_format(out, "\\%03o", (unsigned)(unsigned char)bytes.data[i]);
    }
    buffer_byte(out, '"');
    return true;
}

/* What is left of a text that can be shown: XML's own marks, and the two code points that no
 * document may hold. */
static void add_marked(struct buffer *out, struct view text)
{
    for (size_t size; text.size; text = view_skip(text, size)) {
        uint32_t point = 0;
        size = utf8_read(text, &point);
        if (point == '&')
            buffer_text(out, "&amp;");
        else if (point == '<')
            buffer_text(out, "&lt;");
        else if (point == '>')
            buffer_text(out, "&gt;");
        else if (point == '"')
            buffer_text(out, "&quot;");
        else if (point == 0xFFFE || point == 0xFFFF)
            buffer_format(out, "\\u%04x", (unsigned)point);
        else
            buffer_add(out, (struct view){text.data, size ? size : 1});
        size = size ? size : 1;
    }
}

void escape_xml(struct buffer *out, struct view text)
{
    struct buffer shown;
    buffer_init(&shown, out->arena);
    escape_terminal(&shown, text);
    add_marked(out, buffer_view(&shown));
}

void escape_quoted(struct buffer *out, struct view text)
{
    buffer_byte(out, '"');
    for (size_t i = 0; i < text.size; i++) {
        unsigned char c = (unsigned char)text.data[i];
        if (c == '"' || c == '\\')
            buffer_format(out, "\\%c", c);
        else if (c == '\n')
            buffer_text(out, "\\n");
        else if (c < 0x20 || c == 0x7f)
            buffer_format(out, "\\x%02x", c);
        else
            buffer_byte(out, (char)c);
    }
    buffer_byte(out, '"');
}
