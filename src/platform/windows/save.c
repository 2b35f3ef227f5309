/* The system's own call for replacing a file keeps its rights, its attributes, its other
 * streams and its times; it is asked for all of them, and fails where one would be lost.  Where
 * a disk has nothing of that kind, what is left are the attributes.
 *
 * The text is locked against others until it is whole.  The old file is held open until shortly
 * before it is replaced: the call does not want it held by whoever asks for it.
 */
#include <errno.h>
#include <stdlib.h>
#include <wchar.h>

#include "base/buffer.h"
#include "platform/windows/internal_windows.h"

enum {
    NAME_KEPT = 200, /* bytes of a name that the unfinished file's begins with */
    NAMES_TRIED = 1000,
    COMPARED = 16 * 1024, /* bytes at a time */
};

struct save {
    struct arena *arena;
    const char *path; /* as the user gave it */
    enum save_kind kind;
    const char *place;             /* where it will be; no link */
    HANDLE old;                    /* what is there */
    struct file_identity identity; /* of `old` */
    DWORD attributes;              /* of `old` */
    int file;                      /* to write to; -1 once it is closed */
    const char *temporary;         /* its name until it is whole; NULL: it has none */
    const wchar_t *wide_temporary; /* the same, for whoever may not ask for memory */
    struct file_identity made;     /* of it */
};

/* --- unfinished files --- */

enum { UNFINISHED_MAX = 2 }; /* a machine file may be saved while --output is still open */
static const struct save *volatile unfinished[UNFINISHED_MAX];

static void forget(const struct save *save)
{
    for (size_t i = 0; i < UNFINISHED_MAX; i++)
        if (unfinished[i] == save)
            unfinished[i] = NULL;
}

/* Takes a file away even while it is open: it goes when the last handle does. */
static bool take_away(const struct save *save)
{
    FILE_DISPOSITION_INFO gone = {.DeleteFile = TRUE};
    if (save->file >= 0)
        return SetFileInformationByHandle(handle_of(save->file), FileDispositionInfo, &gone,
                                          sizeof gone);
    return DeleteFileW(save->wide_temporary);
}

void save_abandon(void)
{
    for (size_t i = 0; i < UNFINISHED_MAX; i++) {
        const struct save *save = unfinished[i];
        if (save)
            take_away(save);
        unfinished[i] = NULL;
    }
}

/* Stopped: no half file stays.  Where lines are being read the program ends by itself. */
static BOOL WINAPI stop(DWORD event)
{
    (void)event;
    if (!console_catches())
        save_abandon();
    return FALSE;
}

static void catch_stops(void)
{
    static bool caught;
    if (!caught)
        caught = SetConsoleCtrlHandler(stop, TRUE);
}

static const char *instead_of(const struct save *save)
{
    return save->kind == SAVE_OLD ? "change a copy of it" : "name another file";
}

static const char *cannot(const struct save *save, const char *why)
{
    return arena_format(save->arena, "%s cannot be written: %s", save->path, why);
}

/* Why the last call of the system failed, about a file that may be in use. */
static const char *reason(const struct save *save)
{
    if (GetLastError() == ERROR_SHARING_VIOLATION || GetLastError() == ERROR_LOCK_VIOLATION)
        return "another program holds it open";
    if (GetLastError() == ERROR_INVALID_NAME)
        return "its name is none that a file can have here";
    return error_reason(save->arena, windows_error());
}

/* Who may do what with the old file, so that the new one lets nobody else in at any moment;
 * NULL: the disk knows nothing of that. */
static PSECURITY_DESCRIPTOR rights_of(const struct save *save)
{
    wchar_t *wide = wide_path(save->place);
    DWORD size = 0;
    PSECURITY_DESCRIPTOR rights = NULL;
    if (wide && !GetFileSecurityW(wide, DACL_SECURITY_INFORMATION, NULL, 0, &size) && size) {
        rights = arena_alloc(save->arena, size);
        if (!GetFileSecurityW(wide, DACL_SECURITY_INFORMATION, rights, size, &size))
            rights = NULL;
    }
    free(wide);
    return rights;
}

/* Makes the file under a name that is free.  What an earlier run left behind is in nobody's
 * way. */
static HANDLE make_file(struct save *save)
{
    DWORD number = GetCurrentProcessId(), last = number + NAMES_TRIED;
    SECURITY_ATTRIBUTES with = {.nLength = sizeof with};
    HANDLE file;
    if (save->old != INVALID_HANDLE_VALUE)
        with.lpSecurityDescriptor = rights_of(save);
    const char *slash = strrchr(save->place, '/');
    int folder = slash ? (int)(slash - save->place) + 1 : 0;
    do {
        save->temporary = arena_format(save->arena, "%.*s%.*s.unfinished-%lx", folder,
                                       save->place, NAME_KEPT, save->place + folder, number);
        wchar_t *wide = wide_path(save->temporary);
        if (!wide)
            arena_exhausted(save->arena);
        wchar_t *kept = arena_zero(save->arena, wcslen(wide) + 1, sizeof *kept);
        wcscpy(kept, wide);
        free(wide);
        save->wide_temporary = kept;
        file = CreateFileW(kept, GENERIC_READ | GENERIC_WRITE | DELETE,
                           FILE_SHARE_READ | FILE_SHARE_DELETE, &with, CREATE_NEW,
                           FILE_ATTRIBUTE_NORMAL, NULL);
    } while (file == INVALID_HANDLE_VALUE && windows_error() == EEXIST && ++number != last);
    return file;
}

static const char *make_unfinished(struct save *save)
{
    catch_stops();
    HANDLE file = make_file(save);
    if (file == INVALID_HANDLE_VALUE) {
        const char *why = reason(save);
        bool no_folder = GetLastError() == ERROR_PATH_NOT_FOUND;
        save->temporary = NULL;
        if (no_folder)
            return "its folder is not there";
        return save->old == INVALID_HANDLE_VALUE
                   ? arena_format(save->arena, "no file can be made in its folder: %s", why)
                   : arena_format(save->arena,
                                  "no file can be made in its folder, as has to be (%s): %s",
                                  why, instead_of(save));
    }
    save->file = file_of(file);
    for (size_t i = 0; i < UNFINISHED_MAX; i++) {
        if (unfinished[i])
            continue;
        unfinished[i] = save;
        break;
    }
    struct file_about about;
    if (save->file < 0 || !file_about_open(save->file, &about))
        return error_reason(save->arena, errno);
    save->made = about.identity;
    return NULL;
}

/* --- finding --- */

/* A colon behind the drive is a stream of a file, which lasts no longer than it does. */
static bool names_stream(const char *path)
{
    const char *slash = strrchr(path, '/');
    const char *name = slash ? slash + 1 : path[0] && path[1] == ':' ? path + 2 : path;
    return strchr(name, ':') != NULL;
}

/* Holds what is there, with leave to change it. */
static const char *hold(struct save *save, const struct file_about *about)
{
    BY_HANDLE_FILE_INFORMATION found;
    struct file_about held;
    if (about->kind != FILE_PLAIN)
        return about->kind == FILE_FOLDER ? error_reason(save->arena, EISDIR)
                                          : "it is no plain file";
    save->place = path_whole(save->arena, save->path);
    if (!save->place)
        return error_reason(save->arena, errno);
    save->old = handle_open(save->place, GENERIC_READ | GENERIC_WRITE, 0);
    if (save->old == INVALID_HANDLE_VALUE)
        return reason(save);
    if (!handle_about(save->old, &held) || !GetFileInformationByHandle(save->old, &found))
        return reason(save);
    if (!file_is_identical(&held.identity, &about->identity))
        return save_meanwhile;
    if (found.nNumberOfLinks > 1)
        return arena_format(
            save->arena,
            "it has %lu names (hard links), and would be parted from the others: %s",
            found.nNumberOfLinks, instead_of(save));
    if (found.dwFileAttributes & FILE_ATTRIBUTE_READONLY)
        return arena_format(save->arena, "it is marked as one that is only read: %s",
                            instead_of(save));
    save->identity = held.identity;
    save->attributes = found.dwFileAttributes;
    return NULL;
}

const char *save_open(struct save **out, struct arena *arena, const char *path,
                      enum save_kind kind, bool is_private)
{
    struct file_about about, link;
    const char *why = NULL;
    struct save *save = ARENA_NEW(arena, struct save);
    (void)is_private; /* in the folder of this user, and so as it is anyway */
    *save = (struct save){.arena = arena,
                          .path = path,
                          .kind = kind,
                          .place = path,
                          .old = INVALID_HANDLE_VALUE,
                          .file = -1};
    *out = save;
    bool exists = file_about(path, &about);
    if (names_stream(path))
        why = "its name has a colon in it, which stands for another stream of a file";
    else if (!exists && file_about_link(path, &link))
        why = "it is a link to a file that is not there";
    else
        why = save_refusal(arena, kind, exists ? 0 : errno);
    if (!why && !exists && (!*path || path[strlen(path) - 1] == '/'))
        why = error_reason(arena, EISDIR);
    if (!why && exists)
        why = hold(save, &about);
    if (!why)
        why = make_unfinished(save);
    if (why)
        save_drop(save);
    return why ? cannot(save, why) : NULL;
}

int save_file(const struct save *save)
{
    return save->file;
}

const struct file_identity *save_replaces(const struct save *save)
{
    return save->old == INVALID_HANDLE_VALUE ? NULL : &save->identity;
}

/* --- finishing --- */

static const char *close_whole(struct save *save)
{
    int error = file_sync(save->file);
    int closing = file_close(save->file);
    save->file = -1;
    error = error ? error : closing;
    return error ? error_reason(save->arena, error) : NULL;
}

/* Does the name still stand for the file that is held, and does that say `before`? */
static const char *compare(const struct save *save, const struct view *before)
{
    struct file_about now;
    char room[COMPARED];
    size_t at = 0;
    if (!file_about(save->place, &now) || !file_is_identical(&now.identity, &save->identity))
        return save_meanwhile;
    while (before) {
        OVERLAPPED place = {.Offset = (DWORD)at, .OffsetHigh = (DWORD)((uint64_t)at >> 32)};
        DWORD size = 0;
        if (!ReadFile(save->old, room, sizeof room, &size, &place) &&
            GetLastError() != ERROR_HANDLE_EOF)
            return reason(save);
        if (size == 0)
            return at == before->size ? NULL : save_meanwhile;
        if (size > before->size - at || memcmp(room, before->data + at, size) != 0)
            return save_meanwhile;
        at += size;
    }
    return NULL;
}

/* Has the disk nothing that only the system's own call would keep? */
static bool is_plain_disk(const struct save *save)
{
    DWORD flags = 0;
    return GetVolumeInformationByHandleW(save->old, NULL, 0, NULL, NULL, &flags, NULL, 0) &&
           !(flags & (FILE_PERSISTENT_ACLS | FILE_NAMED_STREAMS));
}

static BOOL replace(struct save *save, const wchar_t *place)
{
    bool is_plain = is_plain_disk(save);
    CloseHandle(save->old);
    save->old = INVALID_HANDLE_VALUE;
    if (!is_plain)
        return ReplaceFileW(place, save->wide_temporary, NULL, REPLACEFILE_WRITE_THROUGH, NULL,
                            NULL);
    return SetFileAttributesW(save->wide_temporary, save->attributes) &&
           MoveFileExW(save->wide_temporary, place,
                       MOVEFILE_REPLACE_EXISTING | MOVEFILE_WRITE_THROUGH);
}

static const char *put_in_place(struct save *save)
{
    struct file_about now;
    wchar_t *place = wide_path(save->place);
    if (!place)
        return error_reason(save->arena, ENOMEM);
    BOOL done = save->old != INVALID_HANDLE_VALUE
                    ? replace(save, place)
                    : MoveFileExW(save->wide_temporary, place, MOVEFILE_WRITE_THROUGH);
    const char *why = done ? NULL : reason(save);
    free(place);
    /* Over a network a call can be done and its answer lost. */
    if (why && file_about(save->place, &now) && file_is_identical(&now.identity, &save->made) &&
        !file_is_there(save->temporary))
        why = NULL;
    if (why)
        return why;
    forget(save);
    save->temporary = NULL;
    return NULL;
}

const char *save_finish(struct save *save, const struct view *before)
{
    const char *why = close_whole(save);
    if (!why && save->old != INVALID_HANDLE_VALUE)
        why = compare(save, before);
    if (!why)
        why = put_in_place(save);
    save_drop(save);
    return why ? cannot(save, why) : NULL;
}

const char *save_drop(struct save *save)
{
    const char *why = NULL;
    if (save->temporary && !take_away(save))
        why = arena_format(save->arena, "%s is left beside %s, and cannot be taken away: %s",
                           save->temporary, save->path,
                           error_reason(save->arena, windows_error()));
    forget(save);
    save->temporary = NULL;
    if (save->file >= 0)
        file_close(save->file);
    if (save->old != INVALID_HANDLE_VALUE)
        CloseHandle(save->old);
    save->file = -1;
    save->old = INVALID_HANDLE_VALUE;
    return why;
}
