/* The machines of a run as a revision of git has them, and which of them changed since.
 *
 * A machine has changed where its own file has, or one that it takes in, or a file of the
 * controller that it agrees with: all that is read while it is checked.  What it was is read
 * from the revision in the same way, with the same bounds.
 */
#ifndef PROVEOUT_CLI_SINCE_H
#define PROVEOUT_CLI_SINCE_H

#include "cli/git.h"
#include "cli/input.h"
#include "rules/check.h"

/* One file of the run: the tree of the folder that it was found in, and its path from there. */
struct since_file {
    const struct git_tree *tree; /* NULL: no revision is asked */
    const char *folder, *below;
};

struct since {
    const char *rev;                  /* NULL: none, only `named` says what changed */
    const char *root;                 /* of --root, or NULL */
    const struct git_tree *root_tree; /* of it */
    bool is_list;
    VECTOR(const char *) named; /* where somebody says what changed */
    struct since_file *files;   /* of the list, in its order */
    VECTOR(const char *) gone;  /* machine files of the revision that are there no more */
};

/* Adds the files that the arguments stand for, and reads what the revision has of each.  NULL,
 * or what is wrong. */
MUST_USE const char *since_open(struct arena *arena, struct since *since,
                                const char *const *arguments, size_t count, const char *name,
                                struct file_list *list);

/* Is it a machine that can be compared: does the revision know its file? */
bool since_has(const struct since *since, size_t index);

/* Has the file at `path`, by which file `index` is judged, changed?  What no tree is known of
 * counts as changed. */
bool since_touches(const struct since *since, size_t index, const char *path);

/* One side of a comparison: how what a machine refers to is read, and seen to have changed. */
struct since_side {
    const struct since *since;
    const struct since_file *file;
    struct shared_files shared;
    struct file_reader agreements; /* as they were before since_watch */
    bool changed;
};

/* Lets `side` look on while a machine is checked: `shared` and `agreements` read through it
 * from now on. `side->changed` says at the end whether anything differs. */
void since_watch(const struct since *since, size_t index, struct since_side *side,
                 struct shared_files *shared, struct file_reader *agreements);

/* A file as the revision has it, and how to read what it refers to from there. */
struct since_was {
    struct view bytes;
    struct shared_files shared;
    struct file_reader agreements;
    const char *why; /* it cannot be read */
};

/* Through `side`, which has to stay where it is; `now`: from where the file of today takes
 * parts. False: `out->why` is set. */
MUST_USE bool since_before(struct arena *arena, const struct since *since, size_t index,
                           struct since_side *side, const struct shared_files *now,
                           struct since_was *out);

#endif
