/* Evaluating a compiled program against the values of one file.
 *
 * The fast way gives truths and margins only.  What a finding shows (which fields were read,
 * which were missing, how much each tolerance contributes, the arithmetic in words) is read
 * from a record of working one instance out once more.
 *
 * An evaluator serves one file at a time and one thread.  Steps are counted: a formula that
 * takes too many is stopped and `exhausted` is set.
 */
#ifndef PROVEOUT_FORMULA_EVALUATE_H
#define PROVEOUT_FORMULA_EVALUATE_H

#include "base/buffer.h"
#include "formula/program.h"

enum truth { TRUTH_FALSE, TRUTH_TRUE, TRUTH_UNKNOWN };

struct record_value {
    uint8_t kind;
    bool known; /* false: nothing (an input that is not named) */
    uint32_t index;
};

/* How a requirement came out. */
struct verdict {
    enum truth truth;
    bool open;           /* unknown since it is not the same in all of a range */
    bool has_margin;     /* only where the truth is known */
    double margin;       /* worst case, SI; settled: exactly 0 where nothing to spare */
    double size;         /* magnitude of what was compared, of a range no more than half its
                            width: which margins are the tightest */
    uint32_t decided_by; /* node of the deciding comparison */
};

/* One leaf that evaluation asked for. */
struct formula_read {
    uint16_t leaf;
    uint8_t part;
    uint8_t state; /* enum env_state */
    uint32_t record;
    bool comparing; /* read by the deciding comparison (else: by a condition) */
    bool defaulted;
    bool placed; /* its place is told in a step */
    unit_id unit;
    struct dimension dimension;
};

/* What tracing one instance collects; arrays in the arena given. */
struct trace {
    struct verdict verdict;
    struct formula_read *reads; /* in the order first asked, each once */
    size_t read_count;
    struct form difference; /* of the deciding comparison: what is to spare, with its terms */
    const char **lines;     /* the arithmetic in words, the comparison first */
    size_t line_count;
    const char **steps; /* the same as on paper: one for each step, its numbers behind what they
                           are in words */
    size_t step_count;
};

struct evaluator;

/* `steps_max`: for one file and all rules together; 0: no limit.  `values` is copied and its
 * user must outlive the evaluator.  `statistical` concerns requirements evaluated with
 * `chosen_stack`. */
struct evaluator *evaluator_new(struct arena *arena, const struct program *program,
                                const struct environment_values *values, uint64_t steps_max);

/* For the next file: forgets kept values, and what names are bound to. */
void evaluator_reset(struct evaluator *evaluator, const struct environment_values *values);

/* Until the next reset keeps values of several records at a time, for asking the same few
 * things of each of them again and again. */
void evaluator_keep_several(struct evaluator *evaluator);

/* Some leaves have other values: forgets no more than what was kept of these and of calls that
 * can change. */
void evaluator_change(struct evaluator *evaluator, const struct formula_change *change);

/* One number of one record, `half` more or less: all of its values are asked about at once. */
struct formula_range {
    uint16_t leaf;
    uint8_t part;
    uint32_t record;
    double half;
    bool failing; /* it is asked whether it fails; never mind whether it holds */
};

/* After evaluator_change, and until the next: a requirement then holds or fails only where it
 * does, in the worst case of all tolerances, with every value of the range in the leaf, which
 * itself reads as the middle.  What is neither is `open`. */
void evaluator_range(struct evaluator *evaluator, const struct formula_change *change,
                     const struct formula_range *range);

/* Binds the name in `slot` to a record, for all that follows. */
void evaluator_bind(struct evaluator *evaluator, uint32_t slot, struct record_value record);

/* A condition at nominal values. */
enum truth evaluate_condition(struct evaluator *evaluator, uint32_t node);

/* A requirement.  `statistical`: its tolerances add as the root of the sum of squares. */
void evaluate_requirement(struct evaluator *evaluator, uint32_t node, bool statistical,
                          struct verdict *out);

/* The same once more with everything that a finding shows.  `namer` says how to show values;
 * NULL: what was read and compared is found, no line is written. */
struct formula_namer {
    const void *user;
    /* "cutter 3"; "cutters[2].stickout", in `arena`. */
    const char *(*record)(const void *user, struct arena *arena, uint8_t kind, uint32_t index);
    const char *(*leaf)(const void *user, struct arena *arena, uint16_t leaf, uint8_t part,
                        uint32_t record);
    /* In which unit to show a dimension; as the file writes it. */
    unit_id (*unit)(const void *user, struct dimension dimension);
    /* Where a leaf stands, "line 12", for a step that names it; NULL: not to be told.  May be
     * NULL itself. */
    const char *(*place)(const void *user, struct arena *arena, uint16_t leaf, uint8_t part,
                         uint32_t record);
};
void evaluate_traced(struct evaluator *evaluator, uint32_t node, bool statistical,
                     const struct formula_namer *namer, struct arena *arena, struct trace *out);

/* After tracing: the name of a deviation, "allowances.reseat of cutter 3", in `arena`. */
const char *evaluator_deviation(struct evaluator *evaluator, const struct formula_namer *namer,
                                struct arena *arena, deviation_name name);

/* After tracing: which leaf a `formula_field` node names now; false where it leads nowhere. */
bool evaluate_field(struct evaluator *evaluator, uint32_t node, uint16_t *leaf, uint8_t *part,
                    uint32_t *record);

/* After tracing: adds a shown value to a message.  A quantity is shown in the unit of the field
 * it comes from, else in `unit` where its dimension fits, else as the namer says; a size with
 * tolerances by its nominal value. */
void evaluate_shown(struct evaluator *evaluator, uint32_t node,
                    const struct formula_namer *namer, unit_id unit, struct buffer *out);

/* A quantity; false where it is not known. */
bool evaluate_quantity(struct evaluator *evaluator, uint32_t node, struct form *out);

/* Was a step limit met since the last reset? */
bool evaluator_exhausted(const struct evaluator *evaluator);

#endif
