#include "cli/draft_file.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/buffer.h"
#include "base/hash.h"
#include "cli/input.h"
#include "cli/output.h"
#include "cli/save.h"

enum { DRAFT_SIZE_MAX = 16 * 1024 * 1024 };

static bool make_folder(const char *path)
{
    return mkdir(path, 0700) == 0 || errno == EEXIST;
}

/* Makes all folders on the way; paths start with a slash. */
static bool make_folders(struct arena *arena, const char *path)
{
    char *part = arena_copy(arena, path, strlen(path));
    for (char *at = part + 1; *at; at++) {
        if (*at != '/')
            continue;
        *at = '\0';
        bool made = make_folder(part);
        *at = '/';
        if (!made)
            return false;
    }
    return make_folder(part);
}

/* The folder for what is kept between runs; NULL where the surroundings name none. */
static const char *state_folder(struct arena *arena)
{
    const char *state = getenv("XDG_STATE_HOME");
    const char *home = getenv("HOME");
    if (state && *state == '/')
        return arena_format(arena, "%s/proveout", state);
    if (home && *home == '/')
        return arena_format(arena, "%s/.local/state/proveout", home);
    return NULL;
}

/* One name for one file, from wherever it is called. */
static const char *whole_path(struct arena *arena, const char *path)
{
    char *real = realpath(path, NULL);
    const char *whole = path;
    if (real)
        whole = arena_copy(arena, real, strlen(real));
    else if (*path != '/') {
        char *here = realpath(".", NULL);
        whole = arena_format(arena, "%s/%s", here ? here : "", path);
        free(here);
    }
    free(real);
    return whole;
}

void draft_file_init(struct draft_file *file, struct arena *arena, const char *machine_path)
{
    *file = (struct draft_file){.arena = arena};
    const char *folder = state_folder(arena);
    if (!folder) {
        file->why = "HOME names no folder";
        return;
    }
    if (!make_folders(arena, folder)) {
        file->why = trouble_reason(arena, errno);
        return;
    }
    const char *whole = machine_path ? whole_path(arena, machine_path) : "";
    file->path = arena_format(arena, "%s/%016llx.draft", folder,
                              (unsigned long long)hash_bytes(view_of(whole)));
}

struct view draft_file_read(struct draft_file *file)
{
    struct view bytes;
    const char *why;
    if (!file->path || access(file->path, F_OK) != 0)
        return (struct view){0};
    if (input_read_file(file->path, DRAFT_SIZE_MAX, file->arena, &bytes, &why))
        return bytes;
    file->why = why;
    return (struct view){0};
}

void draft_file_write(struct draft_file *file, struct view bytes)
{
    if (!file->path)
        return;
    struct arena scratch;
    arena_init(&scratch, file->arena->host);
    const char *why = save_private(&scratch, file->path, bytes);
    file->why = why ? arena_copy(file->arena, why, strlen(why)) : NULL;
    arena_free(&scratch);
}

void draft_file_remove(struct draft_file *file)
{
    if (file->path)
        unlink(file->path);
}

const char *draft_file_put_aside(struct draft_file *file)
{
    const char *aside = file->path ? arena_format(file->arena, "%s.old", file->path) : NULL;
    return aside && rename(file->path, aside) == 0 ? aside : NULL;
}
