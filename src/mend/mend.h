/* One small change of the file that puts a finding right, where no number would.
 *
 * A word of the procedure, an order, a missing question, a unit, a pair the wrong way round, the
 * same thing said twice: what is chosen or was mistyped is changed in one place, and the file is
 * read and checked with it.  It is offered only where it is the one change, of those as near to
 * what stands there, with which the finding is gone, nothing else is found and no less is looked
 * at.  Facts and measured sizes are never changed but for how they were typed: the unit, the
 * point, the order of two limits; where that is not sure it is asked.  Only the machine's own file
 * is changed.
 */
#ifndef PROVEOUT_MEND_MEND_H
#define PROVEOUT_MEND_MEND_H

#include "machine/file.h"
#include "rules/check.h"

enum {
    MEND_TRIALS = 120,       /* of one file; findings after that are offered nothing, ... */
    MEND_READ = 1024 * 1024, /* ... and so are those after so many bytes were read in all */
    MEND_CUTTERS = 200,      /* a longer list would take long; so would a larger file: */
    MEND_BYTES = 256 * 1024
};

/* What a worker keeps from file to file.  One thread uses it at a time. */
struct mender;

/* Lives in `arena`, which must outlive it, as must the books and all else in `options`. */
struct mender *mender_new(struct arena *arena, const struct check_options *options);

/* Checks `bytes` as checker_check does; where the options want remedies, findings have such
 * changes among their fixes. */
void mender_check(struct mender *mender, struct arena *arena, struct view path,
                  struct view bytes, struct file_report *out);

/* The same of a file that has been read, with what the options of the mender share. */
void mender_check_file(struct mender *mender, struct arena *arena, struct machine_file *file,
                       struct file_report *out);

#endif
