/* What is done with the bytes of one machine file, for the commands and for the public
 * functions: where bytes come from, and where an answer goes, is their own affair.
 *
 * Functions that may refuse return why, a sentence without a full stop in `arena`, and NULL
 * otherwise.  What is the same for all questions of a run (rulebooks, today, the reader of
 * other files) stands in the options of a check.
 */
#ifndef PROVEOUT_LIBRARY_MACHINE_FILE_H
#define PROVEOUT_LIBRARY_MACHINE_FILE_H

#include "machine/machine.h"
#include "motion/change.h"
#include "report/report.h"
#include "rules/check.h"
#include "rules/remedy.h"

struct machine_file {
    const char *path;
    struct view bytes;
    struct source source;
    struct finding_sink sink; /* what the reader found */
    struct tree tree;
    struct machine machine;
};

/* Reads bytes; `path` and they must outlive it, and `out` must stay where it is. */
void machine_file_read(struct arena *arena, const char *path, struct view bytes,
                       struct machine_file *out);

/* How many errors the reader found. */
size_t machine_file_errors(const struct machine_file *file);

/* The failures that the file waives on the day `today`, so that they bound no window. */
void machine_file_waived(struct arena *arena, struct machine_file *file, double today,
                         struct runner *runner, struct instance_list *out);

/* Finds the one value that a path as people type it stands for. */
MUST_USE const char *machine_file_find(struct arena *arena, const struct machine_file *file,
                                       const char *path, struct field_place *out);

/* There is no such field, or no such record of it in the file. */
const char *machine_file_no_place(struct arena *arena, const struct machine_file *file,
                                  const char *path);

/* The path of a value as output has it, and its present text ("" where none is given). */
const char *machine_file_path(struct arena *arena, const struct machine_file *file,
                              const struct field_place *place);
const char *machine_file_text(struct arena *arena, const struct machine_file *file,
                              const struct field_place *place);

/* Sets one value, `text` as people type it: `*file` is then another that has it. */
MUST_USE const char *machine_file_set(struct arena *arena, struct machine_file **file,
                                      const struct field_place *place, struct view text);

/* The windows of the fields named, each path as people type it; with none named, of every
 * chosen number that the file gives. */
MUST_USE const char *machine_file_windows(struct arena *arena,
                                          const struct check_options *options,
                                          struct machine_file *file, const char *const *paths,
                                          size_t count, struct report_windows *out);

/* A cutter change, as people ask for one; NULL: not said. */
struct change_asked {
    const char *from, *to; /* numbers of cutters */
    const char *at;        /* where the nose is: "400 mm, 300 mm, -20 mm" */
};

enum change_part { CHANGE_AT, CHANGE_REST }; /* what a refusal is about */

/* Plans it.  Where it is refused for `at`, the sentence begins behind the name that the caller
 * has for that: ": 5 m lies outside the travel ...", " wants three positions ...", and `*part`
 * tells.
 */
MUST_USE const char *machine_file_change(struct arena *arena,
                                         const struct check_options *options,
                                         struct machine_file *file,
                                         const struct change_asked *asked, struct dryrun *out,
                                         enum change_part *part);

#endif
