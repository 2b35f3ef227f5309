#include "cli/draft_file.h"

#include <errno.h>
#include <string.h>

#include "base/buffer.h"
#include "base/hash.h"
#include "cli/input.h"
#include "platform/platform.h"

enum { DRAFT_SIZE_MAX = 16 * 1024 * 1024 };

/* One name for one file, from wherever it is called. */
static const char *name_from_all(struct arena *arena, const char *path)
{
    const char *real = path_whole(arena, path);
    if (real || path_is_whole(path))
        return real ? real : path;
    const char *here = path_whole(arena, ".");
    return arena_format(arena, "%s/%s", here ? here : "", path);
}

void draft_file_init(struct draft_file *file, struct arena *arena, const char *machine_path)
{
    *file = (struct draft_file){.arena = arena};
    const char *folder = path_state(arena, &file->why);
    if (!folder)
        return;
    if (!folder_make(arena, folder)) {
        file->why = error_reason(arena, errno);
        return;
    }
    const char *whole = machine_path ? name_from_all(arena, machine_path) : "";
    file->path = arena_format(arena, "%s/%016llx.draft", folder,
                              (unsigned long long)hash_bytes(view_of(whole)));
}

struct view draft_file_read(struct draft_file *file)
{
    struct view bytes;
    const char *why;
    if (!file->path || !file_is_there(file->path))
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
        file_remove(file->path);
}

const char *draft_file_put_aside(struct draft_file *file)
{
    const char *aside = file->path ? arena_format(file->arena, "%s.old", file->path) : NULL;
    return aside && file_rename(file->path, aside) ? aside : NULL;
}
