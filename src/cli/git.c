/* Asking git: `ls-tree` for what there is, `diff-index` for what differs, `cat-file` for bytes.
 */
#include "cli/git.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "base/vector.h"
#include "cli/input.h"
#include "cli/output.h"

enum {
    LIST_MAX = 256 * 1024 * 1024, /* bytes of a list of names */
    ARGUMENTS_MAX = 20,
    ID_MAX = 64, /* hexadecimal digits of the longest name that git gives to bytes */
};

struct entry {
    const char *path;
    const char *id; /* of its bytes */
    bool differs;
};

struct git_tree {
    const char *folder, *rev;
    struct entry *items; /* by path */
    size_t count;
};

/* Runs git in a folder, without locks and without programs that its configuration names, and
 * reads what it writes; what it complains of goes to standard error. */
static bool ask_git(struct arena *arena, const char *folder, const char *const *words,
                    size_t most, struct view *out, const char **why)
{
    const char *arguments[ARGUMENTS_MAX] = {"git",
                                            "-C",
                                            folder,
                                            "--no-optional-locks",
                                            "--literal-pathspecs",
                                            "-c",
                                            "core.fsmonitor=false"};
    struct process git;
    size_t count = 7;
    int file;
    while (*words)
        arguments[count++] = *words++;
    int error = process_start(&git, arguments, &file);
    if (error) {
        *why = error == ENOENT ? "git is not installed" : error_reason(arena, error);
        return false;
    }
    bool is_read = input_read_open(file, most, arena, out, why);
    bool ended_well = process_end(&git);
    if (is_read && !ended_well)
        *why = "git does not tell it";
    return is_read && ended_well;
}

static int compare_entries(const void *left, const void *right)
{
    return strcmp(((const struct entry *)left)->path, ((const struct entry *)right)->path);
}

static struct entry *find(const struct git_tree *tree, struct arena *arena, struct view path)
{
    const struct entry wanted = {.path = arena_copy(arena, path.data, path.size)};
    return tree->count
               ? bsearch(&wanted, tree->items, tree->count, sizeof wanted, compare_entries)
               : NULL;
}

static const struct entry *find_only(const struct git_tree *tree, struct view path)
{
    struct arena scratch;
    arena_init(&scratch, &trouble_host);
    const struct entry *entry = find(tree, &scratch, path);
    arena_free(&scratch);
    return entry;
}

/* "100644 blob ID\tPATH" */
static bool read_entry(struct arena *arena, struct view line, struct entry *out)
{
    static const char *const modes[] = {"100644 blob ", "100755 blob "};
    const char *tab = line.size ? memchr(line.data, '\t', line.size) : NULL;
    if (!tab || !(view_starts(line, modes[0]) || view_starts(line, modes[1])))
        return false;
    size_t head = strlen(modes[0]);
    size_t size = (size_t)(tab - line.data) - head;
    struct view path = view_skip(line, (size_t)(tab - line.data) + 1);
    *out = (struct entry){.path = arena_copy(arena, path.data, path.size),
                          .id = arena_copy(arena, line.data + head, size)};
    return size && size <= ID_MAX;
}

static bool mark_changed(struct arena *arena, struct git_tree *tree, const char **why)
{
    const char *const words[] = {"diff-index",
                                 "-z",
                                 "--name-only",
                                 "--no-renames",
                                 "--no-ext-diff",
                                 "--ignore-submodules",
                                 "--relative",
                                 "--end-of-options",
                                 tree->rev,
                                 "--",
                                 ".",
                                 NULL};
    struct view list;
    if (!ask_git(arena, tree->folder, words, LIST_MAX, &list, why))
        return false;
    while (list.size) {
        struct entry *entry = find(tree, arena, view_take(&list, '\0'));
        if (entry)
            entry->differs = true;
    }
    return true;
}

const struct git_tree *git_tree_read(struct arena *arena, const char *folder, const char *rev,
                                     const char **why)
{
    const char *const words[] = {"ls-tree", "-r", "-z", "--end-of-options", rev, NULL};
    struct git_tree *tree = ARENA_NEW(arena, struct git_tree);
    struct view list;
    VECTOR(struct entry) entries = {0};
    *tree = (struct git_tree){.folder = folder, .rev = rev};
    if (*rev == '-' || !*rev) {
        *why = "that is no name of a revision";
        return NULL;
    }
    if (!ask_git(arena, folder, words, LIST_MAX, &list, why))
        return NULL;
    while (list.size) {
        struct entry entry;
        if (read_entry(arena, view_take(&list, '\0'), &entry))
            VECTOR_ADD(arena, &entries, entry);
    }
    tree->items = entries.items;
    tree->count = entries.count;
    if (tree->count)
        qsort(tree->items, tree->count, sizeof *tree->items, compare_entries);
    return mark_changed(arena, tree, why) ? tree : NULL;
}

bool git_tree_has(const struct git_tree *tree, struct view path)
{
    return find_only(tree, path) != NULL;
}

const char *git_tree_path(const struct git_tree *tree, size_t index)
{
    return index < tree->count ? tree->items[index].path : NULL;
}

bool git_tree_differs(const struct git_tree *tree, struct view path)
{
    const struct entry *entry = find_only(tree, path);
    return !entry || entry->differs;
}

bool git_tree_file(const struct git_tree *tree, struct arena *arena, struct view path,
                   struct view *bytes, const char **why)
{
    const struct entry *entry = find_only(tree, path);
    if (!entry) {
        *why = "there is no such file";
        return false;
    }
    const char *const words[] = {"cat-file", "blob", entry->id, NULL};
    return ask_git(arena, tree->folder, words, SOURCE_SIZE_MAX, bytes, why);
}
