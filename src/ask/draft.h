/* A draft: the answers so far as a text that can be kept, and read again.
 *
 * The last line holds a sum over all before it, so that a draft cut short or changed is
 * noticed.
 */
#ifndef PROVEOUT_ASK_DRAFT_H
#define PROVEOUT_ASK_DRAFT_H

#include "ask/answers.h"
#include "base/bug.h"

/* What a draft says besides the answers. */
struct draft {
    uint64_t base;  /* a sum over the bytes of the file it started from, 0: none */
    struct view at; /* the path of the question it stopped at; empty: the review */
    size_t count;   /* answers */
};

struct view draft_write(struct arena *arena, const struct answers *answers,
                        const struct draft *draft);

enum draft_state { DRAFT_GOOD, DRAFT_DAMAGED };

/* Puts what a draft says into `answers`; nothing where it is damaged. */
MUST_USE enum draft_state draft_read(struct arena *arena, struct view bytes,
                                     struct answers *answers, struct draft *out);

uint64_t draft_sum(struct view bytes);

#endif
