/* The parts of a file, and what of it can be folded away. */
#ifndef PROVEOUT_LIBRARY_DOCUMENT_SYMBOLS_H
#define PROVEOUT_LIBRARY_DOCUMENT_SYMBOLS_H

#include "library/document.h"

struct symbols {
    VECTOR(struct proveout_symbol) list;
};

void symbols_machine(struct proveout_document *document, struct symbols *out);

struct folds {
    VECTOR(struct proveout_span) list;
};

void folds_find(struct proveout_document *document, struct folds *out);

#endif
