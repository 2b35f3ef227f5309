/* What an editor asks while a file is open: what stands at a place, what could stand there, where
 * else it is spoken of, and which changes of bytes would do.
 *
 *     struct proveout_document *document = proveout_document("shed.yaml", bytes, size, &options);
 *     const struct proveout_hover *told = proveout_hover(document, offset);
 *     if (told)
 *         show(told->text);
 *     proveout_document_free(document);
 *
 * Machine descriptions and rulebooks, told apart by their first key; whatever is neither counts as
 * a machine description, and is answered as far as that goes.  A file that breaks off at a mistake
 * of form, as most do while somebody types, is answered for as far as its lines tell.
 *
 * What <proveout/check.h> says of names, bytes, options, memory and threads holds here; one thread
 * at a time asks about a document.  `read` of its options may be called by any question about it.
 * Places are offsets in bytes from the start of the file; an offset behind its end is taken for the
 * end.  Texts are UTF-8, and Markdown only where that is said: there, what the file held is
 * escaped.  Lists and texts live as long as the document; a list of none is NULL, with a count of
 * 0, and so is one for which there was no memory.  `document` may be NULL: of it nothing is known.
 */
#ifndef PROVEOUT_EDITING_H
#define PROVEOUT_EDITING_H

#include <proveout/check.h>

#ifdef __cplusplus
extern "C" {
#endif

struct proveout_document;

enum proveout_document_kind { PROVEOUT_IS_MACHINE, PROVEOUT_IS_RULEBOOK, PROVEOUT_IS_NEITHER };

/* From the byte at `start` up to the one at `end`, which is not in it. */
struct proveout_span {
    size_t start, end;
};

/* A change of bytes. */
struct proveout_edit {
    const char *path; /* NULL: of this file; else of another, see struct proveout_target */
    struct proveout_span span;
    const char *text; /* comes in the place of those bytes */
};

/* Changes that belong together, in the order of their places; no two touch the same bytes. */
struct proveout_edits {
    const struct proveout_edit *list;
    size_t count;
};

/* Reads and checks as proveout_check does, a rulebook as `proveout rules` does; options NULL: as if
 * all zero.  `bytes` may go as soon as this returns.  The caller frees the document. */
PROVEOUT_EXPORT struct proveout_document *
proveout_document(const char *name, const void *bytes, size_t size,
                  const struct proveout_options *options);

PROVEOUT_EXPORT void proveout_document_free(struct proveout_document *document); /* NULL is fine
                                                                                  */

PROVEOUT_EXPORT enum proveout_document_kind
proveout_document_kind(const struct proveout_document *document);

/* What was found, as of proveout_check; of a rulebook its mistakes, and examples that do not come
 * out as they say: errors called `rulebook-mistake` and `example-differs`, the latter not while
 * the options are `quick`.  Lives as long as the document. */
PROVEOUT_EXPORT const struct proveout_result *
proveout_document_result(const struct proveout_document *document);

/* What is told of a place. */
struct proveout_hover {
    struct proveout_span span; /* what it is about */
    const char *text;          /* Markdown */
};

/* Meaning, how to measure, range, window, margins that rest on it; NULL: nothing is known of it.
 * Works out the window of a number, which takes longer than a check. */
PROVEOUT_EXPORT const struct proveout_hover *
proveout_hover(struct proveout_document *document, size_t offset);

enum proveout_word {
    PROVEOUT_WORD_KEY,
    PROVEOUT_WORD_CHOICE,
    PROVEOUT_WORD_UNIT,
    PROVEOUT_WORD_NAME,   /* of an input, of a definition, of a field where a path is wanted */
    PROVEOUT_WORD_CUTTER, /* its number */
    PROVEOUT_WORD_RULE,
    PROVEOUT_WORD_FUNCTION /* of formulas */
};

/* What could stand at a place. */
struct proveout_completion {
    enum proveout_word word;
    const char *label;         /* what is shown, and what typed letters are held against */
    const char *detail;        /* a few words beside it, or NULL */
    const char *text;          /* Markdown, or NULL */
    const char *insert;        /* comes in the place of `span` */
    struct proveout_span span; /* around the place */
    int needed;                /* 1: the format wants it here and it is not there */
};

/* In the order in which to show them: those that are needed first, then as the format has them.
 * All that could stand there: which of them go with the letters typed is the editor's affair. */
PROVEOUT_EXPORT const struct proveout_completion *
proveout_completions(struct proveout_document *document, size_t offset, size_t *count);

/* Where something is written. */
struct proveout_target {
    const char *path;          /* NULL: in this file; else in another, from the folder of this one,
                                  as `read` was asked for it */
    struct proveout_span span; /* all of it; of a file as a whole 0, 0 */
    struct proveout_span name; /* its name, or what else to look at, within that */
};

/* Where that is said which is named at a place: an input, a cutter, an anchor, another file, the
 * line of the controller's own file that an agreement means, a field, a definition of a rulebook.
 */
PROVEOUT_EXPORT const struct proveout_target *
proveout_definition(struct proveout_document *document, size_t offset, size_t *count);

/* Where that is named which is said or named at a place, in the order of the file; with
 * `with_definition` also where it is said. */
PROVEOUT_EXPORT const struct proveout_target *
proveout_references(struct proveout_document *document, size_t offset, int with_definition,
                    size_t *count);

enum proveout_symbol_kind {
    PROVEOUT_SYMBOL_SECTION,
    PROVEOUT_SYMBOL_FIELD,
    PROVEOUT_SYMBOL_AXIS,
    PROVEOUT_SYMBOL_INPUT,
    PROVEOUT_SYMBOL_SETTER,
    PROVEOUT_SYMBOL_CUTTER,
    PROVEOUT_SYMBOL_THING, /* an obstacle or attachment */
    PROVEOUT_SYMBOL_AGREEMENT,
    PROVEOUT_SYMBOL_WAIVER,
    PROVEOUT_SYMBOL_RULE,
    PROVEOUT_SYMBOL_DEFINITION,
    PROVEOUT_SYMBOL_EXAMPLE
};

/* A part of the file. */
struct proveout_symbol {
    const char *name;   /* "change", "cutter 3", "probe-stroke-short" */
    const char *detail; /* a few words beside it, or NULL */
    enum proveout_symbol_kind kind;
    size_t depth;                   /* 0 at the top */
    struct proveout_span span;      /* all of it, with its key */
    struct proveout_span selection; /* its key or name, within that */
};

/* In the order of the file, each behind the one in which it lies. */
PROVEOUT_EXPORT const struct proveout_symbol *
proveout_symbols(struct proveout_document *document, size_t *count);

/* What can be folded away: from the end of a section's first line to its own end. */
PROVEOUT_EXPORT const struct proveout_span *proveout_folds(struct proveout_document *document,
                                                           size_t *count);

/* What a file amounts to at a place, shown in the line. */
struct proveout_hint {
    size_t offset;    /* behind which it is shown */
    const char *text; /* "gap 3.5 to 4.5 mm" */
    const char *more; /* Markdown: how it was reckoned; or NULL */
};

/* Those whose offset lies in `within` or at its end. */
PROVEOUT_EXPORT const struct proveout_hint *proveout_hints(struct proveout_document *document,
                                                           struct proveout_span within,
                                                           size_t *count);

enum proveout_action_kind {
    PROVEOUT_ACTION_FIX,   /* a fix of a finding */
    PROVEOUT_ACTION_WAIVE, /* somebody accepts a finding, with a reason that is still to be written
                            */
    PROVEOUT_ACTION_ADD    /* keys that are needed, still to be filled in */
};

#define PROVEOUT_NO_FINDING ((size_t)-1)

/* Something to do about a place. */
struct proveout_action {
    const char *title; /* "set change.standoff to 12 mm" */
    enum proveout_action_kind kind;
    int sure;           /* 1: it puts the finding right and is the one thing that does */
    const char *asks;   /* a question that a person answers with yes before; NULL: none */
    size_t finding;     /* index among the document's result, or PROVEOUT_NO_FINDING */
    struct proveout_edits edits;
};

/* For findings and sections that lie in `within` or touch it.  Looks for what would put them right,
 * also where the options are `quick`, which takes longer than a check. */
PROVEOUT_EXPORT const struct proveout_action *
proveout_actions(struct proveout_document *document, struct proveout_span within, size_t *count);

/* What a new name would replace at a place: the name of an input, the number of a cutter, the name
 * of a definition; NULL: nothing there can be renamed. */
PROVEOUT_EXPORT const struct proveout_span *
proveout_rename_at(struct proveout_document *document, size_t offset);

/* The changes that give it the name `to` wherever it is written; NULL where that cannot be, with
 * `*trouble` (which may be NULL) a sentence that says why. */
PROVEOUT_EXPORT const struct proveout_edits *
proveout_rename(struct proveout_document *document, size_t offset, const char *to,
                const char **trouble);

/* The changes of layout that bring the lines which `within` touches into the usual form, with the
 * same meaning; NULL where there are none, or where that is not certain. */
PROVEOUT_EXPORT const struct proveout_edits *proveout_format(struct proveout_document *document,
                                                             struct proveout_span within);

#ifdef __cplusplus
}
#endif

#endif
