#include "cli/save.h"

#include <errno.h>
#include <sys/stat.h>
#include <unistd.h>

#include "cli/input.h"
#include "cli/output.h"
#include "cli/trouble.h"
#include "text/source.h"

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
    struct output out;
    why = output_open(&out, arena, path);
    if (why)
        return why;
    output_write(&out, after);
    return output_finish(&out, arena);
}
