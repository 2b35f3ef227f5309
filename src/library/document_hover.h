/* What is told of a place of a machine description. */
#ifndef PROVEOUT_LIBRARY_DOCUMENT_HOVER_H
#define PROVEOUT_LIBRARY_DOCUMENT_HOVER_H

#include "library/document.h"

/* Adds what is told of the place, and sets what it is about; nothing where nothing is known. */
void hover_machine(struct proveout_document *document, uint32_t offset, struct buffer *out,
                   struct span *about);

/* Adds the window of a number of the file, and the margins of the rules that it comes into, the
 * tightest first; works that out anew. */
void hover_margins(struct proveout_document *document, struct buffer *out,
                   const struct field_place *place);

#endif
