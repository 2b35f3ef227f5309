/* A shop's own list of agreements: which numbers of its controllers' files say what.
 *
 *     proveout-agreements: 1
 *     agreements:
 *       - field: change.standoff
 *         file: "*.conf"
 *         pattern: '^STANDOFF = (?<value>[-0-9.]+)'
 *         unit: mm
 *         within: 0.05 mm
 *         for: the mills by the door
 *
 * Machines do not refer to it: what is taken from it stands in the machine file as an agreement
 * of its own.
 */
#ifndef PROVEOUT_RULES_AGREE_SHARED_H
#define PROVEOUT_RULES_AGREE_SHARED_H

#include "machine/machine.h"
#include "rules/load.h"

/* The name of the file. */
#define AGREEMENTS_NAME "agreements.yaml"

enum { SHARED_AGREEMENTS_MAX = 1000 };

struct shared_agreement {
    struct view field;  /* its path */
    struct view file;   /* a name, or a pattern of the shell; no folder is in it */
    struct view pattern;
    struct view unit;   /* empty: not said */
    struct view within; /* empty: not said */
    struct view what_for;
    uint32_t line; /* in the list */
};

struct shared_agreements {
    const char *name; /* of the file */
    const struct shared_agreement *items;
    size_t count;
};

/* Reads a list; what is wrong with it goes to `mistakes`, in whose arena all lives. */
MUST_USE bool shared_agreements_read(struct rulebook_mistakes *mistakes, const char *name,
                                     struct view bytes, struct shared_agreements *out);

/* The bytes of the list with one more agreement at its end; `bytes` without any: a list of it
 * alone.  All else stays as it is.  NULL, or why it cannot be added. */
MUST_USE const char *shared_agreements_add(struct arena *arena, const char *name,
                                           struct view bytes,
                                           const struct shared_agreement *agreement,
                                           struct view *out);

#endif
