/* Outputs: what was worked out goes in, text comes out.  None decides anything.
 *
 * An output is a row of outputs.inc and a file here with its writer.  What it writes goes into
 * a buffer; those of several files are joined in order by whoever calls, so that workers may
 * fill them in any order.  Whatever came from a file is escaped here, in the way of the output.
 */
#ifndef PROVEOUT_REPORT_REPORT_H
#define PROVEOUT_REPORT_REPORT_H

#include "base/buffer.h"
#include "finding/finding.h"

struct change;           /* motion/change.h */
struct cutter_pair;      /* motion/change.h */
struct layout;           /* report/internal.h */
struct machine;          /* machine/machine.h */
struct moved;            /* rules/check.h */
struct window;           /* rules/search.h */
struct report_held;      /* report/held.h */
struct report_proposal;  /* report/proposals.h */
struct review;           /* report/review.h */
struct rule_texts;       /* report/explain.h */
struct sheet_comparison; /* report/sheets.h */

/* What one whole run found; summed in the order of the files. */
struct run_totals {
    size_t by_level[LEVEL_COUNT], waived_by_level[LEVEL_COUNT], known_by_level[LEVEL_COUNT];
    size_t files, unreadable;
    size_t partial;     /* of the files, those of which not all could be looked at */
    size_t shared;      /* of the files, those that are no machine by themselves */
    size_t passed_over; /* files of a folder that are no machine files */
    size_t ignored;     /* files and folders that the patterns of a folder left out */
};

/* The moves of one cutter change. */
struct dryrun {
    const struct machine *machine;
    const struct change *change;
    const struct cutter_pair *pair; /* why these two */
    size_t errors;                  /* that `check` finds in the file */
};

struct report_windows {
    const struct window *items;
    size_t count;
};

/* What an output tells of. */
enum report_source {
    REPORT_NOTHING, /* of none that is here */
    REPORT_FINDINGS,
    REPORT_WINDOWS,
    REPORT_MOVES,
    REPORT_PROPOSAL,
    REPORT_SHEET,      /* of a sheet beside the machine, and of the file now */
    REPORT_COMPARISON, /* of a file before a revision and after it */
    REPORT_REVIEW,     /* of machines as they were and as they are */
    REPORT_SOURCES
};

/* What was worked out of one file, for an output of the same source. */
struct report {
    enum report_source source;
    const char *path; /* as the user gave it */
    union {
        const struct file_report *findings;
        const struct report_windows *windows;
        const struct dryrun *moves;
        const struct report_proposal *proposal;
        const struct moved *comparison;
        const struct review *review;
        const struct sheet_comparison *sheet;
    };
};

struct report_options {
    size_t width;     /* cells to keep within: the terminal's, else 80; taken as 40 to 100 */
    bool color;       /* terminal colour allowed */
    bool unicode;     /* whoever reads it takes UTF-8 */
    bool quiet;       /* nothing for clean files */
    int show;         /* enum check_show */
    bool at_terminal; /* people read it where it appears, no program */
    bool arithmetic_full; /* whole derivations, in the names of the rules */

    enum finding_level stop_at;     /* from which level on a finding counts against its file */
    const struct rule_texts *rules; /* for outputs that list them (report/explain.h), or NULL */
    const char *day;                /* of the check, "2026-11-27", or NULL */
    const char *folder; /* from which paths are told where they lie in it; NULL: as given */
    struct report_held *held; /* of an output with a limit, else NULL */
    const struct report_table *table; /* for the end of a run of several files, or NULL */
    bool knows;               /* known findings are set aside */

    /* An output that grows long is passed on in parts, each between two lines: takes what is in
     * `out`, and all of the arena in which it stands.  NULL: it is held whole. */
    void (*pass_on)(void *user, struct buffer *out);
    void *user;
};

enum report_escaping {
    REPORT_FOR_TERMINAL, /* no control characters; ASCII alone where `unicode` is not set */
    REPORT_FOR_JSON,
    REPORT_FOR_XML,
    REPORT_FOR_LOG, /* of a forge, which takes lines that begin with `::` for orders */
    REPORT_FOR_MARKDOWN
};

struct report_limit;

struct report_writer {
    bool tells_held;     /* what held, and each that is not checked, is part of it unasked */
    bool lists_rules;    /* with `rules` */
    /* What it writes of files are lines that report_hold() takes; NULL: it goes out at once. */
    const struct report_limit *limit;
    bool takes_reviews; /* what moved may stand below the findings of a file */
    bool takes_table;   /* a run of several files ends with a table of them */
    const char *between; /* stands between two files of a run; NULL: nothing does */
    void (*begin)(const struct layout *layout); /* NULL: nothing */
    void (*file)(const struct layout *layout, const struct report *report);
    void (*end)(const struct layout *layout, const struct run_totals *totals); /* or NULL */
};

/* A row of outputs.inc. */
struct report_output {
    enum report_source source;
    const char *word, *extension;
    enum report_escaping escaping;
    const struct report_writer *writer;
};

/* Output `index` of a source, from 0, the usual one first; NULL past the last. */
const struct report_output *report_output(enum report_source source, size_t index);

/* The one of a source that a word names, "json"; NULL: it has none. */
const struct report_output *report_output_named(enum report_source source, const char *word);

/* A run is written by one report_begin, report_file for each file in order with what
 * `writer->between` names between any two, and one report_end.  Where there is one file only
 * and never a second, as of any source but findings, report_file alone is the whole. */
void report_begin(const struct report_output *output, const struct report_options *options,
                  struct buffer *out);
void report_file(const struct report_output *output, const struct report_options *options,
                 const struct report *report, struct buffer *out);
void report_end(const struct report_output *output, const struct report_options *options,
                const struct run_totals *totals, struct buffer *out);

/* Files of a run, a row each: texts of report_row(). */
struct report_table {
    struct view rows;
    size_t left_out; /* rows that are not among them, not to hold more and more */
};

/* Adds a row of a file: its name, how many errors and warnings, its tightest margin. */
void report_row(const struct file_report *file, struct buffer *out);

/* What the run holds back for its end, in `arena`; NULL where the output has no limit. */
struct report_held *report_held_new(struct arena *arena, const struct report_output *output);

/* Takes over what report_file wrote for such an output. */
void report_hold(struct report_held *held, struct view text);

/* A whole run of one file. */
void report_alone(const struct report_output *output, const struct report_options *options,
                  const struct report *report, const struct run_totals *totals,
                  struct buffer *out);

void totals_add(struct run_totals *totals, const struct file_report *file);
void totals_join(struct run_totals *totals, const struct run_totals *part);

/* "2 errors, 1 warning"; "nothing found" where all are 0. */
const char *text_levels(struct arena *arena, const size_t by_level[LEVEL_COUNT]);

/* The same text with nothing but ASCII in it, for terminals that take no more: signs of ours in
 * words, anything else as `?` of the same width. */
void text_plain(struct buffer *out, struct view text);

#endif
