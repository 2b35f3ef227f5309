/* Agreement with the file that the controller itself runs.
 *
 * `agrees_with` names that file, a pattern of the user's own with one group called `value`, and
 * the field which must say the same.  Nothing is known of the file's format.  Reading it is the
 * caller's affair, who sees to it that nothing outside the machine file's folder is read.
 */
#ifndef PROVEOUT_RULES_AGREE_H
#define PROVEOUT_RULES_AGREE_H

#include "finding/sink.h"
#include "machine/machine.h"
#include "text/reader.h"

enum {
    AGREEMENT_FILE_MAX = 4 * 1024 * 1024, /* bytes of such a file */
    AGREEMENTS_MAX = 200, /* of one machine file; the budget of patterns is for all */
};

/* Checks every agreement of a machine, each file read once and all patterns under one budget
 * (formula/pattern.h), and reports agreement-lost, -unmatched, -ambiguous,
 * -pattern-costly, and what is wrong with the agreement itself.  `reader` NULL: agreements are
 * not looked at, and each is reported as not checked by the count returned.  Paths are as the
 * machine file has them, from its own folder. */
size_t agreements_check(struct arena *arena, const struct machine *machine,
                        struct finding_sink *sink, const struct file_reader *reader);

#endif
