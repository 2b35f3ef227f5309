/* What could be written at a place. */
#ifndef PROVEOUT_LIBRARY_DOCUMENT_COMPLETE_H
#define PROVEOUT_LIBRARY_DOCUMENT_COMPLETE_H

#include "library/document.h"
#include "tree/change.h"
#include "tree/sketch.h"

/* What is offered so far, all in the place of one span. */
struct offers {
    struct arena *arena;
    struct proveout_document *document;
    const struct machine
        *machine; /* as it is but for what is being typed; NULL: of a rulebook */
    struct span span;
    uint32_t offset; /* where it is asked */
    VECTOR(struct proveout_completion) list;
};

/* A value that is being written. */
struct value_at {
    enum field_id field;
    const struct sketch_node *node,
        *self; /* the field's own, and the item that is being written */
    bool item; /* one of a list */
};

/* Adds one, with its label where it says nothing to be inserted. */
void offer_add(struct offers *offers, struct proveout_completion one);

void complete_machine(struct offers *offers, uint32_t offset);

#endif
