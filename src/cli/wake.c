#include "cli/wake.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <unistd.h>

/* The end that handlers write to. */
static int wake_to = -1;

static void wake(int number)
{
    int error = errno;
    unsigned char byte = (unsigned char)number;
    if (write(wake_to, &byte, 1) < 0)
        _exit(2); /* the pipe is full of signals that nobody takes */
    errno = error;
}

int wake_open(bool edits)
{
    int ends[2];
    if (pipe(ends) != 0)
        return -1;
    for (int i = 0; i < 2; i++)
        fcntl(ends[i], F_SETFD, FD_CLOEXEC);
    fcntl(ends[1], F_SETFL, O_NONBLOCK);
    wake_to = ends[1];
    static const int numbers[] = {SIGINT, SIGHUP, SIGTERM, SIGTSTP, SIGWINCH};
    for (int i = 0; i < (edits ? 5 : 3); i++) {
        struct sigaction action;
        sigaction(numbers[i], NULL, &action);
        if (action.sa_handler == SIG_IGN)
            continue;
        action = (struct sigaction){.sa_handler = wake};
        sigemptyset(&action.sa_mask);
        sigaction(numbers[i], &action, NULL);
    }
    return ends[0];
}
