/* The machines of a folder that take in a file.
 *
 * Two names are one file where the system says so: people write `./cutters.yaml` and
 * `cutters.yaml`.
 */
#include "cli/shop.h"

#include <string.h>
#include <sys/stat.h>

struct machine_file *shop_read(struct arena *arena, const struct input *input, const char *root)
{
    struct view bytes;
    const char *why;
    if (input->standard || input->failure ||
        input_read(input, arena, &bytes, &why) != INPUT_READ ||
        !tree_takes_files(tree_of(arena, view_of(input->path), bytes)))
        return NULL;
    struct machine_file *file = ARENA_NEW(arena, struct machine_file);
    struct shelf *shelf = ARENA_NEW(arena, struct shelf);
    shelf_set(shelf, arena, input, root);
    machine_file_read(arena, input->path, bytes, &shelf->files, file);
    return file;
}

bool is_same_file(const char *a, const char *b)
{
    struct stat one, other;
    return stat(a, &one) == 0 && stat(b, &other) == 0 && one.st_dev == other.st_dev &&
           one.st_ino == other.st_ino;
}

bool shop_takes(struct arena *arena, const struct machine_file *file, const char *path)
{
    for (const struct source *source = file->source.next; source; source = source->next)
        if (is_same_file(arena_copy(arena, source->name.data, source->name.size), path))
            return true;
    return false;
}
