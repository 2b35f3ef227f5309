/* Opening a rulebook for an editor: its mistakes are what is found in it. */
#include "library/document_book.h"

static struct finding *add(struct arena *arena, struct file_report *report, const char *rule,
                           struct span span, const char *message)
{
    struct finding *finding = &report->findings[report->count++];
    *finding = (struct finding){
        .rule = rule,
        .level = LEVEL_ERROR,
        .outcome = OUTCOME_FAILED,
        .at = {.source = report->source, .span = span},
        .message = arena_copy(arena, message, strlen(message)),
    };
    return finding;
}

void document_book_read(struct request *request, struct proveout_document *document)
{
    struct arena *arena = request_arena(request);
    struct file_report *report = &document->result.report;
    struct tree *tree = tree_of(arena, view_of(request->path), request->bytes);
    struct rulebook_text text = {request->path, request->bytes.data, request->bytes.size};
    struct rulebook_mistakes mistakes = {.arena = arena};
    struct rulebook book;
    document->kind = PROVEOUT_IS_RULEBOOK;
    document->source = tree->source;
    document->book = tree;
    *report = (struct file_report){.path = request->path,
                                   .status = tree->status == TREE_WHOLE     ? FILE_CHECKED
                                             : tree->status == TREE_PARTIAL ? FILE_PARTIAL
                                                                            : FILE_UNREADABLE,
                                   .source = tree->source};
    if (!rulebook_load_own(&mistakes, &text, 1, &book)) {
        report->findings = ARENA_ARRAY(arena, struct finding, mistakes.list.count);
        for (size_t i = 0; i < mistakes.list.count; i++)
            add(arena, report, "rulebook-mistake", mistakes.list.items[i].span,
                mistakes.list.items[i].message);
    }
    findings_sort(report->findings, report->count);
    findings_count(arena, report);
}
