/* The questions of a change, walked from first to last: what the spindle is known to do when
 * each of them is answered, and what is still on it.
 *
 *    spindle_off         the stop: asked, or commanded by the controller before all questions
 *    standstill          seen and heard to stand; a wait, or a sensor at the shaft, stands in
 *    isolated, unplugged after the stop: nothing can start it, it is *held off*
 *    supply_on, spindle_on  undo that
 *
 * An interlock holds the spindle off from the first question that leads a hand to it, when the
 * guard is opened, until the spindle is started.
 *
 * Pure: a function of the machine.  The rules about hands and the dry run both look at this, so
 * that they cannot disagree.
 */
#ifndef PROVEOUT_MOTION_PROCEDURE_H
#define PROVEOUT_MOTION_PROCEDURE_H

#include "motion/use.h"

/* The words of change.asks, in the order of its row in the field table. */
enum question_word {
    ASK_SPINDLE_OFF,
    ASK_STANDSTILL,
    ASK_Z_PROPPED,
    ASK_ISOLATED,
    ASK_UNPLUGGED,
    ASK_SHOE_OFF,
    ASK_SETTER_CLEAN,
    ASK_CUTTER_IN,
    ASK_CLIP_ON,
    ASK_PLATE_ON,
    ASK_PLATE_OFF,
    ASK_CLIP_OFF,
    ASK_SUPPLY_ON,
    ASK_SPEED_SET,
    ASK_SPINDLE_ON,
    ASK_BLOCK_UNDER,
    ASK_BLOCK_AWAY,
    ASK_COUNT
};

enum { PROCEDURE_STEPS = 32 }; /* as many as a list of words holds */

/* What is known of the spindle. */
struct procedure_state {
    bool off;    /* stopped, and not started again */
    bool stands; /* and known to stand */
    bool held;   /* and nothing can start it, an interlock aside */
};

/* One question, and how things stand while it is being answered. */
struct procedure_step {
    enum question_word ask;
    bool hand;      /* it leads a hand to the spindle or under the tip */
    bool stands;    /* the spindle was stopped and is known to stand */
    bool held_off;  /* nothing can start it; of the hold-off itself: once it is answered */
    bool endangers; /* a hand goes there while it may turn, or nothing holds it off */
    struct procedure_state after;
};

struct procedure {
    bool known; /* change.asks and what decides about it are there */
    uint32_t count;
    struct procedure_step steps[PROCEDURE_STEPS];
    struct procedure_state before; /* before the first question */
    bool by_hand;                  /* a person switches the spindle */

    bool interlocked;       /* an interlock holds the spindle off */
    bool has_hands;         /* a hand is asked for anywhere */
    bool hold_asked;        /* isolated or unplugged is asked for */
    bool hands_held;        /* at each hand the spindle is held off */
    bool prop_stands;       /* at each z_propped it stands */
    bool standstill_seen;   /* standstill is asked after the stop and before the first hand */
    bool standstill_first;  /* it is asked after the stop and before the power is cut */
    bool propped_for_power; /* z_propped is asked before the power is cut */
    bool propped_for_hands; /* and before the first hand */
    bool supply_last;       /* after the last hand supply_on is asked, before spindle_on */
    bool plate_removed; /* each plate_on has its plate_off before the next start or the end */
    bool clip_removed;  /* and each clip_on */
    bool plate_for_old; /* the plate is laid before the outgoing cutter is touched */
    bool plate_for_new; /* and lies there when the incoming one is */
    bool block_for_new; /* the block is put under the incoming cutter */
    bool block_removed; /* each block_under has its block_away */
    bool shoe_off;      /* the shoe is taken off before the first sideways move */
    uint32_t early;     /* the first step that endangers a hand; `count` where none does */
    struct field_uses read, missing;
};

/* Walks the list. */
void procedure_walk(struct procedure *out, const struct machine *machine);

/* Index of the first such question from `from` on; `count` where there is none. */
uint32_t procedure_find(const struct procedure *procedure, enum question_word word,
                        uint32_t from);

/* "clip_on": the word of a question, static. */
struct view ask_word(enum question_word word);

/* Does the question lead a hand to the spindle? */
bool ask_is_hand(enum question_word word);

#endif
