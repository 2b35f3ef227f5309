/* Changes of an open file, one value after another, told as changes of the bytes that it has.
 */
#ifndef PROVEOUT_LIBRARY_DOCUMENT_EDITS_H
#define PROVEOUT_LIBRARY_DOCUMENT_EDITS_H

#include "library/document.h"
#include "tree/change.h"

/* What comes in. */
struct insertion {
    uint32_t at; /* in the bytes before */
    struct view text;
};

/* Changes under way. */
struct editing {
    struct arena *arena;
    struct view before, now; /* the bytes as they are, and with what was changed so far */
    struct tree *tree;       /* of `now` */
    VECTOR(struct insertion) inserted; /* in the order of their places */
    bool replaced;                     /* something was, so that all is told as one change */
};

void editing_begin(struct editing *editing, struct proveout_document *document);

/* Sets one single value of the file's own, in its place among its neighbours; `text` NULL: a
 * key with nothing behind it, which reads as no value at all.  False where that cannot be. */
MUST_USE bool editing_set(struct editing *editing, const char *path, const char *text);

/* What was changed in all. */
struct proveout_edits editing_end(struct editing *editing);

#endif
