/* Checking one machine file, from bytes to a complete report; and what a change of it did, by the
 * reports before and after. */
#ifndef PROVEOUT_RULES_CHECK_H
#define PROVEOUT_RULES_CHECK_H

#include "base/vector.h"
#include "finding/sink.h"
#include "machine/machine.h"
#include "rules/agree.h"
#include "rules/rulebook.h"
#include "tree/compose.h"

/* What one machine says of a cutter that several machines of one shop go by. */
struct shared_cutter {
    double number;
    enum field_id field; /* FIELD_CUTTER_STICKOUT or FIELD_CUTTER_SHANK */
    double si;
    const char *text;  /* "42 mm" */
    const char *where; /* "mill.yaml:7:15" */
};

struct shared_cutters {
    VECTOR(struct shared_cutter) items;
};

/* Adds what a machine says of its cutters and none before it said; texts are made in `arena`.
 */
void share_gather(struct arena *arena, const struct machine *machine, struct source *source,
                  struct shared_cutters *out);

/* Adds, of what `others` say, what is something else than the machine says: of each of its numbers
 * the first. */
void share_differing(struct arena *arena, const struct machine *machine,
                     const struct shared_cutters *others, struct shared_cutters *out);

/* Reports shared-cutter-differs where the machine says otherwise of a cutter than `others`, of
 * whom the first that does is named. */
void share_check(struct arena *arena, const struct machine *machine, struct finding_sink *sink,
                 const struct shared_cutters *others);

struct policy; /* rules/own.h */

enum check_show {
    SHOW_DEFAULT, /* failed, waived, unchecked; of each rule that held its tightest instance */
    SHOW_FAILED,  /* the same without what held */
    SHOW_ALL,     /* every instance, as far as they are listed at all */
    SHOW_WAIVED   /* as SHOW_FAILED; outputs leave out what is not waived */
};

struct check_options {
    const struct rulebook *const *books; /* the built-in one first */
    size_t book_count;
    enum check_show show;
    bool words; /* false: counts, outcomes and margins only, no texts and places (for searches);
                   waivers and agreements are not looked at then */
    bool places;   /* with `words`: of each finding where it is, and no text */
    bool brief;    /* of what held only the margin in words, no place and no arithmetic */
    bool sums;     /* of what is not checked one instance a rule, without words; and for want of
                      which fields */
    bool remedies; /* with what numbers would do */
    double today;  /* seconds from 1970-01-01, for the last days of waivers */
    const struct policy *policy; /* of the folder; NULL: there is none */
    const struct file_reader *agreements; /* NULL: the controller's own file is not looked at */
    const struct shared_cutters *cutters; /* what other machines say; NULL: none does */
    const struct shared_files *shared;    /* where a machine takes parts from; NULL: nowhere */
};

/* What a worker keeps from file to file: evaluators and tables that depend on the rulebooks
 * only. */
struct checker;

/* Lives in `arena`, which must outlive it, as must the books.  One thread uses it at a time. */
struct checker *checker_new(struct arena *arena, const struct check_options *options);

/* Checks `bytes`, called `path`.  The report and all it points to live in `arena`; `bytes` and
 * `path` must outlive it. */
void checker_check(struct checker *checker, struct arena *arena, struct view path,
                   struct view bytes, struct file_report *out);

/* The same for a machine that has been read already, with its reader's findings in `sink`; it
 * must live as long as the report is asked for names. */
void checker_check_machine(struct checker *checker, struct arena *arena,
                           const struct machine *machine, struct finding_sink *sink,
                           struct file_report *out);

/* Shorthand for one file: a checker of its own. */
void check_bytes(struct arena *arena, const struct check_options *options, struct view path,
                 struct view bytes, struct file_report *out);

/* --- what a change of the file moved: the same machine checked before and after --- */

/* One evaluation that came out otherwise. */
struct move_of_margin {
    const struct finding *before, *after; /* NULL: it was not asked then */
    double change;                        /* of the margin, SI; 0 where one has none */
};

enum moved_kind {
    MOVED_BROKEN,    /* failed now, not before */
    MOVED_MENDED,    /* failed before, not any more */
    MOVED_UNCHECKED, /* held before, not checked any more */
    MOVED_CHECKED,   /* not checked before, held now */
    MOVED_WORSE,     /* held or failed both times, with less margin */
    MOVED_BETTER,    /* and with more */
    MOVED_KINDS
};

/* Everything that differs between two reports of all instances (SHOW_ALL), each kind in the
 * order of rules and subjects.  Of a rule with so many instances that only some are listed,
 * those that have no counterpart are left out: nobody can tell what became of them. */
struct moved {
    const struct file_report *after; /* whose names serve for both */
    VECTOR(struct move_of_margin) kinds[MOVED_KINDS];
};

void reports_compare(struct arena *arena, const struct file_report *before,
                     const struct file_report *after, struct moved *out);

/* --- a change of the file that puts something right: is it one, what speaks against it? ---
 *
 * Reports are of all instances, with what only a thorough check finds (SHOW_ALL, remedies). */

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
