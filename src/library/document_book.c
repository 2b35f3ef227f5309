/* Opening a rulebook for an editor: its mistakes, and examples that do not come out as they
 * say, are what is found in it.
 */
#include "library/document_answers.h"

#include "rules/rulebook.h"

/* The book itself, and those of the options beside it: what it uses may be defined there.  One
 * that cannot be read is left out: what is missing then is told where it is used. */
static size_t gather(struct request *request, struct rulebook_text **out)
{
    struct arena *arena = request_arena(request);
    size_t most = request->options.books ? request->options.book_count : 0, count = 1;
    struct rulebook_text *texts = ARENA_ARRAY(arena, struct rulebook_text, most + 1);
    texts[0] = (struct rulebook_text){request->path, request->bytes.data, request->bytes.size};
    for (size_t i = 0; i < most; i++) {
        const char *name = request->options.books[i], *why;
        struct view bytes;
        if (!name || strcmp(name, request->path) == 0 ||
            !request_read(request, arena, name, SOURCE_SIZE_MAX, &bytes, &why))
            continue;
        texts[count++] = (struct rulebook_text){arena_copy(arena, name, strlen(name)),
                                                bytes.data, bytes.size};
    }
    *out = texts;
    return count;
}

static void add(struct file_report *report, const char *rule, struct span span,
                const char *message)
{
    report->findings[report->count++] = (struct finding){
        .rule = rule,
        .level = LEVEL_ERROR,
        .outcome = OUTCOME_FAILED,
        .at = {.source = report->source, .span = span},
        .message = message,
    };
}

/* What is wrong in the other books is told where they are open. */
static void add_mistakes(struct file_report *report, const struct rulebook_mistakes *mistakes)
{
    report->findings = ARENA_ARRAY(mistakes->arena, struct finding, mistakes->list.count);
    for (size_t i = 0; i < mistakes->list.count; i++) {
        const struct rulebook_mistake *one = &mistakes->list.items[i];
        if (view_equal(one->source->name, report->source->name))
            add(report, "rulebook-mistake", one->span, one->message);
    }
}

void document_book_read(struct request *request, struct proveout_document *document)
{
    struct arena *arena = request_arena(request);
    struct file_report *report = &document->result.report;
    struct tree *tree = tree_of(arena, view_of(request->path), request->bytes);
    struct rulebook_mistakes mistakes = {.arena = arena};
    struct differing_examples differing = {0};
    struct rulebook_text *texts;
    struct rulebook book;
    document->kind = PROVEOUT_IS_RULEBOOK;
    document->source = tree->source;
    document->book = tree;
    *report = (struct file_report){.path = request->path,
                                   .status = tree->status == TREE_WHOLE     ? FILE_CHECKED
                                             : tree->status == TREE_PARTIAL ? FILE_PARTIAL
                                                                            : FILE_UNREADABLE,
                                   .source = tree->source};
    size_t count = gather(request, &texts);
    bool loads = request->options.quick
                     ? rulebook_load_own(&mistakes, texts, count, &book)
                     : rules_prove_first(&mistakes, texts, count, &differing);
    if (!loads)
        add_mistakes(report, &mistakes);
    else
        report->findings = ARENA_ARRAY(arena, struct finding, differing.list.count);
    for (size_t i = 0; i < differing.list.count; i++)
        add(report, "example-differs", differing.list.items[i].span,
            differing.list.items[i].message);
    findings_sort(report->findings, report->count);
    findings_count(arena, report);
}
