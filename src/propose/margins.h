/* Margins as functions of several numbers at once.
 *
 * The numbers stand in a copy of the machine and are changed there; whatever can come out
 * differently is asked anew, so that nothing about a margin is assumed.
 */
#ifndef PROVEOUT_PROPOSE_MARGINS_H
#define PROVEOUT_PROPOSE_MARGINS_H

#include "rules/run.h"
#include "rules/search.h"

/* A number that may be changed. */
struct knob {
    struct field_place place;
    struct field_value *value; /* in the copy */
    double now;                /* what the file has, SI */
    double low, high;          /* how far it may go */
    double step;               /* to which people set it, SI */
    double reach; /* a change that counts as large: what it is itself, or 100 steps */
    bool guarded; /* `low` keeps persons: guard.h */
};

/* Of a step: how far beside a place a slope is looked for. */
#define KNOB_BESIDE 1e-3

/* So far beside x, and away from the nearer limit: beyond it some numbers mean nothing. */
static inline double knob_beside(const struct knob *knob, double x)
{
    return knob->step * KNOB_BESIDE * (x + knob->step > knob->high ? -1 : 1);
}

/* Where a search for it starts: what the file has, or where it may be nearest to that. */
static inline double knob_start(const struct knob *knob, bool moves)
{
    double least = knob->now < knob->low ? knob->low : knob->now;
    return !moves ? knob->now : least > knob->high ? knob->high : least;
}

/* One requirement asked of one record. */
struct stake {
    struct instance instance;
    bool ignored;       /* somebody accepts that it fails */
    bool keeps_persons; /* its rule is about what hurts a person */
    bool failed_before; /* with the numbers of the file */
    bool asked_before;  /* with these it had a margin */
    bool resting;       /* it is not asked now */
    bool many, few;     /* it is of a long list, and of those few that are asked: few.h */
    bool still;         /* it holds, and no number that may change moves it: seek.c tells */
    bool fails;         /* by what was asked last */
    bool counts;        /* it has a margin there */
    double margin;
    double scale; /* what its margin is measured by, > 0; 0: not known yet */
};

struct margins {
    struct runner *runner; /* turned to the copy by each asking */
    struct arena *arena;
    struct arena *scratch;   /* of one programme; who poses one resets it */
    struct machine *machine; /* the copy */
    double *slopes[2];       /* room for a search, and for what it does between */
    struct knob *knobs;
    size_t knob_count;
    struct stake *stakes;
    size_t stake_count;
    bool sparse;  /* of long lists only the few are asked */
    bool guarded; /* what keeps persons must not come to be asked no more */
    bool
        *rests_on; /* [stake * knob_count + knob]: can it come out otherwise with the number? */
};

/* What margins are asked of. */
struct margins_of {
    struct runner *runner;
    struct arena *arena;
    const struct machine *machine;
    const struct instance_list *ignored; /* failures that somebody accepts, of which those that
                                            hurt a person count all the same; NULL: none */
};

/* Makes a copy of the machine and finds what depends on the numbers at `places`: all of them
 * known, no two the same.  `out->knobs[i]` is of `places[i]`. */
void margins_open(const struct margins_of *of, const struct field_place *places, size_t count,
                  struct margins *out);

/* Can nobody tell, on the machine as it was asked last, whether it applies or holds? */
bool margins_cannot_tell(const struct margins *margins, const struct stake *stake);

/* Asks everything with the numbers x[0..knob_count - 1]. */
void margins_ask(struct margins *margins, const double *x);

/* What fails now failed before: it is no harm that it does.  What has a margin now had one. */
void margins_remember(struct margins *margins);

/* What fails though it has nothing to spare, where something is wanted, is short of this. */
#define STAKE_WANTED 1e-6

/* Its margin by its scale, below 0 where it fails. */
static inline double stake_part(const struct stake *stake)
{
    double part = stake->margin / stake->scale;
    return stake->fails && part > -STAKE_WANTED ? -STAKE_WANTED : part;
}

/* Is it not asked now? */
static inline bool stake_rests(const struct margins *margins, const struct stake *stake)
{
    return stake->resting || (margins->sparse && stake->many && !stake->few);
}

/* Does its margin count for the least: has it one, and can it be moved or does it fail? */
static inline bool stake_counts(const struct stake *stake)
{
    return stake->counts && !stake->ignored && !(stake->still && !stake->fails);
}

/* Has it no margin, and must not come out so?  What has none must not come to fail, nor what
 * keeps persons, where margins are guarded, to be asked no more. */
static inline bool stake_breaks(const struct margins *margins, const struct stake *stake)
{
    if (stake->counts || stake->ignored)
        return false;
    return (stake->fails && !stake->failed_before) ||
           (margins->guarded && stake->keeps_persons && stake->asked_before &&
            !stake_rests(margins, stake));
}

/* Of what was asked last: the least margin by its scale; `*worst` is the stake, or NULL where
 * nothing has a margin. */
double margins_least(const struct margins *margins, const struct stake **worst);

/* The least margin at x by its scale, of all stakes but those that `still` tells, which none of
 * the numbers moves. */
double margins_least_at(struct margins *margins, const bool *still, const double *x);

/* How each margin moves with each number about x: slopes[stake * knob_count + knob], SI; 0
 * where it has no margin on either side, and with numbers that are not marked in `moves` (NULL:
 * all are).  What was asked last is then what holds at x. */
void margins_slopes(struct margins *margins, const bool *moves, const double *x,
                    double *slopes);

#endif
