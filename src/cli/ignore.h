/* What a search through folders leaves out: the patterns of files called proveout.ignore.
 *
 * A pattern a line, in the language of shells (POSIX.1-2017, 2.13); blank lines and lines that
 * begin with # are none.  It holds for the folder in which the file lies and for all below.
 * With a / in it, it is matched against the path from there, else against each name; with one
 * at its end it means folders alone.
 */
#ifndef PROVEOUT_CLI_IGNORE_H
#define PROVEOUT_CLI_IGNORE_H

#include "base/arena.h"
#include "base/bug.h"

#include <stdbool.h>

struct ignore; /* patterns of a folder, and of those above it; NULL: none */

/* What holds in `folder`, below one where `above` holds, in `*out`.  False: there is a file of
 * patterns that cannot be read, or has a line that is none, called `*path`; `*why` says why. */
MUST_USE bool ignore_read(struct arena *arena, const char *folder, const struct ignore *above,
                          const struct ignore **out, const char **path, const char **why);

/* Is `path`, whose last step is `name`, left out? */
bool ignore_matches(const struct ignore *ignore, struct arena *arena, const char *path,
                    const char *name, bool is_folder);

#endif
