/* What went wrong, in words for whoever stands at the machine. */
#include <errno.h>

#include "platform/internal.h"

const char *error_reason(struct arena *arena, int error)
{
    static const struct {
        int error;
        const char *reason;
    } reasons[] = {
        {ENOENT, "there is no such file"},
        {ENOTDIR, "a part of its path is no folder"},
        {EISDIR, "it is a folder"},
        {EEXIST, "it is there already"},
        {EBUSY, "the system holds it fast"},
        {EACCES, "this user is not allowed to"},
        {EPERM, "this user is not allowed to"},
        {ELOOP, "its links lead in a circle"},
        {ENAMETOOLONG, "its path is too long"},
        {ENOSPC, "the disk is full"},
#ifdef EDQUOT
        {EDQUOT, "this user's share of the disk is full"},
#endif
        {EFBIG, "it would be too large"},
        {EROFS, "the disk can only be read"},
        {EBADF, "it is not open"},
        {EIO, "the disk or line gives an error"},
        {EMFILE, "too many files are open"},
        {ENFILE, "too many files are open"},
        {ENXIO, "nothing is there to answer"},
    };
    for (size_t i = 0; i < sizeof reasons / sizeof *reasons; i++)
        if (reasons[i].error == error)
            return reasons[i].reason;
    char text[128];
    error_system_words(error, text, sizeof text);
    return arena_copy(arena, text, strlen(text));
}
