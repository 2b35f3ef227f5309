/* What would put failed findings right, in numbers: added to their advice, so that every output
 * says the same.
 *
 * Where a finding blames a chosen number, its window.  A measured value is never corrected: the
 * advice is to measure it again.
 */
#ifndef PROVEOUT_RULES_REMEDY_H
#define PROVEOUT_RULES_REMEDY_H

#include "rules/describe.h"
#include "rules/window.h"

enum {
    REMEDY_WINDOWS = 20,   /* of one file; further findings keep the advice of their rule */
    REMEDY_CUTTERS = 1000, /* a longer list has no windows: they would take long */
};

/* The advice for one field. */
struct remedy {
    const char *path;
    const char *words;                       /* NULL: no window can be given */
    const struct finding_conflict *conflict; /* where no value will do; or NULL */
    struct finding_fix fix;                  /* text NULL: nothing is proposed */
    struct formula_change *changes;          /* of each book, with the field */
};

struct remedies {
    struct window_question question;
    const struct machine *machine;
    struct machine copy; /* in which values are changed; made with the first window */
    VECTOR(struct remedy) known;
};

/* `ignored`: waived findings.  The runner has asked `machine`, and its results stay. */
void remedies_init(struct remedies *out, struct runner *runner, struct arena *arena,
                   const struct machine *machine, const struct instance_list *ignored);

/* Can what a rule's finding says come out otherwise with the field of which `changes` are, as
 * search_changes has them? */
bool remedy_moves(const struct runner *runner, struct formula_change *changes,
                  const struct finding *finding);

/* Completes the advice of a failed finding of a rule. */
void remedies_add(struct remedies *remedies, struct finding *finding);

#endif
