/* Waiting for lines and signals. */
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdlib.h>
#include <unistd.h>

#include "platform/posix/again.h"
#include "platform/posix/wake.h"

/* Signals write their number as one byte into a pipe: its ends. */
static int wake_to = -1, wake_from = -1;

static void wake(int number)
{
    int error = errno;
    unsigned char byte = (unsigned char)number;
    if (write(wake_to, &byte, 1) < 0)
        _Exit(2); /* the pipe is full of signals that nobody takes */
    errno = error;
}

void line_catch(bool edits)
{
    int ends[2];
    if (pipe(ends) != 0)
        return;
    for (int i = 0; i < 2; i++)
        fcntl(ends[i], F_SETFD, FD_CLOEXEC);
    fcntl(ends[1], F_SETFL, O_NONBLOCK);
    wake_from = ends[0];
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
}

int line_wait(const struct line_place *place)
{
    struct pollfd files[] = {{.fd = place->in, .events = POLLIN},
                             {.fd = wake_from, .events = POLLIN},
                             {.fd = place->out}}; /* tells of its end alone */
    for (;;) {
        if (poll(files, sizeof files / sizeof *files, -1) < 0) {
            if (errno == EINTR)
                continue;
            return -1;
        }
        unsigned char number;
        if ((files[1].revents & POLLIN) && read(wake_from, &number, 1) == 1)
            return number;
        if (files[2].revents)
            return SIGPIPE;
        if (files[0].revents & POLLNVAL)
            return -1;
        if (files[0].revents)
            return LINE_WOKEN_NONE;
    }
}

enum line_result line_woken(int woken)
{
    switch (woken) {
    case SIGINT:
        return LINE_INTERRUPT;
    case SIGPIPE:
        return LINE_UNSEEN;
    default:
        return woken < 0 ? LINE_FAILED : LINE_HANGUP;
    }
}

bool line_is_shown(const struct line_place *place)
{
    struct pollfd shown = {.fd = place->out};
    return poll(&shown, 1, 0) <= 0;
}

enum line_result line_fill(const struct line_place *place, void *room, size_t size, size_t *got)
{
    for (;;) {
        int woken = line_wait(place);
        if (woken != LINE_WOKEN_NONE)
            return line_woken(woken);
        ssize_t count = read(place->in, room, size);
        if (count >= 0) {
            *got = (size_t)count;
            return count ? LINE_READ : LINE_END;
        }
        if (errno != EINTR && errno != EAGAIN)
            return LINE_FAILED;
    }
}
