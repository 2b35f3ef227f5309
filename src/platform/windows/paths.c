#include <errno.h>
#include <stdlib.h>

#include "base/buffer.h"
#include "platform/windows/internal_windows.h"

const char *path_typed(struct arena *arena, const char *path)
{
    char *out = arena_copy(arena, path, strlen(path));
    for (char *at = out; *at; at++)
        if (*at == '\\')
            *at = '/';
    return out;
}

static bool is_letter(char c)
{
    return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
}

/* How many bytes name the drive: `C:`. */
static size_t drive(const char *path)
{
    return is_letter(path[0]) && path[1] == ':' ? 2 : 0;
}

const char *path_parent(struct arena *arena, const char *path)
{
    size_t start = drive(path), size = strlen(path);
    while (size > start + 1 && path[size - 1] == '/')
        size--;
    while (size > start && path[size - 1] != '/')
        size--;
    while (size > start + 1 && path[size - 1] == '/')
        size--;
    if (size == start) /* `C:x` lies in the folder that the drive stands in */
        return start ? arena_format(arena, "%.2s.", path) : ".";
    return arena_copy(arena, path, size);
}

bool path_is_whole(const char *path)
{
    return path[drive(path)] == '/';
}

const char *path_whole(struct arena *arena, const char *path)
{
    HANDLE handle = handle_open(path, FILE_READ_ATTRIBUTES, 0);
    if (handle == INVALID_HANDLE_VALUE)
        return NULL;
    const char *whole = handle_path(arena, handle);
    CloseHandle(handle);
    return whole;
}

const char *path_here(struct arena *arena)
{
    DWORD size = GetCurrentDirectoryW(0, NULL);
    wchar_t *here = ARENA_ARRAY(arena, wchar_t, (size_t)size + 1);
    return size && GetCurrentDirectoryW(size, here) ? narrow_path(arena, here) : NULL;
}

const char *path_state(struct arena *arena, const char **why)
{
    DWORD size = GetEnvironmentVariableW(L"LOCALAPPDATA", NULL, 0);
    wchar_t *place = ARENA_ARRAY(arena, wchar_t, (size_t)size + 1);
    const char *folder = size && GetEnvironmentVariableW(L"LOCALAPPDATA", place, size)
                             ? narrow_path(arena, place)
                             : "";
    if (drive(folder) && path_is_whole(folder))
        return arena_format(arena, "%s/proveout", folder);
    *why = "LOCALAPPDATA names no folder";
    return NULL;
}
