/* Waiting for lines and signals; lines as they come. */
#include "cli/line.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <unistd.h>

#include "text/source.h"

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

int line_catch(bool edits)
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

enum { ROOM = 65536 };

struct plain {
    struct line_reader reader;
    bool shows; /* a prompt, since somebody types */
    bool ended;
    char room[ROOM];
    size_t start, end; /* not yet taken */
    char line[LINE_SIZE_MAX + 1];
};

int line_wait(const struct line_place *place)
{
    struct pollfd files[] = {{.fd = place->in, .events = POLLIN},
                             {.fd = place->wake, .events = POLLIN},
                             {.fd = place->out}}; /* tells of its end alone */
    for (;;) {
        if (poll(files, sizeof files / sizeof *files, -1) < 0) {
            if (errno == EINTR)
                continue;
            return -1;
        }
        unsigned char number;
        if ((files[1].revents & POLLIN) && read(place->wake, &number, 1) == 1)
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

/* More bytes.  LINE_READ where there are some. */
static enum line_result fill(struct plain *plain)
{
    int woken = line_wait(&plain->reader.place);
    if (woken != LINE_WOKEN_NONE)
        return line_woken(woken);
    ssize_t size = read(plain->reader.place.in, plain->room, ROOM);
    if (size < 0)
        return errno == EINTR || errno == EAGAIN ? fill(plain) : LINE_FAILED;
    plain->start = 0;
    plain->end = (size_t)size;
    return size ? LINE_READ : LINE_END;
}

static enum line_result read_plain(struct line_reader *reader, struct view *out)
{
    struct plain *plain = (struct plain *)(void *)reader;
    size_t size = 0, left_out = 0;
    if (plain->shows && write(reader->place.out, "> ", 2) < 0)
        plain->shows = false;
    for (;;) {
        if (plain->start == plain->end) {
            enum line_result result = plain->ended ? LINE_END : fill(plain);
            plain->ended |= result == LINE_END;
            if (result == LINE_END && size)
                break;
            if (result != LINE_READ)
                return result;
        }
        char c = plain->room[plain->start++];
        if (c == '\n')
            break;
        if (size < LINE_SIZE_MAX) {
            plain->line[size++] = c;
        } else if (++left_out == SOURCE_SIZE_MAX) {
            plain->start = plain->end; /* it has no end: nothing more comes of it */
            plain->ended = true;
            break;
        }
    }
    if (size && plain->line[size - 1] == '\r')
        size--;
    *out = (struct view){plain->line, size};
    return left_out ? LINE_TOO_LONG : LINE_READ;
}

static void close_plain(struct line_reader *reader)
{
    (void)reader;
}

struct line_reader *line_plain(struct arena *arena, const struct line_place *place)
{
    struct plain *plain = ARENA_NEW(arena, struct plain);
    plain->reader = (struct line_reader){*place, read_plain, close_plain};
    plain->shows = isatty(place->in);
    return &plain->reader;
}

enum line_result line_read(struct line_reader *reader, struct view *out)
{
    /* An answer may be there already, given before anybody could see what it is to. */
    struct pollfd shown = {.fd = reader->place.out};
    return poll(&shown, 1, 0) > 0 ? LINE_UNSEEN : reader->read(reader, out);
}

void line_close(struct line_reader *reader)
{
    reader->close(reader);
}
