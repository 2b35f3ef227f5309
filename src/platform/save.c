/* When a file cannot be saved on any system; and a whole text, saved at once. */
#include <errno.h>

#include "base/buffer.h"
#include "platform/internal.h"

const char save_meanwhile[] = "somebody else has changed it meanwhile";

const char *save_refusal(struct arena *arena, enum save_kind kind, int error)
{
    if (error && error != ENOENT)
        return error_reason(arena, error);
    if (!error && kind == SAVE_NEW)
        return error_reason(arena, EEXIST);
    return error && kind == SAVE_OLD ? save_meanwhile : NULL;
}

static const char *save_whole(struct save *save, struct arena *arena, const char *path,
                              struct view bytes, const struct view *before)
{
    int error = file_write(save_file(save), bytes);
    if (!error)
        return save_finish(save, before);
    save_drop(save);
    return arena_format(arena, "%s cannot be written: %s", path, error_reason(arena, error));
}

const char *save_over(struct arena *arena, const char *path, struct view before,
                      struct view after)
{
    struct save *save;
    const char *why = save_open(&save, arena, path, SAVE_OLD, false);
    return why ? why : save_whole(save, arena, path, after, &before);
}

const char *save_new(struct arena *arena, const char *path, struct view bytes)
{
    struct save *save;
    const char *why = save_open(&save, arena, path, SAVE_NEW, false);
    return why ? why : save_whole(save, arena, path, bytes, NULL);
}

const char *save_private(struct arena *arena, const char *path, struct view bytes)
{
    struct save *save;
    const char *why = save_open(&save, arena, path, SAVE_EITHER, true);
    return why ? why : save_whole(save, arena, path, bytes, NULL);
}
