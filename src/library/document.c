/* Opening a file for an editor: reading it, and what was found in it. */
#include "library/document.h"

#include <stdlib.h>

#include "library/document_answers.h"
#include "mend/mend.h"

static void read_machine(struct request *request, struct proveout_document *document)
{
    struct arena *arena = request_arena(request);
    struct machine_file *file = ARENA_NEW(arena, struct machine_file);
    machine_file_read(arena, request->path, request->bytes, request->checking.shared, file);
    document->kind =
        tree_starts_machine(request->bytes) ? PROVEOUT_IS_MACHINE : PROVEOUT_IS_NEITHER;
    document->source = &file->source;
    document->file = file;
    /* With rulebooks that do not load nothing is checked, but much of the file can be told. */
    if (!request_load_books(request))
        return;
    mender_check_file(mender_new(arena, &request->checking), arena, file,
                      &document->result.report);
}

static void open_document(struct request *request)
{
    struct proveout_document *document = (struct proveout_document *)request->answer;
    const struct rulebook_text text = {request->path, request->bytes.data, request->bytes.size};
    document->question = (struct question *)request;
    if (rulebook_is_text(&text))
        document_book_read(request, document);
    else
        read_machine(request, document);
    if (request->answer->status != PROVEOUT_REFUSED)
        result_fill(request, &document->result);
}

struct proveout_document *proveout_document(const char *name, const void *bytes, size_t size,
                                            const struct proveout_options *options)
{
    /* It is asked for again by later questions, so it lives as long as they may come. */
    struct question *question = calloc(1, sizeof *question);
    if (!question)
        return NULL;
    *question = (struct question){
        {.path = name, .bytes = {bytes, size}, .defers_books = true}, options, open_document};
    struct proveout_document *document =
        question_answer(question, sizeof(struct proveout_document));
    if (!document)
        free(question);
    else
        document->question = question;
    return document;
}

void proveout_document_free(struct proveout_document *document)
{
    if (!document)
        return;
    free(document->question);
    answer_free(&document->result.answer);
}

enum proveout_document_kind proveout_document_kind(const struct proveout_document *document)
{
    return document && document->source ? document->kind : PROVEOUT_IS_NEITHER;
}

const struct proveout_result *proveout_document_result(const struct proveout_document *document)
{
    return document ? &document->result : NULL;
}

static uint32_t document_offset(const struct proveout_document *document, size_t offset)
{
    size_t size = document->source->bytes.size;
    return (uint32_t)(offset < size ? offset : size);
}

static struct span document_span(const struct proveout_document *document,
                                 struct proveout_span span)
{
    struct span out = {document_offset(document, span.start),
                       document_offset(document, span.end)};
    if (out.end < out.start)
        out.end = out.start;
    return out;
}

void document_ask(struct document_question *question, struct proveout_document *document,
                  void (*work)(struct document_question *))
{
    question->list = NULL;
    question->count = 0;
    question->trouble = NULL;
    /* Without a source nothing was looked at. */
    if (!document || !document->source)
        return;
    question->document = document;
    question->offset = document_offset(document, question->at);
    question->within = document_span(document, question->about);
    if (setjmp(document->result.answer.exhausted)) {
        question->list = NULL;
        question->count = 0;
        question->trouble = NULL;
        return;
    }
    work(question);
}
