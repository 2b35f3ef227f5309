/* What the files of the evaluator share.
 *
 * Every value has a state: known, absent or wrong (enum env_state; the greater wins).  Results
 * are written through the last parameter, and count only where the state is known.
 */
#ifndef PROVEOUT_FORMULA_INTERNAL_RUN_H
#define PROVEOUT_FORMULA_INTERNAL_RUN_H

#include "base/bug.h"
#include "base/vector.h"
#include "formula/evaluate.h"
#include "formula/internal.h"

/* What a name of the frame stands for now. */
struct slot {
    uint8_t state; /* enum env_state */
    uint8_t kind;
    uint32_t record;
    struct form form; /* of quantities */
};

/* How a truth came out, on the way up to a verdict. */
struct outcome {
    uint8_t truth; /* enum truth */
    uint8_t state; /* why it is unknown: ENV_ABSENT, ENV_WRONG */
    bool has_margin;
    uint32_t decided_by;
    double margin, size;
};

/* The elements that decided over a list; NODE_NONE: none. */
struct decided {
    uint32_t element, other;
};

enum { KEY_COUNT = 4 };

/* The last value of a call or quantifier whose arguments are all records; with several ways one
 * for each of as many records. */
struct kept {
    uint32_t epoch;  /* of the file it was computed for */
    uint32_t traced; /* of the trace that has recorded its reads */
    uint32_t keys[KEY_COUNT];
    uint8_t state;
    bool statistical;       /* truths: how tolerances were added */
    struct decided decided; /* quantifiers */
    uint32_t unknown;       /* and the first element that is not known, or NODE_NONE */
    struct outcome outcome; /* truths */
    struct view text;
    struct form form; /* quantities, dates */
};

/* A read while tracing, on the way to a struct formula_read. */
struct noted {
    struct formula_read read;
    bool needed;   /* not there, and missed */
    uint32_t next; /* in its bucket: index + 1 */
};

enum { NOTED_BUCKETS = 256 };

struct tracer {
    struct arena *arena;
    VECTOR(struct noted) noted;
    uint32_t buckets[NOTED_BUCKETS]; /* index + 1 */
    VECTOR(uint32_t)
    missing; /* noted ones that were not there, each time they were asked for */
};

enum { DEVIATION_BUCKETS = 1024 };

struct listed_deviation {
    size_t start;
    uint32_t count, next; /* words; in its bucket: index + 1 */
};

/* Names of deviations that do not fit into their bits. */
struct deviation_list {
    VECTOR(uint64_t) words; /* what each is, one after another */
    VECTOR(struct listed_deviation) items;
    uint32_t buckets[DEVIATION_BUCKETS]; /* index + 1 */
};

struct evaluator {
    struct arena *arena;
    const struct program *program;
    const struct formula_node *nodes;
    struct environment_values values;
    struct slot *slots;
    struct kept *kept;        /* `ways` for each call */
    uint32_t ways, ways_room; /* ways: a power of two */
    uint32_t epoch, trace_epoch;
    uint64_t steps, steps_max; /* steps_max: UINT64_MAX for no limit */
    uint64_t trace_steps;
    bool exhausted, statistical;
    bool recording, comparing; /* tracing: note what is read; by the deciding comparison */
    struct deviation_list deviations;
    struct tracer tracer;
    struct verdict verdict; /* the last traced */
    void *scratch;          /* for `distinct` */
    size_t scratch_size;
};

static inline const struct formula_node *node_of(const struct evaluator *evaluator,
                                                 uint32_t node)
{
    return &evaluator->nodes[node];
}

static inline uint8_t worse(uint8_t a, uint8_t b)
{
    return a > b ? a : b;
}

/* A copy of the terms that are set, not of the room for them. */
static inline void copy_form(struct form *out, const struct form *from)
{
    memcpy(out, from, offsetof(struct form, terms) + from->count * sizeof from->terms[0]);
}

/* Counts a step; false where there are none left. */
static inline bool step_on(struct evaluator *evaluator)
{
    if (++evaluator->steps <= evaluator->steps_max)
        return true;
    evaluator->exhausted = true;
    return false;
}

/* run_value.c */
uint8_t run_record_worked_out(struct evaluator *evaluator, const struct formula_node *n,
                              uint32_t *record);
uint8_t run_read(struct evaluator *evaluator, const struct formula_node *leaf,
                 struct env_value *value, uint32_t *record);
uint8_t run_text(struct evaluator *evaluator, uint32_t node, struct view *out);
uint8_t run_any(struct evaluator *evaluator, uint32_t node); /* only whether it is known */
/* Which side of an `if` counts; NODE_NONE with the state where that is not known. */
uint32_t run_branch(struct evaluator *evaluator, const struct formula_node *node,
                    uint8_t *state);

/* Which record a node stands for: mostly what a name is bound to, or one that is always the
 * same.
 */
static inline uint8_t run_record(struct evaluator *evaluator, uint32_t node, uint32_t *record)
{
    const struct formula_node *n = node_of(evaluator, node);
    if (n->op == OP_RECORD_SLOT) {
        *record = evaluator->slots[n->a].record;
        return evaluator->slots[n->a].state;
    }
    if (n->op == OP_RECORD_FIXED) {
        *record = n->a;
        return ENV_KNOWN;
    }
    return run_record_worked_out(evaluator, n, record);
}

/* run_call.c */
void run_arguments(struct evaluator *evaluator, const struct formula_node *call);
/* Binds the arguments of a call; what was kept for them, or NULL. */
const struct kept *run_enter(struct evaluator *evaluator, const struct formula_node *call);
/* Does what is kept for call number `call` still serve?  `recorded`: with its reads. */
const struct kept *kept_find(const struct evaluator *evaluator, uint32_t call, bool recorded);
/* Where to keep the value of a call now; NULL where it cannot be kept. */
struct kept *kept_renew(struct evaluator *evaluator, uint32_t call);

/* run_quantity.c */
uint8_t run_quantity(struct evaluator *evaluator, uint32_t node, struct form *out);

/* run_truth.c */
void run_truth(struct evaluator *evaluator, uint32_t node, struct outcome *out);
void run_condition(struct evaluator *evaluator, uint32_t node, struct outcome *out);
void outcome_unknown(struct outcome *out, uint8_t state);
void outcome_plain(struct outcome *out, uint32_t node, bool holds);
/* `difference` is what is to spare. */
void outcome_compared(const struct evaluator *evaluator, uint32_t node, bool strict,
                      const struct form *difference, struct outcome *out);
/* Which of two known or unknown sides decides an `and` or `or`; 1 or 2, 0 where it is unknown.
 */
int outcome_side(bool both, const struct outcome *x, const struct outcome *y);

static inline void verdict_of(const struct outcome *outcome, struct verdict *out)
{
    *out = (struct verdict){
        .truth = (enum truth)outcome->truth,
        .has_margin = outcome->truth != TRUTH_UNKNOWN && outcome->has_margin,
        .margin = outcome->margin,
        .size = outcome->size,
        .decided_by = outcome->decided_by,
    };
}

/* run_list.c */
struct list {
    const struct formula_node *domain;
    uint32_t count, record;
};
uint8_t run_list_open(struct evaluator *evaluator, const struct formula_node *quantifier,
                      struct list *out);
void run_list_at(struct evaluator *evaluator, const struct list *list, uint32_t index);
uint8_t run_list_quantity(struct evaluator *evaluator, uint32_t node, struct form *out,
                          struct decided *decided);
void run_list_truth(struct evaluator *evaluator, uint32_t node, struct outcome *out,
                    struct decided *decided);
void run_each_compared(struct evaluator *evaluator, uint32_t node, struct outcome *out,
                       struct decided *decided);

/* run_distinct.c */
void run_distinct(struct evaluator *evaluator, uint32_t node, struct outcome *out,
                  struct decided *decided);

/* deviation.c */
/* The name of what a field's own tolerance leaves open; `element` of a list, or NODE_NONE. */
deviation_name deviation_own(struct evaluator *evaluator, const struct formula_node *leaf,
                             uint32_t record, uint32_t element);
/* That of a tolerance which a formula adds, by its OP_NAME. */
deviation_name deviation_of(struct evaluator *evaluator, const struct formula_node *name);
void deviations_forget(struct evaluator *evaluator);

/* trace.c */
void trace_note(struct evaluator *evaluator, const struct formula_node *leaf, uint32_t record,
                const struct env_value *value);
/* What has been found missing since a mark did no harm: `known` or `otherwise` had an answer,
 * or another side decided.  Nothing that was found after it is still needed then, either. */
void trace_answer_noted(struct evaluator *evaluator, size_t mark);

static inline size_t trace_mark(const struct evaluator *evaluator)
{
    return evaluator->recording ? evaluator->tracer.missing.count : 0;
}

static inline void trace_answer(struct evaluator *evaluator, size_t mark)
{
    if (evaluator->recording && mark < evaluator->tracer.missing.count)
        trace_answer_noted(evaluator, mark);
}

/* What an absent left side of `otherwise` comes to, once the right side's state is known. */
static inline uint8_t trace_otherwise(struct evaluator *evaluator, size_t mark, uint8_t right)
{
    if (right == ENV_KNOWN)
        trace_answer(evaluator, mark);
    return right;
}

/* A call we are in: what its parameters stand for. */
struct within {
    uint32_t call; /* OP_CALL */
    const struct within *outer;
};

/* trace.c: the comparison that decided, and what it compared. */
struct compared {
    uint32_t node;
    uint32_t high, low; /* nodes of the sides; NODE_NONE where no quantities were compared */
    const struct within *within;
};

/* The argument that the parameter in `slot` stands for, and the call whose place it is written
 * in
 * (`*outer`); NODE_NONE where it is no parameter of the calls we are in. */
uint32_t within_argument(const struct evaluator *evaluator, const struct within *within,
                         uint32_t slot, const struct within **outer);

/* trace.c */
/* Starts noting reads afresh, in `arena`. */
void trace_start(struct evaluator *evaluator, struct arena *arena);

#endif
