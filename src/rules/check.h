/* Checking one machine file: from bytes to a complete report. */
#ifndef PROVEOUT_RULES_CHECK_H
#define PROVEOUT_RULES_CHECK_H

#include "finding/sink.h"
#include "machine/machine.h"
#include "rules/agree.h"
#include "rules/rulebook.h"
#include "rules/share.h"
#include "tree/compose.h"

struct policy;

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
    bool remedies; /* with what numbers would do: see rules/remedy.h */
    double today;  /* seconds from 1970-01-01, for the last days of waivers */
    const struct policy *policy; /* of the folder, rules/policy.h; NULL: there is none */
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

#endif
