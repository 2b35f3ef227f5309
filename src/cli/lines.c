#include "cli/lines.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <unistd.h>

#include "cli/surroundings.h"
#include "report/wrap.h"
#include "text/escape.h"

void lines_init(struct lines *lines, struct run *run)
{
    *lines = (struct lines){.run = run, .from_terminal = isatty(STDIN_FILENO) == 1};
}

/* The next byte of standard input; -1 at its end. */
static int next_byte(struct lines *lines)
{
    if (lines->used == lines->size) {
        ssize_t count;
        do
            count = read(STDIN_FILENO, lines->room, sizeof lines->room);
        while (count < 0 && errno == EINTR);
        lines->used = 0;
        lines->size = count > 0 ? (size_t)count : 0;
        if (count <= 0)
            return -1;
    }
    return (unsigned char)lines->room[lines->used++];
}

/* What a terminal takes: no more than it shows. */
static void show(struct lines *lines, struct view text)
{
    struct report_options layout = surroundings_layout(lines->run);
    struct buffer out;
    buffer_init(&out, lines->run->arena);
    if (layout.unicode)
        buffer_add(&out, text);
    else
        text_plain(&out, text);
    output_write(lines->run->out, buffer_view(&out));
}

bool lines_ask(struct lines *lines, const char *question, struct view *out)
{
    struct buffer line;
    buffer_init(&line, lines->run->arena);
    show(lines, view_of(question));
    output_flush(lines->run->out);
    int byte = lines->ended ? -1 : next_byte(lines);
    bool is_there = byte >= 0;
    for (; byte >= 0 && byte != '\n'; byte = next_byte(lines))
        if (line.size < LINE_MAX_SIZE)
            buffer_byte(&line, (char)byte);
    lines->ended = lines->ended || byte < 0;
    if (line.size && line.data[line.size - 1] == '\r')
        line.size--;
    *out = view_trim(buffer_view(&line));
    if (!lines->from_terminal || !is_there) {
        struct buffer echo;
        buffer_init(&echo, lines->run->arena);
        if (!lines->from_terminal)
            escape_terminal(&echo, *out);
        buffer_byte(&echo, '\n');
        show(lines, buffer_view(&echo));
    }
    return is_there;
}

void lines_say(struct lines *lines, size_t indent, const char *format, ...)
{
    struct arena *arena = lines->run->arena;
    struct wrap wrap = {wrap_width(surroundings_layout(lines->run).width), indent, indent};
    struct buffer text, out;
    buffer_init(&text, arena);
    buffer_init(&out, arena);
    va_list arguments;
    va_start(arguments, format);
    buffer_format_list(&text, format, arguments);
    va_end(arguments);
    wrap_add(&out, &wrap, buffer_view(&text));
    show(lines, buffer_view(&out));
}

void lines_gap(struct lines *lines)
{
    output_write(lines->run->out, view_of("\n"));
}
