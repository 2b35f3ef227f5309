/* Where the paths of systems differ.  They have `/` between their parts everywhere. */
#ifndef PROVEOUT_TEXT_PATH_H
#define PROVEOUT_TEXT_PATH_H

#include "base/view.h"

#ifdef _WIN32
enum { PATHS_HAVE_DRIVES = true };
#else
enum { PATHS_HAVE_DRIVES = false };
#endif

/* Does it begin with a drive and its root, `C:/`?  On systems without drives nothing does. */
bool path_has_drive(struct view path);

/* Does it begin at a root? */
bool path_has_root(struct view path);

#endif
