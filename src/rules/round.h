/* What is worth measuring at a machine, the most urgent first: what rules want and the file
 * does not have, what was measured before somebody worked on the machine, and what more
 * readings would know better. */
#ifndef PROVEOUT_RULES_ROUND_H
#define PROVEOUT_RULES_ROUND_H

#include "rules/worth.h"

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
