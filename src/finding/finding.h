/* The record of one evaluation: one rule (or one check of the reader), asked of one thing.
 *
 * A record is complete: words, numbers and places are all in it, so that every output says the
 * same. Whoever prints decides nothing.  All texts are terminated, live in the arena of the
 * file, and may hold hostile bytes from it: outputs escape.
 */
#ifndef PROVEOUT_FINDING_FINDING_H
#define PROVEOUT_FINDING_FINDING_H

#include "quantity/dimension.h"
#include "quantity/unit.h"
#include "text/source.h"

enum finding_level { LEVEL_NOTE, LEVEL_WARNING, LEVEL_ERROR, LEVEL_COUNT };
enum finding_hurts { HURTS_WORK, HURTS_MACHINE, HURTS_PERSON, HURTS_COUNT };
enum finding_outcome {
    OUTCOME_HELD,
    OUTCOME_FAILED,
    OUTCOME_WAIVED,
    OUTCOME_UNCHECKED,
    OUTCOME_COUNT
};

const char *finding_level_name(enum finding_level level);       /* "error" */
const char *finding_hurts_name(enum finding_hurts hurts);       /* "person" */
const char *finding_outcome_name(enum finding_outcome outcome); /* "failed" */

/* A place in a file.  Without a source it is no place (a default, or something that is not
 * there). */
struct finding_spot {
    const char *field;     /* path, "cutters[2].stickout", or NULL */
    struct source *source; /* NULL: nowhere */
    struct span span;
    const char *text; /* what stands there, in words ("cutter 3 sticks out 42 mm"), or NULL */
    const char *told; /* the same by what the field means, its path in brackets, or NULL */
    bool in_steps;    /* a step names it, with its line */
};

/* One tolerance's share in a margin. */
struct finding_share {
    const char *name; /* "allowances.reseat of cutter 3" */
    double si;        /* half-width, >= 0 */
};

/* A change of bytes that would put a finding right. */
struct finding_fix {
    const char *title; /* "write standoff": what to do, as an order */
    struct source *source;
    struct span span; /* what goes */
    const char *text; /* what comes in its place */
    const char *why;  /* the one reason for it, or NULL: the advice has it */
    /* What has to be answered with yes before it is put in, since only people can know or it
     * would speak for the machine; NULL: it is sure. */
    const char *asks;
    const char *field; /* whose value it changes; NULL: that of the finding */
    bool chosen;       /* it is one of many numbers that would do */
};

/* Two rules that want opposite things of one number, so that no value of it will do. */
struct finding_conflict {
    const char *field;
    struct finding_rival {
        const char *rule, *subject; /* subject may be NULL */
        enum finding_level level;
        const char *wants; /* its least value, or its greatest */
    } more, less;
    const char *outweighs; /* the rule that is the graver; NULL: neither is */
};

/* A number of which the controller's own file says something else.  `at` of its finding is here,
 * the first related place there. */
struct finding_parting {
    const char *here, *there; /* "4 mm", "3.0 mm": what each says */
    bool is_counted;          /* the rest only then: what rests on the number */
    size_t margins;           /* that would be others with the controller's number */
    size_t failing;           /* those of them that fail with it */
    const char *rule, *subject; /* of the tightest with it, or NULL; subject too for the file */
    const char *margin_here, *margin_there;
};

struct finding {
    const char *rule; /* "probe-stroke-short" */
    enum finding_level level;
    enum finding_hurts hurts;
    const char *subject; /* "cutter 3", or NULL: the whole file */
    enum finding_outcome outcome;

    bool has_margin; /* the rest only where it has */
    double margin;   /* SI; negative: failed by so much */
    struct dimension dimension;
    const char *margin_text; /* "-5.3 mm" */

    struct finding_spot at;
    const struct finding_spot *related;
    size_t related_count;
    size_t related_left; /* more places that were not listed */

    const char *message;   /* one sentence, no full stop, stands alone */
    const char *why;       /* what the machine or its operator would experience; may be NULL */
    const char *put_right; /* what to do; may be NULL */
    const struct finding_conflict *conflict; /* about the number it points at, or NULL */
    const struct finding_fix *fixes;         /* where it is known what would do */
    size_t fix_count;

    const char *const *arithmetic; /* lines, the comparison first */
    size_t arithmetic_count;
    const char *const
        *steps; /* the same as on paper, shorter; its subject is not named in it */
    size_t step_count;
    const struct finding_share *shares; /* largest first */
    size_t share_count;
    double tolerance;           /* all of them together, SI */
    bool as_squares;            /* added as the root of the sum of their squares */
    const char *const *missing; /* paths of fields that are not there or are wrong */
    size_t missing_count;

    const struct finding_parting *parting; /* of an agreement that is lost, else NULL */

    const char *implied_by;    /* rule whose failure explains this one, or NULL */
    const char *waived_reason; /* for OUTCOME_WAIVED */
    const char *waived_until;  /* "2027-03-31", or NULL */
    const char *waived_by;     /* who accepts it, or NULL */
    bool known;                /* failed, and set aside: see rules/own.h */
    bool from_reader;          /* found by the reader, not by a rule */
    bool blames_absent;        /* what it points at is not given */
    uint32_t requirement;      /* which of its rule's, from 0 */
    size_t serial;             /* set by findings_sort, of no meaning elsewhere */

    /* Of what failed or is waived, else NULL: the same in every check of the file until what it
     * is about changes its name.  See text/fingerprint.h. */
    const char *fingerprint;
};

enum file_status {
    FILE_CHECKED,
    FILE_PARTIAL,
    FILE_UNREADABLE,
    FILE_SHARED /* no machine by itself: checked with those that take it in */
};
const char *file_status_name(enum file_status status);

/* How many failures of a rule, or waived ones, are not listed one by one. */
struct finding_more {
    const char *rule;
    enum finding_level level;
    size_t failed;      /* instances */
    size_t as_findings; /* the same as people count them, grouped by place */
    bool waived;
};

/* A margin worth a look though its rule held. */
struct finding_margin {
    const char *rule, *subject; /* subject may be NULL */
    double margin;              /* SI */
    struct dimension dimension;
    unit_id unit;    /* in which to show it */
    double relative; /* margin over the size of what was compared: the order */
};

enum { TIGHTEST_MARGINS = 3 };

/* How people call a thing of the file, for outputs that they read; any may be NULL. */
struct finding_name {
    const char *path, *lasting; /* "cutters[0]", "cutters[number=1]" */
    const char *subject, *full; /* "cutter 1", "cutter 1, 8 mm compression" */
};

/* Those of all things of a file's lists, list by list.  Most files are reported without any of
 * them, so they are gathered when somebody asks. */
struct finding_names {
    const struct finding_name *items;
    size_t count;
    void (*gather)(struct finding_names *names); /* sets the others; NULL: it has been called */
};

/* All that one file gave. */
struct file_report {
    const char *path; /* as the user gave it */
    enum file_status status;
    bool lacks_parts; /* partial since other files that it takes in could not be read */
    struct source *source;
    const char *shared_by; /* of FILE_SHARED: "lathe.yaml, mill.yaml" */

    struct finding_names *names; /* NULL: there are none; asked for by finding_names() */

    struct finding *findings; /* in order: line, column, rule, subject; listed ones only */
    size_t count;
    struct finding_more *more;
    size_t more_count;

    size_t rules[OUTCOME_COUNT]; /* rules by their worst instance */
    size_t inapplicable;
    const char **wanted; /* fields for want of which rules were not checked, each once */
    size_t wanted_count;

    struct finding_margin tightest[TIGHTEST_MARGINS]; /* of rules that held, tightest first */
    size_t tightest_count;
    size_t
        findings_by_level[LEVEL_COUNT];  /* as people see them: grouped, implied not counted */
    size_t waived_by_level[LEVEL_COUNT]; /* likewise; not among those above */
    size_t known_by_level[LEVEL_COUNT];  /* likewise */
};

/* How people call the things of the file's lists.  The machine of which the report was made must
 * still be there. */
const struct finding_names *finding_names(const struct file_report *file);

/* Text of a finding as people are told it, in `arena`: the things of lists by their lasting
 * names, "cutters[number=1]" for "cutters[0]".  May hold hostile bytes of the file. */
const char *finding_told(struct arena *arena, const struct file_report *file, const char *text);

#endif
