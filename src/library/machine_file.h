/* What is done with the bytes of one machine file, for the commands and for the public
 * functions: where bytes come from, and where an answer goes, is their own affair.
 *
 * Functions that may refuse return why, a sentence without a full stop in `arena`, and NULL
 * otherwise.  What is the same for all questions of a run (rulebooks, today, the reader of
 * other files) stands in the options of a check.
 */
#ifndef PROVEOUT_LIBRARY_MACHINE_FILE_H
#define PROVEOUT_LIBRARY_MACHINE_FILE_H

#include "machine/file.h"
#include "motion/change.h"
#include "report/proposals.h"
#include "report/report.h"
#include "report/sheets.h"
#include "rules/check.h"
#include "rules/search.h"

/* The failures that the file waives on the day `today`, so that they bound no window. */
void machine_file_waived(struct arena *arena, struct machine_file *file, double today,
                         struct runner *runner, struct instance_list *out);

/* The windows of the fields named, each path as people type it; with none named, of every
 * chosen number that the file gives. */
MUST_USE const char *machine_file_windows(struct arena *arena,
                                          const struct check_options *options,
                                          struct machine_file *file, const char *const *paths,
                                          size_t count, struct report_windows *out);

/* What is asked of a proposal. */
struct proposal_asked {
    const char *const *paths; /* as people type them; none: what failed rules rest on */
    size_t count;
    bool all;                /* with none: every chosen number that the file gives */
    const char *const *keep; /* those that stay as they are */
    size_t keep_count;
    const char *const *least, *const *most; /* wishes: each as little, as much as can be */
    size_t least_count, most_count;
    bool fastest; /* and at last: changes that take as little time as can be */
};

/* Finds numbers with which all rules hold that they can move, and checks the file with them.
 * With wishes and no names those may change that the wishes are about, those that the same
 * rules rest on, and what failed rules rest on. */
MUST_USE const char *machine_file_propose(struct arena *arena,
                                          const struct check_options *options,
                                          struct machine_file *file,
                                          const struct proposal_asked *asked,
                                          struct report_proposal *out);

/* A cutter change, as people ask for one; NULL: not said. */
struct change_asked {
    const char *from, *to; /* numbers of cutters */
    const char *at;        /* where the nose is: "400 mm, 300 mm, -20 mm" */
};

enum change_part { CHANGE_AT, CHANGE_REST }; /* what a refusal is about */

/* Plans it; its count of errors is the caller's affair.  Where it is refused for `at`, the
 * sentence begins behind the name that the caller has for that: ": 5 m lies outside the travel
 * ...", " wants three positions ...", and `*part` tells.
 */
MUST_USE const char *machine_file_change(struct arena *arena, const struct machine_file *file,
                                         const struct change_asked *asked, struct dryrun *out,
                                         enum change_part *part);

/* How many errors `check` finds in the file. */
size_t machine_file_failing(struct arena *arena, const struct check_options *options,
                            struct machine_file *file);

/* The record of the cutter with the number that somebody types. */
MUST_USE const char *machine_file_cutter(struct arena *arena, const struct machine_file *file,
                                         const char *typed, uint32_t *out);

/* A drawing, as people ask for one; NULL: not said. */
struct drawing_asked {
    bool side;          /* the view from the front, else the plan */
    const char *cutter; /* number of the one that comes in */
    const char *step;   /* number of the step of the change after which the spindle is drawn */
    bool quick;         /* which finding explains another is not looked for */
};

/* Draws the machine as SVG; `*errors` is how many `check` finds in the file. */
MUST_USE const char *machine_file_draw(struct arena *arena, const struct check_options *options,
                                       struct machine_file *file,
                                       const struct drawing_asked *asked, struct buffer *out,
                                       size_t *errors);

/* A sheet, as people ask for one. */
struct wall_asked {
    const char *cutter; /* number of the one that the sheet is for; NULL: for all */
    bool drawn;         /* the drawings alone, as SVG, the plan above; else a page of HTML */
};

/* Adds the sheet that hangs beside the machine; `*errors` as in machine_file_draw. */
MUST_USE const char *machine_file_sheet(struct arena *arena,
                                        const struct check_options *options,
                                        struct machine_file *file,
                                        const struct wall_asked *asked, struct buffer *out,
                                        size_t *errors);

/* Adds the blank form of the round of one machine, as a page of HTML. */
void machine_file_form(struct arena *arena, const struct check_options *options,
                       struct machine_file *file, struct buffer *out);

/* Holds a sheet against the file as it is now.  `name` is what the sheet is called, `page` its
 * bytes. */
MUST_USE const char *machine_file_compare(struct arena *arena,
                                          const struct check_options *options,
                                          struct machine_file *file, const char *name,
                                          struct view page, struct sheet_comparison *out);

#endif
