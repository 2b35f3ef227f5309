/* What is named in a machine description: inputs, cutters and other things of lists, anchors,
 * fields; where each is said, and where it is spoken of.
 */
#ifndef PROVEOUT_LIBRARY_DOCUMENT_NAMES_H
#define PROVEOUT_LIBRARY_DOCUMENT_NAMES_H

#include "library/document_shape.h"

enum thing {
    THING_NONE,
    THING_INPUT,
    THING_RECORD, /* of a list, by its number or name */
    THING_ANCHOR,
    THING_FIELD,     /* or a section, by its path in this file */
    THING_DEFINITION /* of a rulebook; or a rule */
};

/* One place where a thing is named. */
struct use {
    enum thing thing;
    enum field_group group; /* of a record */
    struct view name;
    struct span span;  /* of the name */
    struct span whole; /* of what is said, where it is said here */
    bool defines;
    bool exact; /* the span holds the name as it is, so that another may take its place */
};

struct uses {
    VECTOR(struct use) list;
};

/* All of them but keys of fields, in the order of the file. */
void uses_collect(struct proveout_document *document, struct uses *out);

/* What is named at a place: of several the shortest; THING_NONE: nothing. */
struct use uses_at(struct proveout_document *document, const struct uses *uses,
                   uint32_t offset);

/* Do two name the same thing? */
bool use_is_of(const struct use *use, const struct use *other);

/* The field that a path of the file leads to, where it stands in this file; NULL: nowhere. */
const struct sketch_node *names_field(struct proveout_document *document, struct view path);

struct targets {
    VECTOR(struct proveout_target) list;
};

void targets_said(struct proveout_document *document, uint32_t offset, struct targets *out);
void targets_spoken(struct proveout_document *document, uint32_t offset, bool with_definition,
                     struct targets *out);

#endif
