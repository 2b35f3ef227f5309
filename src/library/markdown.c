#include "library/markdown.h"

#include "text/escape.h"

static struct view harmless(struct buffer *out, struct view text)
{
    struct buffer shown;
    buffer_init(&shown, out->arena);
    escape_terminal(&shown, text);
    return buffer_view(&shown);
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* May Markdown, or an editor that makes links of addresses, make something of this byte? */
static bool is_special(struct view text, size_t i)
{
    char c = text.data[i];
    if (c == '.')
        return i + 1 < text.size && !is_digit(text.data[i + 1]) && text.data[i + 1] != ' ';
    return c && strchr("\\`*_{}[]()<>#!|~&$@:^", c);
}

void markdown_text(struct buffer *out, struct view text)
{
    text = harmless(out, text);
    for (size_t i = 0; i < text.size; i++) {
        bool last_colon =
            text.data[i] == ':' && (i + 1 == text.size || text.data[i + 1] == ' ');
        if (is_special(text, i) && !last_colon)
            buffer_byte(out, '\\');
        buffer_byte(out, text.data[i]);
    }
}

void markdown_code(struct buffer *out, struct view text)
{
    size_t longest = 0, run = 0;
    text = harmless(out, text);
    for (size_t i = 0; i < text.size; i++) {
        run = text.data[i] == '`' ? run + 1 : 0;
        longest = run > longest ? run : longest;
    }
    bool edge = text.size &&
                (text.data[0] == '`' || text.data[text.size - 1] == '`' || text.data[0] == ' ');
    if (!text.size)
        return;
    buffer_fill(out, '`', longest + 1);
    buffer_text(out, edge ? " " : "");
    buffer_add(out, text);
    buffer_text(out, edge ? " " : "");
    buffer_fill(out, '`', longest + 1);
}

void markdown_paragraph(struct buffer *out)
{
    if (out->size)
        buffer_text(out, "\n\n");
}

void markdown_item(struct buffer *out)
{
    buffer_text(out, out->size ? "\n- " : "- ");
}
