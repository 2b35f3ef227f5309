/* Sentences for standard error.  If even those cannot be written, nobody is there to be told.
 */
#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "cli/command.h"
#include "cli/save.h"
#include "text/escape.h"

void trouble_write(struct view text)
{
    (void)!write_all(STDERR_FILENO, text);
}

void trouble_no_memory(void)
{
    static const struct view text =
        VIEW_LITERAL("proveout: there is not enough memory; nothing more is checked.\n");
    trouble_write(text);
    save_abandon();
    _exit(EXIT_TROUBLE);
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

const char *trouble_reason(struct arena *arena, int error)
{
    static const struct {
        int error;
        const char *reason;
    } reasons[] = {
        {ENOENT, "there is no such file"},
        {ENOTDIR, "a part of its path is no folder"},
        {EISDIR, "it is a folder"},
        {EEXIST, "it is there already"},
        {EBUSY, "the system holds it fast"},
        {EACCES, "this user is not allowed to"},
        {EPERM, "this user is not allowed to"},
        {ELOOP, "its links lead in a circle"},
        {ENAMETOOLONG, "its path is too long"},
        {ENOSPC, "the disk is full"},
        {EDQUOT, "this user's share of the disk is full"},
        {EFBIG, "it would be too large"},
        {EROFS, "the disk can only be read"},
        {EBADF, "it is not open"},
        {EIO, "the disk or line gives an error"},
        {EMFILE, "too many files are open"},
        {ENFILE, "too many files are open"},
        {ENXIO, "nothing is there to answer"},
    };
    for (size_t i = 0; i < sizeof reasons / sizeof *reasons; i++)
        if (reasons[i].error == error)
            return reasons[i].reason;
    char text[128];
    if (strerror_r(error, text, sizeof text) != 0)
        snprintf(text, sizeof text, "error %d", error);
    return arena_copy(arena, text, strlen(text));
}
