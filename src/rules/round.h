/* What is worth measuring at a machine, the most urgent first: what rules want and the file
 * does not have, what was measured before somebody worked on the machine, and what more
 * readings would know better. */
#ifndef PROVEOUT_RULES_ROUND_H
#define PROVEOUT_RULES_ROUND_H

#include "rules/check.h"

/* What further readings of a measured value would be worth: its tolerance after more of them
 * with the scatter seen so far, and the tightest margin that grows with it. */
enum { WORTH_COUNTS = 3 };

struct worth {
    const struct readings *readings;
    struct worth_after {
        uint32_t count;    /* of readings in all */
        double half_width; /* of the tolerance, or of a scatter its value; SI */
    } after[WORTH_COUNTS]; /* 3, 5 and 10 */
    uint32_t count; /* as many as the margin is worked out for: 10, or twice as many as are
                       there already */
    const struct finding *tightest; /* as it is now; NULL: no margin grows */
    double gain;                    /* SI */
};

/* Is it worth the trouble: does the tightest margin grow by a tenth, or come so much nearer to
 * holding? */
bool worth_pays(const struct worth *worth);

/* "10 readings would bring 0.3 mm to the margin of approach-too-low (cutter 2), now 1.2 mm",
 * for a value in `unit`; "no margin would grow by 10 readings". */
const char *worth_text(struct arena *arena, const struct worth *worth, unit_id unit);

/* Works that out for one value of `machine`; false where it was not read several times.  `out`
 * points into `arena` and into the machine. */
MUST_USE bool worth_find(struct arena *arena, const struct check_options *options,
                         const struct machine *machine, const struct field_place *place,
                         struct worth *out);

/* In the order of a round. */
enum round_reason {
    ROUND_MISSING, /* a rule is not checked for want of it */
    ROUND_OLD,     /* measured before the last work */
    ROUND_BETTER,  /* more readings would pay */
    ROUND_NAMED    /* somebody asked for it, and none of these holds */
};

struct round_item {
    struct field_place place;
    enum round_reason reason;
    const struct finding *wanted; /* MISSING: the gravest that was not checked for want of it */
    size_t rules;                 /* MISSING: so many instances were not */
    double on;                    /* OLD: when it was measured, seconds from 1970-01-01 */
    struct worth worth;           /* BETTER */
};

struct round_plan {
    VECTOR(struct round_item) items;
    size_t single; /* measured values that the file gives as one number each, not among these */
    size_t unseen; /* values given by readings that were too many to be looked at */
};

/* Works out the round for a whole machine.  What it points to is in `arena` and the machine. */
void round_find(struct arena *arena, const struct check_options *options,
                const struct machine *machine, struct round_plan *out);

/* The same by what a check of that machine found. */
void round_of_report(struct arena *arena, const struct check_options *options,
                     const struct machine *machine, const struct file_report *report,
                     struct round_plan *out);

/* The same for these values alone, in this order, whether they are worth it or not. */
void round_name(struct arena *arena, const struct check_options *options,
                const struct machine *machine, const struct field_place *places, size_t count,
                struct round_plan *out);

/* The field that tells when this one was measured; FIELD_COUNT where there is none. */
enum field_id round_day(enum field_id id);

#endif
