/* Asking every rule of every thing it is about, and telling what came out.
 *
 * Record by record and on each record rule by rule, so that what formulas keep (a cutter's
 * approach height) serves all rules about that cutter.  Gives truths and margins; words come
 * later, and only for what is shown.
 */
#ifndef PROVEOUT_RULES_RUN_H
#define PROVEOUT_RULES_RUN_H

#include "base/vector.h"
#include "finding/finding.h"
#include "rules/bind.h"
#include "rules/rulebook.h"

/* One requirement of one rule, asked of one record. */
struct instance {
    uint32_t rule;        /* among all rules of all books */
    uint32_t requirement; /* within its rule */
    uint32_t record;      /* in the rule's domain; 0 where asked once */
    uint8_t outcome;      /* enum finding_outcome */
    bool has_margin;
    bool at_condition;   /* unchecked because its `when` could not be told */
    uint32_t implied_by; /* rule, or RULE_NONE */
    double margin, size;
};

/* All instances of one rule. */
struct rule_result {
    size_t held, failed, unchecked; /* instances */
    size_t plain_failed;            /* of the failed ones, those not implied */
    VECTOR(struct instance) waived; /* all of them; they do not count as failed */
    struct instance tightest;       /* of those that held, if any */
    bool has_closest;
    struct instance closest; /* of those with room, the one with the least for its size */
    double tightness;        /* its margin as a part of what was compared */
    VECTOR(struct instance) failures; /* at most FINDINGS_A_NAME, a heap, least margins */
    VECTOR(struct instance) unknowns; /* at most FINDINGS_A_NAME */
    VECTOR(struct instance) all_held; /* only if asked for; at most FINDINGS_A_NAME */
};

/* Which failures somebody accepts.  They explain no other failure: nobody has accepted that. */
struct acceptance {
    void *user;
    bool (*accepts)(void *user, const struct instance *instance);
};

/* A rule among all books. */
struct rule_entry {
    const struct rulebook *book;
    const struct rule *rule;
    uint32_t book_index;
    uint32_t implied_by[RULE_IMPLIED_MAX]; /* indices, RULE_NONE at the end */
};

struct runner {
    struct rule_entry *rules;
    uint32_t rule_count;
    uint32_t *order; /* rules by domain, each domain's in the order of the books */
    uint32_t domain_start[GROUP_COUNT + 1]; /* in `order` */
    struct evaluator **evaluators;          /* of each book */
    size_t book_count;
    struct machine_binding binding;
    const struct acceptance *acceptance; /* NULL: nothing is accepted */
    struct rule_result *results;         /* of the file being checked */
    uint8_t *applies;       /* enum truth of `when`, of those that need asking once */
    uint32_t *failed_at;    /* last record + 1 at which the rule failed */
    uint32_t *failed_which; /* bits of its requirements that failed there */
};

/* Sets up a runner for these books, in `arena`. */
void runner_init(struct runner *runner, struct arena *arena,
                 const struct rulebook *const *books, size_t count);

/* Runs all rules on `machine`; results are in `arena`, good until the next run. */
void runner_run(struct runner *runner, struct arena *arena, const struct machine *machine,
                bool keep_held);

/* Turns the evaluators to `machine` as it is now: what they keep is forgotten.  Results stay.
 */
void runner_reset(struct runner *runner, const struct machine *machine);

/* The same where no more than `changes`, of each book, can have made a difference. */
void runner_change(struct runner *runner, const struct formula_change *changes);

/* After that: the field's number is asked about in all of `range`, of which it is the middle.
 */
void runner_range(struct runner *runner, const struct formula_change *changes,
                  const struct field_place *place, const struct binding_range *range);

/* How this requirement comes out on the machine that the runner is turned to; false where its
 * rule does not apply, or where nobody can tell.  Results stay. */
MUST_USE bool runner_verdict(struct runner *runner, const struct instance *instance,
                             struct verdict *out);

/* Does this requirement fail on the machine that the runner is turned to?  Results stay. */
bool runner_fails(struct runner *runner, const struct instance *instance);

/* Binds the rule's name to a record, for looking at one instance again. */
struct evaluator *runner_bind(struct runner *runner, const struct instance *instance);

const struct requirement *runner_requirement(const struct runner *runner,
                                             const struct instance *instance);

/* Do the file's tolerances add statistically where a rule leaves that to it? */
bool runner_statistical(const struct runner *runner, const struct rule *rule);

/* Worse first: by margin, then by record and requirement. */
int instance_compare(const void *a, const void *b);

/* From one instance to a complete finding: places, words, arithmetic. */
struct describer {
    struct runner *runner;
    const struct machine *machine;
    struct source *source;
    struct arena *arena; /* what findings are made in */
    const struct finding_spot
        *shown; /* what is shown anyhow, while steps are written, or NULL */
};

/* Traces the instance once more and fills `out` whole. */
void describe_instance(const struct describer *describer, const struct instance *instance,
                       struct finding *out);

/* The same without words: rule, level, subject, outcome, margin, place, and what is missing. */
void describe_placed(const struct describer *describer, const struct instance *instance,
                     struct finding *out);

enum { MISSING_MAX = 16 }; /* fields that are named as missing for one instance */

/* Of an instance that could not be told only the fields for want of which; returns how many. */
size_t describe_missing(const struct describer *describer, const struct instance *instance,
                        enum field_id missing[MISSING_MAX]);

/* The same without words and places: rule, level, subject, outcome, margin. */
void describe_bare(const struct describer *describer, const struct instance *instance,
                   struct finding *out);

/* The unit in which to show a margin: that in which its field is written. */
unit_id describe_unit(const struct describer *describer, const struct instance *instance);

/* What to show names and numbers with, for formulas: its user is the describer. */
struct formula_namer describe_namer(const struct describer *describer);

/* The place that stands for a field: its value, else the nearest thing on the way to it. */
struct finding_spot describe_place(const struct describer *describer, enum field_id field,
                                   uint8_t part, uint32_t record);

/* Findings about derived leaves are told by the fields that those were computed from. */

enum { DERIVED_READS_MAX = 4 };

/* Derived leaves that a trace read. */
struct derived_reads {
    size_t count;
    struct {
        uint16_t leaf;
        uint32_t record;
    } items[DERIVED_READS_MAX];
};

/* Puts the fields in the place of each read of a derived leaf: those it rests on, or those for
 * want of which it is absent. */
void trace_expand(const struct describer *describer, struct trace *trace,
                  struct derived_reads *out);

/* The parts that fields have in the tolerance `whole`, named by `namer`; at most `room`.  0
 * where that is no derived leaf's.  Each part is in proportion to what its field adds to the
 * heights and radii that decide, all together as wide as the whole. */
size_t derived_shares(const struct describer *describer, const struct formula_namer *namer,
                      const struct derived_reads *reads, const struct finding_share *whole,
                      struct finding_share *out, size_t room);

#endif
