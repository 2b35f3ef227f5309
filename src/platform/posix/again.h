/* Makes a call again that a signal broke off. */
#ifndef PROVEOUT_PLATFORM_POSIX_AGAIN_H
#define PROVEOUT_PLATFORM_POSIX_AGAIN_H

#include <errno.h>

#define AGAIN(result, call)                                                                    \
    do                                                                                         \
        (result) = (call);                                                                     \
    while ((result) < 0 && errno == EINTR)

#endif
