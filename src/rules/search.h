/* Asking the rules that depend on one value, with other values in its place.
 *
 * The machine's value is changed in place and everything that reads it is evaluated anew for
 * each question, so that nothing about a margin is assumed: linear or not is all the same.
 *
 * In a long list of cutters only few decide: those that are tightest somewhere.  A search over
 * such a list asks only those, gathers them as it goes (search_gather), and whoever uses it
 * asks all of them at the end and starts again where that brings another one to light.
 */
#ifndef PROVEOUT_RULES_SEARCH_H
#define PROVEOUT_RULES_SEARCH_H

#include "rules/run.h"

/* Instances that do not count: findings that somebody has waived. */
struct instance_list {
    VECTOR(struct instance) items;
};

/* Is it one of them?  NULL: none is. */
bool instance_is_listed(const struct instance_list *list, const struct instance *instance);

struct search {
    struct runner *runner;
    struct arena *arena;
    struct machine *machine;
    struct field_value *value;           /* the one that is changed */
    bool whole;                          /* it is a whole number */
    const struct instance_list *ignored; /* NULL: none */
    struct formula_change *changes;      /* of each book, when the field does */
    uint32_t *dependents;                /* rules that can read the field */
    size_t dependent_count;
    VECTOR(uint32_t) few; /* cutters to be asked, where `sparse` */
    bool sparse;
    double floor, ceiling; /* how far it is looked for */
    double step;           /* the first step of a search */
    struct field_place place;
    VECTOR(double) turns; /* of what is worked out of ways and places: see motion/turns.h */
    struct binding_range range; /* the last that was asked about at once */
};

/* What changes in each book of the runner with a field of `machine`, and with what is computed
 * from it. */
struct formula_change *search_changes(const struct runner *runner, struct arena *arena,
                                      const struct machine *machine, enum field_id field);

/* Finds the rules that depend on `field` of `machine` and sets the search up for `value`, which
 * lies in the machine.  Limits and step are the caller's. */
void search_open(struct search *search, struct runner *runner, struct arena *arena,
                 struct machine *machine, enum field_id field, struct field_value *value);

/* Finds the turns within the limits, which are set by now, of the field that `value` is. */
void search_find_turns(struct search *search, const struct field_place *place);

/* Asks all dependent instances at x; true where one fails, the worst then in `*worst`.
 * `*asked`, where not NULL, is raised by those whose truth is known. */
bool search_worst(struct search *search, double x, struct instance *worst, size_t *asked);

/* The same of every cutter, where the list is long; those that are worst join the few. */
bool search_gather(struct search *search, double x, struct instance *worst, size_t *asked);

/* Does this one instance fail at x?  `*margin`, where not NULL, is NAN where it has none. */
bool search_fails(struct search *search, const struct instance *instance, double x,
                  double *margin);

/* The value nearest to x in one direction at which the instance does not fail; it fails at x.
 * False where there is none up to the limit. */
MUST_USE bool search_next_good(struct search *search, const struct instance *instance, double x,
                               int direction, double *good);

/* An end found by growing. */
struct search_end {
    bool bounded;
    double at;          /* the last value at which nothing fails; the limit where not bounded */
    struct instance by; /* what fails beyond */
    bool unproved;      /* that nothing fails on the way there: */
    struct instance open; /* this one was asked closely, and holds wherever it was */
};

/* Grows from `good`, where nothing fails.
 *
 * That nothing fails between is proved: all that depends on the value is asked about all of it
 * at once (see formula/evaluate.h), and what is open then about one half and the other, until
 * they are too narrow to matter or there has been asking enough.  What is worked out of ways
 * and places has its turns instead, between which the ends tell enough. */
void search_grow(struct search *search, double good, int direction, struct search_end *out);

/* From a value where something fails in one direction to the first where nothing does.  False
 * where there is none: from `*to` on up to the limit, `*by` then fails. */
MUST_USE bool search_march(struct search *search, double x, int direction, double *to,
                           struct instance *by);

/* Somewhere between the limits where nothing fails, where a march found none: all else is
 * taken out where something fails throughout.  `*proved`: there is none; else none was found.
 */
bool search_gap(struct search *search, double *good, bool *proved);

#endif
