/* The moves of a cutter change in sentences, for whoever lays them out: `dryrun` as a page of
 * blocks, other outputs as rows.  All numbers come from motion; the words are here.
 *
 * A step is told in lines: what moves first, then the heights, the room, the operator's part,
 * and what is to be seen.  Texts live in the arena of the teller and may hold hostile bytes of
 * the file.
 */
#ifndef PROVEOUT_REPORT_TELL_H
#define PROVEOUT_REPORT_TELL_H

#include "base/vector.h"
#include "motion/change.h"
#include "report/report.h"

enum told_topic {
    TOLD_WAY,
    TOLD_HEIGHTS,
    TOLD_ROOM,
    TOLD_CONTACT,
    TOLD_DANGER,
    TOLD_OPERATOR, /* what he does, */
    TOLD_ASKED,    /* what the change asks him, */
    TOLD_UNASKED,  /* or that nobody does */
    TOLD_SIGHT
};

struct told_line {
    enum told_topic topic;
    const char *label; /* "see: ", or "" */
    const char *text;
};

struct told_step {
    uint32_t number;     /* what is done once, before the first change, is step 0 */
    const char *name;    /* "sideways to setter" */
    const char *cutter;  /* "cutter 3"; where it is changed "to cutter 3" */
    const char *spindle; /* "spindle stands" */
    bool danger;         /* a line says so */
    VECTOR(struct told_line) lines;
};

struct told_list {
    VECTOR(const char *) items;
};

struct teller {
    const struct dryrun *dryrun;
    struct arena *arena;
    unit_id length, speed; /* as the file writes them */
    bool homes;
    bool plate, list, hand; /* what measures, where it is no setter */
    struct told_step *step; /* that is being told, */
    enum told_topic topic;  /* and what of it */
};

/* Opens a teller of these moves, whose texts go into `arena`. */
void teller_open(struct teller *teller, struct arena *arena, const struct dryrun *dryrun);

/* Tells one move. */
void tell_step(struct teller *teller, uint32_t index, struct told_step *out);

/* "operator": the word for a topic, for programs. */
const char *tell_topic(enum told_topic topic);

/* What to mind before the first run; what endangers people first. */
void tell_cautions(const struct teller *teller, struct told_list *out);

/* "how long all of it takes", and what is not known of it, a sentence each. */
void tell_total(const struct teller *teller, struct told_list *out);

/* The number that a step is called by. */
uint32_t tell_number(const struct change *change, const struct move *move);

/* Of what is not known, the field that it is for want of: its path, in `arena`. */
const char *tell_missing(struct arena *arena, const struct dryrun *dryrun, uint32_t index);

/* "plate on" */
const char *tell_asked(struct arena *arena, enum question_word ask);

/* "12.5 mm", in the unit of the file; "1 min 12 s"; "cutter 3". */
const char *tell_length(const struct teller *teller, double metres);
const char *tell_time(const struct teller *teller, double seconds);
const char *tell_cutter(const struct teller *teller, uint32_t record);

#endif
