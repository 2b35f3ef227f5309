/* Sentences for standard error.  If even those cannot be written, nobody is there to be told.
 */
#include <stdarg.h>
#include <stdlib.h>

#include "cli/command.h"
#include "text/escape.h"

void trouble_write(struct view text)
{
    (void)!file_write(STANDARD_ERROR, text);
}

void trouble_no_memory(void)
{
    static const struct view text =
        VIEW_LITERAL("proveout: there is not enough memory; nothing more is checked.\n");
    trouble_write(text);
    save_abandon();
    _Exit(EXIT_TROUBLE);
}

static void end_without_memory(void *user)
{
    (void)user;
    trouble_no_memory();
}

const struct arena_host trouble_host = {.out_of_memory = end_without_memory};

void trouble_collect(struct buffer *out, const char *format, va_list arguments)
{
    struct buffer text;
    buffer_init(&text, out->arena);
    buffer_format_list(&text, format, arguments);
    buffer_text(out, "proveout: ");
    escape_terminal(out, buffer_view(&text));
    if (text.size > 0 && text.data[text.size - 1] != '?')
        buffer_byte(out, '.');
    buffer_byte(out, '\n');
}

void trouble_add(struct buffer *out, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    trouble_collect(out, format, arguments);
    va_end(arguments);
}

void trouble_say(struct arena *arena, const char *format, ...)
{
    struct buffer text;
    buffer_init(&text, arena);
    va_list arguments;
    va_start(arguments, format);
    trouble_collect(&text, format, arguments);
    va_end(arguments);
    trouble_write(buffer_view(&text));
}
