/* Walking folders. */
#include "cli/files.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "base/buffer.h"
#include "cli/trouble.h"

/* Folders still to be looked into; a list, not recursion, since depth is up to whoever made
 * them. */
struct walk {
    struct arena *arena;
    struct file_list *list;
    VECTOR(const char *) folders;
};

static bool has_ending(const char *name, const char *ending)
{
    size_t size = strlen(name), tail = strlen(ending);
    return size > tail && strcmp(name + size - tail, ending) == 0;
}

static bool is_called_yaml(const char *name)
{
    return has_ending(name, ".yaml") || has_ending(name, ".yml");
}

/* `failure` NULL: nothing is wrong with it yet. */
static void add_input(struct walk *walk, const char *path, const char *failure)
{
    struct input input = {.path = path, .walked = true, .failure = failure};
    VECTOR_ADD(walk->arena, &walk->list->items, input);
}

static const char *join(struct arena *arena, const char *folder, const char *name)
{
    return arena_format(arena, "%s%s%s", folder,
                        has_ending(folder, "/") || !strcmp(folder, "/") ? "" : "/", name);
}

static void add_entry(struct walk *walk, const char *folder, const char *name)
{
    if (strcmp(name, ".") == 0 || strcmp(name, "..") == 0)
        return;
    const char *path = join(walk->arena, folder, name);
    struct stat about;
    if (lstat(path, &about) != 0) {
        if (errno != ENOENT) /* gone meanwhile */
            add_input(walk, path, trouble_reason(walk->arena, errno));
        return;
    }
    if (S_ISDIR(about.st_mode)) {
        VECTOR_ADD(walk->arena, &walk->folders, path);
        return;
    }
    if (!is_called_yaml(name))
        return;
    /* A link counts as what it leads to, but leads into no folder. */
    if (stat(path, &about) != 0)
        add_input(walk, path,
                  errno == ENOENT ? "it is a link that leads nowhere"
                                  : trouble_reason(walk->arena, errno));
    else if (S_ISREG(about.st_mode))
        add_input(walk, path, NULL);
}

static void look_into(struct walk *walk, const char *folder)
{
    DIR *open = opendir(folder);
    if (!open) {
        if (errno == ENOMEM)
            arena_exhausted(walk->arena);
        add_input(walk, folder, trouble_reason(walk->arena, errno));
        return;
    }
    errno = 0;
    for (struct dirent *entry = readdir(open); entry; entry = readdir(open)) {
        add_entry(walk, folder, entry->d_name);
        errno = 0;
    }
    if (errno)
        add_input(walk, folder, trouble_reason(walk->arena, errno));
    closedir(open);
}

static int compare_inputs(const void *left, const void *right)
{
    const struct input *a = left, *b = right;
    return strcmp(a->path, b->path);
}

static void walk_folder(struct file_list *list, struct arena *arena, const char *folder)
{
    struct walk walk = {.arena = arena, .list = list};
    size_t start = list->items.count;
    VECTOR_ADD(arena, &walk.folders, folder);
    while (walk.folders.count)
        look_into(&walk, walk.folders.items[--walk.folders.count]);
    if (list->items.count > start)
        qsort(list->items.items + start, list->items.count - start, sizeof(struct input),
              compare_inputs);
}

void files_add(struct file_list *list, struct arena *arena, const char *argument,
               const char *name)
{
    struct input input = {.path = argument};
    struct stat about;
    if (strcmp(argument, "-") == 0) {
        input.path = name;
        input.standard = true;
    } else if (stat(argument, &about) == 0 && S_ISDIR(about.st_mode)) {
        walk_folder(list, arena, argument);
        return;
    }
    VECTOR_ADD(arena, &list->items, input);
}
