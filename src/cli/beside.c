/* Files that a machine file refers to.
 *
 * A machine file may come from a stranger: what it names is opened step by step from its own
 * folder, and no step may be a link or lead upwards, so that nothing outside is ever read.
 */
#include "cli/input.h"

#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/buffer.h"
#include "cli/trouble.h"

/* The next step of a path, which is moved behind it; empty at the end. */
static struct view next_step(struct view *path)
{
    size_t size = 0;
    while (size < path->size && path->data[size] != '/')
        size++;
    struct view step = {path->data, size};
    *path = view_skip(*path, size);
    while (path->size && path->data[0] == '/')
        *path = view_skip(*path, 1);
    return step;
}

static const char *wrong_with(struct view path)
{
    if (!path.size)
        return "no file is named";
    if (memchr(path.data, '\0', path.size))
        return "its name is none that a file can have";
    if (path.data[0] == '/')
        return "only files beside this one or below it are read";
    for (struct view rest = path; rest.size;)
        if (view_is(next_step(&rest), ".."))
            return "only files beside this one or below it are read";
    return NULL;
}

/* Opens one step below `folder`, which is closed. */
static int step_into(struct arena *arena, int folder, struct view step, bool last)
{
    const char *name = arena_copy(arena, step.data, step.size);
    int flags = O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NOCTTY | O_NONBLOCK;
    int file = openat(folder, name, last ? flags : flags | O_DIRECTORY);
    int error = errno;
    close(folder);
    errno = error;
    return file;
}

static int open_beside(struct arena *arena, const char *machine, struct view path)
{
    const char *folder = dirname(arena_copy(arena, machine, strlen(machine)));
    int file = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    while (file >= 0 && path.size) {
        struct view step = next_step(&path);
        file = step_into(arena, file, step, !path.size);
    }
    return file;
}

bool beside_read(void *user, struct arena *arena, struct view path, struct view *bytes,
                 const char **why)
{
    const struct beside *beside = user;
    *why = wrong_with(path);
    if (*why)
        return false;
    int file = open_beside(arena, beside->path, path);
    if (file < 0) {
        *why = errno == ELOOP || errno == ENOTDIR ? "a link, or no folder, is on the way to it"
                                                  : trouble_reason(arena, errno);
        return false;
    }
    struct stat about;
    if (fstat(file, &about) == 0 && S_ISREG(about.st_mode))
        return input_read_open(file, AGREEMENT_FILE_MAX, arena, bytes, why);
    close(file);
    *why = "it is no plain file";
    return false;
}
