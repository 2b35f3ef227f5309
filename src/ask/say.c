/* Sentences of the dialogue, broken to its width. */
#include "ask/internal.h"

#include <stdarg.h>

#include "report/wrap.h"

void say(struct ask *ask, size_t indent, const char *format, ...)
{
    struct buffer text;
    va_list arguments;
    const struct wrap wrap = {wrap_width(ask->layout.width), indent, indent ? indent + 2 : 0};
    buffer_init(&text, ask->scratch);
    va_start(arguments, format);
    buffer_format_list(&text, format, arguments);
    va_end(arguments);
    wrap_add(&ask->out, &wrap, buffer_view(&text));
}

void say_answer(struct ask *ask, const char *format, ...)
{
    va_list arguments;
    struct buffer text;
    buffer_init(&text, ask->scratch);
    va_start(arguments, format);
    buffer_format_list(&text, format, arguments);
    va_end(arguments);
    say(ask, 0, "%s", buffer_string(&text));
    buffer_format(&ask->said, "%s%s", ask->said.size ? " " : "", buffer_string(&text));
}

void say_line(struct ask *ask, const char *text)
{
    buffer_text(&ask->out, text);
    buffer_byte(&ask->out, '\n');
}
