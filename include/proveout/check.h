/* Checking a machine description held in memory, and walking what was found.
 *
 *     struct proveout_options options = {0};
 *     options.size = sizeof options;
 *     struct proveout_result *result = proveout_check("shed.yaml", bytes, size, &options);
 *     for (size_t i = 0; i < proveout_count(result); i++) {
 *         const struct proveout_finding *finding = proveout_finding(result, i);
 *         ...
 *     }
 *     proveout_free(result);
 *
 * Opens no file, reads no clock, environment or locale, keeps nothing between calls; several
 * threads may check at once.  Lengths are in metres, times in seconds, angles in radians.
 *
 * A result or text is NULL only for lack of memory, and NULL may be asked about: it is
 * PROVEOUT_UNREADABLE, and holds nothing.  A check that finds nothing is no promise: it says
 * that the numbers agree with each other and with the rules, not that they are true.
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
enum proveout_hurts { PROVEOUT_WORK, PROVEOUT_MACHINE, PROVEOUT_PERSON };
enum proveout_status {
    PROVEOUT_CHECKED, /* the whole file was read */
    PROVEOUT_PARTIAL, /* not all of it: it breaks off at a mistake of form, or goes too deep */
    PROVEOUT_UNREADABLE, /* nothing in it could be used */
    PROVEOUT_REFUSED     /* nothing was looked at: what was asked for cannot be done */
};

/* Gives another file: an own rulebook, by its name in `books`; the controller's own file, by
 * its path in the machine file, which is whatever that file says: look where it leads before
 * opening it; or a file that the machine takes in with `extends` or `from`, by its path from
 * the folder of the machine file, which leads nowhere above that.  Returns not 0 and sets the
 * bytes, which must stay until the call returns in which this was asked; or 0, and may set
 * `*why` to a reason.  Must not throw or jump. */
typedef int proveout_read(void *user, const char *path, const void **bytes, size_t *size,
                          const char **why);

/* All zero but the first is a good start.  Members are only ever added, at the end. */
struct proveout_options {
    size_t size; /* sizeof(struct proveout_options) as the caller knows it */
    int held;    /* 1: list what held too, each rule's tightest instance; 2: every instance */
    int today;   /* days from 1970-01-01, for the last days of waivers; 0: not known, and each
                    waiver that has a last day counts as expired */
    proveout_read *read;      /* NULL: other files cannot be read, and findings say so */
    void *user;               /* for `read` */
    const char *const *books; /* names of own rulebooks, which are asked besides the built-in */
    size_t book_count;
    const char *format; /* of texts: "json" where NULL; see <proveout/text.h> */
    int quick; /* 1: while somebody types or drags: nothing is looked for that would put
                  findings right, which takes most of the time where something fails, nor which
                  of them that explains; and "json" lists what held only as `held` says */
    const char *policy; /* name of the policy of the folder, whose threshold is the caller's
                           affair; NULL: none, and whether there is one is not looked at */
    proveout_read *read_policy; /* gives it by that name, and the rulebooks that it names, as it
                                   names them: paths from its folder, which lead nowhere above
                                   that; NULL: `read` does */
};

struct proveout_result;

/* A place in a file.  No place: line and column are 0. */
struct proveout_place {
    const char *path;              /* of the file; NULL: no place */
    const char *field;             /* path of the field, "cutters[2].stickout"; NULL: none */
    const char *text;              /* what stands there, in words; NULL: nothing is said */
    size_t offset, length;         /* in bytes from the start of the file */
    unsigned line, column;         /* from 1, columns in code points */
    unsigned end_line, end_column; /* just behind its end */
};

/* A change of bytes that would put a finding right; proposed only where that is sure, or would be
 * with an answer: see proveout_fix_note. */
struct proveout_fix {
    const char *title; /* "set change.standoff to 12 mm" */
    const char *path;  /* of the file */
    size_t offset, length;
    const char *text; /* comes in the place of those bytes */
};

/* What goes with a fix. */
struct proveout_fix_note {
    const char *why;  /* the one reason for it, or NULL: the advice of its finding has it */
    const char *asks; /* a question that a person answers with yes before the fix is put in: only
                         people can know, or the file would speak for the machine; NULL: none */
};

/* One evaluation.  Texts are UTF-8, terminated, live as long as the result, and may hold
 * anything that the file held: escape them for where they go. */
struct proveout_finding {
    const char *rule; /* "probe-stroke-short" */
    enum proveout_level level;
    enum proveout_outcome outcome;
    enum proveout_hurts hurts;
    const char *subject;     /* "cutter 3"; NULL: the whole machine */
    int has_margin;          /* else the next is 0 */
    double margin;           /* in SI; negative: failed by so much */
    const char *margin_text; /* "-5.3 mm", NULL without a margin */
    struct proveout_place at;
    const struct proveout_place *related; /* further places that have to do with it */
    size_t related_count;
    const char *message;         /* one sentence */
    const char *why, *put_right; /* NULL where there is none */
    const struct proveout_fix *fixes;
    size_t fix_count;
    const char *implied_by;    /* rule whose failure explains this one; NULL: none */
    const char *waived_reason; /* of what is waived, else NULL */
    const char *fingerprint;   /* of what failed or is waived, else NULL: the same from check to
                                  check, whatever lines and numbers do.  The FNV-1a hash, 64 bits,
                                  of rule, subject and field, a line feed after each, the field's
                                  cutter by its number: cutters[number=3].stickout.  Of several
                                  alike the second has 1 behind the last line feed, and so on. */
    const char *waived_by; /* who accepts what is waived, where the waiver says so, else NULL */
    const struct proveout_fix_note *fix_notes; /* of each fix, in their order */
};

/* What policies are called, in whatever folder: "proveout.policy.yaml". */
PROVEOUT_EXPORT const char *proveout_policy_name(void);

/* Checks `size` bytes called `name` (NULL: "<buffer>") with the built-in rules and own ones.
 * `bytes` may go as soon as this returns.  `options` NULL: as if all zero.  The caller frees
 * the result. */
PROVEOUT_EXPORT struct proveout_result *proveout_check(const char *name, const void *bytes,
                                                       size_t size,
                                                       const struct proveout_options *options);

PROVEOUT_EXPORT void proveout_free(struct proveout_result *result); /* NULL is fine */

PROVEOUT_EXPORT enum proveout_status proveout_status(const struct proveout_result *result);

/* Why nothing was looked at, where it was refused: a sentence, or one a line for each mistake
 * in a rulebook; else NULL. */
PROVEOUT_EXPORT const char *proveout_trouble(const struct proveout_result *result);

/* How many findings of a level people would count: grouped by place, explained ones left out.
 */
PROVEOUT_EXPORT size_t proveout_findings(const struct proveout_result *result,
                                         enum proveout_level level);

/* The evaluations listed, by line and column, and one of them; NULL past the end.  Of a rule
 * that fails very often only the worst are listed. */
PROVEOUT_EXPORT size_t proveout_count(const struct proveout_result *result);
PROVEOUT_EXPORT const struct proveout_finding *
proveout_finding(const struct proveout_result *result, size_t index);

#ifdef __cplusplus
}
#endif

#endif
