/* The moves of a cutter change, as data: what `dryrun` prints and what rules look at.
 *
 *    z ^    lift   sideways            park             sideways back
 *      |     +-------------+ - - - +----------+ - - - + - - - - - - - +
 *      |     |             | ^     |  cutter  |       | ^             |
 *      |     |    approach v | lift|  changed |       v |             v down
 *      |   start             + |                      + |           start
 *      |              probe  v | retract              v |
 *      |                  ===+===                  ===+===
 *      +-------- start ----- setter ---- park ----- setter ---- start -----> way
 *
 * The questions of change.asks are steps of their own, in the order of the file: those up to
 * shoe_off (else standstill, else spindle_off) before the first sideways move, those up to
 * cutter_in at the park position, those about the plate around the probing that they serve,
 * supply_on, speed_set and spindle_on last.  What has to be done and nobody is asked for stands
 * where it is needed.
 *
 * With a plate, the operator jogs to a spot that nobody knows beforehand instead of the moves
 * to the setter; by hand likewise, and the operator takes the height too.  Where the outgoing
 * cutter is not touched, the first visit is left out, with a list both.  A machine that does
 * not home lifts by a distance instead of to a height.
 *
 * Pure: everything is a function of the machine and of the request, nothing is allocated.
 * Positions are of the nose, machine frame, m; times s; speeds m/s.  What is not known is
 * marked so: never guessed.
 */
#ifndef PROVEOUT_MOTION_CHANGE_H
#define PROVEOUT_MOTION_CHANGE_H

#include "motion/clearance.h"
#include "motion/cutters.h"
#include "motion/procedure.h"
#include "motion/use.h"

enum move_kind {
    MOVE_REFERENCE,    /* before the first change: the cutter that is in is measured */
    MOVE_LIFT,         /* to change.traverse_z, or by change.lift */
    MOVE_SPINDLE_STOP, /* and wait until it stands */
    MOVE_STANDSTILL,   /* seen and heard to stand */
    MOVE_PROP,         /* a block is put under the spindle */
    MOVE_SHOE_OFF,     /* the dust shoe comes off */
    MOVE_TO_SETTER,    /* sideways */
    MOVE_JOG,          /* by hand, to the spot where the plate lies */
    MOVE_CLIP_ON,
    MOVE_PLATE_ON,
    MOVE_SETTER_UP,    /* on its lift, before anything comes down to it */
    MOVE_APPROACH,     /* fast, down to where probing starts */
    MOVE_PROBE,        /* slowly, down to contact */
    MOVE_RETRACT,      /* off the contact */
    MOVE_SECOND_TOUCH, /* slower still */
    MOVE_SIDE_OUT,     /* with a corner plate: sideways off its top */
    MOVE_SIDE_DOWN,    /* down beside it */
    MOVE_SIDE_PROBE,   /* sideways, to its side face */
    MOVE_SIDE_BACK,    /* off that face */
    MOVE_SIDE_UP,      /* to over the plate */
    MOVE_SIDE_OVER,    /* sideways, to over where the top was touched */
    MOVE_PLATE_OFF,
    MOVE_CLIP_OFF,
    MOVE_SETTER_DOWN,
    MOVE_TO_FACE, /* by hand, to over the face that the height is taken from */
    MOVE_BLOCK_UNDER,
    MOVE_TOUCH_OFF, /* by hand, down until the block drags */
    MOVE_BLOCK_AWAY,
    MOVE_TO_PARK,       /* sideways */
    MOVE_PARK_HEIGHT,   /* to change.park.z */
    MOVE_HOLD_OFF,      /* the spindle is kept from starting */
    MOVE_SETTER_CLEAN,  /* wiped before it is used */
    MOVE_CUTTER,        /* the operator changes the cutter */
    MOVE_BACK,          /* sideways, to over the start */
    MOVE_SUPPLY_ON,     /* the spindle's supply comes back */
    MOVE_SPEED_SET,     /* the dial is set for the new cutter */
    MOVE_SPINDLE_START, /* and wait until it is up to speed */
    MOVE_OFFSET,        /* the new length takes effect */
    MOVE_DOWN,          /* to the start */
    MOVE_KIND_COUNT
};

/* What the spindle does meanwhile. */
enum spindle_act {
    SPINDLE_RUNS,
    SPINDLE_STOPS,
    SPINDLE_STANDS,
    SPINDLE_HELD_OFF,
    SPINDLE_STARTS
};

/* Is a move's time known? */
enum move_time {
    TIME_UNKNOWN, /* by hand, or for want of a field */
    TIME_KNOWN,
    TIME_AT_MOST, /* an end may be anywhere in the work area or the travel: the longest way */
};

/* What a move comes nearest to. */
enum clearance_to { TO_NOTHING, TO_OBSTACLE, TO_SETTER, TO_WORK, TO_TABLE };

/* A place of the nose, as far as it is known. */
struct move_place {
    double at[3]; /* x, y, z */
    bool known[3];
};

struct move {
    enum move_kind kind;
    bool moves[3]; /* along x, y, z */
    bool by_hand;  /* the operator does it */
    struct move_place from, to;
    double by;    /* beside a plate, whose place nobody knows: how far and which way; else 0 */
    double speed; /* that it would run at if there were room; 0: not known, or nothing moves */
    enum move_time timed;
    double seconds;  /* 0 where not known */
    uint32_t cutter; /* record of the one in the spindle; MOVE_CUTTER: of the new one */
    enum spindle_act spindle;
    bool asked; /* the change waits until the operator has confirmed `ask` */
    enum question_word ask;
    bool endangers;    /* a hand goes to a spindle that may turn, or that nothing holds off */
    bool sinks;        /* or under a Z that has no power and does not hold */
    bool powerless;    /* the machine is to move while its own power is cut */
    bool starts_still; /* the spindle is started with something in it that must never turn */
    bool beside_chuck; /* a hand goes in while nothing keeps the chuck of a rotary axis still */

    /* Probing: nose heights at which contact may come; from the first to the last. */
    bool has_contact;
    double earliest, expected, latest;
    bool has_end;
    double end; /* nose height at which it gives up */

    /* Sideways, down at the setter, and at the park height: the least clearance to anything
     * described, but that the tip and the setter are meant to meet.  `whole`: no body and no
     * thing was left out for want of a field. */
    bool has_clearance, whole;
    struct clearance clearance;
    enum clearance_to to_what;
    uint32_t obstacle;          /* TO_OBSTACLE: its record */
    uint32_t attachment;        /* BODY_ATTACHMENT: its record */
    struct clearance_part part; /* what comes that near, where it is one of the spindle's */

    /* Sideways: from anywhere in the first of these areas to anywhere in the second. */
    bool has_way;
    struct plane_rectangle way[2];
};

enum { CHANGE_MOVES = PROCEDURE_STEPS + 40 };

struct change_request {
    uint32_t from, to; /* records of the outgoing and the incoming cutter */
    bool start_known;  /* else the start is anywhere in the work area */
    double start[3];   /* of the nose */
};

struct change {
    struct change_request request;
    uint32_t count;
    struct move moves[CHANGE_MOVES];
    double seconds;        /* sum of all times known */
    bool at_most;          /* one of them is the longest there is */
    uint32_t untimed;      /* steps of the machine for want of whose time it is more */
    uint32_t by_hand;      /* steps that take the operator as long as they take */
    uint32_t endangers;    /* steps that endanger hands */
    uint32_t starts_still; /* steps that start what must never turn */
    uint32_t beside_chuck; /* steps that lead hands past a chuck that may turn */
    /* For want of these a height, a time or a clearance is not known. */
    struct field_uses missing;
};

/* The moves from one cutter to another.  False, with only `missing` and `request` set, where a
 * field is missing that decides which moves there are. */
MUST_USE bool change_plan(struct change *out, const struct machine *machine,
                          const struct change_request *request);

/* The same without the room on its moves, which takes most of the work. */
MUST_USE bool change_plan_times(struct change *out, const struct machine *machine,
                                const struct change_request *request);

/* Does a move run into something? */
bool change_meets(const struct change *change);

/* Is there room to be looked after on such a move of the machine's?  Not on those that go up
 * out of what they touched, nor where the cutter goes back into its work. */
bool move_wants_room(const struct change *change, const struct move *move);

/* The move that leaves least room, by the lower bound; NULL where none is known. */
const struct move *change_least_room(const struct change *change);

/* The change of the list that comes nearest to anything: each of its moves has one cutter on
 * the spindle, so the outgoing one and the incoming one are looked for apart.  Where nothing is
 * near, the longest and the widest.  A side of `pair` that has PAIR_GIVEN stays.  `at` tells
 * the start. False where there are no cutters. */
MUST_USE bool change_nearest(struct cutter_pair *pair, const struct machine *machine,
                             const struct change_request *at);

/* "sideways to setter": what a move is called. */
const char *move_name(enum move_kind kind);

/* "xy", "z", "" into `out`. */
void move_axes(const struct move *move, char out[4]);

/* What the operator does: "changes the cutter"; "" where nothing. */
const char *move_operator(const struct move *move);

/* "stops", "held off" ... */
const char *spindle_act_name(enum spindle_act act);

/* "setter", "work", "table", the name of an obstacle; empty for one without a name. */
struct view thing_name(const struct machine *machine, enum clearance_to what,
                       uint32_t obstacle);

/* "cutter", "shank" ..., the name of an attachment that has one. */
struct view body_name(const struct machine *machine, enum clearance_body body,
                      uint32_t attachment);

/* What it comes nearest to: "setter", "work", "table", an obstacle's name; empty for nothing
 * and for an obstacle without a name. */
struct view move_nearest(const struct machine *machine, const struct move *move);

/* What comes that near: "cutter", "shank", an attachment's name ... */
struct view move_body(const struct machine *machine, const struct move *move);

#endif
