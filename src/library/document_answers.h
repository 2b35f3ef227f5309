/* What answers the questions about a file that an editor has open: a file of ours each, for
 * machine descriptions and, in document_book.c, for rulebooks. */
#ifndef PROVEOUT_LIBRARY_DOCUMENT_ANSWERS_H
#define PROVEOUT_LIBRARY_DOCUMENT_ANSWERS_H

#include "library/document.h"
#include "library/document_names.h"
#include "rules/rulebook.h"
#include "tree/change.h"
#include "tree/sketch.h"

/* The parts of a file, and what of it can be folded away. */

struct symbols {
    VECTOR(struct proveout_symbol) list;
};

void symbols_machine(struct proveout_document *document, struct symbols *out);

struct folds {
    VECTOR(struct proveout_span) list;
};

void folds_find(struct proveout_document *document, struct folds *out);

/* What is told of a place of a machine description. */

/* Adds what is told of the place, and sets what it is about; nothing where nothing is known. */
void hover_machine(struct proveout_document *document, uint32_t offset, struct buffer *out,
                   struct span *about);

/* Adds the window of a number of the file, and the margins of the rules that it comes into, the
 * tightest first; works that out anew. */
void hover_margins(struct proveout_document *document, struct buffer *out,
                   const struct field_place *place);

/* What a machine description amounts to, at the places that decide it. */

struct hints {
    VECTOR(struct proveout_hint) list;
};

void hints_machine(struct proveout_document *document, struct span within, struct hints *out);

/* What can be done about a place of a machine description. */

struct actions {
    VECTOR(struct proveout_action) list;
};

void actions_machine(struct proveout_document *document, struct span within,
                     struct actions *out);

/* What could be written at a place. */

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

/* Another name for something, wherever it is written; and the usual layout of lines. */

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

/* A rulebook that an editor has open. */

/* Reads it, with its mistakes as findings. */
void document_book_read(struct request *request, struct proveout_document *document);

void hover_book(struct proveout_document *document, uint32_t offset, struct buffer *out,
                struct span *about);
void complete_book(struct offers *offers, uint32_t offset);
void symbols_book(struct proveout_document *document, struct symbols *out);

/* Its rules and definitions, and where they are named; in the order of the file. */
void uses_book(struct proveout_document *document, struct uses *out);

#endif
