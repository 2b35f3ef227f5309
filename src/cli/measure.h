/* A round of measuring at one machine: planned, asked for reading by reading, and put into its
 * file as a revision. */
#ifndef PROVEOUT_CLI_MEASURE_H
#define PROVEOUT_CLI_MEASURE_H

#include "ask/tally.h"
#include "ask/walk.h"
#include "cli/revise.h"

/* What became of one value of the round. */
struct measured {
    struct tally tally; /* of what is read several times */
    struct view text;   /* of what is not: the answer, as a file has it; empty: none */
    bool is_met;        /* its readings so far were looked at */
    struct view begun;  /* the readings that the file has and that others follow; or empty */
    bool is_done;       /* it is to be put into the file */
};

struct measuring {
    struct revision *revision;
    struct round_plan plan;
    struct walk_elsewhere elsewhere;
    bool is_named;           /* the values were named on the command line */
    struct measured *values; /* one for each item of the plan */
    bool inches;             /* bare lengths are inches where the file does not say */
    struct view by;          /* who measures; empty: not said */
    struct view day;         /* of the round; empty: not known */
};

/* Shows what the round is made of, each with its reason. */
void measure_show_plan(struct measuring *measuring);

/* How the round ended. */
enum round_end {
    ROUND_ENDED,
    ROUND_NOT_BEGUN, /* only the plan was wanted, or there is nothing to measure */
    ROUND_STOPPED    /* nothing is to be written */
};

/* Asks through the round. */
enum round_end measure_ask(struct measuring *measuring);

/* Prints the round as a blank form. */
void measure_print_form(struct measuring *measuring);

/* Takes the values of a filled form for those of the round.  False: said what is wrong with it.
 */
bool measure_take_form(struct measuring *measuring, const char *path);

/* Is there anything that the file does not have? */
bool measured_is_new(const struct measured *value);

/* The text that is to be put into the file for one of the values. */
struct view measured_text(const struct measuring *measuring, size_t index);

#endif
