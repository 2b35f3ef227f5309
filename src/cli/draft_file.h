/* Where the prompt keeps its drafts: one for each machine file, in the user's state folder. */
#ifndef PROVEOUT_CLI_DRAFT_FILE_H
#define PROVEOUT_CLI_DRAFT_FILE_H

#include "base/arena.h"
#include "base/bug.h"
#include "base/view.h"

struct draft_file {
    struct arena *arena;
    const char *path; /* NULL: there is nowhere to keep it */
    const char *why;  /* what went wrong the last time, or NULL */
};

/* The draft of `machine_path`, or of a file that has no name yet (NULL). */
void draft_file_init(struct draft_file *file, struct arena *arena, const char *machine_path);

/* Empty where there is none. */
struct view draft_file_read(struct draft_file *file);

/* Written beside and renamed: after a kill the old one is there or the new one. */
void draft_file_write(struct draft_file *file, struct view bytes);

void draft_file_remove(struct draft_file *file);

/* Renames it, so that it is out of the way and not lost; returns its new name, or NULL. */
const char *draft_file_put_aside(struct draft_file *file);

#endif
