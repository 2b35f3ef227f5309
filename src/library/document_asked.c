/* The public face of what an editor asks about a file it has open. */
#include "library/document.h"

const struct proveout_hover *proveout_hover(struct proveout_document *document, size_t offset)
{
    (void)document;
    (void)offset;
    return NULL;
}

const struct proveout_completion *proveout_completions(struct proveout_document *document,
                                                       size_t offset, size_t *count)
{
    (void)document;
    (void)offset;
    *count = 0;
    return NULL;
}

const struct proveout_target *proveout_definition(struct proveout_document *document,
                                                  size_t offset, size_t *count)
{
    (void)document;
    (void)offset;
    *count = 0;
    return NULL;
}

const struct proveout_target *proveout_references(struct proveout_document *document,
                                                  size_t offset, int with_definition,
                                                  size_t *count)
{
    (void)document;
    (void)offset;
    (void)with_definition;
    *count = 0;
    return NULL;
}

const struct proveout_symbol *proveout_symbols(struct proveout_document *document,
                                               size_t *count)
{
    (void)document;
    *count = 0;
    return NULL;
}

const struct proveout_span *proveout_folds(struct proveout_document *document, size_t *count)
{
    (void)document;
    *count = 0;
    return NULL;
}

const struct proveout_hint *proveout_hints(struct proveout_document *document,
                                           struct proveout_span within, size_t *count)
{
    (void)document;
    (void)within;
    *count = 0;
    return NULL;
}

const struct proveout_action *proveout_actions(struct proveout_document *document,
                                               struct proveout_span within, size_t *count)
{
    (void)document;
    (void)within;
    *count = 0;
    return NULL;
}

const struct proveout_span *proveout_rename_at(struct proveout_document *document,
                                               size_t offset)
{
    (void)document;
    (void)offset;
    return NULL;
}

const struct proveout_edits *proveout_rename(struct proveout_document *document, size_t offset,
                                             const char *to, const char **trouble)
{
    (void)document;
    (void)offset;
    (void)to;
    if (trouble)
        *trouble = NULL;
    return NULL;
}

const struct proveout_edits *proveout_format(struct proveout_document *document,
                                             struct proveout_span within)
{
    (void)document;
    (void)within;
    return NULL;
}
