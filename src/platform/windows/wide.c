/* Names and errors, from one form into the other. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <wchar.h>

#include "base/buffer.h"
#include "platform/windows/internal_windows.h"

enum { SHORT_PATH = 240 }; /* letters that every call takes */

int windows_error(void)
{
    static const struct {
        DWORD system;
        int error;
    } known[] = {
        {ERROR_FILE_NOT_FOUND, ENOENT},
        {ERROR_PATH_NOT_FOUND, ENOENT},
        {ERROR_INVALID_NAME, ENOENT},
        {ERROR_BAD_PATHNAME, ENOENT},
        {ERROR_BAD_NETPATH, ENOENT},
        {ERROR_BAD_NET_NAME, ENOENT},
        {ERROR_INVALID_DRIVE, ENOENT},
        {ERROR_NOT_READY, EIO},
        {ERROR_DIRECTORY, ENOTDIR},
        {ERROR_ACCESS_DENIED, EACCES},
        {ERROR_PRIVILEGE_NOT_HELD, EACCES},
        {ERROR_SHARING_VIOLATION, EBUSY},
        {ERROR_LOCK_VIOLATION, EBUSY},
        {ERROR_USER_MAPPED_FILE, EBUSY},
        {ERROR_FILE_EXISTS, EEXIST},
        {ERROR_ALREADY_EXISTS, EEXIST},
        {ERROR_DISK_FULL, ENOSPC},
        {ERROR_HANDLE_DISK_FULL, ENOSPC},
        {ERROR_WRITE_PROTECT, EROFS},
        {ERROR_TOO_MANY_OPEN_FILES, EMFILE},
        {ERROR_FILENAME_EXCED_RANGE, ENAMETOOLONG},
        {ERROR_CANT_RESOLVE_FILENAME, ELOOP},

        {ERROR_BROKEN_PIPE, EPIPE},
        {ERROR_NO_DATA, EPIPE},
        {ERROR_PIPE_NOT_CONNECTED, EPIPE},
        {ERROR_INVALID_HANDLE, EBADF},
        {ERROR_NOT_ENOUGH_MEMORY, ENOMEM},
        {ERROR_OUTOFMEMORY, ENOMEM},
        {ERROR_FILE_TOO_LARGE, EFBIG},
    };
    DWORD last = GetLastError();
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        if (known[i].system == last)
            return known[i].error;
    return EIO;
}

bool windows_failed(void)
{
    errno = windows_error();
    return false;
}

void error_system_words(int error, char *out, size_t size)
{
    snprintf(out, size, "%s", strerror(error));
}

const wchar_t *wide_text(struct arena *arena, const char *text)
{
    int size = MultiByteToWideChar(CP_UTF8, 0, text, -1, NULL, 0);
    wchar_t *wide = arena_zero(arena, (size_t)size + 1, sizeof *wide);
    MultiByteToWideChar(CP_UTF8, 0, text, -1, wide, size);
    return wide;
}

const char *narrow_text(struct arena *arena, const wchar_t *text)
{
    int size = WideCharToMultiByte(CP_UTF8, 0, text, -1, NULL, 0, NULL, NULL);
    char *narrow = arena_zero(arena, (size_t)size + 1, 1);
    WideCharToMultiByte(CP_UTF8, 0, text, -1, narrow, size, NULL, NULL);
    return narrow;
}

/* The same path, from a root and with the mark that lifts the limit; takes `path` over. */
static wchar_t *without_limit(wchar_t *path)
{
    static const wchar_t mark[] = L"\\\\?\\", net[] = L"\\\\?\\UNC";
    DWORD size = GetFullPathNameW(path, 0, NULL, NULL);
    wchar_t *whole = size ? calloc((size_t)size + 16, sizeof *whole) : NULL;
    if (whole && wcsncmp(path, mark, 4) != 0) {
        wchar_t *from = whole + 8;
        GetFullPathNameW(path, size, from, NULL);
        bool is_net = from[0] == L'\\' && from[1] == L'\\';
        if (is_net)
            from++; /* the mark has one of its two strokes */
        size_t length = wcslen(from);
        memmove(whole + (is_net ? 7 : 4), from, (length + 1) * sizeof *whole);
        memcpy(whole, is_net ? net : mark, (is_net ? 7 : 4) * sizeof *whole);
        free(path);
        return whole;
    }
    free(whole);
    return path;
}

wchar_t *wide_path(const char *path)
{
    int size = MultiByteToWideChar(CP_UTF8, 0, path, -1, NULL, 0);
    wchar_t *wide = calloc((size_t)size + 1, sizeof *wide);
    if (!wide) {
        errno = ENOMEM;
        return NULL;
    }
    MultiByteToWideChar(CP_UTF8, 0, path, -1, wide, size);
    for (wchar_t *at = wide; *at; at++)
        if (*at == L'/')
            *at = L'\\';
    return size > SHORT_PATH ? without_limit(wide) : wide;
}

const char *narrow_path(struct arena *arena, const wchar_t *path)
{
    const char *narrow;
    if (wcsncmp(path, L"\\\\?\\UNC\\", 8) == 0)
        narrow = arena_format(arena, "/%s", narrow_text(arena, path + 7));
    else
        narrow = narrow_text(arena, path + (wcsncmp(path, L"\\\\?\\", 4) == 0 ? 4 : 0));
    return path_typed(arena, narrow);
}
