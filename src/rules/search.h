/* Other numbers in the place of one: asking the rules that depend on it again, and the window
 * within which all of them hold.
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

/* The failures that the machine waives on the day `today`, so that they bound no window.  The
 * runner's results are those of the machine afterwards. */
void waived_failures(struct runner *runner, struct arena *arena, const struct machine *machine,
                     struct source *source, double today, struct instance_list *out);

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

/* Can what a rule's finding says come out otherwise with the field of which `changes` are, as
 * search_changes has them? */
bool remedy_moves(const struct runner *runner, struct formula_change *changes,
                  const struct finding *finding);

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

/* Windows: the range of one field within which every rule that depends on it holds.
 *
 * It is looked for within what the reader takes for usual, or as far as the present value where
 * that is beyond.
 * The rules are asked again with another value in the field, the rest of the machine as it is.
 * From the present value, or from the nearest at which nothing fails, the range grows on either
 * side until something fails, and that boundary is found by halving.  That everything holds
 * between is proved, whatever a shop's own rules make of a number (see search_grow); so is that
 * no value will do.  Where there would be no end of asking, the window says so.  Both ends are
 * asked before they are given: there everything holds, and beyond, within one step to which the
 * end is rounded, something fails.
 */

/* One end of a window. */
struct window_end {
    bool bounded;        /* false: no rule bounds this side within what is usual for the field;
                            the rest is not set then */
    double exact;        /* the last value at which everything holds, SI */
    double si;           /* rounded inward to what a person would type in the field's unit */
    const char *text;    /* the same in that unit; reads back to `si` */
    const char *rule;    /* that bounds it */
    const char *subject; /* "cutter 3", or NULL */
};

struct window {
    const char *path;    /* "change.standoff" */
    const char *lasting; /* the same with the number or name of its record in it */
    enum field_id field;
    uint32_t record;
    uint8_t part;           /* of a pair: 1 its low number, 2 its high one; else 0 */
    bool given;             /* is there a present value, typed or by default? */
    bool defaulted;         /* by default */
    double value;           /* SI; where none is given, where the search began */
    const char *value_text; /* in `unit` */
    unit_id unit;
    bool asked;  /* does any rule that can be checked depend on the field? */
    bool holds;  /* at the present value */
    bool empty;  /* no usual value will do, or none was found */
    bool proved; /* that everything holds throughout the window; or that there is none */
    const char *open, *open_subject; /* a rule that is not proved to, or NULL */
    struct window_end low, high;
    /* Of an empty one, the rules that exclude each other, the one that wants more first; twice
     * the same where it fails whatever stands here. */
    const char *between[2];
    const char *between_subject[2];
    enum finding_level level[2];
    const char *wants[2]; /* least value for the first, greatest for the second; or NULL */
    double overlap; /* and by how much, SI: the distance between those; 0 where not known */
    const char *overlap_text;
};

/* What windows are found with. */
struct window_question {
    struct runner *runner;
    struct arena *arena;
    struct machine *machine;             /* changed while this runs and put back */
    const struct instance_list *ignored; /* waived findings, which bound nothing; or NULL */
};

/* Is there a window to be found: is it a number, and of a pair one of its two? */
bool window_is_possible(const struct machine *machine, enum field_id field, uint32_t record,
                        uint8_t part);

/* Finds the window of a number in one record of its group.  The runner's results stay.
 * False where it is no single number. */
MUST_USE bool window_find(const struct window_question *question, enum field_id field,
                          uint32_t record, uint8_t part, struct window *out);

/* A value within the window, nearest to the present one, with a tenth of the window to spare on
 * the side it comes from; false where there is none or the present value will do. */
MUST_USE bool window_propose(struct arena *arena, const struct window *window, double *si,
                             const char **text);

/* "change.standoff between 7.1 mm and 13.9 mm would do", "no value of change.standoff alone
 * will do: ..."; with "where it was looked" before it where that is not proved. */
const char *window_words(struct arena *arena, const struct window *window);

/* Of an empty window, the two that exclude each other; false where it is one that fails anyhow.
 */
MUST_USE bool window_conflict(const struct window *window, struct finding_conflict *out);

/* "; probe-stroke-short is the error and outweighs lengths-say-crash, a note", for what tells
 * of the two; "" where neither outweighs the other. */
const char *window_outweighs(struct arena *arena, const struct window *window);

/* How the margin of one instance moves with a field: what it is with the field at `value`, SI;
 * NAN where it is not known.  Differences of two are slopes where the margin is linear. */
double window_margin(const struct window_question *question, enum field_id field,
                     uint32_t record, const struct instance *instance, double value);

/* The step to which people set a quantity in this unit, in that unit: 0.1 mm, 1/64 in, 0.1 s.
 * `like`: a value in the unit, for units in which people set anything to three digits. */
double window_step(unit_id unit, double like);

/* `count` such steps (or finer ones: `step`, in the unit) as people type them: "6 1/64 in", "-3
 * mm". */
const char *window_typed(struct arena *arena, unit_id unit, struct dimension dimension,
                         double count, double step);

#endif
