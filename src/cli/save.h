/* Putting a file into its place: whole, or not at all.
 *
 * The text is written under another name beside it, synced, given the rights of the file that
 * is replaced, and renamed, so that a run that fails or is stopped leaves what was there.  Of a
 * link the target is replaced.  A file is not replaced where it has changed meanwhile, where it
 * would be parted from a hard link, or where its owner, its group, its access list or one of
 * its attributes would be lost; and one that has appeared meanwhile is not written over.
 *
 * Folder and file are held by descriptors from save_open on: what a path leads to may change.
 */
#ifndef PROVEOUT_CLI_SAVE_H
#define PROVEOUT_CLI_SAVE_H

#include <sys/stat.h>

#include "base/arena.h"
#include "base/bug.h"
#include "base/view.h"

enum save_kind {
    SAVE_NEW,   /* must not be there */
    SAVE_OLD,   /* must be there */
    SAVE_EITHER /* may be there */
};

struct save {
    struct arena *arena;
    const char *path; /* as the user gave it */
    enum save_kind kind;
    int folder;            /* descriptor */
    const char *name;      /* in `folder`; no link */
    int old;               /* what is there, open; -1: nothing is */
    struct stat about;     /* of `old` */
    int file;              /* to write to; -1 once it is closed */
    const char *temporary; /* its name in `folder` until it is whole; NULL: it has none */
    struct stat made;      /* of it, once it is whole */
    char *room;            /* for attributes */
};

/* Begins; the caller writes to `out->file`, and goes on with save_finish or save_drop.  `mode`
 * is what a file that is not there yet is made with, as open(2) takes it.  NULL on success,
 * else why not in one sentence, with nothing left to be closed. */
MUST_USE const char *save_open(struct save *out, struct arena *arena, const char *path,
                               enum save_kind kind, mode_t mode);

/* Puts what was written into its place; `before`, unless NULL, is what the old file must still
 * say.  NULL on success, else why not, and what was there is as it was. */
MUST_USE const char *save_finish(struct save *save, const struct view *before);

/* Gives it up.  NULL, or in one sentence why its unfinished file stays behind. */
const char *save_drop(struct save *save);

/* Takes away the unfinished files of this process.  Safe in a signal handler. */
void save_abandon(void);

/* All of it at once: `after` in the place of a file that said `before`; as a file that is not
 * there yet; or for this user's eyes alone, whether it is there or not. */
MUST_USE const char *save_over(struct arena *arena, const char *path, struct view before,
                               struct view after);
MUST_USE const char *save_new(struct arena *arena, const char *path, struct view bytes);
MUST_USE const char *save_private(struct arena *arena, const char *path, struct view bytes);

#endif
