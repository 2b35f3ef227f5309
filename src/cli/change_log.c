#include "cli/change_log.h"

#include <errno.h>
#include <string.h>

#include "platform/platform.h"
#include "text/escape.h"

static const char first_line[] =
    "# proveout log 1: day, machine file, field, old value, new value, reason\n";

enum { RECOGNISED = sizeof "# proveout log 1" - 1 };

static const char *cannot(struct arena *arena, const struct change_log *log, int error)
{
    return arena_format(arena, "%s cannot be added to: %s",
                        escape_short(arena, view_of(log->path), 60), strerror(error));
}

/* Whether it is a log at all, and how it begins and ends.  NULL, or why it is none. */
static const char *look(struct arena *arena, struct change_log *log)
{
    struct file_about about;
    char start[RECOGNISED], last = '\n';
    if (!file_about_open(log->file, &about))
        return cannot(arena, log, errno);
    const char *name = escape_short(arena, view_of(log->path), 60);
    if (about.kind != FILE_PLAIN)
        return arena_format(arena, "%s is no file that lines could be added to", name);
    log->begun = about.size > 0;
    if (!log->begun)
        return NULL;
    ptrdiff_t got = file_read_at(log->file, start, sizeof start, 0);
    if (got >= 0)
        got = file_read_at(log->file, &last, 1, about.size - 1) < 0 ? -1 : got;
    if (got < 0)
        return cannot(arena, log, errno);
    if (got < RECOGNISED || memcmp(start, first_line, RECOGNISED) != 0)
        return arena_format(arena,
                            "%s is no log: its first line does not say so, and nothing is "
                            "added to a file that is something else",
                            name);
    log->whole = last == '\n';
    return NULL;
}

const char *change_log_open(struct arena *arena, const char *path, bool links,
                            struct change_log *out)
{
    *out = (struct change_log){.path = path, .whole = true};
    out->file = file_open_log(path, links);
    if (out->file < 0 && errno == ELOOP && !links)
        return arena_format(
            arena, "%s is a link, which a machine file may not have lines added through",
            escape_short(arena, view_of(path), 60));
    if (out->file < 0)
        return cannot(arena, out, errno);
    const char *wrong = look(arena, out);
    if (wrong) {
        file_close(out->file);
        out->file = -1;
    }
    return wrong;
}

void change_log_part(struct buffer *lines, struct view text)
{
    escape_terminal(lines, text);
}

const char *change_log_add(struct arena *arena, struct change_log *log, struct view lines)
{
    struct buffer all;
    buffer_init(&all, arena);
    if (!log->whole)
        buffer_byte(&all, '\n'); /* somebody was stopped in the middle of a line */
    if (!log->begun)
        buffer_text(&all, first_line);
    buffer_add(&all, lines);
    /* One write adds to the end whatever others add meanwhile; only a full disk parts it. */
    int error = file_write(log->file, buffer_view(&all));
    if (!error)
        error = file_sync(log->file);
    int closing = file_close(log->file);
    error = error ? error : closing;
    log->file = -1;
    return error ? cannot(arena, log, error) : NULL;
}
