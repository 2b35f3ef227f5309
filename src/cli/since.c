/* Which machines have changed, and what they were. */
#include "cli/since.h"

#include <string.h>

#include "base/buffer.h"
#include "cli/output.h"
#include "tree/tree.h"

static const char *bare(const char *path)
{
    while (strncmp(path, "./", 2) == 0)
        path += 2;
    return path;
}

/* A path as it is told of: that of the folder, and what stands below. */
static const char *joined(struct arena *arena, const char *folder, const char *below)
{
    size_t size = strlen(folder);
    bool ends = size && folder[size - 1] == '/';
    return arena_format(arena, "%s%s%s", folder, ends ? "" : "/", below);
}

/* What `path`, found in `folder`, is called from there. */
static const char *below_of(const char *folder, const char *path, bool was_walked)
{
    const char *slash = strrchr(path, '/');
    size_t size = strlen(folder);
    if (!was_walked)
        return slash ? slash + 1 : path;
    path += size;
    while (*path == '/')
        path++;
    return bare(path);
}

/* --- what there is --- */

/* Machine files of the tree that are not there any more. */
static void find_gone(struct arena *arena, struct since *since, const struct git_tree *tree,
                      const char *folder)
{
    const char *path, *why;
    for (size_t i = 0; (path = git_tree_path(tree, i)); i++) {
        struct view bytes;
        const char *now = joined(arena, folder, path);
        if (input_is_called_yaml(path) && git_tree_differs(tree, view_of(path)) &&
            !file_is_there(now) && git_tree_file(tree, arena, view_of(path), &bytes, &why) &&
            tree_starts_machine(bytes))
            VECTOR_ADD(arena, &since->gone, now);
    }
}

static const char *open_tree(struct arena *arena, const struct since *since, const char *folder,
                             const struct git_tree **out)
{
    const char *why = NULL;
    *out = since->rev ? git_tree_read(arena, folder, since->rev, &why) : NULL;
    return why ? arena_format(arena, "%s as of %s: %s", folder, since->rev, why) : NULL;
}

const char *since_open(struct arena *arena, struct since *since, const char *const *arguments,
                       size_t count, const char *name, struct file_list *list)
{
    VECTOR(struct since_file) files = {0};
    const char *wrong =
        since->root ? open_tree(arena, since, since->root, &since->root_tree) : NULL;
    for (size_t i = 0; i < count && !wrong; i++) {
        bool walks = file_is_folder(arguments[i]), is_standard = strcmp(arguments[i], "-") == 0;
        const char *folder = walks ? arguments[i] : input_folder_of(arena, arguments[i]);
        struct since_file file = {.folder = folder};
        if (!is_standard)
            wrong = open_tree(arena, since, folder, &file.tree);
        size_t first = list->items.count;
        files_add(list, arena, arguments[i], name);
        for (size_t k = first; k < list->items.count; k++) {
            file.below = below_of(folder, list->items.items[k].path, walks);
            VECTOR_ADD(arena, &files, file);
        }
        if (walks && file.tree)
            find_gone(arena, since, file.tree, folder);
    }
    since->files = files.items;
    return wrong;
}

bool since_has(const struct since *since, size_t index)
{
    const struct since_file *file = &since->files[index];
    return file->tree && git_tree_has(file->tree, view_of(file->below));
}

/* --- what changed --- */

static bool is_named(const struct since *since, const char *path)
{
    for (size_t i = 0; i < since->named.count; i++)
        if (strcmp(bare(since->named.items[i]), bare(path)) == 0)
            return true;
    return false;
}

/* Does what lies in `folder`, with the tree of it, differ at `path`? */
static bool differs(const struct since *since, struct arena *arena, const char *folder,
                    const struct git_tree *tree, const char *path)
{
    if (since->is_list)
        return is_named(since, joined(arena, folder, path));
    return !tree || git_tree_differs(tree, view_of(path));
}

/* What `path` is from `folder`; NULL: it does not begin with it. */
static const char *path_from(const char *folder, const char *path)
{
    folder = bare(folder);
    path = bare(path);
    size_t size = strlen(folder);
    while (size && folder[size - 1] == '/')
        size--;
    if (!size || strcmp(folder, ".") == 0)
        return *path == '/' ? NULL : path;
    return strncmp(path, folder, size) == 0 && path[size] == '/' ? path + size + 1 : NULL;
}

bool since_touches(const struct since *since, size_t index, const char *path)
{
    const struct since_file *file = &since->files[index];
    if (since->is_list)
        return is_named(since, path);
    const char *below = path_from(file->folder, path);
    if (below && file->tree)
        return git_tree_differs(file->tree, view_of(below));
    below = since->root_tree ? path_from(since->root, path) : NULL;
    return !below || git_tree_differs(since->root_tree, view_of(below));
}

/* From the folder of the tree to that in which the machine lies, with its `/`. */
static struct view own_folder(const struct since_file *file)
{
    const char *slash = strrchr(file->below, '/');
    return (struct view){file->below, slash ? (size_t)(slash - file->below) + 1 : 0};
}

/* The tree that a path of `shared` counts in, and the path from its folder. */
static const char *shared_path(const struct since_side *side, struct arena *arena,
                               struct view path, const struct git_tree **tree,
                               const char **folder)
{
    if (side->since->root) {
        *tree = side->since->root_tree;
        *folder = side->since->root;
        return arena_copy(arena, path.data, path.size);
    }
    *tree = side->file->tree;
    *folder = side->file->folder;
    return arena_format(arena, "%.*s%.*s", VIEW(own_folder(side->file)), VIEW(path));
}

static bool watch_shared(void *user, struct arena *arena, struct view path, struct view *bytes,
                         const char **why)
{
    struct since_side *side = user;
    const struct git_tree *tree;
    const char *folder, *below = shared_path(side, arena, path, &tree, &folder);
    side->changed |= differs(side->since, arena, folder, tree, below);
    return side->shared.reader.read(side->shared.reader.user, arena, path, bytes, why);
}

static const char *agreement_path(const struct since_side *side, struct arena *arena,
                                  struct view path)
{
    return arena_format(arena, "%.*s%.*s", VIEW(own_folder(side->file)), VIEW(path));
}

static bool watch_agreement(void *user, struct arena *arena, struct view path,
                            struct view *bytes, const char **why)
{
    struct since_side *side = user;
    side->changed |= differs(side->since, arena, side->file->folder, side->file->tree,
                             agreement_path(side, arena, path));
    return side->agreements.read(side->agreements.user, arena, path, bytes, why);
}

void since_watch(const struct since *since, size_t index, struct since_side *side,
                 struct shared_files *shared, struct file_reader *agreements)
{
    struct arena scratch;
    *side = (struct since_side){since, &since->files[index], *shared, *agreements, false};
    arena_init(&scratch, &trouble_host);
    side->changed =
        differs(since, &scratch, side->file->folder, side->file->tree, side->file->below);
    arena_free(&scratch);
    shared->reader = (struct file_reader){side, watch_shared};
    *agreements = (struct file_reader){side, watch_agreement};
}

/* --- what it was --- */

static bool then_shared(void *user, struct arena *arena, struct view path, struct view *bytes,
                        const char **why)
{
    const struct since_side *side = user;
    const struct git_tree *tree;
    const char *folder, *below = shared_path(side, arena, path, &tree, &folder);
    return git_tree_file(tree, arena, view_of(below), bytes, why);
}

static bool then_agreement(void *user, struct arena *arena, struct view path,
                           struct view *bytes, const char **why)
{
    const struct since_side *side = user;
    return git_tree_file(side->file->tree, arena, view_of(agreement_path(side, arena, path)),
                         bytes, why);
}

bool since_before(struct arena *arena, const struct since *since, size_t index,
                  struct since_side *side, const struct shared_files *now,
                  struct since_was *out)
{
    *side = (struct since_side){.since = since, .file = &since->files[index]};
    *out = (struct since_was){.shared = *now, .agreements = {side, then_agreement}};
    out->shared.reader = (struct file_reader){side, then_shared};
    return git_tree_file(side->file->tree, arena, view_of(side->file->below), &out->bytes,
                         &out->why);
}
