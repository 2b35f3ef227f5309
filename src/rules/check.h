/* Checking one machine file: from bytes to a complete report. */
#ifndef PROVEOUT_RULES_CHECK_H
#define PROVEOUT_RULES_CHECK_H

#include "finding/sink.h"
#include "machine/machine.h"
#include "rules/rulebook.h"

enum check_show { SHOW_DEFAULT, SHOW_FAILED, SHOW_ALL };

/* Gives the bytes of a file named in `agrees_with`, relative to the machine file; see rules/agree.h once there. */
struct check_options {
    const struct rulebook *const *books; /* the built-in one first */
    size_t book_count;
    enum check_show show;
    int64_t today; /* seconds from 1970-01-01, 0 hours; dates are compared with it */
    bool words;    /* false: counts and margins only, no texts (for searches) */
};

/* Checks `bytes`, called `path`.  The report and all it points to live in `arena`; `bytes` and `path` must outlive
 * it. */
void check_bytes(struct arena *arena, const struct check_options *options, struct view path,
                 struct view bytes, struct file_report *out);

/* The same for a machine that has been read already, its reader's findings in `sink`. */
void check_machine(struct arena *arena, const struct check_options *options,
                   const struct machine *machine, struct finding_sink *sink,
                   struct file_report *out);

#endif
