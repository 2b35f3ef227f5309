/* The public face of what an editor asks about a file it has open. */
#include "library/document_answers.h"

static void hover(struct document_question *question)
{
    struct proveout_document *document = question->document;
    struct arena *arena = document_arena(document);
    struct proveout_hover *hover = ARENA_NEW(arena, struct proveout_hover);
    struct buffer out;
    struct span about = {0, 0};
    buffer_init(&out, arena);
    if (document->file)
        hover_machine(document, question->offset, &out, &about);
    else
        hover_book(document, question->offset, &out, &about);
    if (!out.size)
        return;
    *hover = (struct proveout_hover){{about.start, about.end}, buffer_string(&out)};
    question->list = hover;
}

const struct proveout_hover *proveout_hover(struct proveout_document *document, size_t offset)
{
    struct document_question question = {.at = offset};
    document_ask(&question, document, hover);
    return question.list;
}

static void complete(struct document_question *question)
{
    struct offers offers = {.arena = document_arena(question->document),
                            .document = question->document};
    if (question->document->file)
        complete_machine(&offers, question->offset);
    else
        complete_book(&offers, question->offset);
    question->list = offers.list.items;
    question->count = offers.list.count;
}

const struct proveout_completion *proveout_completions(struct proveout_document *document,
                                                       size_t offset, size_t *count)
{
    struct document_question question = {.at = offset};
    document_ask(&question, document, complete);
    *count = question.count;
    return question.list;
}

static void define(struct document_question *question)
{
    struct targets targets = {0};
    targets_said(question->document, question->offset, &targets);
    question->list = targets.list.items;
    question->count = targets.list.count;
}

const struct proveout_target *proveout_definition(struct proveout_document *document,
                                                  size_t offset, size_t *count)
{
    struct document_question question = {.at = offset};
    document_ask(&question, document, define);
    *count = question.count;
    return question.list;
}

static void refer(struct document_question *question)
{
    struct targets targets = {0};
    targets_spoken(question->document, question->offset, question->with_definition, &targets);
    question->list = targets.list.items;
    question->count = targets.list.count;
}

const struct proveout_target *proveout_references(struct proveout_document *document,
                                                  size_t offset, int with_definition,
                                                  size_t *count)
{
    struct document_question question = {.at = offset, .with_definition = with_definition != 0};
    document_ask(&question, document, refer);
    *count = question.count;
    return question.list;
}

static void outline(struct document_question *question)
{
    struct symbols symbols = {0};
    if (question->document->file)
        symbols_machine(question->document, &symbols);
    else
        symbols_book(question->document, &symbols);
    question->list = symbols.list.items;
    question->count = symbols.list.count;
}

const struct proveout_symbol *proveout_symbols(struct proveout_document *document,
                                               size_t *count)
{
    struct document_question question = {0};
    document_ask(&question, document, outline);
    *count = question.count;
    return question.list;
}

static void fold(struct document_question *question)
{
    struct folds folds = {0};
    folds_find(question->document, &folds);
    question->list = folds.list.items;
    question->count = folds.list.count;
}

const struct proveout_span *proveout_folds(struct proveout_document *document, size_t *count)
{
    struct document_question question = {0};
    document_ask(&question, document, fold);
    *count = question.count;
    return question.list;
}

static void hint(struct document_question *question)
{
    struct hints hints = {0};
    if (question->document->file)
        hints_machine(question->document, question->within, &hints);
    question->list = hints.list.items;
    question->count = hints.list.count;
}

const struct proveout_hint *proveout_hints(struct proveout_document *document,
                                           struct proveout_span within, size_t *count)
{
    struct document_question question = {.about = within};
    document_ask(&question, document, hint);
    *count = question.count;
    return question.list;
}

static void act(struct document_question *question)
{
    struct actions actions = {0};
    if (question->document->file)
        actions_machine(question->document, question->within, &actions);
    question->list = actions.list.items;
    question->count = actions.list.count;
}

const struct proveout_action *proveout_actions(struct proveout_document *document,
                                               struct proveout_span within, size_t *count)
{
    struct document_question question = {.about = within};
    document_ask(&question, document, act);
    *count = question.count;
    return question.list;
}

static void find_name(struct document_question *question)
{
    struct uses uses = {0};
    struct use use = rename_at(question->document, &uses, question->offset);
    struct proveout_span *span =
        ARENA_NEW(document_arena(question->document), struct proveout_span);
    if (use.thing == THING_NONE)
        return;
    *span = span_out(use.span);
    question->list = span;
}

const struct proveout_span *proveout_rename_at(struct proveout_document *document,
                                               size_t offset)
{
    struct document_question question = {.at = offset};
    document_ask(&question, document, find_name);
    return question.list;
}

static void give_name(struct document_question *question)
{
    question->list = rename_everywhere(question->document, question->offset, question->to,
                                       &question->trouble);
}

const struct proveout_edits *proveout_rename(struct proveout_document *document, size_t offset,
                                             const char *to, const char **trouble)
{
    struct document_question question = {.at = offset, .to = to};
    document_ask(&question, document, give_name);
    if (trouble)
        *trouble = question.trouble;
    return question.list;
}

static void lay_out(struct document_question *question)
{
    question->list = format_lines(question->document, question->within);
}

const struct proveout_edits *proveout_format(struct proveout_document *document,
                                             struct proveout_span within)
{
    struct document_question question = {.about = within};
    document_ask(&question, document, lay_out);
    return question.list;
}
