#include <errno.h>
#include <stdlib.h>
#include <wchar.h>

#include "base/buffer.h"
#include "platform/windows/internal_windows.h"

/* One argument, as the programs of this system part a command line: quoted, and a stroke before
 * a quotation mark or the closing one twice. */
static void add_argument(struct buffer *line, const char *argument)
{
    size_t strokes = 0;
    buffer_text(line, line->size ? " \"" : "\"");
    for (; *argument; argument++) {
        for (size_t i = 0; *argument == '"' && i <= strokes; i++)
            buffer_byte(line, '\\');
        strokes = *argument == '\\' ? strokes + 1 : 0;
        buffer_byte(line, *argument);
    }
    for (size_t i = 0; i < strokes; i++)
        buffer_byte(line, '\\');
    buffer_byte(line, '"');
}

/* Where a program lies, looked for in the folders of PATH alone: not in the one that is worked
 * in, where a stranger's files may be.  NULL: nowhere. */
static wchar_t *find_program(struct arena *arena, const char *name)
{
    DWORD size = GetEnvironmentVariableW(L"PATH", NULL, 0);
    wchar_t *folders = ARENA_ARRAY(arena, wchar_t, (size_t)size + 1);
    const wchar_t *wanted = wide_text(arena, name);
    if (!size || !GetEnvironmentVariableW(L"PATH", folders, size))
        return NULL;
    size = SearchPathW(folders, wanted, L".exe", 0, NULL, NULL);
    wchar_t *found = ARENA_ARRAY(arena, wchar_t, (size_t)size + 1);
    return size && SearchPathW(folders, wanted, L".exe", size + 1, found, NULL) ? found : NULL;
}

static int start(struct arena *arena, const char *const *arguments, HANDLE in, HANDLE out,
                 struct process *process)
{
    const wchar_t *program = find_program(arena, arguments[0]);
    struct buffer line;
    buffer_init(&line, arena);
    for (; *arguments; arguments++)
        add_argument(&line, *arguments);
    const wchar_t *wide = wide_text(arena, buffer_string(&line));
    STARTUPINFOW with = {.cb = sizeof with,
                         .dwFlags = STARTF_USESTDHANDLES,
                         .hStdInput = in,
                         .hStdOutput = out,
                         .hStdError = GetStdHandle(STD_ERROR_HANDLE)};
    PROCESS_INFORMATION started;
    if (!program)
        return ENOENT;
    if (!CreateProcessW(program, (wchar_t *)wide, NULL, NULL, TRUE, 0, NULL, NULL, &with,
                        &started))
        return windows_error();
    CloseHandle(started.hThread);
    process->id = (intptr_t)started.hProcess;
    return 0;
}

int process_start(struct process *process, const char *const *arguments, int *out)
{
    SECURITY_ATTRIBUTES inherited = {.nLength = sizeof inherited, .bInheritHandle = TRUE};
    HANDLE from, to;
    struct arena arena;
    if (!CreatePipe(&from, &to, &inherited, 0))
        return windows_error();
    SetHandleInformation(from, HANDLE_FLAG_INHERIT, 0);
    HANDLE nothing = CreateFileW(L"NUL", GENERIC_READ, FILE_SHARE_READ | FILE_SHARE_WRITE,
                                 &inherited, OPEN_EXISTING, 0, NULL);
    arena_init(&arena, NULL);
    int error = start(&arena, arguments, nothing, to, process);
    arena_free(&arena);
    CloseHandle(nothing);
    CloseHandle(to);
    if (error)
        CloseHandle(from);
    else if ((*out = file_of(from)) < 0)
        error = errno;
    return error;
}

bool process_end(struct process *process)
{
    HANDLE handle = (HANDLE)process->id;
    DWORD status = 1;
    bool ended = WaitForSingleObject(handle, INFINITE) == WAIT_OBJECT_0 &&
                 GetExitCodeProcess(handle, &status);
    CloseHandle(handle);
    return ended && status == 0;
}

bool process_is_there(long id)
{
    HANDLE handle = OpenProcess(SYNCHRONIZE, FALSE, (DWORD)id);
    if (!handle)
        return GetLastError() == ERROR_ACCESS_DENIED;
    bool runs = WaitForSingleObject(handle, 0) == WAIT_TIMEOUT;
    CloseHandle(handle);
    return runs;
}
