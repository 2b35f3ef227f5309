/* What is shown on a console, and what it can show.  Its text goes there as UTF-16, so that no
 * code page has a say in it.
 */
#include <errno.h>
#include <stdlib.h>

#include "platform/windows/console.h"

enum { PIECE = 4096, POINT_BYTES = 4 };

bool console_is(HANDLE handle)
{
    DWORD mode;
    return GetConsoleMode(handle, &mode) != 0;
}

ptrdiff_t console_read(HANDLE handle, void *room, size_t size)
{
    WCHAR wide[PIECE];
    DWORD got, most = (DWORD)(size / UTF8_PER_WIDE);
    if (!ReadConsoleW(handle, wide, most < PIECE ? most : PIECE, &got, NULL)) {
        windows_failed();
        return -1;
    }
    if (!got || wide[0] == CONSOLE_END)
        return 0;
    return WideCharToMultiByte(CP_UTF8, 0, wide, (int)got, room, (int)size, NULL, NULL);
}

/* The console that was told to heed the marks of colours, and how it was found. */
static HANDLE colored;
static DWORD colored_before;

static void leave_as_found(void)
{
    SetConsoleMode(colored, colored_before);
}

bool terminal_takes_color(int file)
{
    const DWORD marks = ENABLE_VIRTUAL_TERMINAL_PROCESSING | ENABLE_PROCESSED_OUTPUT;
    HANDLE console = handle_of(file);
    DWORD mode;
    if (!GetConsoleMode(console, &mode))
        return false;
    if ((mode & marks) == marks)
        return true;
    if (!SetConsoleMode(console, mode | marks))
        return false; /* older than Windows 10 */
    colored = console;
    colored_before = mode;
    atexit(leave_as_found);
    return true;
}

/* How many bytes at the end begin a letter without ending it. */
static size_t unfinished(struct view text)
{
    for (size_t i = 1; i < POINT_BYTES && i <= text.size; i++) {
        unsigned char byte = (unsigned char)text.data[text.size - i];
        if (byte < 0x80)
            return 0;
        if (byte >= 0xc0)
            return i < (byte >= 0xf0 ? 4U : byte >= 0xe0 ? 3U : 2U) ? i : 0;
    }
    return 0;
}

static bool show(HANDLE console, struct view text)
{
    WCHAR wide[PIECE];
    int count =
        text.size ? MultiByteToWideChar(CP_UTF8, 0, text.data, (int)text.size, wide, PIECE) : 0;
    const WCHAR *next = wide;
    while (count > 0) {
        DWORD shown;
        if (!WriteConsoleW(console, next, (DWORD)count, &shown, NULL) || !shown)
            return false;
        next += shown;
        count -= (int)shown;
    }
    return true;
}

int console_write(HANDLE handle, struct view text)
{
    static char held[PIECE]; /* at first the bytes that wait for the rest of their letter */
    static size_t size;
    while (text.size) {
        size_t part = text.size < PIECE - size ? text.size : PIECE - size;
        memcpy(held + size, text.data, part);
        text = view_skip(text, part);
        const struct view all = {held, size + part};
        size_t rest = unfinished(all);
        if (!show(handle, (struct view){held, all.size - rest})) {
            size = 0;
            return EIO;
        }
        memmove(held, held + all.size - rest, rest);
        size = rest;
    }
    return 0;
}
