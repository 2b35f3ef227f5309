/* Another name for something, wherever it is written; and the usual layout of lines. */
#ifndef PROVEOUT_LIBRARY_DOCUMENT_RENAME_H
#define PROVEOUT_LIBRARY_DOCUMENT_RENAME_H

#include "library/document_names.h"

/* The name that can be replaced at a place; THING_NONE: there is none. */
struct use rename_at(struct proveout_document *document, struct uses *uses, uint32_t offset);

/* The changes; NULL, with `*trouble` set, where that cannot be. */
const struct proveout_edits *rename_everywhere(struct proveout_document *document,
                                               uint32_t offset, const char *to,
                                               const char **trouble);

/* The bytes with the changes made. */
struct view edits_applied(struct arena *arena, struct view bytes,
                          const struct proveout_edits *edits);

/* The changes of layout that say the same; NULL: none. */
const struct proveout_edits *format_lines(struct proveout_document *document,
                                          struct span within);

#endif
