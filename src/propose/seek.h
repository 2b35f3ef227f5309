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

/* Of a long list of cutters only a few decide: those that are tightest somewhere.  A search
 * that begins at many places asks these alone, and all of them where it has found something.
 */

/* Finds what is asked of many records, of which none is among the few yet.  False: of nothing,
 * and there is nothing to save. */
MUST_USE bool few_begin(struct margins *margins);

/* Asks everything at x; what is tightest there of each long list joins the few. */
void few_gather(struct margins *margins, const double *x);

/* Searching from several places, where one search comes to no end: what is in the way can be
 * passed on either side, and a linear programme sees one of them only. */

/* The greatest least margin from what the file has and, until it is `enough`, from places for
 * changing cutters all over the travel, whose ends are among them. */
void cases_greatest(struct margins *margins, const bool *moves, double enough,
                    struct sought *out);

/* Stakes that are looked at with all others left out. */
struct cases_of {
    const struct stake *const *stakes;
    size_t count;
    bool anywhere; /* from beyond the travel too, else from within */
};

/* Can they hold?  `out` is where, or comes nearest.  What is asked of the rest stays as it was.
 */
MUST_USE bool cases_hold(struct margins *margins, const bool *moves, const struct cases_of *of,
                         struct sought *out);

/* Why no set of numbers will do. */

/* The stakes that exclude each other about `x`, where the least margin is greatest and below 0:
 * as few as will do, so that with any one of them left out all others could hold.  At least
 * one; `*count` of them, in `arena` of the margins. */
const struct stake **conflict_find(struct margins *margins, const bool *moves, const double *x,
                                   size_t *count);

/* Rules that exclude each other, as found by searching. */
struct conflict {
    const struct stake **items;
    size_t count;
    bool stands; /* no set was found for them alone; for all but any one there is one */
    bool proved; /* nor is there any */
};

/* The same beyond what is straight: to those that conflict_find gives comes what fails where
 * they can all hold, until they cannot; then those are left out again without which there is
 * still no set.  Where no such group is found it is that of conflict_find, and does not stand.
 */
void conflict_settle(struct margins *margins, const bool *moves, const double *x,
                     struct conflict *out);

/* That a group of rules cannot hold together, proved. */

/* Do these stakes exclude each other wherever the numbers are within their limits?  About `x`,
 * where they come nearest to holding.  Only yes is certain; what was asked of the stakes last
 * is then of another place. */
bool proof_stands(struct margins *margins, const struct stake *const *stakes, size_t count,
                  const double *x);

#endif
