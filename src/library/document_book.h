/* A rulebook that an editor has open. */
#ifndef PROVEOUT_LIBRARY_DOCUMENT_BOOK_H
#define PROVEOUT_LIBRARY_DOCUMENT_BOOK_H

#include "library/document.h"

/* Reads it, with its mistakes as findings. */
void document_book_read(struct request *request, struct proveout_document *document);

#endif
