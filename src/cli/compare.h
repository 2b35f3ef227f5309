/* A machine as it was and as it is, for `compare` and `check --since`. */
#ifndef PROVEOUT_CLI_COMPARE_H
#define PROVEOUT_CLI_COMPARE_H

#include "cli/books.h"
#include "cli/since.h"
#include "report/review.h"

struct compare_checking {
    const struct books *books;
    double today;
};

/* One side: its bytes, and how what it refers to is read.  Has to stay where it is. */
struct compare_side {
    const char *path;
    struct view bytes;
    struct shared_files shared;
    struct file_reader agreements;

    struct shelf shelf; /* what the two above read through, as the case is */
    struct beside beside;
    struct since since;
    struct since_side then;
};

/* Fills `out`, called `path`, with file `index` as the revision has it; `now`: from where the
 * file of today takes parts.  NULL, or why it cannot be read. */
const char *compare_before(struct arena *arena, const struct since *since, size_t index,
                           const char *path, const struct shared_files *now,
                           struct compare_side *out);

/* Asks every rule of it, and lists every instance. */
void compare_check(struct arena *arena, const struct compare_checking *checking,
                   const struct compare_side *side, struct file_report *out);

/* What moved between two of those; `before` NULL: it was not there. */
void compare_reports(struct arena *arena, const struct file_report *before,
                     const struct file_report *after, struct review *out);

/* What --since and --changed wish, and the files that the arguments stand for.  NULL, or what
 * is wrong. */
MUST_USE const char *compare_wishes(struct run *run, struct since *out, struct file_list *list);

#endif
