/* Preloaded before a program: lets something happen in the middle of a save.
 *
 * MEANWHILE_AT=CALL MEANWHILE=COMMAND runs COMMAND once, before the first call of CALL; with the
 * CALL `any` before every call of those below.  REFUSE=CALL:ERRNO lets CALL fail. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/xattr.h>
#include <unistd.h>

__attribute__((constructor)) static void leave_others_alone(void)
{
    unsetenv("LD_PRELOAD");
}

/* True where the call is to fail. */
static int comes_to(const char *call)
{
    static int done;
    const char *at = getenv("MEANWHILE_AT");
    const char *refused = getenv("REFUSE");
    size_t size = strlen(call);
    if (at && (strcmp(at, "any") == 0 || (!done && strcmp(at, call) == 0))) {
        done = 1;
        if (system(getenv("MEANWHILE")) != 0)
            abort();
    }
    if (!refused || strncmp(refused, call, size) != 0 || refused[size] != ':')
        return 0;
    errno = atoi(refused + size + 1);
    return 1;
}

#define BEFORE(call, parameters, arguments)                                                    \
    int call parameters                                                                        \
    {                                                                                          \
        static int(*real) parameters;                                                          \
        if (!real)                                                                             \
            *(void **)&real = dlsym(RTLD_NEXT, #call);                                         \
        return comes_to(#call) ? -1 : real arguments;                                          \
    }

BEFORE(fsync, (int file), (file))
BEFORE(fchmod, (int file, mode_t mode), (file, mode))
BEFORE(fchown, (int file, uid_t owner, gid_t group), (file, owner, group))
BEFORE(fremovexattr, (int file, const char *name), (file, name))
BEFORE(fsetxattr, (int file, const char *name, const void *value, size_t size, int flags),
       (file, name, value, size, flags))
BEFORE(linkat, (int from, const char *old, int to, const char *name, int flags),
       (from, old, to, name, flags))
BEFORE(renameat, (int from, const char *old, int to, const char *name), (from, old, to, name))
BEFORE(renameat2, (int from, const char *old, int to, const char *name, unsigned flags),
       (from, old, to, name, flags))
