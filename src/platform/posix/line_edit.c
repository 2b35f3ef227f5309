/* Lines with editing, by libedit.
 *
 * libedit's own handling of signals is not used: it passes them on to the whole process group.
 * It is given its characters one by one from here, and here is waited for signals too.
 */
#include <histedit.h>
#include <signal.h>
#include <stdio.h>
#include <unistd.h>
#include <wchar.h>

#include "platform/posix/again.h"
#include "platform/posix/wake.h"
#include "text/utf8.h"

enum { HISTORY = 500, POINT_BYTES = 4, WORD_MAX = 64 };

struct edit {
    struct line_reader reader;
    EditLine *line;
    History *history;
    struct arena *arena;
    struct arena words;
    enum line_result ended; /* why reading a character failed */
    size_t taken;           /* characters of this line */
    bool too_long;
    char prompt[3];
    char copy[LINE_SIZE_MAX * POINT_BYTES + 1];
};

static char *prompt(EditLine *line)
{
    struct edit *edit;
    el_get(line, EL_CLIENTDATA, &edit);
    return edit->prompt;
}

/* Stops the program as Ctrl-Z means it, the terminal as it was found meanwhile. */
static void stand_still(struct edit *edit)
{
    el_set(edit->line, EL_PREP_TERM, 0);
    raise(SIGSTOP);
    el_set(edit->line, EL_PREP_TERM, 1);
    el_set(edit->line, EL_REFRESH);
}

/* Waits for input.  False: a signal ends the line. */
static bool wait_for_input(struct edit *edit)
{
    for (;;) {
        int woken = line_wait(&edit->reader.place);
        if (woken == LINE_WOKEN_NONE)
            return true;
        if (woken == SIGWINCH) {
            el_resize(edit->line);
        } else if (woken == SIGTSTP) {
            stand_still(edit);
        } else {
            edit->ended = line_woken(woken);
            return false;
        }
    }
}

/* One byte: 1, 0 at the end, -1 where there is none. */
static int take_byte(struct edit *edit, char *byte)
{
    for (;;) {
        if (!wait_for_input(edit))
            return -1;
        ssize_t size = read(edit->reader.place.in, byte, 1);
        if (size >= 0)
            return (int)size;
        if (errno != EINTR && errno != EAGAIN) {
            edit->ended = LINE_END; /* the terminal is gone */
            return -1;
        }
    }
}

static int take_character(EditLine *line, wchar_t *out)
{
    struct edit *edit;
    el_get(line, EL_CLIENTDATA, &edit);
    char bytes[POINT_BYTES];
    uint32_t point;
    size_t size = 0;
    for (;;) {
        int got = take_byte(edit, &bytes[size]);
        if (got <= 0)
            return got;
        size++;
        if (utf8_read((struct view){bytes, size}, &point) == 0) {
            if (size < POINT_BYTES)
                continue;
            point = 0xfffd;
        }
        size = 0;
        bool ends = point == '\n' || point == '\r';
        if (++edit->taken <= LINE_SIZE_MAX || ends) {
            *out = (wchar_t)point;
            return 1;
        }
        edit->too_long = true;
    }
}

static unsigned char complete(EditLine *line, int key)
{
    (void)key;
    struct edit *edit;
    el_get(line, EL_CLIENTDATA, &edit);
    const LineInfo *info = el_line(line);
    const struct view typed = {info->buffer, (size_t)(info->cursor - info->buffer)};
    const struct view more = line_completion(&edit->words, &edit->reader.place.words, typed);
    char added[WORD_MAX];
    if (!more.size || more.size >= sizeof added)
        return CC_REFRESH_BEEP;
    memcpy(added, more.data, more.size);
    added[more.size] = '\0';
    return el_insertstr(line, added) < 0 ? CC_ERROR : CC_REFRESH;
}

static enum line_result read_edit(struct line_reader *reader, struct view *out)
{
    struct edit *edit = (struct edit *)(void *)reader;
    int count = 0;
    edit->ended = LINE_END;
    edit->taken = 0;
    edit->too_long = false;
    const char *text = el_gets(edit->line, &count);
    if (!text || count <= 0) {
        el_set(edit->line, EL_PREP_TERM, 0);
        return edit->ended;
    }
    size_t size = (size_t)count;
    while (size && (text[size - 1] == '\n' || text[size - 1] == '\r'))
        size--;
    if (edit->too_long || size >= sizeof edit->copy)
        return LINE_TOO_LONG;
    memcpy(edit->copy, text, size);
    edit->copy[size] = '\0';
    *out = (struct view){edit->copy, size};
    HistEvent event;
    if (size)
        history(edit->history, &event, H_ENTER, edit->copy);
    return LINE_READ;
}

static void close_edit(struct line_reader *reader)
{
    struct edit *edit = (struct edit *)(void *)reader;
    el_end(edit->line);
    history_end(edit->history);
    arena_free(&edit->words);
}

struct line_reader *line_open_editor(struct arena *arena, const struct line_place *place)
{
    struct edit *edit = ARENA_NEW(arena, struct edit);
    HistEvent event;
    edit->reader = (struct line_reader){*place, read_edit, close_edit};
    edit->arena = arena;
    arena_init(&edit->words, arena->host);
    memcpy(edit->prompt, "> ", sizeof edit->prompt);
    edit->line = el_init("proveout", stdin, stdout, stderr);
    if (!edit->line)
        return NULL;
    edit->history = history_init();
    if (!edit->history) {
        el_end(edit->line);
        return NULL;
    }
    history(edit->history, &event, H_SETSIZE, HISTORY);
    history(edit->history, &event, H_SETUNIQUE, 1);
    el_set(edit->line, EL_CLIENTDATA, edit);
    el_set(edit->line, EL_SIGNAL, 0);
    el_set(edit->line, EL_PROMPT, prompt);
    el_set(edit->line, EL_EDITOR, "emacs");
    el_set(edit->line, EL_HIST, history, edit->history);
    el_set(edit->line, EL_GETCFN, take_character);
    if (place->words.list) {
        /* Given as wide characters they are used as they are; others it copies, and loses. */
        el_wset(edit->line, EL_ADDFN, L"ask-complete", L"completes a word", complete);
        el_set(edit->line, EL_BIND, "^I", "ask-complete", NULL);
    }
    return &edit->reader;
}
