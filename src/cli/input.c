/* Reading files whole.  Nothing is mapped: a file that is cut short meanwhile would end the
 * program. */
#include "cli/input.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/buffer.h"
#include "cli/trouble.h"
#include "tree/tree.h"

enum {
    SNIFF = 64 * 1024, /* a machine file shows itself within so much */
    FIRST_ROOM = 16 * 1024,
};

/* A file being read. */
struct reading {
    int file;
    struct arena *arena;
    char *bytes;
    size_t size, room;
    int error;
};

/* Reads until `wanted` bytes are there or the file ends. */
static void read_until(struct reading *reading, size_t wanted)
{
    while (reading->size < wanted) {
        if (reading->size == reading->room) {
            size_t room = reading->room ? reading->room * 2 : FIRST_ROOM;
            char *more = arena_alloc(reading->arena, room);
            if (reading->size)
                memcpy(more, reading->bytes, reading->size);
            reading->bytes = more;
            reading->room = room;
        }
        size_t most = (reading->room < wanted ? reading->room : wanted) - reading->size;
        ssize_t count = read(reading->file, reading->bytes + reading->size, most);
        if (count < 0 && errno == EINTR)
            continue;
        if (count < 0)
            reading->error = errno;
        if (count <= 0)
            return;
        reading->size += (size_t)count;
    }
}

/* Room for the whole file at once, where its size is known; one byte more, so that its end is
 * seen without growing. */
static void make_room(struct reading *reading, const struct stat *about, size_t most)
{
    if (!S_ISREG(about->st_mode) || about->st_size <= 0)
        return;
    size_t size = (size_t)about->st_size;
    reading->room = (size < most ? size : most) + 1;
    reading->bytes = arena_alloc(reading->arena, reading->room);
}

static enum input_status read_open(struct reading *reading, size_t most, bool sniff,
                                   struct view *bytes)
{
    struct stat about;
    if (fstat(reading->file, &about) != 0 || S_ISDIR(about.st_mode)) {
        reading->error = S_ISDIR(about.st_mode) ? EISDIR : errno;
        return INPUT_FAILED;
    }
    make_room(reading, &about, most);
    if (sniff) {
        read_until(reading, SNIFF);
        struct view start = {reading->bytes, reading->size};
        if (!reading->error && !tree_starts_machine(start) && !tree_hides_machine(start))
            return INPUT_PASSED_OVER;
    }
    if (!reading->error)
        read_until(reading, most);
    *bytes = (struct view){reading->bytes, reading->size};
    return reading->error ? INPUT_FAILED : INPUT_READ;
}

enum input_status input_read(const struct input *input, struct arena *arena, struct view *bytes,
                             const char **why)
{
    struct reading reading = {.file = STDIN_FILENO, .arena = arena};
    if (input->failure) {
        *why = input->failure;
        return INPUT_FAILED;
    }
    if (!input->standard)
        reading.file = open(input->path, O_RDONLY | O_CLOEXEC | O_NOCTTY);
    if (reading.file < 0) {
        *why = trouble_reason(arena, errno);
        return INPUT_FAILED;
    }
    enum input_status status =
        read_open(&reading, (size_t)SOURCE_SIZE_MAX + 1, input->walked, bytes);
    if (!input->standard)
        close(reading.file);
    if (status == INPUT_FAILED)
        *why = trouble_reason(arena, reading.error);
    return status;
}

bool input_read_open(int file, size_t most, struct arena *arena, struct view *bytes,
                     const char **why)
{
    struct reading reading = {.file = file, .arena = arena};
    enum input_status status = read_open(&reading, most + 1, false, bytes);
    close(file);
    if (status == INPUT_READ && reading.size <= most)
        return true;
    *why = status == INPUT_READ ? arena_format(arena, "it has more than %zu bytes", most)
                                : trouble_reason(arena, reading.error);
    return false;
}

bool input_read_file(const char *path, size_t most, struct arena *arena, struct view *bytes,
                     const char **why)
{
    int file = open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY);
    if (file >= 0)
        return input_read_open(file, most, arena, bytes, why);
    *why = trouble_reason(arena, errno);
    return false;
}
