/* Consoles: bytes in and out as UTF-8. */
#include <errno.h>

#include "platform/windows/internal_windows.h"

enum { AT_ONCE = 4096 }; /* letters */

bool console_is(HANDLE handle)
{
    DWORD mode;
    return GetConsoleMode(handle, &mode);
}
