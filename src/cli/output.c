/* Writing output whole or not at all. */
#include "cli/output.h"

#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "cli/command.h"
#include "cli/input.h"

/* The half-written files, for output_abandon: a signal handler has no other way to know.  Two,
 * for a machine file may be saved while --output is still open. */
enum { UNFINISHED_MAX = 2 };
static const char *volatile unfinished[UNFINISHED_MAX];

static void forget(const char *name)
{
    for (size_t i = 0; i < UNFINISHED_MAX; i++)
        if (unfinished[i] == name)
            unfinished[i] = NULL;
}

void output_abandon(void)
{
    for (size_t i = 0; i < UNFINISHED_MAX; i++) {
        if (unfinished[i])
            unlink(unfinished[i]);
        unfinished[i] = NULL;
    }
}

void trouble_no_memory(void)
{
    static const struct view text =
        VIEW_LITERAL("proveout: there is not enough memory; nothing more is checked.\n");
    trouble_write(text);
    output_abandon();
    _exit(EXIT_TROUBLE);
}

static void end_without_memory(void *user)
{
    (void)user;
    trouble_no_memory();
}

const struct arena_host trouble_host = {.out_of_memory = end_without_memory};

/* Stopped by a signal: no half file stays, and whoever waits sees death by that signal. */
static void stop(int number)
{
    output_abandon();
    signal(number, SIG_DFL);
    raise(number);
}

static const int stop_signals[] = {SIGHUP, SIGINT, SIGTERM};

enum { STOP_SIGNALS = sizeof stop_signals / sizeof *stop_signals };

static void catch_signals(void)
{
    for (size_t i = 0; i < STOP_SIGNALS; i++) {
        struct sigaction action = {0};
        sigaction(stop_signals[i], NULL, &action);
        if (action.sa_handler != SIG_DFL)
            continue; /* ignored, or somebody ends the program in an order of his own */
        action.sa_handler = stop;
        sigemptyset(&action.sa_mask);
        sigaction(stop_signals[i], &action, NULL);
    }
}

/* mkstemp, with no moment at which there is a file that `stop` does not know of. */
static int create_unfinished(char *name)
{
    sigset_t held, before;
    sigemptyset(&held);
    for (size_t i = 0; i < STOP_SIGNALS; i++)
        sigaddset(&held, stop_signals[i]);
    catch_signals();
    sigprocmask(SIG_BLOCK, &held, &before);
    int file = mkstemp(name);
    for (size_t i = 0; file >= 0 && i < UNFINISHED_MAX; i++) {
        if (unfinished[i])
            continue;
        unfinished[i] = name;
        break;
    }
    int error = errno;
    sigprocmask(SIG_SETMASK, &before, NULL);
    errno = error;
    return file;
}

static const char *folder_of(struct arena *arena, const char *path)
{
    return dirname(arena_copy(arena, path, strlen(path)));
}

/* A new file beside `place`, with the rights the old one has or a new one would have. */
static int create_beside(struct output *out, struct arena *arena, const struct stat *old)
{
    char *name = arena_format(arena, "%s.XXXXXX", out->place);
    int file = create_unfinished(name);
    if (file < 0)
        return -1;
    out->temporary = name;
    mode_t mask = umask(0);
    umask(mask);
    /* The owner first: changing it takes away bits of the mode.  Only root may; a file of one's
     * own needs none of it. */
    if (old && (old->st_uid != geteuid() || old->st_gid != getegid()))
        (void)!fchown(file, old->st_uid, old->st_gid);
    if (fchmod(file, old ? old->st_mode & 07777 : 0666 & ~mask) != 0)
        out->error = errno;
    return file;
}

static const char *cannot_write(struct arena *arena, const char *name, int error)
{
    return arena_format(arena, "%s cannot be written: %s", name ? name : "standard output",
                        error == ENOENT ? "its folder is not there"
                                        : trouble_reason(arena, error));
}

const char *output_open(struct output *out, struct arena *arena, const char *name)
{
    *out = (struct output){.file = STDOUT_FILENO, .name = name};
    out->room = arena_alloc(arena, OUTPUT_ROOM);
    out->is_terminal = !name && isatty(STDOUT_FILENO);
    if (!name)
        return NULL;
    struct stat old;
    bool exists = stat(name, &old) == 0;
    if (exists && !S_ISREG(old.st_mode)) {
        out->file = open(name, O_WRONLY | O_CLOEXEC | O_NOCTTY);
    } else {
        char *target = exists ? realpath(name, NULL) : NULL;
        out->place = target ? arena_copy(arena, target, strlen(target)) : name;
        free(target);
        out->file = create_beside(out, arena, exists ? &old : NULL);
    }
    return out->file < 0 ? cannot_write(arena, name, errno) : NULL;
}

static void write_out(struct output *out, struct view text)
{
    while (text.size && !out->error) {
        ssize_t written = write(out->file, text.data, text.size);
        if (written < 0 && errno == EINTR)
            continue;
        if (written < 0)
            out->error = errno;
        else
            text = view_skip(text, (size_t)written);
    }
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

bool output_is_alive(const struct output *out)
{
    return out->error == 0;
}

void output_discard(struct output *out)
{
    out->used = 0;
    out->discarded = true;
}

/* The new name lasts over a power cut only once its folder is synced as well. */
static void sync_folder(struct arena *arena, const char *path)
{
    int folder = open(folder_of(arena, path), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (folder < 0)
        return;
    (void)fsync(folder);
    close(folder);
}

/* Renames a whole file into its place. */
static void put_in_place(struct output *out, struct arena *arena)
{
    if (rename(out->temporary, out->place) != 0) {
        out->error = errno;
        return;
    }
    forget(out->temporary);
    sync_folder(arena, out->place);
}

const char *output_finish(struct output *out, struct arena *arena)
{
    bool renames = out->place && !out->discarded;
    output_flush(out);
    if (!out->error && renames && fsync(out->file) != 0)
        out->error = errno;
    if (close(out->file) != 0 && !out->error)
        out->error = errno;
    if (!out->error && renames)
        put_in_place(out, arena);
    if (out->temporary && (out->error || !renames)) {
        unlink(out->temporary);
        forget(out->temporary);
    }
    if (out->error == EPIPE)
        return "";
    return out->error ? cannot_write(arena, out->name, out->error) : NULL;
}

const char *output_whole(struct arena *arena, const char *path, struct view bytes)
{
    struct output out;
    const char *why = output_open(&out, arena, path);
    if (why)
        return why;
    output_write(&out, bytes);
    return output_finish(&out, arena);
}

static const char *cannot(struct arena *arena, const char *path, const char *why)
{
    return arena_format(arena, "%s cannot be written: %s", path, why);
}

const char *save_over(struct arena *arena, const char *path, struct view before,
                      struct view after)
{
    struct stat about;
    struct view now;
    const char *why;
    /* A rename asks only for the folder's leave; the file's own is asked here. */
    if (stat(path, &about) != 0 || access(path, W_OK) != 0)
        return cannot(arena, path, trouble_reason(arena, errno));
    if (!S_ISREG(about.st_mode))
        return cannot(arena, path, "it is no plain file");
    if (!input_read_file(path, SOURCE_SIZE_MAX, arena, &now, &why))
        return cannot(arena, path, why);
    if (!view_equal(now, before))
        return cannot(arena, path, "somebody else has changed it meanwhile");
    return output_whole(arena, path, after);
}
