/* Numbers carried from the controller's own file into a machine file, and back.
 *
 * Nobody types them, so that nobody mistypes them.  Where a text cannot say exactly what the
 * other side says, that is told and nothing is carried.
 */
#ifndef PROVEOUT_RULES_CARRY_H
#define PROVEOUT_RULES_CARRY_H

#include "rules/agree.h"

/* What the machine file would say at the place of `seen` (lost or lacking): the number in the
 * unit and with at least the decimals that stand there, where that says it exactly, else as the
 * controller's file spells it; the tolerance as it is typed.  In `arena`.  NULL: `*why` says
 * why not, a sentence without a full stop. */
MUST_USE const char *carry_to_machine(struct arena *arena, const struct machine *machine,
                                      const struct agreement_seen *seen, const char **why);

/* What the controller's file would have to say in the place of the number, or the word, that was
 * found: exactly the machine's, in the unit of the agreement, with no fewer decimals than stand
 * there.  NULL: as above. */
MUST_USE const char *carry_to_controller(struct arena *arena, const struct machine *machine,
                                         const struct agreement_seen *seen, const char **why);

/* The bytes of a controller's file that `carry_to_controller` writes over at one match. */
struct span carry_span(const struct agreement_seen *seen, size_t match);

/* One change of a file. */
struct carry_edit {
    struct span span;
    const char *text;
    size_t who; /* the caller's own */
};

struct carry_edits {
    VECTOR(struct carry_edit) items;
};

/* Writes all of them into `bytes`, which is left as it is, with every byte between them; the
 * edits are put in order.  False where two of them want different things of the same bytes:
 * `clash` names those. */
MUST_USE bool carry_write(struct arena *arena, struct view bytes, struct carry_edits *edits,
                          struct view *out, size_t clash[2]);

#endif
