/* Windows' consoles, for this half alone. */
#ifndef PROVEOUT_PLATFORM_WINDOWS_CONSOLE_H
#define PROVEOUT_PLATFORM_WINDOWS_CONSOLE_H

#include "platform/internal.h"

/* Shows UTF-8 whatever the code page is.  A letter whose rest is still to come waits for it. 0,
 * or the errno. */
int console_write(int file, struct view text);

/* Has somebody asked for the program's end, since line_catch?  LINE_READ: nobody. */
enum line_result console_end(void);

#endif
