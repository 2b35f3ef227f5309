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

/* One agreement, looked at by itself. */
struct agreement_told {
    enum field_id field; /* that must agree, in which record; of a pair which part */
    uint32_t record;
    int part;
    struct source *source; /* of the other file; NULL: it could not be looked at */
    struct span found;     /* in it, what the pattern finds first; empty: nothing */
    const char *trouble;   /* what is wrong with it, a sentence; NULL: the two agree */
};

/* False where the agreement is not whole, or names no field that the file gives. */
MUST_USE bool agreement_look(struct arena *arena, const struct machine *machine,
                             const struct file_reader *reader, uint32_t record,
                             struct agreement_told *out);

#endif
