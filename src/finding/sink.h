/* Where findings go while a file is read, and how they are put in order and in groups.
 *
 * The sink is passed, never found.  It keeps at most FINDINGS_A_NAME records of one name and
 * counts the rest.
 */
#ifndef PROVEOUT_FINDING_SINK_H
#define PROVEOUT_FINDING_SINK_H

#include "base/printf.h"
#include "base/vector.h"
#include "finding/finding.h"
#include "finding/names.h"

enum { FINDINGS_A_NAME = 1000 };

struct finding_sink {
    struct arena *arena;
    struct source *source;
    VECTOR(struct finding) findings;
    size_t counts[READER_COUNT]; /* all, listed or not */
};

void sink_init(struct finding_sink *sink, struct arena *arena, struct source *source);

/* Adds a finding of the reader at `span`.  `field`: the path it is about, or NULL.  The message
 * is a printf format (no floating point) of one sentence without a full stop; texts from the
 * file go through `escape_short` first.  Returns the record, to which `put_right` and related
 * places may be added, or NULL where it is only counted. */
struct finding *sink_report(struct finding_sink *sink, enum reader_finding name,
                            struct span span, const char *field, const char *format, ...)
    PRINTF(5, 6);

/* Adds one related place to a finding (NULL finding: nothing). */
void finding_relate(struct finding_sink *sink, struct finding *finding, struct span span,
                    const char *field, const char *text);

/* Proposes that `text` takes the place of `span` (NULL finding: nothing).  `text` and `title`
 * must live as long as the finding. */
void finding_fix(struct arena *arena, struct finding *finding, struct span span,
                 const char *text, const char *title);

/* The same of a fix that is set up whole. */
void finding_offer(struct arena *arena, struct finding *finding, const struct finding_fix *fix);

const char *reader_finding_name(enum reader_finding name);
enum finding_level reader_finding_level(enum reader_finding name);

/* Was all of the file checked?  False too where one finding says that some of it was passed
 * over.
 */
bool file_report_is_whole(const struct file_report *report);

/* The order of subjects: of the whole file (NULL) first, numbers in them by their value; 0 only
 * for the same text. */
int subjects_compare(const char *a, const char *b);

/* The order of all outputs: line, column, rule, subject; those without a place last. */
void findings_sort(struct finding *findings, size_t count);

/* A finding as people see it: instances of one rule that failed, or are waived, at one place.
 */
struct finding_group {
    const struct finding *worst;
    const struct finding **others; /* the rest, in order */
    size_t other_count;
    size_t implied; /* failures that this one explains */
};

/* Counts the findings of a report by level, as people see them; the groups go into `arena`. */
void findings_count(struct arena *arena, struct file_report *report);

/* Groups the waived records and the failed, not implied ones of a sorted list; returns the
 * groups in order. */
struct finding_group *findings_group(struct arena *arena, const struct finding *findings,
                                     size_t count, size_t *group_count);

#endif
