/* What has been answered so far: a text for each question of each record.
 *
 * The texts are those that a machine file would have, units and all.  They are kept when
 * another answer makes their question pointless, and count again when it comes back.
 */
#ifndef PROVEOUT_ASK_ANSWERS_H
#define PROVEOUT_ASK_ANSWERS_H

#include "base/bug.h"
#include "base/vector.h"
#include "machine/machine.h"

/* Questions that are about no field. */
enum ask_own {
    ASK_UNITS = FIELD_COUNT, /* mm or in */
    ASK_ANOTHER_CUTTER,
    ASK_OBSTACLE,
    ASK_ATTACHMENT,
    ASK_NUMBERS, /* yes: the chosen numbers are asked for; no: they are proposed */
    ASK_MORE,    /* topics, as a list of words */
    ASK_END
};

enum answer_source {
    SOURCE_NONE,     /* not asked yet */
    SOURCE_ASKED,    /* typed */
    SOURCE_DEFAULT,  /* the offered value, a usual one */
    SOURCE_COMPUTED, /* the offered value, computed from other answers */
    SOURCE_FILE,     /* stood in the file at the start */
    SOURCE_OPEN,     /* left open */
    SOURCE_BESIDE,   /* what a file beside says, taken by a yes */
    SOURCE_COUNT
};

struct answer {
    uint8_t source; /* enum answer_source */
    bool unsure;    /* something it depends on has changed since */
    bool told;      /* with the answer to another question: it was none of its own */
    struct view text;
};

struct answers {
    struct arena *arena;
    struct {
        VECTOR(struct answer) list;
    } of[ASK_END];
    VECTOR(struct view) inputs;    /* their names; an input's record is its index here */
    size_t own_inputs;             /* those that the file has */
    const struct machine *machine; /* that the file has; NULL for a new one */
};

void answers_init(struct answers *answers, struct arena *arena);

/* Never NULL. */
const struct answer *answers_get(const struct answers *answers, uint16_t what, uint32_t record);

void answers_set(struct answers *answers, uint16_t what, uint32_t record,
                 const struct answer *answer);

bool answer_has_value(const struct answer *answer);

/* Is `word` one of the words of a list in brackets? */
bool answer_lists(struct view list, const char *word);

/* The record of an input of this name, which is added where there is none. */
uint32_t answers_input(struct answers *answers, struct view name);

/* How drafts and people call a question: "cutters[0].stickout", "units", "another[2]". */
const char *answer_path(struct arena *arena, const struct answers *answers, uint16_t what,
                        uint32_t record);

/* The other way round.  False where there is none; an input must have its record already. */
/* The same as people read it: the record of a list by what it is called where that is known, as
 * in cutters[number=3].stickout. */
const char *answer_spoken_path(struct arena *arena, const struct answers *answers,
                               uint16_t what, uint32_t record);

MUST_USE bool answer_find(const struct answers *answers, struct view path, uint16_t *what,
                          uint32_t *record);

/* The group of what a question is about. */
enum field_group answer_group(uint16_t what);

/* Takes over what a machine file gives. */
void answers_from_machine(struct answers *answers, const struct machine *machine);

/* The same of one field of one record; nothing where it gives none. */
void answers_of_field(struct answers *answers, const struct machine *machine, enum field_id id,
                      uint32_t record);

/* A draft: the answers so far as a text that can be kept, and read again.  The last line holds
 * a sum over all before it, so that a draft cut short or changed is noticed. */

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
