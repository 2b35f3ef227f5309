/* A small machine file to change one thing in, and reading it. */
#ifndef PROVEOUT_TESTS_MACHINE_WORLD_H
#define PROVEOUT_TESTS_MACHINE_WORLD_H

#include "machine/machine.h"

struct world {
    struct arena arena;
    struct source source;
    struct finding_sink sink;
    struct tree tree;
    struct machine machine;
};

/* A machine with a setter: complete, and nothing to be said about it. */
extern const char whole[];

/* Reads `text`, which must outlive the world. */
void world_read(struct world *world, const char *text);
void world_free(struct world *world);

/* `whole` with the first `old` in it replaced; the test fails where it is not there. */
char *changed(struct arena *arena, const char *old, const char *new_text);

/* One change and what is to be found in it: nothing where `rule` is NULL. */
struct change {
    const char *old, *new_text;
    const char *rule, *field; /* of the one finding */
    const char *marked;       /* the part of the file that it points at */
    const char *says;         /* part of its message, or NULL */
};

/* Reads each change and compares; each message is measured too. */
void check_changes(const struct change *changes, size_t count);

#endif
