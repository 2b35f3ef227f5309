/* A change of the file that puts something right: is it one, and what speaks against it?
 *
 * Reports are of all instances, with what only a thorough check finds (SHOW_ALL, remedies).
 */
#ifndef PROVEOUT_RULES_MENDED_H
#define PROVEOUT_RULES_MENDED_H

#include "base/arena.h"
#include "finding/finding.h"

/* How much fails of each level, what follows from another failure with it: mending that is
 * worth no less.  One number that stands behind several failures is none by itself. */
void failed_count(const struct file_report *report, size_t failed[LEVEL_COUNT]);

/* Does less fail than in `than`, the gravest first? */
bool report_is_better(const struct file_report *report, const struct file_report *than);

/* Does it point at a number that is measured, or a fact? */
bool finding_is_measured(const struct finding *finding);

/* Did it read the number at this path, or a part of that? */
bool finding_rests_on(const struct finding *finding, const char *path);

/* The failure that the reader found about a measured number, or a fact, on which this finding
 * rests too: what would suit that may suit a mistake.  NULL: the report has none. */
const struct finding *finding_doubt(const struct file_report *report,
                                    const struct finding *finding);

/* What speaks against numbers that were set; NULL where nothing does. */
struct against {
    /* A failure at a measured number or a fact, on which something rests that was mended. */
    const struct finding *doubt;
    /* A rule about people that has less room than it had, or is looked at no longer. */
    const struct finding *people;
    /* What was mended though it points at a measured number or a fact itself, and no chosen
     * number that the reader had found fault with was put right along with it. */
    const struct finding *measured;
};

void against_find(struct arena *arena, const struct file_report *before,
                  const struct file_report *after, struct against *out);

#endif
