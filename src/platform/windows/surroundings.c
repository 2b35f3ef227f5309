#include <stdio.h>

#include "platform/windows/internal_windows.h"

bool terminal_is(int file)
{
    return console_is(handle_of(file));
}

size_t terminal_width(int file)
{
    CONSOLE_SCREEN_BUFFER_INFO about;
    if (!GetConsoleScreenBufferInfo(handle_of(file), &about))
        return 0;
    int cells = about.srWindow.Right - about.srWindow.Left + 1;
    return cells > 0 ? (size_t)cells : 0;
}

/* Letters are shown as letters, whatever the code page: see console_write. */
bool terminal_takes_unicode(int file)
{
    return terminal_is(file);
}

bool terminal_edits(int in, int out)
{
    return terminal_is(in) && terminal_is(out);
}

double clock_steady(void)
{
    LARGE_INTEGER now, second;
    QueryPerformanceFrequency(&second);
    QueryPerformanceCounter(&now);
    return (double)now.QuadPart / (double)second.QuadPart;
}

bool clock_day(char out[16])
{
    SYSTEMTIME now;
    GetLocalTime(&now);
    snprintf(out, 16, "%04u-%02u-%02u", now.wYear % 10000u, now.wMonth % 100u, now.wDay % 100u);
    return true;
}

size_t processors(void)
{
    SYSTEM_INFO about;
    GetSystemInfo(&about);
    return about.dwNumberOfProcessors ? about.dwNumberOfProcessors : 1;
}
