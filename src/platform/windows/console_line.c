/* Lines from a console, a pipe or a file, and what ends them from outside.
 *
 * A console edits lines itself, with a history, as people know it from its own shell; it gives
 * back what is there so far where Tab is typed, and is asked to go on with what it is given.
 * Nothing can be waited for together with a line that is being typed or a pipe; so another
 * thread reads, and whoever wants the line waits for that thread and for an end from outside.
 */
#include "platform/windows/console.h"

#include <winternl.h>

enum {
    WIDE_MAX = LINE_SIZE_MAX + 2,
    CANCELLING = 300 /* ms: it is not waited for longer */
};

/* Set once and for all: Ctrl-C; the window is closed, or the user goes. */
static HANDLE interrupted, hung_up;

static BOOL WINAPI on_control(DWORD what)
{
    if (what == CTRL_C_EVENT || what == CTRL_BREAK_EVENT)
        return SetEvent(interrupted);
    SetEvent(hung_up);
    Sleep(INFINITE); /* Windows ends the program when this returns: main ends it before */
    return TRUE;
}

static bool catches;

bool console_catches(void)
{
    return catches;
}

void line_catch(bool edits)
{
    (void)edits;
    if (!hung_up) {
        interrupted = CreateEventW(NULL, TRUE, FALSE, NULL);
        hung_up = CreateEventW(NULL, TRUE, FALSE, NULL);
    }
    if (!interrupted || !hung_up)
        return;
    ResetEvent(interrupted); /* that was for another dialogue */
    if (!catches)
        catches = SetConsoleCtrlHandler(on_control, TRUE);
}

/* Has somebody asked for the program's end?  LINE_READ: nobody. */
static enum line_result asked_to_end(void)
{
    if (interrupted && WaitForSingleObject(interrupted, 0) == WAIT_OBJECT_0)
        return LINE_INTERRUPT;
    if (hung_up && WaitForSingleObject(hung_up, 0) == WAIT_OBJECT_0)
        return LINE_HANGUP;
    return LINE_READ;
}

/* One read, by a thread of its own; what it fills lives as long as the program, for a read that
 * is not waited for any more may still fill it. */
struct reading {
    HANDLE from;
    bool is_console;
    CONSOLE_READCONSOLE_CONTROL control;
    union {
        WCHAR wide[WIDE_MAX];
        char bytes[WIDE_MAX * sizeof(WCHAR)];
    } room;
    DWORD got; /* characters or bytes */
    DWORD error;
    HANDLE thread; /* that reads; NULL: none */
};

static DWORD WINAPI read_some(void *user)
{
    struct reading *reading = user;
    SetLastError(0);
    BOOL done = reading->is_console
                    ? ReadConsoleW(reading->from, reading->room.wide, WIDE_MAX, &reading->got,
                                   reading->control.nLength ? &reading->control : NULL)
                    : ReadFile(reading->from, reading->room.bytes, sizeof reading->room.bytes,
                               &reading->got, NULL);
    reading->error = done && reading->got ? 0 : GetLastError();
    return 0;
}

/* LINE_READ: it has come to its end. */
static enum line_result wait_for(struct reading *reading)
{
    if (!reading->thread) {
        reading->got = 0;
        reading->thread = CreateThread(NULL, 0, read_some, reading, 0, NULL);
    }
    if (!reading->thread)
        return LINE_FAILED;
    const HANDLE handles[] = {interrupted, hung_up, reading->thread};
    DWORD first = hung_up ? 0 : 2;
    DWORD woken = WaitForMultipleObjects(3 - first, handles + first, FALSE, INFINITE);
    bool ended = woken != WAIT_OBJECT_0 + 2 - first;
    if (ended) {
        if (WaitForSingleObject(reading->thread, CANCELLING) != WAIT_OBJECT_0)
            return asked_to_end(); /* it goes on, and whoever reads next gets what it gets */
    }
    CloseHandle(reading->thread);
    reading->thread = NULL;
    if (ended)
        return asked_to_end();
    if (reading->is_console && reading->error == ERROR_OPERATION_ABORTED) {
        /* by Ctrl-C, of which the other thread is told at the same time */
        WaitForSingleObject(interrupted, CANCELLING);
        return LINE_INTERRUPT;
    }
    return LINE_READ;
}

/* The same for whoever reads from there. */
static struct reading *reading_of(HANDLE from)
{
    static struct reading *last;
    DWORD mode;
    if (!last || last->from != from) /* of no arena: see above */
        last = HeapAlloc(GetProcessHeap(), HEAP_ZERO_MEMORY, sizeof *last);
    if (last) {
        last->from = from;
        last->is_console = GetConsoleMode(from, &mode) != 0;
    }
    return last;
}

static size_t utf8_of(const WCHAR *wide, size_t count, char *out, size_t room)
{
    int size =
        count ? WideCharToMultiByte(CP_UTF8, 0, wide, (int)count, out, (int)room, NULL, NULL)
              : 0;
    return size > 0 ? (size_t)size : 0;
}

/* --- lines as they come --- */

enum line_result line_fill(const struct line_place *place, void *room, size_t size, size_t *got)
{
    static struct reading *reading;
    if (!reading)
        reading = reading_of(handle_of(place->in));
    enum line_result ended = reading ? asked_to_end() : LINE_FAILED;
    if (ended == LINE_READ)
        ended = wait_for(reading);
    if (ended != LINE_READ)
        return ended;
    if (reading->error)
        return reading->error == ERROR_BROKEN_PIPE || reading->error == ERROR_HANDLE_EOF
                   ? LINE_END
                   : LINE_FAILED;
    if (!reading->got || (reading->is_console && reading->room.wide[0] == CONSOLE_END))
        return LINE_END;
    if (reading->is_console) {
        *got = utf8_of(reading->room.wide, reading->got, room, size);
    } else {
        *got = reading->got < size ? reading->got : size;
        memcpy(room, reading->room.bytes, *got);
    }
    return *got ? LINE_READ : LINE_FAILED;
}

/* What <winternl.h> leaves out. */
enum { PIPE_STATE = 24, PIPE_IS_CLOSING = 4 };
struct pipe_state {
    ULONG type, configuration, most, now, in_most, in_now, out_most, out_left, state, end;
};

bool line_is_shown(const struct line_place *place)
{
    struct pipe_state about = {0};
    IO_STATUS_BLOCK done;
    NTSTATUS status = NtQueryInformationFile(handle_of(place->out), &done, &about, sizeof about,
                                             (FILE_INFORMATION_CLASS)PIPE_STATE);
    return status < 0 || about.state != PIPE_IS_CLOSING;
}

/* --- lines that are edited --- */

struct editor {
    struct line_reader reader;
    struct arena words;
    struct reading *reading;
    HANDLE in, out;
    DWORD mode; /* how the console was found */
    char line[LINE_SIZE_MAX * UTF8_PER_WIDE + 1];
};

/* Goes on with the word before the cursor, which stands behind `count` characters, as far as
 * all that fit agree.  What stood behind the cursor is gone, for the console does not give all
 * of it back.  How many characters there are then. */
static size_t complete(struct editor *editor, size_t count)
{
    struct reading *reading = editor->reading;
    CONSOLE_SCREEN_BUFFER_INFO about;
    DWORD behind = (reading->got - (DWORD)count) * 2, filled;
    if (GetConsoleScreenBufferInfo(editor->out, &about))
        FillConsoleOutputCharacterW(editor->out, L' ', behind, about.dwCursorPosition, &filled);
    const struct view typed = {
        editor->line, utf8_of(reading->room.wide, count, editor->line, sizeof editor->line)};
    const struct view more =
        line_completion(&editor->words, &editor->reader.place.words, typed);
    int added = 0;
    if (more.size && count + more.size < LINE_SIZE_MAX)
        added = MultiByteToWideChar(CP_UTF8, 0, more.data, (int)more.size,
                                    reading->room.wide + count, (int)(WIDE_MAX - count));
    const WCHAR *shown = added ? reading->room.wide + count : L"\a";
    WriteConsoleW(editor->out, shown, added ? (DWORD)added : 1, &filled, NULL);
    return count + (size_t)added;
}

/* Reads to the end of a line, of which `*count` characters are there then.  LINE_TOO_LONG: they
 * are its last ones. */
static enum line_result read_whole(struct editor *editor, size_t *count)
{
    struct reading *reading = editor->reading;
    enum line_result result = LINE_READ;
    const WCHAR *wide = reading->room.wide;
    *count = 0;
    for (;;) {
        if (editor->reader.place.words.list)
            reading->control = (CONSOLE_READCONSOLE_CONTROL){.nLength = sizeof reading->control,
                                                             .nInitialChars = (ULONG)*count,
                                                             .dwCtrlWakeupMask = 1U << '\t'};
        enum line_result ended = wait_for(reading);
        if (ended != LINE_READ)
            return ended;
        if (reading->error || !reading->got)
            return LINE_END; /* the console is gone */
        size_t tab = 0;
        while (tab < reading->got && wide[tab] != '\t')
            tab++;
        if (reading->control.nLength && tab < reading->got) {
            *count = complete(editor, tab);
            continue;
        }
        *count = reading->got;
        if (wide[*count - 1] == '\n')
            return result;
        result = LINE_TOO_LONG;
        *count = 0;
    }
}

static enum line_result read_edited(struct line_reader *reader, struct view *out)
{
    struct editor *editor = (struct editor *)(void *)reader;
    enum line_result result = asked_to_end();
    if (result != LINE_READ)
        return result;
    console_write(editor->out, view_of("> "));
    size_t count;
    result = read_whole(editor, &count);
    const WCHAR *wide = editor->reading->room.wide;
    if (result != LINE_READ)
        return result;
    if (wide[0] == CONSOLE_END)
        return LINE_END;
    while (count && (wide[count - 1] == '\n' || wide[count - 1] == '\r'))
        count--;
    if (count > LINE_SIZE_MAX)
        return LINE_TOO_LONG;
    *out = (struct view){editor->line, utf8_of(wide, count, editor->line, sizeof editor->line)};
    return LINE_READ;
}

static void close_editor(struct line_reader *reader)
{
    struct editor *editor = (struct editor *)(void *)reader;
    SetConsoleMode(editor->in, editor->mode);
    catches = !SetConsoleCtrlHandler(on_control, FALSE);
    arena_free(&editor->words);
}

struct line_reader *line_open_editor(struct arena *arena, const struct line_place *place)
{
    struct editor *editor = ARENA_NEW(arena, struct editor);
    *editor = (struct editor){.reader = {*place, read_edited, close_editor},
                              .in = handle_of(place->in),
                              .out = handle_of(place->out)};
    editor->reading = reading_of(editor->in);
    const DWORD edits = ENABLE_PROCESSED_INPUT | ENABLE_LINE_INPUT | ENABLE_ECHO_INPUT;
    if (!editor->reading || !GetConsoleMode(editor->in, &editor->mode) ||
        !SetConsoleMode(editor->in,
                        (editor->mode | edits) & ~(DWORD)ENABLE_VIRTUAL_TERMINAL_INPUT))
        return NULL;
    arena_init(&editor->words, arena->host);
    return &editor->reader;
}
