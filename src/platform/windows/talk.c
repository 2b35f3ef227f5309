/* A thread takes in what comes, since nobody can wait here for a pipe and for time to pass. */
#include <errno.h>
#include <stdlib.h>

#include "platform/windows/internal_windows.h"

enum {
    PIECE = 64 * 1024,
    HELD_MAX = 256 * 1024 * 1024, /* bytes that wait for us; then the other has to */
};

static struct {
    CRITICAL_SECTION lock;
    HANDLE came, taken; /* events */
    char *bytes;
    size_t size, room, start; /* of `bytes`: what is not taken yet begins at `start` */
    bool has_begun, has_ended;
} heard;

/* Room for a piece more.  False: there is no memory. */
static bool make_room(void)
{
    if (heard.start) {
        memmove(heard.bytes, heard.bytes + heard.start, heard.size - heard.start);
        heard.size -= heard.start;
        heard.start = 0;
    }
    if (heard.room - heard.size >= PIECE)
        return true;
    size_t room = heard.room ? heard.room * 2 : (size_t)4 * PIECE;
    char *bytes = realloc(heard.bytes, room);
    if (!bytes)
        return false;
    heard.bytes = bytes;
    heard.room = room;
    return true;
}

static DWORD WINAPI listen_on(void *unused)
{
    static char piece[PIECE];
    bool goes_on = true;
    (void)unused;
    while (goes_on) {
        ptrdiff_t got = file_read(STANDARD_INPUT, piece, sizeof piece);
        EnterCriticalSection(&heard.lock);
        goes_on = got > 0 && make_room();
        if (goes_on) {
            memcpy(heard.bytes + heard.size, piece, (size_t)got);
            heard.size += (size_t)got;
        }
        heard.has_ended = !goes_on;
        bool is_full = heard.size - heard.start >= HELD_MAX;
        LeaveCriticalSection(&heard.lock);
        SetEvent(heard.came);
        if (is_full)
            WaitForSingleObject(heard.taken, INFINITE);
    }
    return 0;
}

static bool begin(void)
{
    if (heard.has_begun)
        return true;
    heard.has_begun = true;
    InitializeCriticalSection(&heard.lock);
    heard.came = CreateEventW(NULL, FALSE, FALSE, NULL);
    heard.taken = CreateEventW(NULL, FALSE, FALSE, NULL);
    HANDLE thread =
        heard.came && heard.taken ? CreateThread(NULL, 0, listen_on, NULL, 0, NULL) : NULL;
    if (thread)
        CloseHandle(thread);
    return thread != NULL;
}

static bool has_come(void)
{
    EnterCriticalSection(&heard.lock);
    bool is_there = heard.has_ended || heard.size > heard.start;
    LeaveCriticalSection(&heard.lock);
    return is_there;
}

int talk_wait(int wanted, int ms)
{
    if (!begin())
        return -1;
    int ready = wanted & TALK_OUT;
    if ((wanted & TALK_IN) && has_come())
        ready |= TALK_IN;
    if (ready || !ms)
        return ready;
    if (!(wanted & TALK_IN))
        Sleep((DWORD)ms);
    else if (WaitForSingleObject(heard.came, (DWORD)ms) == WAIT_OBJECT_0 && has_come())
        ready = TALK_IN;
    return ready;
}

ptrdiff_t talk_take(void *room, size_t size)
{
    EnterCriticalSection(&heard.lock);
    size_t there = heard.size - heard.start;
    size_t taken = there < size ? there : size;
    if (taken)
        memcpy(room, heard.bytes + heard.start, taken);
    heard.start += taken;
    LeaveCriticalSection(&heard.lock);
    SetEvent(heard.taken);
    return (ptrdiff_t)taken;
}

ptrdiff_t talk_give(struct view text)
{
    int error = file_write(STANDARD_OUTPUT, text);
    if (!error)
        return (ptrdiff_t)text.size;
    errno = error;
    return -1;
}
