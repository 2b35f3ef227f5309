/* The numbers with the greatest least margin, by successive linear programmes.
 *
 * About a place the margins are taken for straight, which is exact where they are sums, and a
 * linear programme finds the numbers whose least margin, each by its own scale, is greatest.
 * There the margins are asked; where they bend, the next programme looks less far.  Source:
 * sequential linear programming with a trust region, as in Nocedal and Wright, Numerical
 * Optimization, 2nd edition (2006), chapter 18, and Griffith and Stewart, Management Science 7
 * (1961).
 */
#ifndef PROVEOUT_PROPOSE_SEEK_H
#define PROVEOUT_PROPOSE_SEEK_H

#include "propose/margins.h"

/* A least margin that is not below this counts as held: the solver rounds. */
#define SEEK_HOLDS (-1e-9)

/* A margin of so many times its scale is enough: more is no better, and what is nearer to the
 * numbers of the file counts then. */
#define SEEK_ENOUGH 2
/* What just holds may fail by less than this until all numbers are whole steps. */
#define SEEK_NEARLY (-2 * STAKE_WANTED)

/* Kept where a least margin of 0 is wanted, so that what just holds is not taken for failing.
 */
#define SEEK_SPARE 1e-9

/* Where a search came to. */
struct sought {
    double *x;    /* one for each number */
    double least; /* margin by its scale; < 0: something fails there */
};

/* Asks everything with the numbers x; the least margin by its scale, -HUGE_VAL where something
 * fails that has no margin and did not fail with the numbers of the file, or where in guarded
 * margins something that keeps persons has none any more. */
double seek_ask(struct margins *margins, const double *x);

/* From `from` to where the least margin is greatest, of the numbers marked in `moves`.  What
 * else they are is left as it is in `from`. */
void seek_greatest(struct margins *margins, const bool *moves, const double *from,
                   struct sought *out);

/* What the least margin would come to with the numbers marked, were all margins straight:
 * `slopes` as margins_slopes gives them for x, which was asked last.  -HUGE_VAL: not known. */
double seek_foretell(struct margins *margins, const bool *moves, const double *x,
                     double *slopes);

/* What is to be as little as can be: the sum of these. */
struct goal {
    const double *changes; /* the change of each number, by its reach and times this, >= 0;
                              NULL: none */
    const double *from;    /* changes count from here; NULL: from what the file has */
    const double *numbers; /* each number itself, by its reach and times this; < 0: the more the
                              better; NULL: none */
    double (*worked_out)(void *user, const double *x); /* and of all of them; NULL: nothing */
    void *user;
    double little; /* less than this is no gain, where it is more than next to nothing */
};

/* That sum at x. */
double seek_value(const struct margins *margins, const struct goal *goal, const double *x);

/* From a place to where the goal is least of those whose least margin is at least `least`.
 * Where that is not so at first, to where it is; `inout->least` tells whether one was found. */
void seek_least(struct margins *margins, const bool *moves, const struct goal *goal,
                double least, struct sought *inout);

/* The same with the place as near as can be to what the file has: the sum of the changes, each
 * by its reach and times its weight. */
void seek_nearest(struct margins *margins, const bool *moves, const double *weights,
                  double least, struct sought *inout);

#endif
