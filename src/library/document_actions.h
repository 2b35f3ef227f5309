/* What can be done about a place of a machine description. */
#ifndef PROVEOUT_LIBRARY_DOCUMENT_ACTIONS_H
#define PROVEOUT_LIBRARY_DOCUMENT_ACTIONS_H

#include "library/document.h"

struct actions {
    VECTOR(struct proveout_action) list;
};

void actions_machine(struct proveout_document *document, struct span within,
                     struct actions *out);

#endif
