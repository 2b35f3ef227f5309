/* Private to `propose`: one proposal on its way. */
#ifndef PROVEOUT_PROPOSE_INTERNAL_H
#define PROVEOUT_PROPOSE_INTERNAL_H

#include "propose/propose.h"
#include "propose/seek.h"

/* So much of the greatest least margin may be given up for numbers nearer to what the file has.
 */
#define GIVEN_UP 0.005

struct finder {
    const struct proposal_question *question;
    struct margins margins;
    struct describer describer;
    double *now;
    bool *moves;          /* all of them, but those that are held back from wishes */
    bool *named;          /* a person named it: as one that may change, or by a wish */
    double *weights;      /* all 1 */
    struct stake *before; /* the stakes with the numbers of the file */
    bool *still;          /* those that none of the numbers moves */
    struct proposal *out;
};

/* Words: tell.c */
void tell_name(struct finder *finder, const struct stake *stake, struct excluded *out);
void tell_set(struct finder *finder, const struct sought *found, const char *const *texts,
              struct proposed_set *out);
void tell_margins(struct finder *finder, const double *x);
void tell_scales(struct finder *finder);

/* A set with fewer changes than `widest` has, where there is one: fewest.c */
void find_fewest(struct finder *finder);

/* The set that does what is wished, from `best`, where everything holds; false where its
 * numbers cannot be set.  Writes `granted` and the set: wishes.c */
bool find_wished(struct finder *finder, struct sought *best, const char **texts);

/* Numbers as people set them. */

/* Rounds each number of `inout` that differs from what the file has to whole steps, finer ones
 * where nothing else keeps the least margin at or above 0, and writes their texts: NULL for
 * what does not differ.  False where there are none. */
MUST_USE bool round_numbers(struct margins *margins, struct sought *inout, const char **texts);

/* Rounding one number after another, the rest where the goal is least. */
struct stepwise {
    const struct goal *goal;
    const bool *moves; /* which may give way, those that are rounded among them */
    const bool *which; /* are rounded, where they differ from what the file has */
    double enough;     /* the least margin wanted on the way */
};

/* Rounds each of those: of the whole steps about it, and what the file has, to the one with
 * which the goal is least and there is enough; finer steps where no whole one will do.  Texts
 * as above, of those alone.  False where there are none. */
MUST_USE bool round_stepwise(struct margins *margins, const struct stepwise *how,
                             struct sought *inout, const char **texts);

/* What keeps persons, and what was not asked, holds wishes back.
 *
 * A proposal mends what fails; a wish takes away what there is to spare.  So no wish moves a
 * number where nobody can tell what that takes from whom, and waits that stand between a hand
 * and a turning cutter have a floor of their own, whatever rules say and whoever waives them.
 */

/* Sets the floors, and keeps what rests on a rule that cannot be asked from moving: each number
 * where the rule is about persons, else those that nobody named.  Remarks count for neither.
 */
void guard_numbers(struct finder *finder);

/* Keeps what rests on a rule about persons from moving that fails whatever the numbers are. */
void guard_stays(struct finder *finder);

#endif
