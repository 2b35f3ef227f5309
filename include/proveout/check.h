/* Checking a machine description held in memory, and walking what was found.
 *
 *     struct proveout_options options = {0};
 *     struct proveout_result *result = proveout_check("shed.yaml", bytes, size, &options);
 *     for (size_t i = 0; i < proveout_count(result); i++) {
 *         const struct proveout_finding *finding = proveout_finding(result, i);
 *         ...
 *     }
 *     proveout_free(result);
 *
 * Opens no file, reads no clock, environment or locale, keeps nothing between calls; several
 * threads may check at once.  Lengths are in metres, times in seconds, angles in radians.
 */
#ifndef PROVEOUT_CHECK_H
#define PROVEOUT_CHECK_H

#include <stddef.h>

#include <proveout/visibility.h>

#ifdef __cplusplus
extern "C" {
#endif

enum proveout_level { PROVEOUT_NOTE, PROVEOUT_WARNING, PROVEOUT_ERROR };
enum proveout_outcome { PROVEOUT_HELD, PROVEOUT_FAILED, PROVEOUT_WAIVED, PROVEOUT_UNCHECKED };
enum proveout_status {
    PROVEOUT_CHECKED,   /* the whole file was read */
    PROVEOUT_PARTIAL,   /* it breaks off at a mistake of form; what stands before it was checked */
    PROVEOUT_UNREADABLE /* nothing in it could be used */
};

/* All zero is a good start. */
struct proveout_options {
    int held; /* not 0: list what held as well, each rule's tightest instance */
};

struct proveout_result;

/* One evaluation.  Texts are UTF-8, terminated, live as long as the result, and may hold
 * anything that the file held: escape them for where they go. */
struct proveout_finding {
    const char *rule; /* "probe-stroke-short" */
    enum proveout_level level;
    enum proveout_outcome outcome;
    const char *subject;         /* "cutter 3"; NULL: the whole machine */
    int has_margin;              /* else the next is 0 */
    double margin;               /* in SI; negative: failed by so much */
    const char *margin_text;     /* "-5.3 mm", NULL without a margin */
    const char *field;           /* path of the field it points at; NULL: none */
    unsigned line, column;       /* from 1, columns in code points; 0: no place */
    unsigned end_line, end_column; /* just behind its end */
    const char *message;         /* one sentence */
    const char *why, *put_right; /* NULL where there is none */
    const char *implied_by;      /* rule whose failure explains this one; NULL: none */
};

/* Checks `size` bytes called `name` with the built-in rules.  `bytes` may go as soon as this
 * returns.  `options` NULL: as if all zero.  NULL only for lack of memory.  The caller frees
 * the result. */
PROVEOUT_EXPORT struct proveout_result *proveout_check(const char *name, const void *bytes,
                                                       size_t size,
                                                       const struct proveout_options *options);

PROVEOUT_EXPORT void proveout_free(struct proveout_result *result); /* NULL is fine */

PROVEOUT_EXPORT enum proveout_status proveout_status(const struct proveout_result *result);

/* How many findings of a level people would count: grouped by place, explained ones left out. */
PROVEOUT_EXPORT size_t proveout_findings(const struct proveout_result *result,
                                         enum proveout_level level);

/* The evaluations listed, by line and column, and one of them; NULL past the end. */
PROVEOUT_EXPORT size_t proveout_count(const struct proveout_result *result);
PROVEOUT_EXPORT const struct proveout_finding *
proveout_finding(const struct proveout_result *result, size_t index);

#ifdef __cplusplus
}
#endif

#endif
