#include "cli/answers.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <unistd.h>

#include "cli/surroundings.h"
#include "report/wrap.h"
#include "text/escape.h"

void answers_init(struct answers *answers, struct run *run)
{
    *answers = (struct answers){.run = run, .from_terminal = isatty(STDIN_FILENO) == 1};
}

/* The next byte of standard input; -1 at its end. */
static int next_byte(struct answers *answers)
{
    if (answers->used == answers->size) {
        ssize_t count;
        do
            count = read(STDIN_FILENO, answers->room, sizeof answers->room);
        while (count < 0 && errno == EINTR);
        answers->used = 0;
        answers->size = count > 0 ? (size_t)count : 0;
        if (count <= 0)
            return -1;
    }
    return (unsigned char)answers->room[answers->used++];
}

/* What a terminal takes: no more than it shows. */
static void show(struct answers *answers, struct view text)
{
    struct report_options layout = surroundings_layout(answers->run);
    struct buffer out;
    buffer_init(&out, answers->run->arena);
    if (layout.unicode)
        buffer_add(&out, text);
    else
        text_plain(&out, text);
    output_write(answers->run->out, buffer_view(&out));
}

bool answers_ask(struct answers *answers, const char *question, struct view *out)
{
    struct buffer line;
    buffer_init(&line, answers->run->arena);
    show(answers, view_of(question));
    output_flush(answers->run->out);
    int byte = answers->ended ? -1 : next_byte(answers);
    bool is_there = byte >= 0;
    for (; byte >= 0 && byte != '\n'; byte = next_byte(answers))
        if (line.size < ANSWER_MAX)
            buffer_byte(&line, (char)byte);
    answers->ended = answers->ended || byte < 0;
    if (line.size && line.data[line.size - 1] == '\r')
        line.size--;
    *out = view_trim(buffer_view(&line));
    if (!answers->from_terminal || !is_there) {
        struct buffer echo;
        buffer_init(&echo, answers->run->arena);
        if (!answers->from_terminal)
            escape_terminal(&echo, *out);
        buffer_byte(&echo, '\n');
        show(answers, buffer_view(&echo));
    }
    return is_there;
}

void answers_say(struct answers *answers, size_t indent, const char *format, ...)
{
    struct arena *arena = answers->run->arena;
    struct wrap wrap = {wrap_width(surroundings_layout(answers->run).width), indent, indent};
    struct buffer text, out;
    buffer_init(&text, arena);
    buffer_init(&out, arena);
    va_list arguments;
    va_start(arguments, format);
    buffer_format_list(&text, format, arguments);
    va_end(arguments);
    wrap_add(&out, &wrap, buffer_view(&text));
    show(answers, buffer_view(&out));
}

void answers_gap(struct answers *answers)
{
    output_write(answers->run->out, view_of("\n"));
}
