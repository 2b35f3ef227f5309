/* Breaking prose into lines, word by word. */
#include "report/wrap.h"

#include "quantity/unit.h"
#include "text/escape.h"
#include "text/utf8.h"

size_t wrap_width(size_t width)
{
    return width < WRAP_LEAST ? WRAP_LEAST : width > WRAP_MOST ? WRAP_MOST : width;
}

static bool is_break(char c)
{
    return c == ' ' || c == '\n';
}

static bool is_plain(struct view word)
{
    for (size_t i = 0; i < word.size; i++)
        if (word.data[i] < 0x20 || word.data[i] > 0x7e)
            return false;
    return true;
}

/* The bytes up to the next blank. */
static size_t word_size(struct view text)
{
    size_t size = 0;
    while (size < text.size && !is_break(text.data[size]))
        size++;
    return size;
}

/* Is `text` a blank and a unit, with a full stop or the like behind it?  Returns its bytes,
 * else 0. */
static size_t unit_size(struct view text)
{
    if (!text.size || text.data[0] != ' ')
        return 0;
    size_t size = word_size(view_skip(text, 1)) + 1;
    struct view unit = {text.data + 1, size - 1};
    while (unit.size && strchr(",.;:)", unit.data[unit.size - 1]))
        unit.size--;
    return unit.size && unit_read(unit) != UNIT_UNKNOWN ? size : 0;
}

/* Is `word` a line, and `text` behind it a blank and its number?  Returns the bytes of these,
 * else 0. */
static size_t line_number_size(struct view word, struct view text)
{
    static const char line[] = "line";
    size_t size = sizeof line - 1;
    bool is_line = word.size >= size && word.size <= size + 1 &&
                   memcmp(word.data + word.size - size, line, size) == 0;
    bool number =
        text.size > 1 && text.data[0] == ' ' && text.data[1] >= '0' && text.data[1] <= '9';
    return is_line && number ? word_size(view_skip(text, 1)) + 1 : 0;
}

/* The next word of `text`, which is moved behind it; empty at the end.  A number and its unit
 * are one word, and so are a line and its number. */
static struct view next_word(struct view *text)
{
    while (text->size && is_break(text->data[0]))
        *text = view_skip(*text, 1);
    size_t size = word_size(*text);
    if (size && text->data[size - 1] >= '0' && text->data[size - 1] <= '9')
        size += unit_size(view_skip(*text, size));
    else
        size += line_number_size((struct view){text->data, size}, view_skip(*text, size));
    struct view word = {text->data, size};
    *text = view_skip(*text, size);
    return word;
}

/* `begun`: cells that the first line holds already. */
static void add(struct buffer *out, const struct wrap *wrap, size_t begun, struct view text)
{
    size_t column = 0;
    bool is_first = true;
    for (struct view word = next_word(&text); word.size; word = next_word(&text)) {
        struct view shown = word;
        if (!is_plain(word)) {
            struct buffer harmless;
            buffer_init(&harmless, out->arena);
            escape_terminal(&harmless, word);
            shown = buffer_view(&harmless);
        }
        size_t cells = shown.data == word.data ? word.size : utf8_cells(shown);
        if (is_first && (!begun || begun + wrap->first + cells <= wrap->width)) {
            buffer_fill(out, ' ', wrap->first);
            column = begun + wrap->first;
        } else if (is_first) {
            buffer_byte(out, '\n');
            buffer_fill(out, ' ', wrap->rest);
            column = wrap->rest;
        } else if (column + 1 + cells > wrap->width) {
            buffer_byte(out, '\n');
            buffer_fill(out, ' ', wrap->rest);
            column = wrap->rest;
        } else {
            buffer_byte(out, ' ');
            column++;
        }
        is_first = false;
        buffer_add(out, shown);
        column += cells;
    }
    if (!is_first)
        buffer_byte(out, '\n');
}

void wrap_add(struct buffer *out, const struct wrap *wrap, struct view text)
{
    add(out, wrap, 0, text);
}

void wrap_after(struct buffer *out, const struct wrap *wrap, size_t begun, struct view text)
{
    add(out, wrap, begun, text);
}

void wrap_format(struct buffer *out, const struct wrap *wrap, const char *format, ...)
{
    struct buffer text;
    buffer_init(&text, out->arena);
    va_list arguments;
    va_start(arguments, format);
    buffer_format_list(&text, format, arguments);
    va_end(arguments);
    wrap_add(out, wrap, buffer_view(&text));
}

void wrap_row(struct buffer *out, size_t width, size_t column, const char *name,
              struct view text)
{
    size_t start = out->size;
    escape_terminal(out, view_of(name));
    size_t used = utf8_cells(view_skip(buffer_view(out), start));
    if (!text.size || used + 1 >= column) {
        buffer_byte(out, '\n');
        used = 0;
    }
    const struct wrap wrap = {.width = width, .first = column - used, .rest = column};
    add(out, &wrap, used, text);
}
