/* Reading files whole; what lies beside a machine file; walking folders. */
#include "cli/input.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

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
        ptrdiff_t count = file_read(intake->file, intake->bytes + intake->size, most);
        if (count < 0)
            intake->error = errno;
        if (count <= 0)
            return;
        intake->size += (size_t)count;
    }
}

/* Room for the whole file at once, where its size is known; one byte more, so that its end is
 * seen without growing. */
static void make_room(struct intake *intake, const struct file_about *about)
{
    if (about->kind != FILE_PLAIN || !about->size)
        return;
    intake->room = (about->size < intake->most ? (size_t)about->size : intake->most) + 1;
    intake->bytes = arena_alloc(intake->arena, intake->room);
}

static enum input_status read_open(struct intake *intake, bool sniff, struct view *bytes)
{
    struct file_about about;
    bool is_known = file_about_open(intake->file, &about);
    if (!is_known || about.kind == FILE_FOLDER) {
        intake->error = is_known ? EISDIR : errno;
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
        .file = STANDARD_INPUT, .arena = arena, .most = (size_t)SOURCE_SIZE_MAX + 1};
    if (input->failure) {
        *why = input->failure;
        return INPUT_FAILED;
    }
    if (!input->standard)
        intake.file = file_open(input->path);
    if (intake.file < 0) {
        *why = error_reason(arena, errno);
        return INPUT_FAILED;
    }
    enum input_status status = read_open(&intake, input->walked, bytes);
    if (!input->standard)
        file_close(intake.file);
    if (status == INPUT_FAILED)
        *why = error_reason(arena, intake.error);
    return status;
}

bool input_read_open(int file, size_t most, struct arena *arena, struct view *bytes,
                     const char **why)
{
    struct intake intake = {.file = file, .arena = arena, .most = most + 1};
    enum input_status status = read_open(&intake, false, bytes);
    file_close(file);
    if (status == INPUT_READ && intake.size <= most)
        return true;
    *why = status == INPUT_READ ? arena_format(arena, "it has more than %zu bytes", most)
                                : error_reason(arena, intake.error);
    return false;
}

bool input_read_file(const char *path, size_t most, struct arena *arena, struct view *bytes,
                     const char **why)
{
    int file = file_open(path);
    if (file >= 0)
        return input_read_open(file, most, arena, bytes, why);
    *why = error_reason(arena, errno);
    return false;
}

static const char *join(struct arena *arena, const char *folder, const char *name)
{
    size_t size = strlen(folder);
    return arena_format(arena, "%s%s%s", folder, size && folder[size - 1] == '/' ? "" : "/",
                        name);
}

/* --- files that a machine file refers to ---
 *
 * A machine file may come from a stranger: what it names is opened step by step from its own
 * folder, and no step may be a link or lead upwards, so that nothing outside is ever read.
 */

static const char *wrong_with(struct view path)
{
    const char *wrong = NULL;
    if (!path.size)
        return "no file is named";
    if (path.data[0] == '/')
        return "only files beside this one or below it are read";
    while (path.size && !wrong)
        wrong = path_wrong_part(view_take(&path, '/'));
    return wrong;
}

static bool read_below(struct arena *arena, const char *folder, struct view path,
                       struct view *bytes, const char **why)
{
    *why = wrong_with(path);
    if (*why)
        return false;
    int file = file_open_below(arena, folder, path);
    if (file < 0) {
        *why = errno == ELOOP || errno == ENOTDIR ? "a link, or no folder, is on the way to it"
                                                  : error_reason(arena, errno);
        return false;
    }
    struct file_about about;
    if (file_about_open(file, &about) && about.kind == FILE_PLAIN)
        return input_read_open(file, AGREEMENT_FILE_MAX, arena, bytes, why);
    file_close(file);
    *why = "it is no plain file";
    return false;
}

const char *input_folder_of(struct arena *arena, const char *path)
{
    return path_parent(arena, path);
}

bool beside_read(void *user, struct arena *arena, struct view path, struct view *bytes,
                 const char **why)
{
    const struct beside *beside = user;
    return read_below(arena, input_folder_of(arena, beside->path), path, bytes, why);
}

const char *input_below(struct arena *arena, const char *folder, const char *file,
                        const char **out)
{
    const char *above = path_whole(arena, folder);
    const char *whole = above ? path_whole(arena, file) : NULL;
    *out = "";
    if (!whole)
        return arena_format(arena, "%s cannot be read: %s", above ? file : folder,
                            error_reason(arena, errno));
    size_t size = strlen(above);
    if (above[size - 1] == '/')
        size--; /* the root of all */
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
    const char *whole = path_whole(arena, folder), *start = path_whole(arena, root);
    const char *found = NULL;
    size_t size = start ? strlen(start) : 0;
    if (size && start[size - 1] == '/')
        size--; /* the root of all */
    if (whole && start && strncmp(whole, start, size) == 0 &&
        (!whole[size] || whole[size] == '/'))
        found = arena_format(arena, "%s%s", whole[size] ? whole + size + 1 : "",
                             whole[size] && whole[size + 1] ? "/" : "");
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
    return path_has_extension(name, ".yaml") || path_has_extension(name, ".yml");
}

/* `failure` NULL: nothing is wrong with it yet. */
static void add_input(struct walk *walk, const char *path, const char *failure)
{
    struct input input = {.path = path, .walked = true, .from = walk->from, .failure = failure};
    VECTOR_ADD(walk->arena, &walk->list->items, input);
}

/* A folder being looked into. */
struct look {
    struct walk *walk;
    const char *folder;
    const struct ignore *ignore;
};

static void add_entry(void *user, const char *name)
{
    const struct look *look = user;
    struct walk *walk = look->walk;
    const char *path = join(walk->arena, look->folder, name);
    struct file_about about;
    if (!file_about_link(path, &about)) {
        if (errno != ENOENT) /* gone meanwhile */
            add_input(walk, path, error_reason(walk->arena, errno));
        return;
    }
    bool is_folder = about.kind == FILE_FOLDER;
    if (!is_folder && !input_is_called_yaml(name))
        return;
    if (ignore_matches(look->ignore, walk->arena, path, name, is_folder)) {
        walk->list->ignored++;
        return;
    }
    if (is_folder) {
        VECTOR_ADD(walk->arena, &walk->folders, (struct walk_folder){path, look->ignore});
        return;
    }
    /* A link counts as what it leads to, but leads into no folder. */
    if (!file_about(path, &about))
        add_input(walk, path,
                  errno == ENOENT ? "it is a link that leads nowhere"
                                  : error_reason(walk->arena, errno));
    else if (about.kind == FILE_PLAIN)
        add_input(walk, path, NULL);
}

static void look_into(struct walk *walk, struct walk_folder at)
{
    const char *path, *why;
    struct look look = {.walk = walk, .folder = at.path};
    if (!ignore_read(walk->arena, at.path, at.ignore, &look.ignore, &path, &why))
        add_input(walk, path, why);
    int error = folder_list(at.path, add_entry, &look);
    if (error == ENOMEM)
        arena_exhausted(walk->arena);
    if (error)
        add_input(walk, at.path, error_reason(walk->arena, error));
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
    if (strcmp(argument, "-") == 0) {
        input.path = name;
        input.standard = true;
    } else if (file_is_folder(argument)) {
        walk_folder(list, arena, argument);
        return;
    }
    VECTOR_ADD(arena, &list->items, input);
}
