/* Nothing is mapped: a file that is cut short meanwhile would end the program. */
#include <dirent.h>
#include <fcntl.h>
#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

#include "platform/internal.h"
#include "platform/posix/again.h"

/* What a look gave, which failed unless it is 0. */
static bool tell(int result, const struct stat *about, struct file_about *out)
{
    if (result != 0)
        return false;
    *out = (struct file_about){
        .kind = S_ISREG(about->st_mode)   ? FILE_PLAIN
                : S_ISDIR(about->st_mode) ? FILE_FOLDER
                : S_ISLNK(about->st_mode) ? FILE_LINK
                                          : FILE_OTHER,
        .size = about->st_size > 0 ? (uint64_t)about->st_size : 0,
        .identity = {(uint64_t)about->st_dev, (uint64_t)about->st_ino},
    };
    return true;
}

bool file_about(const char *path, struct file_about *out)
{
    struct stat about;
    return tell(stat(path, &about), &about, out);
}

bool file_about_link(const char *path, struct file_about *out)
{
    struct stat about;
    return tell(lstat(path, &about), &about, out);
}

bool file_about_open(int file, struct file_about *out)
{
    struct stat about;
    return tell(fstat(file, &about), &about, out);
}

int file_open(const char *path)
{
    int file;
    AGAIN(file, open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY));
    return file;
}

int file_open_device(const char *path)
{
    int file;
    AGAIN(file, open(path, O_WRONLY | O_CLOEXEC | O_NOCTTY));
    return file;
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

int file_open_below(struct arena *arena, const char *folder, struct view path)
{
    int file;
    AGAIN(file, open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC));
    while (file >= 0 && path.size) {
        struct view step = view_take(&path, '/');
        while (path.size && path.data[0] == '/')
            path = view_skip(path, 1);
        file = step_into(arena, file, step, !path.size);
    }
    return file;
}

int file_open_log(const char *path, bool links)
{
    const int flags = O_RDWR | O_APPEND | O_CREAT | O_CLOEXEC | O_NONBLOCK | O_NOCTTY;
    int file;
    AGAIN(file, open(path, flags | (links ? 0 : O_NOFOLLOW), 0666));
    return file;
}

ptrdiff_t file_read(int file, void *room, size_t size)
{
    ssize_t got;
    AGAIN(got, read(file, room, size));
    return got;
}

ptrdiff_t file_read_at(int file, void *room, size_t size, uint64_t at)
{
    ssize_t got;
    AGAIN(got, pread(file, room, size, (off_t)at));
    return got;
}

int file_write(int file, struct view text)
{
    while (text.size) {
        ssize_t written;
        AGAIN(written, write(file, text.data, text.size));
        if (written < 0)
            return errno;
        text = view_skip(text, (size_t)written);
    }
    return 0;
}

int file_sync(int file)
{
    int result;
    AGAIN(result, fsync(file));
    return result ? errno : 0;
}

/* A signal does not keep it open. */
int file_close(int file)
{
    return close(file) != 0 && errno != EINTR ? errno : 0;
}

int folder_list(const char *folder, void (*add)(void *user, const char *name), void *user)
{
    DIR *open;
    do
        open = opendir(folder);
    while (!open && errno == EINTR);
    if (!open)
        return errno;
    errno = 0;
    for (struct dirent *entry = readdir(open); entry; entry = readdir(open)) {
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0)
            add(user, entry->d_name);
        errno = 0;
    }
    int error = errno;
    closedir(open);
    return error;
}

static bool make_one(const char *path)
{
    return mkdir(path, 0700) == 0 || errno == EEXIST;
}

bool folder_make(struct arena *arena, const char *path)
{
    char *part = arena_copy(arena, path, strlen(path));
    for (char *at = part + 1; *at; at++) {
        if (*at != '/')
            continue;
        *at = '\0';
        bool made = make_one(part);
        *at = '/';
        if (!made)
            return false;
    }
    return make_one(part);
}

bool file_remove(const char *path)
{
    return unlink(path) == 0;
}

bool file_rename(const char *from, const char *to)
{
    return rename(from, to) == 0;
}
