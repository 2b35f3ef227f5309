/* How bytes of other files come to those who open none. */
#ifndef PROVEOUT_TEXT_READER_H
#define PROVEOUT_TEXT_READER_H

#include "base/arena.h"
#include "base/view.h"

/* Gives the bytes of the file called `path`, in `arena`.  False: `*why` says why not, in a few
 * plain words ("there is no such file").  Whoever gives it decides where a path leads from, and
 * sees to it that it leads nowhere else. */
struct file_reader {
    void *user;
    bool (*read)(void *user, struct arena *arena, struct view path, struct view *bytes,
                 const char **why);
};

#endif
