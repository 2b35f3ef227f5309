/* One tree of what several files say: `extends`, `cutters: {from: FILE}` and merge keys (`<<`).
 *
 * Only here is it known that a machine may stand in several files.  What comes out is a tree
 * like any other, whose spans count through all files (text/source.h).
 */
#ifndef PROVEOUT_TREE_COMPOSE_H
#define PROVEOUT_TREE_COMPOSE_H

#include "text/reader.h"
#include "tree/tree.h"

enum {
    SHARED_DEPTH_MAX = 8,  /* files that take each other in, one below the other: too-deep */
    SHARED_FILES_MAX = 64, /* files of one machine, and of one `extends`: too-long */
    SHARED_SIZE_MAX = 4 * 1024 * 1024, /* bytes of each but the first */
};

/* Where the files of a machine come from. */
struct shared_files {
    struct file_reader reader; /* takes paths from the root, without `.` and `..` */
    const char *root;   /* what people put before such a path to name the file: "shop/", "" */
    const char *folder; /* the machine file's own, from the root: "mills/", "" */
};

/* Could a file with these bytes take in another?  False only where it does not; quicker than to
 * read it as YAML. */
bool tree_may_take_files(struct view bytes);

/* Does a file take in another? */
bool tree_takes_files(const struct tree *own);

/* Puts together what the file `own` takes in; where that is nothing, `*out` is `own` itself.
 * Maps merge key by key, lists of maps by `number` or `name`, all else is replaced; the nearer
 * file wins, and its `~` takes away what stands below.  `waivers` are never taken over:
 * somebody accepted something of one machine.
 *
 * `files` NULL: no other file is given.  Reports shared-file-unreadable, shared-file-circle,
 * waiver-not-shared, and what tree_read reports, the latter in the other file; of a machine of
 * which a file is missing nobody can say what else is, so `*out` is partial then. */
void tree_compose(struct tree *out, struct arena *arena, const struct tree *own,
                  const struct shared_files *files, struct finding_sink *sink);

/* Where the node at a path stands in the tree of its own file: `*source` is that file, and what
 * is returned the path there, in `arena`; NULL: nothing stands at `path`. */
const char *tree_path_at_home(struct arena *arena, const struct tree *composed,
                              struct view path, struct source **source);

/* The path by which the machine's own file `own` says, or would say, what stands at `path`
 * here.  Of a list of maps the items are found by their `number` or `name`; `*item` is where
 * such an item would have to be named first, as `*name`, or NULL.  Other items are found by their
 * place where the list is the own file's or there is none yet.  NULL: `own` cannot say it.
 */
const char *tree_path_in_own(struct arena *arena, const struct tree *composed,
                             const struct tree *own, struct view path, const char **item,
                             struct view *name);

#endif
