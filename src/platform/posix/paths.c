#include <errno.h>
#include <libgen.h>
#include <stdlib.h>
#include <unistd.h>

#include "base/buffer.h"
#include "platform/internal.h"

enum { FOLDER_ROOM = 4096 }; /* bytes of the name of the folder that it runs in */

const char *path_typed(struct arena *arena, const char *path)
{
    (void)arena;
    return path;
}

const char *path_parent(struct arena *arena, const char *path)
{
    return dirname(arena_copy(arena, path, strlen(path)));
}

bool path_is_whole(const char *path)
{
    return *path == '/';
}

const char *path_whole(struct arena *arena, const char *path)
{
    char *found = realpath(path, NULL);
    int error = errno;
    const char *kept = found ? arena_copy(arena, found, strlen(found)) : NULL;
    free(found);
    errno = error;
    return kept;
}

const char *path_here(struct arena *arena)
{
    return getcwd(arena_alloc(arena, FOLDER_ROOM), FOLDER_ROOM);
}

const char *path_state(struct arena *arena, const char **why)
{
    const char *state = getenv("XDG_STATE_HOME");
    const char *home = getenv("HOME");
    if (state && *state == '/')
        return arena_format(arena, "%s/proveout", state);
    if (home && *home == '/')
        return arena_format(arena, "%s/.local/state/proveout", home);
    *why = "HOME names no folder";
    return NULL;
}
