/* Nothing is ever written that would have to wait for a reader. */
#include <poll.h>
#include <unistd.h>

#include "platform/internal.h"
#include "platform/posix/again.h"

enum { PIECE = 4096 }; /* which a pipe that takes anything takes at once */

int talk_wait(int wanted, int ms)
{
    struct pollfd files[] = {{.fd = wanted & TALK_IN ? STDIN_FILENO : -1, .events = POLLIN},
                             {.fd = wanted & TALK_OUT ? STDOUT_FILENO : -1, .events = POLLOUT}};
    int ready = poll(files, 2, ms);
    if (ready < 0)
        return errno == EINTR ? 0 : -1;
    return (files[0].revents ? TALK_IN : 0) | (files[1].revents ? TALK_OUT : 0);
}

ptrdiff_t talk_take(void *room, size_t size)
{
    ssize_t got;
    AGAIN(got, read(STDIN_FILENO, room, size));
    return got;
}

ptrdiff_t talk_give(struct view text)
{
    ssize_t given;
    AGAIN(given, write(STDOUT_FILENO, text.data, text.size < PIECE ? text.size : PIECE));
    return given;
}
