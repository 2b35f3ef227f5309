/* A file that an editor has open: what was read of it, and how questions about it are answered.
 *
 * A question works in the document's arena, and lack of memory leads back to the call that
 * asked it.  So whatever is kept from one question to the next is set when it is whole, and
 * what a question changes on the way is a copy.
 */
#ifndef PROVEOUT_LIBRARY_DOCUMENT_H
#define PROVEOUT_LIBRARY_DOCUMENT_H

#include <proveout/editing.h>

#include "library/result.h"

struct proveout_document {
    struct proveout_result result; /* begins with the answer */
    struct question *question;     /* what the caller gave */
    enum proveout_document_kind kind;
    struct source *source;     /* its bytes */
    struct machine_file *file; /* NULL: of a rulebook, or nothing was looked at */
    struct tree *book;         /* NULL: of a machine description */
    /* NULL until they are asked for: */
    struct sketch *sketch;
    const struct rule_texts *rules;
    const struct file_report *mended; /* findings with their fixes */
};

/* A question about a document. */
struct document_question {
    struct proveout_document *document;
    size_t at; /* as the caller gave it, and within the file: */
    uint32_t offset;
    struct proveout_span about; /* likewise */
    struct span within;
    const char *to; /* a new name */
    bool with_definition;
    const void *list; /* the answer: of `count`, or one; NULL: there is none */
    size_t count;
    const char *trouble;
};

/* Works out an answer; what memory did not do for is none. */
void document_ask(struct document_question *question, struct proveout_document *document,
                  void (*work)(struct document_question *));

static inline struct arena *document_arena(struct proveout_document *document)
{
    return &document->result.answer.arena;
}

#endif
