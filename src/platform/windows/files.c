/* Everything is opened so that others may go on reading, writing and renaming it meanwhile. */
#include <errno.h>
#include <fcntl.h>
#include <io.h>
#include <stdlib.h>
#include <wchar.h>

#include "base/buffer.h"
#include "platform/windows/internal_windows.h"

enum { ONE_CALL = 1 << 30 }; /* bytes */

/* --- handles --- */

HANDLE handle_open(const char *path, DWORD rights, DWORD flags)
{
    const DWORD all = FILE_SHARE_READ | FILE_SHARE_WRITE | FILE_SHARE_DELETE;
    wchar_t *wide = wide_path(path);
    if (!wide)
        return INVALID_HANDLE_VALUE;
    /* the flag lets folders be opened, too */
    HANDLE handle = CreateFileW(wide, rights, all, NULL, OPEN_EXISTING,
                                FILE_FLAG_BACKUP_SEMANTICS | flags, NULL);
    if (handle == INVALID_HANDLE_VALUE)
        windows_failed();
    free(wide);
    return handle;
}

HANDLE handle_of(int file)
{
    return (HANDLE)_get_osfhandle(file);
}

int file_of(HANDLE handle)
{
    if (handle == INVALID_HANDLE_VALUE)
        return -1;
    int file = _open_osfhandle((intptr_t)handle, _O_BINARY | _O_NOINHERIT);
    if (file < 0)
        CloseHandle(handle);
    return file;
}

const char *handle_path(struct arena *arena, HANDLE handle)
{
    DWORD size = GetFinalPathNameByHandleW(handle, NULL, 0, FILE_NAME_NORMALIZED);
    wchar_t *path = ARENA_ARRAY(arena, wchar_t, (size_t)size + 1);
    if (!size || !GetFinalPathNameByHandleW(handle, path, size + 1, FILE_NAME_NORMALIZED)) {
        windows_failed();
        return NULL;
    }
    return narrow_path(arena, path);
}

/* Does it lead elsewhere?  Not every reparse point does: files that are fetched from far away
 * when they are read have one, too. */
static bool leads_elsewhere(HANDLE handle)
{
    FILE_ATTRIBUTE_TAG_INFO tag;
    return GetFileInformationByHandleEx(handle, FileAttributeTagInfo, &tag, sizeof tag) &&
           (tag.FileAttributes & FILE_ATTRIBUTE_REPARSE_POINT) &&
           IsReparseTagNameSurrogate(tag.ReparseTag);
}

bool handle_about(HANDLE handle, struct file_about *out)
{
    BY_HANDLE_FILE_INFORMATION about;
    *out = (struct file_about){.kind = FILE_OTHER};
    SetLastError(NO_ERROR);
    DWORD type = GetFileType(handle);
    if (type == FILE_TYPE_UNKNOWN && GetLastError() != NO_ERROR)
        return windows_failed();
    if (type != FILE_TYPE_DISK)
        return true;
    if (!GetFileInformationByHandle(handle, &about))
        return windows_failed();
    out->kind = leads_elsewhere(handle)                             ? FILE_LINK
                : about.dwFileAttributes & FILE_ATTRIBUTE_DIRECTORY ? FILE_FOLDER
                                                                    : FILE_PLAIN;
    out->size = (uint64_t)about.nFileSizeHigh << 32 | about.nFileSizeLow;
    out->identity.volume = about.dwVolumeSerialNumber;
    out->identity.number = (uint64_t)about.nFileIndexHigh << 32 | about.nFileIndexLow;
    return true;
}

/* --- what there is --- */

static bool about_path(const char *path, DWORD flags, struct file_about *out)
{
    HANDLE handle = handle_open(path, FILE_READ_ATTRIBUTES, flags);
    if (handle == INVALID_HANDLE_VALUE)
        return false;
    bool is_known = handle_about(handle, out);
    int error = errno;
    CloseHandle(handle);
    errno = error;
    return is_known;
}

bool file_about(const char *path, struct file_about *out)
{
    return about_path(path, 0, out);
}

bool file_about_link(const char *path, struct file_about *out)
{
    return about_path(path, FILE_FLAG_OPEN_REPARSE_POINT, out);
}

bool file_about_open(int file, struct file_about *out)
{
    return handle_about(handle_of(file), out);
}

/* --- opening --- */

/* Does it stand for a device though it looks like a file?  What is called nul.svg was meant to
 * be one, and would be lost; COM1 may never answer. */
static bool is_device_unmeant(HANDLE handle, const char *path)
{
    return GetFileType(handle) == FILE_TYPE_CHAR && _stricmp(path, "NUL") != 0;
}

static int open_meant(const char *path, DWORD rights)
{
    struct file_about about;
    HANDLE handle = handle_open(path, rights, 0);
    if (handle == INVALID_HANDLE_VALUE)
        return -1;
    bool is_folder = handle_about(handle, &about) && about.kind == FILE_FOLDER;
    if (!is_folder && !is_device_unmeant(handle, path))
        return file_of(handle);
    CloseHandle(handle);
    errno = is_folder ? EISDIR : ENXIO;
    return -1;
}

int file_open(const char *path)
{
    return open_meant(path, GENERIC_READ);
}

int file_open_device(const char *path)
{
    return open_meant(path, GENERIC_WRITE);
}

/* Is there no link on the way, nor at its end?  Else errno is set. */
static bool is_straight(struct arena *arena, const char *folder, struct view path)
{
    struct view rest = path;
    while (rest.size) {
        struct file_about about;
        (void)view_take(&rest, '/');
        struct view so_far = {path.data, path.size - rest.size};
        while (so_far.size && so_far.data[so_far.size - 1] == '/')
            so_far.size--;
        if (!file_about_link(arena_format(arena, "%s/%.*s", folder, VIEW(so_far)), &about))
            return false;
        if (about.kind == FILE_LINK) {
            errno = ELOOP;
            return false;
        }
        if (rest.size && about.kind != FILE_FOLDER) {
            errno = ENOTDIR;
            return false;
        }
    }
    return true;
}

/* Steps are looked at one by one, and what was opened in the end is where it should be:
 * somebody may have put a link in its way meanwhile. */
int file_open_below(struct arena *arena, const char *folder, struct view path)
{
    const char *above = path_whole(arena, folder);
    if (!above || !is_straight(arena, folder, path))
        return -1;
    HANDLE handle =
        handle_open(arena_format(arena, "%s/%.*s", folder, VIEW(path)), GENERIC_READ, 0);
    if (handle == INVALID_HANDLE_VALUE)
        return -1;
    const char *whole = handle_path(arena, handle);
    size_t size = strlen(above);
    while (size && above[size - 1] == '/')
        size--;
    if (whole && strncmp(whole, above, size) == 0 && whole[size] == '/')
        return file_of(handle);
    CloseHandle(handle);
    errno = whole ? ELOOP : EIO;
    return -1;
}

int file_open_log(const char *path, bool links)
{
    struct file_about about;
    if (!links && file_about_link(path, &about) && about.kind == FILE_LINK) {
        errno = ELOOP;
        return -1;
    }
    wchar_t *wide = wide_path(path);
    if (!wide)
        return -1;
    /* with the right to append alone every write goes to the end, whoever else writes */
    HANDLE handle = CreateFileW(wide, GENERIC_READ | FILE_APPEND_DATA | SYNCHRONIZE,
                                FILE_SHARE_READ | FILE_SHARE_WRITE | FILE_SHARE_DELETE, NULL,
                                OPEN_ALWAYS, FILE_ATTRIBUTE_NORMAL, NULL);
    if (handle == INVALID_HANDLE_VALUE)
        windows_failed();
    free(wide);
    return file_of(handle);
}

/* --- reading and writing --- */

ptrdiff_t file_read(int file, void *room, size_t size)
{
    HANDLE handle = handle_of(file);
    DWORD got = 0;
    if (console_is(handle))
        return console_read(handle, room, size);
    if (ReadFile(handle, room, size < ONE_CALL ? (DWORD)size : ONE_CALL, &got, NULL))
        return (ptrdiff_t)got;
    if (GetLastError() == ERROR_BROKEN_PIPE || GetLastError() == ERROR_HANDLE_EOF)
        return 0; /* the other end has been closed */
    windows_failed();
    return -1;
}

ptrdiff_t file_read_at(int file, void *room, size_t size, uint64_t at)
{
    OVERLAPPED place = {.Offset = (DWORD)at, .OffsetHigh = (DWORD)(at >> 32)};
    DWORD got = 0;
    if (ReadFile(handle_of(file), room, size < ONE_CALL ? (DWORD)size : ONE_CALL, &got, &place))
        return (ptrdiff_t)got;
    if (GetLastError() == ERROR_HANDLE_EOF)
        return 0;
    windows_failed();
    return -1;
}

int file_write(int file, struct view text)
{
    HANDLE handle = handle_of(file);
    if (console_is(handle))
        return console_write(handle, text);
    while (text.size) {
        DWORD written = 0;
        DWORD size = text.size < ONE_CALL ? (DWORD)text.size : ONE_CALL;
        if (!WriteFile(handle, text.data, size, &written, NULL))
            return windows_error();
        text = view_skip(text, written);
    }
    return 0;
}

int file_sync(int file)
{
    return FlushFileBuffers(handle_of(file)) ? 0 : windows_error();
}

int file_close(int file)
{
    return _close(file) ? errno : 0;
}

/* --- folders --- */

int folder_list(const char *folder, void (*add)(void *user, const char *name), void *user)
{
    struct arena arena;
    WIN32_FIND_DATAW entry;
    arena_init(&arena, NULL);
    wchar_t *all = wide_path(arena_format(&arena, "%s/*", folder));
    HANDLE search = all ? FindFirstFileW(all, &entry) : INVALID_HANDLE_VALUE;
    int error = search == INVALID_HANDLE_VALUE ? windows_error() : 0;
    bool is_empty = search == INVALID_HANDLE_VALUE && GetLastError() == ERROR_FILE_NOT_FOUND;
    free(all);
    if (!error)
        do {
            if (wcscmp(entry.cFileName, L".") != 0 && wcscmp(entry.cFileName, L"..") != 0)
                add(user, narrow_text(&arena, entry.cFileName));
        } while (FindNextFileW(search, &entry));
    if (!error && GetLastError() != ERROR_NO_MORE_FILES)
        error = windows_error();
    if (search != INVALID_HANDLE_VALUE)
        FindClose(search);
    arena_free(&arena);
    return is_empty ? 0 : error;
}

static bool make_one(const char *path)
{
    wchar_t *wide = wide_path(path);
    bool made = wide && CreateDirectoryW(wide, NULL);
    int error = made ? 0 : windows_error();
    free(wide);
    errno = error;
    return made || file_is_folder(path);
}

/* Whoever may look into the place for a user's own files may look into this, and nobody else.
 */
bool folder_make(struct arena *arena, const char *path)
{
    const char *above = path_parent(arena, path);
    if (file_is_folder(path))
        return true;
    if (strcmp(above, path) != 0 && !file_is_folder(above) && !folder_make(arena, above))
        return false;
    return make_one(path);
}

bool file_remove(const char *path)
{
    wchar_t *wide = wide_path(path);
    bool done = wide && (DeleteFileW(wide) || windows_failed());
    free(wide);
    return done;
}

bool file_rename(const char *from, const char *to)
{
    wchar_t *old = wide_path(from), *new = wide_path(to);
    bool done =
        old && new && (MoveFileExW(old, new, MOVEFILE_REPLACE_EXISTING) || windows_failed());
    free(old);
    free(new);
    return done;
}
