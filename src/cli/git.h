/* What a revision of git has below a folder, by git's own plumbing: nothing is checked out, and
 * nothing in the repository is changed.
 *
 * Paths count from the folder.  Links and submodules are not among its files.
 */
#ifndef PROVEOUT_CLI_GIT_H
#define PROVEOUT_CLI_GIT_H

#include "base/arena.h"
#include "base/bug.h"
#include "base/view.h"

struct git_tree;

/* Reads the list of what revision `rev` has below `folder`; NULL: `why` says why not.  In
 * `arena`, as `folder` and `rev` have to be. */
const struct git_tree *git_tree_read(struct arena *arena, const char *folder, const char *rev,
                                     const char **why);

/* Is there a file of this path?  Path `index`, from 0; NULL past the last. */
bool git_tree_has(const struct git_tree *tree, struct view path);
const char *git_tree_path(const struct git_tree *tree, size_t index);

/* The bytes of one of its files, in `arena`; false: `why` is set.  For any thread. */
MUST_USE bool git_tree_file(const struct git_tree *tree, struct arena *arena, struct view path,
                            struct view *bytes, const char **why);

/* Does the folder have another file of this path than the tree, or none? */
bool git_tree_differs(const struct git_tree *tree, struct view path);

#endif
