/* What a machine description amounts to, at the places that decide it. */
#ifndef PROVEOUT_LIBRARY_DOCUMENT_HINTS_H
#define PROVEOUT_LIBRARY_DOCUMENT_HINTS_H

#include "library/document.h"

struct hints {
    VECTOR(struct proveout_hint) list;
};

void hints_machine(struct proveout_document *document, struct span within, struct hints *out);

#endif
