/* Reading files whole; what lies beside a machine file; walking folders.
 *
 * Nothing is mapped: a file that is cut short meanwhile would end the program.
 */
#include "cli/input.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/buffer.h"
#include "cli/ignore.h"
#include "cli/output.h"
#include "tree/tree.h"

enum {
    SNIFF = 64 * 1024, /* a machine file shows itself within so much */
    FIRST_ROOM = 16 * 1024,
};

/* A file being read. */
struct intake {
    int file;
    struct arena *arena;
    char *bytes;
    size_t size, room, most; /* `most`: what is read at all */
    int error;
};

/* Reads until `wanted` bytes are there or the file ends. */
static void read_until(struct intake *intake, size_t wanted)
{
    while (intake->size < wanted) {
        if (intake->size == intake->room) {
            size_t room = intake->room ? intake->room * 2 : FIRST_ROOM;
            room = room < intake->most ? room : intake->most;
            intake->bytes =
                arena_grow(intake->arena, intake->bytes, intake->room, intake->size, room);
            intake->room = room;
        }
        size_t most = (intake->room < wanted ? intake->room : wanted) - intake->size;
        ssize_t count = read(intake->file, intake->bytes + intake->size, most);
        if (count < 0 && errno == EINTR)
            continue;
        if (count < 0)
            intake->error = errno;
        if (count <= 0)
            return;
        intake->size += (size_t)count;
    }
}

/* Room for the whole file at once, where its size is known; one byte more, so that its end is
 * seen without growing. */
static void make_room(struct intake *intake, const struct stat *about)
{
    if (!S_ISREG(about->st_mode) || about->st_size <= 0)
        return;
    size_t size = (size_t)about->st_size;
    intake->room = (size < intake->most ? size : intake->most) + 1;
    intake->bytes = arena_alloc(intake->arena, intake->room);
}

static enum input_status read_open(struct intake *intake, bool sniff, struct view *bytes)
{
    struct stat about;
    if (fstat(intake->file, &about) != 0 || S_ISDIR(about.st_mode)) {
        intake->error = S_ISDIR(about.st_mode) ? EISDIR : errno;
        return INPUT_FAILED;
    }
    make_room(intake, &about);
    if (sniff) {
        read_until(intake, SNIFF);
        struct view start = {intake->bytes, intake->size};
        if (!intake->error && !tree_starts_machine(start) && !tree_hides_machine(start))
            return INPUT_PASSED_OVER;
    }
    output_spare(&about);
    if (!intake->error)
        read_until(intake, intake->most);
    *bytes = (struct view){intake->bytes, intake->size};
    return intake->error ? INPUT_FAILED : INPUT_READ;
}

enum input_status input_read(const struct input *input, struct arena *arena, struct view *bytes,
                             const char **why)
{
    struct intake intake = {
        .file = STDIN_FILENO, .arena = arena, .most = (size_t)SOURCE_SIZE_MAX + 1};
    if (input->failure) {
        *why = input->failure;
        return INPUT_FAILED;
    }
    if (!input->standard)
        AGAIN(intake.file, open(input->path, O_RDONLY | O_CLOEXEC | O_NOCTTY));
    if (intake.file < 0) {
        *why = trouble_reason(arena, errno);
        return INPUT_FAILED;
    }
    enum input_status status = read_open(&intake, input->walked, bytes);
    if (!input->standard)
        close(intake.file);
    if (status == INPUT_FAILED)
        *why = trouble_reason(arena, intake.error);
    return status;
}

bool input_read_open(int file, size_t most, struct arena *arena, struct view *bytes,
                     const char **why)
{
    struct intake intake = {.file = file, .arena = arena, .most = most + 1};
    enum input_status status = read_open(&intake, false, bytes);
    close(file);
    if (status == INPUT_READ && intake.size <= most)
        return true;
    *why = status == INPUT_READ ? arena_format(arena, "it has more than %zu bytes", most)
                                : trouble_reason(arena, intake.error);
    return false;
}

bool input_read_file(const char *path, size_t most, struct arena *arena, struct view *bytes,
                     const char **why)
{
    int file;
    AGAIN(file, open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY));
    if (file >= 0)
        return input_read_open(file, most, arena, bytes, why);
    *why = trouble_reason(arena, errno);
    return false;
}

static bool has_ending(const char *name, const char *ending)
{
    size_t size = strlen(name), tail = strlen(ending);
    return size > tail && strcmp(name + size - tail, ending) == 0;
}

static const char *join(struct arena *arena, const char *folder, const char *name)
{
    return arena_format(arena, "%s%s%s", folder,
                        has_ending(folder, "/") || !strcmp(folder, "/") ? "" : "/", name);
}

/* --- files that a machine file refers to ---
 *
 * A machine file may come from a stranger: what it names is opened step by step from its own
 * folder, and no step may be a link or lead upwards, so that nothing outside is ever read.
 */

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
    int file;
    AGAIN(file, openat(folder, name, last ? flags : flags | O_DIRECTORY));
    int error = errno;
    close(folder);
    errno = error;
    return file;
}

static int open_below(struct arena *arena, const char *folder, struct view path)
{
    int file;
    AGAIN(file, open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC));
    while (file >= 0 && path.size) {
        struct view step = next_step(&path);
        file = step_into(arena, file, step, !path.size);
    }
    return file;
}

static bool read_below(struct arena *arena, const char *folder, struct view path,
                       struct view *bytes, const char **why)
{
    *why = wrong_with(path);
    if (*why)
        return false;
    int file = open_below(arena, folder, path);
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

const char *input_folder_of(struct arena *arena, const char *path)
{
    return dirname(arena_copy(arena, path, strlen(path)));
}

bool beside_read(void *user, struct arena *arena, struct view path, struct view *bytes,
                 const char **why)
{
    const struct beside *beside = user;
    return read_below(arena, input_folder_of(arena, beside->path), path, bytes, why);
}

/* The whole path of a file or folder, in `arena`; NULL, and errno is set. */
static const char *whole_path(struct arena *arena, const char *path)
{
    char *found = realpath(path, NULL);
    const char *kept = found ? arena_copy(arena, found, strlen(found)) : NULL;
    int error = errno;
    free(found);
    errno = error;
    return kept;
}

const char *input_below(struct arena *arena, const char *folder, const char *file,
                        const char **out)
{
    const char *above = whole_path(arena, folder);
    const char *whole = above ? whole_path(arena, file) : NULL;
    *out = "";
    if (!whole)
        return arena_format(arena, "%s cannot be read: %s", above ? file : folder,
                            trouble_reason(arena, errno));
    size_t size = strcmp(above, "/") == 0 ? 0 : strlen(above);
    if (strncmp(whole, above, size) != 0 || whole[size] != '/' || !whole[size + 1])
        return arena_format(
            arena, "%s lies elsewhere: only files beside the machine file or below it are read",
            file);
    *out = whole + size + 1;
    return NULL;
}

static bool shelf_read(void *user, struct arena *arena, struct view path, struct view *bytes,
                       const char **why)
{
    const struct shelf *shelf = user;
    *why = shelf->why;
    return shelf->folder && read_below(arena, shelf->folder, path, bytes, why);
}

/* Where `folder` lies below `root`, links followed: "", or steps with a `/` behind each; NULL:
 * it does not, or cannot be found. */
static const char *find_below(struct arena *arena, const char *root, const char *folder)
{
    char *whole = realpath(folder, NULL), *start = realpath(root, NULL);
    const char *found = NULL;
    size_t size = start ? strlen(start) : 0;
    if (size && start[size - 1] == '/')
        size--; /* the root of all */
    if (whole && start && strncmp(whole, start, size) == 0 &&
        (!whole[size] || whole[size] == '/'))
        found = arena_format(arena, "%s%s", whole[size] ? whole + size + 1 : "",
                             whole[size] && whole[size + 1] ? "/" : "");
    free(whole);
    free(start);
    return found;
}

void shelf_set(struct shelf *shelf, struct arena *arena, const struct input *input,
               const char *root)
{
    const char *slash = input->standard ? NULL : strrchr(input->path, '/');
    *shelf = (struct shelf){.files = {{shelf, shelf_read}, "", ""}};
    if (!root && input->standard) {
        shelf->why = "standard input lies in no folder; --root names one";
    } else if (!root) {
        shelf->folder = input_folder_of(arena, input->path);
        if (slash)
            shelf->files.root =
                arena_copy(arena, input->path, (size_t)(slash - input->path) + 1);
    } else {
        const char *below =
            input->standard ? "" : find_below(arena, root, input_folder_of(arena, input->path));
        shelf->folder = below ? root : NULL;
        shelf->why = "the machine does not lie in the folder that --root names";
        shelf->files.folder = below ? below : "";
        shelf->files.root = strcmp(root, ".") == 0 ? "" : join(arena, root, "");
    }
}

/* --- walking folders --- */

/* Folders still to be looked into; a list, not recursion, since depth is up to whoever made
 * them. */
struct walk {
    struct arena *arena;
    struct file_list *list;
    const char *from; /* where it began */
    struct {
        struct walk_folder {
            const char *path;
            const struct ignore *ignore;
        } * items;
        size_t count, capacity;
    } folders;
};

bool input_is_called_yaml(const char *name)
{
    return has_ending(name, ".yaml") || has_ending(name, ".yml");
}

/* `failure` NULL: nothing is wrong with it yet. */
static void add_input(struct walk *walk, const char *path, const char *failure)
{
    struct input input = {.path = path, .walked = true, .from = walk->from, .failure = failure};
    VECTOR_ADD(walk->arena, &walk->list->items, input);
}

static void add_entry(struct walk *walk, const char *folder, const char *name,
                      const struct ignore *ignore)
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
    bool is_folder = S_ISDIR(about.st_mode);
    if (!is_folder && !input_is_called_yaml(name))
        return;
    if (ignore_matches(ignore, path, name, is_folder)) {
        walk->list->ignored++;
        return;
    }
    if (is_folder) {
        VECTOR_ADD(walk->arena, &walk->folders, (struct walk_folder){path, ignore});
        return;
    }
    /* A link counts as what it leads to, but leads into no folder. */
    if (stat(path, &about) != 0)
        add_input(walk, path,
                  errno == ENOENT ? "it is a link that leads nowhere"
                                  : trouble_reason(walk->arena, errno));
    else if (S_ISREG(about.st_mode))
        add_input(walk, path, NULL);
}

static void look_into(struct walk *walk, struct walk_folder at)
{
    const char *folder = at.path, *path, *why;
    const struct ignore *ignore;
    DIR *open;
    if (!ignore_read(walk->arena, folder, at.ignore, &ignore, &path, &why))
        add_input(walk, path, why);
    do
        open = opendir(folder);
    while (!open && errno == EINTR);
    if (!open) {
        if (errno == ENOMEM)
            arena_exhausted(walk->arena);
        add_input(walk, folder, trouble_reason(walk->arena, errno));
        return;
    }
    errno = 0;
    for (struct dirent *entry = readdir(open); entry; entry = readdir(open)) {
        add_entry(walk, folder, entry->d_name, ignore);
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
    struct walk walk = {.arena = arena, .list = list, .from = folder};
    size_t start = list->items.count;
    VECTOR_ADD(arena, &walk.folders, (struct walk_folder){folder, NULL});
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
