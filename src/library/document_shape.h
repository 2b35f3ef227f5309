/* Where something stands in a machine description that an editor has open, and what it stands
 * for, whole or broken off.
 */
#ifndef PROVEOUT_LIBRARY_DOCUMENT_SHAPE_H
#define PROVEOUT_LIBRARY_DOCUMENT_SHAPE_H

#include "library/document.h"
#include "tree/sketch.h"

/* The sketch of the file, made when it is first asked for. */
const struct sketch *document_sketch(struct proveout_document *document);

/* The general path of what a node stands for: "cutters[]", "axes.*.travel", "inputs.*"; "" for
 * the file itself.  In `arena`. */
const char *shape_general(struct arena *arena, const struct sketch_node *node);

/* The field that a node is, or is part of. */
struct shape_field {
    enum field_id id;               /* FIELD_COUNT: none */
    uint8_t part;                   /* 1 or 2 of a pair */
    const struct sketch_node *node; /* that has the field's key */
};

struct shape_field shape_field(struct arena *arena, const struct sketch_node *node);

/* The one value that a node stands for; false where the machine has no such record. */
MUST_USE bool shape_place(struct proveout_document *document, const struct machine *machine,
                          const struct shape_field *field, struct field_place *out);

/* A path by which the record of a list is found wherever it stands:
 * "cutters[number=3].stickout".
 */
const char *shape_lasting(struct arena *arena, const struct sketch_node *node);

/* What may stand in a section. */
struct shape_key {
    struct view name;
    enum field_id first, end; /* of a section what stands in it; FIELD_COUNT: no field */
    bool leaf;
    enum field_group group; /* that stands under it; GROUP_ROOT: none */
    uint32_t rank;          /* in the order of a file */
    const char *told;       /* of what is no field: what it is */
};

struct shape_keys {
    VECTOR(struct shape_key) items;
};

/* The keys of a section by its general path, in the order of a file; of a list those of its
 * items are asked for by "cutters[]". */
void shape_keys(struct arena *arena, const char *general, struct shape_keys *out);

/* The key by which people call the records of a list: "number", "name"; NULL: none. */
const char *shape_calling_key(enum field_group group);

/* The machine as far as it can be told: of a file that breaks off where `offset` is, without
 * what stands there. */
const struct machine *document_machine(struct proveout_document *document, uint32_t offset);

/* How a line ends in this file, and how much deeper what is within something stands. */
const char *document_line_end(const struct proveout_document *document);
uint32_t document_step(struct proveout_document *document);

static inline struct view document_slice(const struct proveout_document *document,
                                         struct span span)
{
    return source_slice(document->source, span);
}

static inline struct proveout_span span_out(struct span span)
{
    return (struct proveout_span){span.start, span.end};
}

#endif
