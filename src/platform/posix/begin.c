#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <unistd.h>

#include "platform/internal.h"

/* A closed standard descriptor would be given to the next file opened, and messages would end
 * up in it.  Each is filled with one that fails when used the way it is meant to be. */
static void fill_descriptors(void)
{
    for (int number = 0; number <= 2; number++)
        if (fcntl(number, F_GETFD) < 0)
            (void)!open("/dev/null", number == 0 ? O_WRONLY : O_RDONLY);
}

/* Writing to a pipe that nobody reads, or more than a file may hold, is a failed write and not
 * the end of the process. */
static void let_writes_fail(void)
{
    const struct sigaction ignore = {.sa_handler = SIG_IGN};
    sigaction(SIGPIPE, &ignore, NULL);
    sigaction(SIGXFSZ, &ignore, NULL);
}

char **platform_begin(int *count, char **arguments)
{
    (void)count;
    fill_descriptors();
    let_writes_fail();
    return arguments;
}

bool platform_is_alone(void)
{
    return false;
}

void error_system_words(int error, char *out, size_t size)
{
    if (strerror_r(error, out, size) != 0)
        snprintf(out, size, "error %d", error);
}
