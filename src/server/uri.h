/* Paths of files, and the URIs by which editors name them (RFC 8089). */
#ifndef PROVEOUT_SERVER_URI_H
#define PROVEOUT_SERVER_URI_H

#include "base/arena.h"
#include "base/view.h"

/* The path of a file on this computer, absolute, without `.`, `..` and doubled strokes; NULL:
 * the URI names none. */
const char *uri_path(struct arena *arena, const char *uri);

/* What stands behind its last stroke, as people know it: the name of what is no file. */
const char *uri_name(struct arena *arena, const char *uri);

/* The URI of a path that is absolute. */
const char *uri_of(struct arena *arena, const char *path);

/* `path` from `folder`, without `.`; NULL where it leads out of there, or is no name of a file.
 */
const char *path_below(struct arena *arena, const char *folder, const char *path);

/* Is `path` the folder itself, or does it lie in it? */
bool path_lies_in(const char *path, const char *folder);

/* The folder of a path: up to its last stroke. */
const char *path_folder(struct arena *arena, const char *path);

#endif
