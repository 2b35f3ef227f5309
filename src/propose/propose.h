/* A set of numbers with which every rule holds that can be asked, where one number alone would
 * not do: the one whose least margin is greatest, in steps as people type them. */
#ifndef PROVEOUT_PROPOSE_PROPOSE_H
#define PROVEOUT_PROPOSE_PROPOSE_H

#include "propose/ways.h"

/* What somebody wants of a set besides that every rule holds.  Of several the earlier counts
 * first. */
enum wish_kind { WISH_LEAST, WISH_MOST, WISH_FASTEST };

struct wish {
    enum wish_kind kind;
    struct field_place place; /* the number that is to be least or greatest */
};

enum bound_by {
    BOUND_BY_RULE,   /* a step further this rule fails; of several, one of them does */
    BOUND_BY_GUARD,  /* it is a wait that keeps hands from a turning cutter */
    BOUND_BY_NOTHING /* within what is usual for it, so it has no part in the wish */
};

/* What keeps a number from going further. */
struct bound {
    const char *path; /* the number */
    enum bound_by by;
    const char *rule, *subject; /* BOUND_BY_RULE, else NULL */
};

/* What came of a wish. */
struct granted {
    enum wish_kind kind;
    const char *path;     /* of the number; NULL: the time of a change */
    double before, after; /* SI */
    const char *before_text, *after_text;
    bool alone;           /* it went with the others where they are, since nothing bounds it
                             where they move along */
    struct bound *bounds; /* none: nothing that it is about may move */
    size_t bound_count;
    uint32_t untimed, by_hand; /* steps of a change whose time is not counted */
    bool at_most;              /* where it begins is not known: the longest ways count */
};

/* A number on which a rule rests that says nothing of how far it may go. */
struct held_back {
    const char *path;
    const char *rule, *subject;
    bool fails; /* it fails whatever the numbers are; else it cannot be asked */
    bool moves; /* the number moves all the same, since somebody named it; else no wish moves it
                 */
};

/* One number of a proposal. */
struct proposed {
    struct field_place place;
    const char *path;      /* "change.standoff" */
    const char *lasting;   /* the same with the number or name of its record in it */
    bool given;            /* it stands in the file */
    const char *elsewhere; /* the other file in which it stands, or would have to: whoever knows
                              of files tells; NULL: none */
    const char *agrees_with; /* the controller's own file that has to say the same; from whoever
                                tells of files; NULL: none */
    double now, si;
    const char *now_text, *text; /* in the unit of the file; `text` reads back to `si` */
    /* Why it moves: with this number as the file has it and the others as proposed, this fails
     * or has the least margin.  NULL: no margin is the less for it. */
    const char *rule, *subject;
    bool fails; /* that rule, with this number as the file has it and the others as proposed */
};

/* A margin before and after. */
struct proposed_margin {
    const char *rule, *subject; /* "cutter 3", or NULL */
    struct dimension dimension;
    bool known_before, known_after; /* it was asked, and has one */
    double before, after;           /* SI */
    double scale;                   /* what it is measured by, SI; 0: it has no margin */
    const char *before_text, *after_text;
};

/* What a margin is measured by. */
struct measured_by {
    const char *rule, *subject;
    uint32_t requirement; /* of the rule, from 0 */
    double scale;         /* SI, > 0 */
};

/* How far a number may go, SI. */
struct proposal_range {
    double low, high;
};

struct proposed_set {
    struct proposed *items; /* those that change */
    size_t count;
    double least; /* margin by its scale: the least of all after it */
};

/* A rule that is told by name. */
struct excluded {
    struct instance instance;
    const char *rule, *subject;
    const char *held; /* of what stays: the number that is held back, with which it would hold;
                         NULL: there is none */
};

enum proposal_state {
    PROPOSAL_IDLE,  /* nothing fails that has a margin these numbers could move */
    PROPOSAL_FOUND, /* `widest` and `fewest` are set; both are what was wished, if anything */
    PROPOSAL_NONE   /* no set was found */
};

struct proposal {
    enum proposal_state state;
    struct field_place *places;    /* the numbers that might have changed */
    const char **paths;            /* of these */
    struct proposal_range *ranges; /* and within what they were looked for */
    size_t place_count;
    const char **kept; /* paths of those that stay as they are */
    size_t kept_count;
    double least_before;        /* HUGE_VAL: nothing has a margin */
    struct proposed_set widest; /* its least margin is the greatest */
    double exact;               /* and what that would be without rounding to whole steps */
    struct proposed_set fewest; /* fewer changes, where those are enough; else the same */
    struct granted *granted;    /* what came of each wish */
    size_t granted_count;
    VECTOR(struct held_back) held_back; /* and what had no part in them, or should not */
    struct proposed_margin *margins;    /* with `widest`: all that failed, then the tightest */
    size_t margin_count;
    struct measured_by *scales; /* of each margin that was met and that a number can move */
    size_t scale_count;
    /* What fails whatever these numbers are: it is left out of all the rest. */
    struct excluded *stays;
    size_t stay_count;
    /* Where there is none: a group of rules that exclude each other, as small as can be. */
    struct excluded *excluded;
    size_t excluded_count;
    bool stands; /* the group by itself was looked for from everywhere, and has no set */
    bool proved; /* and that it has none does not hang on where it was looked */
    bool coast_unknown; /* a wait may get shorter, and nobody knows how long the spindle coasts */
    struct way_out *ways; /* and by how much else would have to change: see propose/ways.h */
    size_t way_count;
    size_t ways_left; /* numbers on which they rest too, but that were not looked at */
};

/* Numbers that may change; each once. */
struct field_places {
    struct field_place *items;
    size_t count, capacity;
};

/* What is asked. */
struct proposal_question {
    struct runner *runner;
    struct arena *arena;
    const struct machine *machine;
    const struct instance_list *ignored; /* failures that somebody accepts; NULL: none */
    const struct field_places *kept;     /* numbers that stay as they are; NULL: none */
    const struct wish *wishes;
    size_t wish_count;
    bool named; /* somebody named the numbers that may change */
};

/* Is it one of them?  NULL: none is. */
bool field_places_have(const struct field_places *places, const struct field_place *place);

/* Is it a number that may be proposed: chosen, known, and none that is looked at only once? */
bool proposal_is_possible(const struct machine *machine, enum field_id field, uint32_t record);

/* Adds the numbers that what fails depends on; with `all`, every one that is possible. */
void proposal_choose(const struct proposal_question *question, bool all,
                     struct field_places *places);

/* Where cutters are changed is no question of time: nobody walks elsewhere for a second.  Adds
 * those numbers of it that no wish is about to what is kept. */
void proposal_keep_place(const struct proposal_question *question, struct field_places *kept);

/* Adds the numbers that the wishes are about, and those that the same rules depend on. */
void proposal_choose_wished(const struct proposal_question *question,
                            struct field_places *places);

/* Where there was no set: adds the numbers that the rules depend on which excluded each other.
 * False where there are no more. */
bool proposal_widen(const struct proposal_question *question, const struct proposal *found,
                    struct field_places *places);

/* Finds the proposal of these numbers, among which are those of the wishes.  The runner's
 * results stay. */
void proposal_find(const struct proposal_question *question, const struct field_place *places,
                   size_t count, struct proposal *out);

#endif
