/* The machines of a folder that take in a file. */
#ifndef PROVEOUT_CLI_SHOP_H
#define PROVEOUT_CLI_SHOP_H

#include "cli/input.h"
#include "machine/file.h"

/* A machine file that takes in others, read; NULL where it takes in nothing, is no machine file
 * or cannot be read.  `root` as in shelf_set. */
struct machine_file *shop_read(struct arena *arena, const struct input *input,
                               const char *root);

/* Do two names stand for one file? */
bool is_same_file(const char *a, const char *b);

/* Is `path` among the files from which a machine was read, by whatever name? */
bool shop_takes(struct arena *arena, const struct machine_file *file, const char *path);

#endif
