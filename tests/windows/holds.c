/* holds FILE: has it open, so that others may read it and no more, until standard input ends.
 * holds --junction LINK FOLDER: makes a folder that leads to another. */
#include <stdio.h>
#include <string.h>
#include <wchar.h>
#include <windows.h>
#include <winioctl.h>

/* What the system takes for a folder that leads elsewhere; <winnt.h> does not have it. */
struct mount_point {
    DWORD tag;
    WORD size, reserved;
    WORD substitute_offset, substitute_size, print_offset, print_size;
    WCHAR names[2 * MAX_PATH];
};

static int made(const wchar_t *link, const wchar_t *folder)
{
    struct mount_point point = {.tag = IO_REPARSE_TAG_MOUNT_POINT};
    wchar_t target[MAX_PATH];
    DWORD done;
    swprintf(target, MAX_PATH, L"\\??\\%ls", folder);
    size_t substitute = wcslen(target), print = wcslen(folder);
    memcpy(point.names, target, (substitute + 1) * sizeof(WCHAR));
    memcpy(point.names + substitute + 1, folder, (print + 1) * sizeof(WCHAR));
    point.substitute_size = (WORD)(substitute * sizeof(WCHAR));
    point.print_offset = (WORD)((substitute + 1) * sizeof(WCHAR));
    point.print_size = (WORD)(print * sizeof(WCHAR));
    point.size = (WORD)(8 + (substitute + print + 2) * sizeof(WCHAR));
    CreateDirectoryW(link, NULL);
    HANDLE handle = CreateFileW(link, GENERIC_WRITE, 0, NULL, OPEN_EXISTING,
                                FILE_FLAG_BACKUP_SEMANTICS | FILE_FLAG_OPEN_REPARSE_POINT, NULL);
    if (DeviceIoControl(handle, FSCTL_SET_REPARSE_POINT, &point, 8U + point.size, NULL, 0, &done,
                        NULL))
        return 0;
    printf("error %lu\n", GetLastError());
    return 1;
}

int wmain(int count, wchar_t **arguments)
{
    if (count == 4 && wcscmp(arguments[1], L"--junction") == 0)
        return made(arguments[2], arguments[3]);
    HANDLE file = CreateFileW(arguments[1], GENERIC_READ, FILE_SHARE_READ, NULL, OPEN_EXISTING, 0, NULL);
    puts(file == INVALID_HANDLE_VALUE ? "not held" : "held");
    fflush(stdout);
    while (getchar() != EOF)
        ;
    return 0;
}
