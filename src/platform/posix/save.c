/* A save is a new file that is renamed, always.  Writing into the old one would keep its owner,
 * its attributes and its hard links by itself, and would do where its folder takes no new file;
 * but whoever is stopped half-way leaves half a machine, and that can read like a whole one
 * with fewer cutters.  So what a new file cannot keep is a reason to refuse.
 */
#define _GNU_SOURCE /* O_PATH, renameat2 */
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdint.h>
#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>
#ifdef __linux__
#include <sys/xattr.h>
#endif

#include "base/buffer.h"
#include "platform/internal.h"
#include "platform/posix/again.h"

enum {
    LINKS_MAX = 40,
    NAME_KEPT = 200, /* bytes of a name that the unfinished file's begins with */
    NAMES_TRIED = 1000,
    COMPARED = 16 * 1024,      /* bytes at a time */
    ATTRIBUTE_MAX = 64 * 1024, /* of a value, and of all names: the system's own limits */
};

struct save {
    struct arena *arena;
    const char *path; /* as the user gave it */
    enum save_kind kind;
    int folder;                    /* descriptor */
    const char *name;              /* in `folder`; no link */
    int old;                       /* what is there, open; -1: nothing is */
    struct stat about;             /* of `old` */
    struct file_identity identity; /* of `old` */
    int file;                      /* to write to; -1 once it is closed */
    const char *temporary; /* its name in `folder` until it is whole; NULL: it has none */
    struct stat made;      /* of it, once it is whole */
    char *room;            /* for attributes */
};

/* --- unfinished files ---
 *
 * A signal handler has no other way to know of them.  Two, for a machine file may be saved
 * while
 * --output is still open.
 */

enum { UNFINISHED_MAX = 2 };
static const struct save *volatile unfinished[UNFINISHED_MAX];

static void forget(const struct save *save)
{
    for (size_t i = 0; i < UNFINISHED_MAX; i++)
        if (unfinished[i] == save)
            unfinished[i] = NULL;
}

void save_abandon(void)
{
    for (size_t i = 0; i < UNFINISHED_MAX; i++) {
        const struct save *save = unfinished[i];
        if (save)
            unlinkat(save->folder, save->temporary, 0);
        unfinished[i] = NULL;
    }
}

/* Stopped by a signal: no half file stays, and whoever waits sees death by that signal. */
static void stop(int number)
{
    save_abandon();
    signal(number, SIG_DFL);
    raise(number);
}

static const int stop_signals[] = {SIGHUP, SIGINT, SIGTERM};

enum { STOP_SIGNALS = sizeof stop_signals / sizeof *stop_signals };

static void catch_signals(void)
{
    for (size_t i = 0; i < STOP_SIGNALS; i++) {
        struct sigaction action = {0};
        sigaction(stop_signals[i], NULL, &action);
        if (action.sa_handler != SIG_DFL)
            continue; /* ignored, or somebody ends the program in an order of his own */
        action.sa_handler = stop;
        sigemptyset(&action.sa_mask);
        sigaction(stop_signals[i], &action, NULL);
    }
}

/* What to do where a file cannot be replaced. */
static const char *instead_of(const struct save *save)
{
    return save->kind == SAVE_OLD ? "change a copy of it" : "name another file";
}

/* Makes the file under a name that is free.  What an earlier run left behind is in nobody's
 * way. */
static void make_file(struct save *save, mode_t mode)
{
    unsigned number = (unsigned)getpid(), last = number + NAMES_TRIED;
    do {
        save->temporary =
            arena_format(save->arena, "%.*s.unfinished-%x", NAME_KEPT, save->name, number);
        AGAIN(save->file, openat(save->folder, save->temporary,
                                 O_RDWR | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, mode));
    } while (save->file < 0 && errno == EEXIST && ++number != last);
    if (save->file < 0)
        save->temporary = NULL;
}

/* The same, with no moment at which there is a file that `stop` does not know of. */
static const char *make_unfinished(struct save *save, mode_t mode)
{
    sigset_t held, before;
    sigemptyset(&held);
    for (size_t i = 0; i < STOP_SIGNALS; i++)
        sigaddset(&held, stop_signals[i]);
    catch_signals();
    sigprocmask(SIG_BLOCK, &held, &before);
    /* Nobody else may look into what replaces a file until it has that file's rights. */
    make_file(save, save->old < 0 ? mode : 0600);
    int error = errno;
    for (size_t i = 0; save->temporary && i < UNFINISHED_MAX; i++) {
        if (unfinished[i])
            continue;
        unfinished[i] = save;
        break;
    }
    sigprocmask(SIG_SETMASK, &before, NULL);
    if (save->temporary)
        return NULL;
    const char *why = error_reason(save->arena, error);
    return save->old < 0
               ? arena_format(save->arena, "no file can be made in its folder: %s", why)
               : arena_format(save->arena,
                              "no file can be made in its folder, as has to be (%s): %s", why,
                              instead_of(save));
}

/* --- finding --- */

static bool is_same(const struct stat *a, const struct stat *b)
{
    return a->st_dev == b->st_dev && a->st_ino == b->st_ino;
}

/* Goes on to the folder `path`, seen from the one that is held. */
static bool enter(struct save *save, const char *path)
{
    int from = save->folder < 0 ? AT_FDCWD : save->folder;
    int folder;
    AGAIN(folder, openat(from, path, O_RDONLY | O_DIRECTORY | O_CLOEXEC));
#ifdef O_PATH
    if (folder < 0 && errno == EACCES) /* perhaps it may be used, and only not be listed */
        AGAIN(folder, openat(from, path, O_PATH | O_DIRECTORY | O_CLOEXEC));
#endif
    int error = errno;
    if (save->folder >= 0)
        close(save->folder);
    save->folder = folder;
    errno = error;
    return folder >= 0;
}

/* Finds the folder, and the name in it.  Links are followed to what is there, and never to a
 * name where nothing is: nobody means to make a file there. */
static const char *find(struct save *save, bool exists)
{
    char target[PATH_MAX];
    const char *path = save->path;
    for (int links = 0; links <= LINKS_MAX; links++) {
        const char *slash = strrchr(path, '/');
        const char *name = slash ? slash + 1 : path;
        if (!enter(save, slash ? arena_copy(save->arena, path, (size_t)(name - path)) : "."))
            return errno == ENOENT ? "its folder is not there"
                                   : error_reason(save->arena, errno);
        if (!*name)
            return error_reason(save->arena, EISDIR);
        save->name = name;
        ssize_t size = readlinkat(save->folder, name, target, sizeof target);
        if (size < 0)
            return errno == EINVAL || errno == ENOENT ? NULL : error_reason(save->arena, errno);
        if (!exists)
            return "it is a link to a file that is not there";
        path = arena_copy(save->arena, target, (size_t)size);
    }
    return error_reason(save->arena, ELOOP);
}

/* Holds what is there.  A rename asks only for the folder's leave; opening it for writing asks
 * for the file's own. */
static const char *hold(struct save *save, const struct stat *about)
{
    if (!S_ISREG(about->st_mode))
        return S_ISDIR(about->st_mode) ? error_reason(save->arena, EISDIR)
                                       : "it is no plain file";
    AGAIN(save->old, openat(save->folder, save->name,
                            O_RDWR | O_NOFOLLOW | O_NONBLOCK | O_NOCTTY | O_CLOEXEC));
    if (save->old < 0)
        return errno == ELOOP || errno == ENOENT ? save_meanwhile
                                                 : error_reason(save->arena, errno);
    if (fstat(save->old, &save->about) != 0)
        return error_reason(save->arena, errno);
    /* In folders that all may write to, the system does not follow everybody's links, and so it
     * must have come to the same file. */
    return is_same(&save->about, about) ? NULL : save_meanwhile;
}

/* --- rights --- */

#ifdef __linux__

static const char access_list[] = "system.posix_acl_access";

/* An attribute's value; -1: it has none, or they are not known there. */
static ssize_t attribute(int file, const char *name, char *value, bool *failed)
{
    ssize_t size;
    AGAIN(size, fgetxattr(file, name, value, ATTRIBUTE_MAX));
    *failed |= size < 0 && errno != ENODATA && errno != ENOTSUP && errno != ENOSYS;
    return size;
}

/* Has the new file this attribute as the old one has it?  If not it is made so, and looked at
 * once more, since not every disk does what it says. */
static bool keep_attribute(struct save *save, const char *name)
{
    char *wanted = save->room, *given = wanted + ATTRIBUTE_MAX;
    bool failed = false;
    ssize_t size = attribute(save->old, name, wanted, &failed);
    for (int round = 0; round < 2 && !failed; round++) {
        int result;
        if (attribute(save->file, name, given, &failed) == size && !failed &&
            (size <= 0 || memcmp(given, wanted, (size_t)size) == 0))
            return true;
        if (size < 0)
            AGAIN(result, fremovexattr(save->file, name));
        else
            AGAIN(result, fsetxattr(save->file, name, wanted, (size_t)size, 0));
    }
    return false;
}

static bool keep_access_list(struct save *save)
{
    return keep_attribute(save, access_list);
}

/* The first attribute that cannot be kept, or the list of them.  NULL where all are. */
static const char *keep_attributes(struct save *save)
{
    char *names = save->room + (size_t)2 * ATTRIBUTE_MAX;
    ssize_t size;
    AGAIN(size, flistxattr(save->old, names, ATTRIBUTE_MAX));
    if (size < 0)
        return errno == ENOTSUP || errno == ENOSYS ? NULL : "list";
    for (const char *name = names; name < names + size; name += strlen(name) + 1) {
        /* Seals of the old text: the system makes new ones. */
        if (strcmp(name, "security.ima") == 0 || strcmp(name, "security.evm") == 0)
            continue;
        if (!keep_attribute(save, name))
            return name;
    }
    return NULL;
}

#else

static bool keep_access_list(struct save *save)
{
    (void)save;
    return true;
}

static const char *keep_attributes(struct save *save)
{
    (void)save;
    return NULL;
}

#endif

/* Gives the new file what the old one has; what is as it should be is not touched, since not
 * every disk can set it.
 *
 * At no moment may more people look into the new file than into the old one.  The group comes
 * before the mode that lets it in.  It is set alone, since the owner is often refused where the
 * group is not.  The folder may have given the new file an access list of its own, which says
 * nothing as long as the mode is 0600, and would with the next: so the list goes first. */
static const char *keep_rights(struct save *save)
{
    const struct stat *old = &save->about;
    struct stat *made = &save->made;
    const char *instead = instead_of(save);
    int result = 0;
    if (fstat(save->old, &save->about) != 0 || fstat(save->file, made) != 0)
        return error_reason(save->arena, errno);
    if (old->st_nlink > 1)
        return arena_format(
            save->arena,
            "it has %ju names (hard links), and would be parted from the others: %s",
            (uintmax_t)old->st_nlink, instead);
    if (made->st_gid != old->st_gid)
        AGAIN(result, fchown(save->file, (uid_t)-1, old->st_gid));
    if (result != 0)
        return arena_format(save->arena, "its group cannot be kept by this user: %s", instead);
    if (made->st_uid != old->st_uid)
        AGAIN(result, fchown(save->file, old->st_uid, (gid_t)-1));
    if (result != 0)
        return arena_format(
            save->arena,
            "it belongs to another user, from whom it would be taken: let that user save it, or %s",
            instead);
    if (!keep_access_list(save))
        return arena_format(save->arena, "its access list cannot be kept: %s", instead);
    AGAIN(result, fchmod(save->file, old->st_mode & 07777));
    const char *lost = keep_attributes(save);
    if (lost)
        return arena_format(save->arena, "its attribute %s cannot be kept: %s", lost, instead);
    if (fstat(save->file, made) != 0 || made->st_mode != old->st_mode ||
        made->st_uid != old->st_uid || made->st_gid != old->st_gid)
        return arena_format(save->arena, "its rights cannot be kept: %s", instead);
    return NULL;
}

/* --- the steps of a save --- */

static const char *cannot(const struct save *save, const char *why)
{
    return arena_format(save->arena, "%s cannot be written: %s", save->path, why);
}

const char *save_open(struct save **out, struct arena *arena, const char *path,
                      enum save_kind kind, bool is_private)
{
    struct stat about;
    const char *why = NULL;
    struct save *save = ARENA_NEW(arena, struct save);
    *save = (struct save){
        .arena = arena, .path = path, .kind = kind, .folder = -1, .old = -1, .file = -1};
    *out = save;
    bool exists = stat(path, &about) == 0;
    why = save_refusal(arena, kind, exists ? 0 : errno);
    if (!why)
        why = find(save, exists);
    if (!why && exists) {
        save->room = arena_alloc(arena, (size_t)3 * ATTRIBUTE_MAX);
        why = hold(save, &about);
        save->identity = (struct file_identity){(uint64_t)about.st_dev, (uint64_t)about.st_ino};
    }
    if (!why)
        why = make_unfinished(save, is_private ? 0600 : 0666);
    if (!why && exists)
        why = keep_rights(save);
    if (why)
        save_drop(save);
    return why ? cannot(save, why) : NULL;
}

int save_file(const struct save *save)
{
    return save->file;
}

const struct file_identity *save_replaces(const struct save *save)
{
    return save->old < 0 ? NULL : &save->identity;
}

/* Closing tells of writes that a disk far away could not do; a signal is no such thing. */
static const char *close_whole(struct save *save)
{
    int result;
    AGAIN(result, fsync(save->file));
    if (result != 0 || fstat(save->file, &save->made) != 0)
        return error_reason(save->arena, errno);
    result = close(save->file);
    save->file = -1;
    return result != 0 && errno != EINTR ? error_reason(save->arena, errno) : NULL;
}

/* Does the name still stand for the file that is held, and does that say `before`? */
static const char *compare(const struct save *save, const struct view *before)
{
    struct stat now;
    char room[COMPARED];
    size_t at = 0;
    ssize_t size = 0;
    if (fstatat(save->folder, save->name, &now, AT_SYMLINK_NOFOLLOW) != 0 ||
        !is_same(&now, &save->about))
        return save_meanwhile;
    while (before) {
        AGAIN(size, pread(save->old, room, sizeof room, (off_t)at));
        if (size < 0)
            return error_reason(save->arena, errno);
        if (size == 0)
            return at == before->size ? NULL : save_meanwhile;
        if ((size_t)size > before->size - at ||
            memcmp(room, before->data + at, (size_t)size) != 0)
            return save_meanwhile;
        at += (size_t)size;
    }
    return NULL;
}

/* Gives the new file the old one's name, or a name where nothing is; there it fails where
 * something has appeared. */
static int rename_file(struct save *save)
{
    int from = save->folder, to = save->folder, result;
    if (save->old >= 0)
        AGAIN(result, renameat(from, save->temporary, to, save->name));
#ifdef RENAME_NOREPLACE
    else
        AGAIN(result, renameat2(from, save->temporary, to, save->name, RENAME_NOREPLACE));
#else
    else {
        result = -1;
        errno = ENOSYS;
    }
#endif
    if (result == 0) {
        forget(save);
        save->temporary = NULL;
    } else if (save->old < 0 && (errno == EINVAL || errno == ENOSYS)) {
        /* save_drop takes the other name away. */
        AGAIN(result, linkat(from, save->temporary, to, save->name, 0));
    }
    return result;
}

static const char *put_in_place(struct save *save)
{
    struct stat now;
    int result = rename_file(save);
    int error = errno;
    /* Over a network a call can be done and its answer lost. */
    if (result != 0 && (fstatat(save->folder, save->name, &now, AT_SYMLINK_NOFOLLOW) != 0 ||
                        !is_same(&now, &save->made)))
        return error_reason(save->arena, error);
    /* The new name lasts over a power cut only once its folder is synced as well.  Where that
     * fails the old file may come back, whole. */
    AGAIN(result, fsync(save->folder));
    return NULL;
}

const char *save_finish(struct save *save, const struct view *before)
{
    const char *why = save->old < 0 ? NULL : keep_rights(save);
    if (!why)
        why = close_whole(save);
    if (!why && save->old >= 0)
        why = compare(save, before);
    if (!why)
        why = put_in_place(save);
    save_drop(save);
    return why ? cannot(save, why) : NULL;
}

const char *save_drop(struct save *save)
{
    const char *why = NULL;
    if (save->temporary && unlinkat(save->folder, save->temporary, 0) != 0)
        why = arena_format(save->arena, "%s is left beside %s, and cannot be taken away: %s",
                           save->temporary, save->path, error_reason(save->arena, errno));
    forget(save);
    const int held[] = {save->file, save->old, save->folder};
    for (size_t i = 0; i < sizeof held / sizeof *held; i++)
        if (held[i] >= 0)
            close(held[i]);
    return why;
}
