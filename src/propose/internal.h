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

#endif
