/* The small writer behind every JSON output. */
#include "report/json_writer.h"

#include <math.h>
#include <stdint.h>

#include "quantity/number.h"
#include "text/escape.h"
#include "text/utf8.h"

static void separate(struct json *json)
{
    if (json->follows)
        buffer_text(json->out, ", ");
    json->follows = true;
}

void json_open(struct json *json, char bracket)
{
    separate(json);
    buffer_byte(json->out, bracket);
    json->follows = false;
}

void json_close(struct json *json, char bracket)
{
    buffer_byte(json->out, bracket);
    json->follows = true;
}

void json_line(struct json *json, size_t blanks)
{
    if (json->follows)
        buffer_byte(json->out, ',');
    json->follows = false;
    buffer_byte(json->out, '\n');
    buffer_fill(json->out, ' ', blanks);
}

/* The bytes at the start of `text` that stand for themselves. */
static size_t plain_size(struct view text)
{
    size_t size = 0;
    while (size < text.size && text.data[size] >= 0x20 && text.data[size] < 0x7f &&
           text.data[size] != '"' && text.data[size] != '\\')
        size++;
    return size;
}

static void add_escape(struct buffer *out, uint32_t point)
{
    if (point == '"' || point == '\\')
        buffer_format(out, "\\%c", (int)point);
    else if (point == '\n')
        buffer_text(out, "\\n");
    else if (point == '\t')
        buffer_text(out, "\\t");
    else if (point < 0x10000)
        buffer_format(out, "\\u%04x", (unsigned)point);
    else
        buffer_format(out, "\\u%04x\\u%04x", (unsigned)(0xd800 + ((point - 0x10000) >> 10)),
                      (unsigned)(0xdc00 + (point & 0x3ff)));
}

/* One code point or stray byte at the start of `text`; returns its bytes. */
static size_t add_special(struct buffer *out, struct view text)
{
    uint32_t point;
    size_t size = utf8_read(text, &point);
    if (!size) {
        buffer_text(out, "\xef\xbf\xbd");
        return 1;
    }
    if (point == '"' || point == '\\' || escape_is_hidden(point))
        add_escape(out, point);
    else
        buffer_add(out, (struct view){text.data, size});
    return size;
}

static void add_quoted(struct buffer *out, struct view text)
{
    buffer_byte(out, '"');
    while (text.size) {
        size_t plain = plain_size(text);
        buffer_add(out, (struct view){text.data, plain});
        text = view_skip(text, plain);
        if (text.size)
            text = view_skip(text, add_special(out, text));
    }
    buffer_byte(out, '"');
}

void json_key(struct json *json, const char *key)
{
    separate(json);
    add_quoted(json->out, view_of(key));
    buffer_text(json->out, ": ");
    json->follows = false;
}

void json_view(struct json *json, struct view text)
{
    separate(json);
    add_quoted(json->out, text);
}

void json_text(struct json *json, const char *text)
{
    if (text)
        json_view(json, view_of(text));
    else
        json_nothing(json);
}

void json_count(struct json *json, size_t count)
{
    separate(json);
    buffer_format(json->out, "%zu", count);
}

void json_number(struct json *json, double number)
{
    separate(json);
    buffer_text(json->out, isfinite(number) ? number_exact(json->out->arena, number) : "null");
}

void json_bool(struct json *json, bool truth)
{
    separate(json);
    buffer_text(json->out, truth ? "true" : "false");
}

void json_nothing(struct json *json)
{
    separate(json);
    buffer_text(json->out, "null");
}

void json_raw(struct json *json, struct view value)
{
    separate(json);
    buffer_add(json->out, value);
}
