/* How much of what it could do a test does: SHARE, as share.py reads it.
 *
 * Nothing or a number: a share, drawn by the number.  Two with a stroke between, as 1/4: of the
 * share that the first draws one in so many.  `all`: everything. */
#ifndef PROVEOUT_TESTS_SHARE_H
#define PROVEOUT_TESTS_SHARE_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* How many times fewer than usual: at least 1. */
static inline unsigned share_fewer(void)
{
    const char *share = getenv("SHARE"), *stroke = share ? strchr(share, '/') : NULL;
    unsigned long fewer = stroke ? strtoul(stroke + 1, NULL, 10) : 1;
    return fewer > 1 && fewer < 1000 ? (unsigned)fewer : 1;
}

/* So many where all of the share are `whole`: never none. */
static inline unsigned share_of(unsigned whole)
{
    unsigned few = whole / share_fewer();
    return few ? few : 1;
}

/* Is the number of what is called `name` one of the share, of which about one in `of` is? */
static inline bool share_draws(const char *name, size_t number, unsigned of)
{
    const char *share = getenv("SHARE");
    char item[200];
    uint32_t hash = 2166136261u;
    if (!share || !*share)
        share = "1";
    if (strcmp(share, "all") == 0)
        return true;
    snprintf(item, sizeof item, "%.*s %s %zu", (int)strcspn(share, "/"), share, name, number);
    for (const char *c = item; *c; c++)
        hash = (hash ^ (unsigned char)*c) * 16777619u;
    return (hash ^ hash >> 15) % (of * share_fewer()) == 0;
}

#endif
