/* What the program's commands write, from a machine description held in memory: the same text,
 * byte for byte, as a buffer.
 *
 *     struct proveout_text *text = proveout_report("shed.yaml", bytes, size, &options);
 *     if (proveout_text_ends(text))
 *         fwrite(proveout_text_data(text), 1, proveout_text_length(text), file);
 *     proveout_text_free(text);
 *
 * `format` is a word that the command's --format takes: "text" or "json", of a report all that
 * `proveout check --help` lists, and of a sheet "html" or "svg".  What <proveout/check.h> says
 * of names, bytes, options, memory and threads holds here.
 */
#ifndef PROVEOUT_TEXT_H
#define PROVEOUT_TEXT_H

#include <proveout/check.h>

#ifdef __cplusplus
extern "C" {
#endif

struct proveout_text;

/* The bytes, with a NUL behind the last that does not count; NULL for NULL. */
PROVEOUT_EXPORT const char *proveout_text_data(const struct proveout_text *text);
PROVEOUT_EXPORT size_t proveout_text_length(const struct proveout_text *text);

/* How the file was read; refused where the question cannot be answered. */
PROVEOUT_EXPORT enum proveout_status proveout_text_status(const struct proveout_text *text);

/* 1 where the text is whole, from its beginning to its end; else there is none. */
PROVEOUT_EXPORT int proveout_text_ends(const struct proveout_text *text);

/* Why there is no text; else NULL. */
PROVEOUT_EXPORT const char *proveout_text_trouble(const struct proveout_text *text);

PROVEOUT_EXPORT void proveout_text_free(struct proveout_text *text); /* NULL is fine */

/* As `proveout check`. */
PROVEOUT_EXPORT struct proveout_text *proveout_report(const char *name, const void *bytes,
                                                      size_t size,
                                                      const struct proveout_options *options);

/* As `proveout window`, of the fields named; with none, of every chosen number. */
PROVEOUT_EXPORT struct proveout_text *proveout_windows(const char *name, const void *bytes,
                                                       size_t size, const char *const *fields,
                                                       size_t field_count,
                                                       const struct proveout_options *options);

/* As `proveout propose`, of the fields named; with none, of those that what fails rests on.
 * lp_solve, which solves the linear programmes, does not look whether it was given memory: of
 * this question alone lack of it can end the process. */
PROVEOUT_EXPORT struct proveout_text *proveout_propose(const char *name, const void *bytes,
                                                       size_t size, const char *const *fields,
                                                       size_t field_count,
                                                       const struct proveout_options *options);

/* What is wanted of a proposal.  Fields as people type them; each list may be NULL, of none. */
struct proveout_wishes {
    size_t size; /* sizeof(struct proveout_wishes) as the caller knows it */
    int all;     /* 1: every chosen number may change */
    int fastest; /* 1: changes that take as little time as can be, after `least` and `most` */
    const char *const
        *fields; /* that may change; none: those that the wishes and what fails need */
    size_t field_count;
    const char *const *keep; /* stay as they are */
    size_t keep_count;
    const char *const *least; /* each as little as can be, the first before the next */
    size_t least_count;
    const char *const *most; /* then each as great as can be */
    size_t most_count;
};

/* As `proveout propose` with --keep, --least, --most and --fastest.  `wishes` NULL: none. */
PROVEOUT_EXPORT struct proveout_text *
proveout_propose_wished(const char *name, const void *bytes, size_t size,
                        const struct proveout_wishes *wishes,
                        const struct proveout_options *options);

/* A cutter change; NULL in any member: the program chooses, as without the option. */
struct proveout_change {
    size_t size;           /* sizeof(struct proveout_change) as the caller knows it */
    const char *from, *to; /* numbers of cutters */
    const char *at;        /* where the nose is at first: "400 mm, 300 mm, -20 mm" */
};

/* As `proveout dryrun`.  `change` NULL: the program chooses all. */
PROVEOUT_EXPORT struct proveout_text *proveout_dryrun(const char *name, const void *bytes,
                                                      size_t size,
                                                      const struct proveout_change *change,
                                                      const struct proveout_options *options);

/* A drawing; NULL in any member: the program chooses, as without the option. */
struct proveout_drawing {
    size_t size;        /* sizeof(struct proveout_drawing) as the caller knows it */
    int side;           /* 1: the view from the front; 0: the plan */
    const char *cutter; /* number of the one that comes in */
    const char *step;   /* number of the step after which the spindle is drawn */
};

/* As `proveout draw`: SVG, whatever the format.  `drawing` NULL: the program chooses all. */
PROVEOUT_EXPORT struct proveout_text *proveout_draw(const char *name, const void *bytes,
                                                    size_t size,
                                                    const struct proveout_drawing *drawing,
                                                    const struct proveout_options *options);

/* A sheet; NULL in any member: as without the option. */
struct proveout_sheet {
    size_t size;        /* sizeof(struct proveout_sheet) as the caller knows it */
    const char *cutter; /* number of the one that it is for alone */
};

/* As `proveout sheet`, HTML where no format is given.  What is not given is not on it: without
 * `today` in the options it has no day.  `sheet` NULL: of all. */
PROVEOUT_EXPORT struct proveout_text *proveout_sheet(const char *name, const void *bytes,
                                                     size_t size,
                                                     const struct proveout_sheet *sheet,
                                                     const struct proveout_options *options);

/* A field and what to set it to, both as people type them: "change.standoff", "12 mm". */
struct proveout_setting {
    const char *field, *value;
};

/* The file with these values set and all else as it was, as `proveout revise --write` writes
 * it. Where one of them cannot be set there is no text, and none of a file that takes in others
 * with `extends` or `from`. */
PROVEOUT_EXPORT struct proveout_text *proveout_revise(const char *name, const void *bytes,
                                                      size_t size,
                                                      const struct proveout_setting *settings,
                                                      size_t setting_count);

/* What a revision moves, as `proveout revise` shows it: what fails now and did not before, what
 * is mended, every margin that grew or shrank.  `before` and `bytes` are the file then and now;
 * the status is that of now.  Text whatever the format; none where one of the two is not whole.
 */
PROVEOUT_EXPORT struct proveout_text *proveout_compare(const char *name, const void *before,
                                                       size_t before_size, const void *bytes,
                                                       size_t size,
                                                       const struct proveout_options *options);

/* As `proveout explain`: what a rule of any book asks and why, or what a field or section
 * means. The same text whatever the format.  A name that nothing has (NULL too) is refused. */
PROVEOUT_EXPORT struct proveout_text *proveout_explain(const char *name,
                                                       const struct proveout_options *options);

/* All fields of a machine description, as JSON: an array of objects with `path` (list items by
 * [], axes by .*.), `kind`, `unit` (one that people use; null), `nature`, `meaning`, `how`
 * (to measure or choose it; null), `low` and `high` (what is usual, in SI; null: no limit),
 * `choices` (null where it is not one of some words). */
PROVEOUT_EXPORT struct proveout_text *proveout_fields(void);

/* A JSON Schema of a machine description, draft 2020-12, made of the same fields: for editors,
 * and for programs that write one.  It holds for what a YAML reader makes of the file, whether
 * plain texts stay texts or become numbers and truth values (dates stay texts; what has no
 * value is null).  What it refuses is a mistake; what it takes need not be without: ranges,
 * order and names are not in it. */
PROVEOUT_EXPORT struct proveout_text *proveout_schema(void);

/* The same for any kind of file that `proveout schema` knows: "machine", "rulebook".  NULL: of a
 * machine.  Another kind is refused. */
PROVEOUT_EXPORT struct proveout_text *proveout_schema_of(const char *kind);

#ifdef __cplusplus
}
#endif

#endif
