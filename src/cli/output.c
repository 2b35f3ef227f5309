/* Writing output whole or not at all. */
#include "cli/output.h"

#include <errno.h>
#include <stdatomic.h>
#include <string.h>

/* What --output would replace, and whether this run has read it: whoever reads a file knows of
 * no output. */
static struct {
    bool is_there;
    struct file_identity identity;
    atomic_bool was_read;
} replaced;

void output_spare(const struct file_about *about)
{
    if (replaced.is_there && file_is_identical(&about->identity, &replaced.identity))
        replaced.was_read = true;
}

static const char *cannot_write(struct arena *arena, const char *name, int error)
{
    return arena_format(arena, "%s cannot be written: %s", name ? name : "standard output",
                        error_reason(arena, error));
}

/* Opens what is no plain file, and is written straight. */
static const char *open_device(struct output *out, struct arena *arena)
{
    struct file_about about;
    out->file = file_open_device(out->name);
    if (out->file < 0)
        return cannot_write(arena, out->name, errno);
    if (file_about_open(out->file, &about) && about.kind != FILE_PLAIN)
        return NULL;
    file_close(out->file);
    return cannot_write(arena, out->name, EBUSY);
}

const char *output_open(struct output *out, struct arena *arena, const char *name)
{
    struct file_about about;
    *out = (struct output){.file = STANDARD_OUTPUT, .name = name};
    out->room = arena_alloc(arena, OUTPUT_ROOM);
    out->is_terminal = !name && terminal_is(STANDARD_OUTPUT);
    if (!name)
        return NULL;
    if (file_about(name, &about) && about.kind != FILE_PLAIN)
        return open_device(out, arena);
    struct save *save;
    const char *why = save_open(&save, arena, name, SAVE_EITHER, false);
    if (why)
        return why;
    const struct file_identity *old = save_replaces(save);
    out->save = save;
    out->file = save_file(save);
    replaced.is_there = old != NULL;
    replaced.was_read = false;
    if (old)
        replaced.identity = *old;
    return NULL;
}

static void write_out(struct output *out, struct view text)
{
    if (!out->error)
        out->error = file_write(out->file, text);
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
    } else {
        int error = file_close(out->file);
        out->error = out->error ? out->error : error;
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
