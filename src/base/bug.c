#include "base/bug.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

void bug_at(const char *file, int line, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    fprintf(stderr, "%s:%d: internal error: ", file, line);
    vfprintf(stderr, format, arguments);
    fputc('\n', stderr);
    va_end(arguments);
    abort();
}
