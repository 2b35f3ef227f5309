/* Writing output whole or not at all. */
#include "cli/output.h"

#include <errno.h>
#include <fcntl.h>
#include <stdatomic.h>
#include <string.h>
#include <unistd.h>

#include "cli/save.h"

/* What --output would replace, and whether this run has read it: whoever reads a file knows of
 * no output. */
static struct {
    bool is_there;
    dev_t device;
    ino_t number;
    atomic_bool was_read;
} replaced;

void output_spare(const struct stat *about)
{
    if (replaced.is_there && about->st_dev == replaced.device &&
        about->st_ino == replaced.number)
        replaced.was_read = true;
}

static const char *cannot_write(struct arena *arena, const char *name, int error)
{
    return arena_format(arena, "%s cannot be written: %s", name ? name : "standard output",
                        trouble_reason(arena, error));
}

/* Opens what is no plain file, and is written straight. */
static const char *open_device(struct output *out, struct arena *arena)
{
    struct stat about;
    AGAIN(out->file, open(out->name, O_WRONLY | O_CLOEXEC | O_NOCTTY));
    if (out->file < 0)
        return cannot_write(arena, out->name, errno);
    if (fstat(out->file, &about) == 0 && !S_ISREG(about.st_mode))
        return NULL;
    close(out->file);
    return cannot_write(arena, out->name, EBUSY);
}

const char *output_open(struct output *out, struct arena *arena, const char *name)
{
    struct stat about;
    *out = (struct output){.file = STDOUT_FILENO, .name = name};
    out->room = arena_alloc(arena, OUTPUT_ROOM);
    out->is_terminal = !name && isatty(STDOUT_FILENO);
    if (!name)
        return NULL;
    if (stat(name, &about) == 0 && !S_ISREG(about.st_mode))
        return open_device(out, arena);
    out->save = ARENA_NEW(arena, struct save);
    const char *why = save_open(out->save, arena, name, SAVE_EITHER, 0666);
    if (why)
        return why;
    out->file = out->save->file;
    replaced.is_there = out->save->old >= 0;
    replaced.was_read = false;
    replaced.device = out->save->about.st_dev;
    replaced.number = out->save->about.st_ino;
    return NULL;
}

int write_all(int file, struct view text)
{
    while (text.size) {
        ssize_t written;
        AGAIN(written, write(file, text.data, text.size));
        if (written < 0)
            return errno;
        text = view_skip(text, (size_t)written);
    }
    return 0;
}

static void write_out(struct output *out, struct view text)
{
    if (!out->error)
        out->error = write_all(out->file, text);
}

void output_flush(struct output *out)
{
    write_out(out, (struct view){out->room, out->used});
    out->used = 0;
}

void output_write(struct output *out, struct view text)
{
    if (text.size > OUTPUT_ROOM - out->used)
        output_flush(out);
    if (text.size > OUTPUT_ROOM) {
        write_out(out, text);
    } else if (text.size) {
        memcpy(out->room + out->used, text.data, text.size);
        out->used += text.size;
    }
    if (out->is_terminal)
        output_flush(out);
}

/* Is there a file that was read, and is not to be lost for that? */
static bool is_spared(const struct output *out)
{
    return out->save && replaced.was_read;
}

bool output_is_alive(const struct output *out)
{
    return out->error == 0 && !is_spared(out);
}

void output_discard(struct output *out)
{
    out->used = 0;
    out->discarded = true;
}

const char *output_finish(struct output *out, struct arena *arena)
{
    output_flush(out);
    if (out->save) {
        if (!out->error && !out->discarded && !is_spared(out))
            return save_finish(out->save, NULL);
        save_drop(out->save);
    } else if (close(out->file) != 0 && errno != EINTR && !out->error) {
        out->error = errno;
    }
    if (out->error == EPIPE)
        return "";
    if (out->error)
        return cannot_write(arena, out->name, out->error);
    if (is_spared(out) && !out->discarded)
        return arena_format(arena, "%s has been read in this run, and is not written over",
                            out->name);
    return NULL;
}
