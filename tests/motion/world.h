/* A machine to look at, and changing one field of it. */
#ifndef PROVEOUT_TESTS_MOTION_WORLD_H
#define PROVEOUT_TESTS_MOTION_WORLD_H

#include "machine/machine.h"

struct world {
    struct arena arena;
    struct source source;
    struct finding_sink sink;
    struct tree tree;
    struct machine machine;
};

/* Reads the machine of world.c; the test fails where the reader finds anything in it. */
void world_begin(struct world *world);
void world_end(struct world *world);

/* Sets a field, given by its path, as the loader would read `text`; NULL takes it away. */
void world_put(struct world *world, const char *path, const char *text);

/* Marks a field as one that carries an error. */
void world_spoil(struct world *world, const char *path);

/* Leaves only the first `count` of a list's records. */
void world_keep(struct world *world, enum field_group group, uint32_t count);

#endif
