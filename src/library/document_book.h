/* A rulebook that an editor has open. */
#ifndef PROVEOUT_LIBRARY_DOCUMENT_BOOK_H
#define PROVEOUT_LIBRARY_DOCUMENT_BOOK_H

#include "library/document_complete.h"
#include "library/document_names.h"
#include "library/document_symbols.h"
#include "rules/rulebook.h"

/* Reads it, with its mistakes as findings. */
void document_book_read(struct request *request, struct proveout_document *document);

void hover_book(struct proveout_document *document, uint32_t offset, struct buffer *out,
                struct span *about);
void complete_book(struct offers *offers, uint32_t offset);
void symbols_book(struct proveout_document *document, struct symbols *out);

/* Its rules and definitions, and where they are named; in the order of the file. */
void uses_book(struct proveout_document *document, struct uses *out);

#endif
