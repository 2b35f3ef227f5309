#include <errno.h>
#include <fcntl.h>
#include <io.h>
#include <stdlib.h>

#include "platform/windows/internal_windows.h"

/* Shells here leave `*.yaml` to the program: the C library puts in its place what it stands
 * for. */
int _dowildcard = -1;

int main(int count, char **arguments);

/* Where the system begins: its own form of the arguments is the only one that has every letter.
 */
int wmain(int count, wchar_t **wide)
{
    struct arena arena;
    arena_init(&arena, NULL);
    char **arguments = arena_zero(&arena, (size_t)count + 1, sizeof *arguments);
    for (int i = 0; i < count; i++) {
        const char *text = narrow_text(&arena, wide[i]);
        arguments[i] = arena_copy(&arena, text, strlen(text));
    }
    int status = main(count, arguments);
    arena_free(&arena);
    return status;
}

char **platform_begin(int *count, char **arguments)
{
    (void)count;
    /* no boxes that somebody has to press away: what cannot be opened is said */
    SetErrorMode(SEM_FAILCRITICALERRORS | SEM_NOOPENFILEERRORBOX);
    for (int number = STANDARD_INPUT; number <= STANDARD_ERROR; number++)
        _setmode(number, _O_BINARY);
    return arguments;
}

bool platform_is_alone(void)
{
    DWORD others[2];
    return GetConsoleProcessList(others, 2) == 1;
}
