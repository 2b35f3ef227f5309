/* Preloaded before a program: lets allocation number FAIL_AT fail, and all that follow where
 * FAIL_ON is set.  Writes nothing and counts what every thread allocates. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <stdatomic.h>
#include <stddef.h>
#include <stdlib.h>

static atomic_long count;

static int fails(void)
{
    const char *at = getenv("FAIL_AT");
    long number = atomic_fetch_add(&count, 1) + 1;
    long wanted = at ? atol(at) : 0;
    if (wanted == 0 || number < wanted || (number > wanted && !getenv("FAIL_ON")))
        return 0;
    errno = ENOMEM;
    return 1;
}

void *malloc(size_t size)
{
    static void *(*real)(size_t);
    if (!real)
        *(void **)&real = dlsym(RTLD_NEXT, "malloc");
    return fails() ? NULL : real(size);
}

void *calloc(size_t number, size_t size)
{
    static void *(*real)(size_t, size_t);
    if (!real)
        *(void **)&real = dlsym(RTLD_NEXT, "calloc");
    return fails() ? NULL : real(number, size);
}

void *realloc(void *old, size_t size)
{
    static void *(*real)(void *, size_t);
    if (!real)
        *(void **)&real = dlsym(RTLD_NEXT, "realloc");
    return fails() ? NULL : real(old, size);
}
