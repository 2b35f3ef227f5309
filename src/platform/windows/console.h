/* Windows' consoles, as those see them who read lines there. */
#ifndef PROVEOUT_PLATFORM_WINDOWS_CONSOLE_H
#define PROVEOUT_PLATFORM_WINDOWS_CONSOLE_H

#include "platform/windows/internal_windows.h"

enum {
    CONSOLE_END = 0x1a, /* Ctrl-Z at the start of a line */
    UTF8_PER_WIDE = 3
};

#endif
