/* Which files a command line means: those named, and the machine files in folders named. */
#ifndef PROVEOUT_CLI_FILES_H
#define PROVEOUT_CLI_FILES_H

#include "base/vector.h"
#include "cli/input.h"

struct file_list {
    VECTOR(struct input) items;
};

/* Adds what `argument` stands for: itself, standard input for `-` (called `name`), or in a
 * folder all that is called *.yaml or *.yml, by path.  Links to folders are not followed inside
 * a folder. A folder that cannot be looked into is in the list with its failure. */
void files_add(struct file_list *list, struct arena *arena, const char *argument,
               const char *name);

#endif
