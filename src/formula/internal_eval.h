/* What the files of the evaluator share.  Only eval.c goes down a formula; the others are asked
 * by it about what it has already worked out, and ask nothing back.
 *
 * Every value has a state: known, absent or wrong (enum env_state; the greater wins).  Results
 * are written through the last parameter, and count only where the state is known.
 */
#ifndef PROVEOUT_FORMULA_INTERNAL_EVAL_H
#define PROVEOUT_FORMULA_INTERNAL_EVAL_H

#include "base/bug.h"
#include "base/vector.h"
#include "formula/evaluate.h"
#include "formula/internal.h"
#include "formula/pattern.h"

/* What a name of the frame stands for now. */
struct slot {
    uint8_t state; /* enum env_state */
    uint8_t kind;
    uint32_t record;
    uint32_t entry;   /* while recording: of the argument that it was given */
    struct form form; /* of quantities */
};

/* A leaf as it was read last, or a number. */
struct leaf {
    uint32_t epoch; /* of the file for which it counts */
    uint32_t record;
    struct env_value value;
    const struct form *known; /* `form`, or that it is not known */
    struct form form;         /* of quantities, dates: as the formula reads it */
};

/* How a truth came out, on the way up to a verdict. */
struct outcome {
    uint8_t truth; /* enum truth */
    uint8_t state; /* why it is unknown: ENV_ABSENT, ENV_WRONG, ENV_OPEN */
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
    uint32_t epoch;     /* of the file it was computed for */
    uint32_t recording; /* in which `entry` tells how */
    uint32_t entry;
    uint32_t keys[KEY_COUNT];
    uint8_t state;
    bool statistical;       /* truths: how tolerances were added */
    struct decided decided; /* quantifiers */
    uint32_t unknown;       /* and the first element that is not known, or NODE_NONE */
    struct outcome outcome; /* truths */
    struct view text;
    struct form form; /* quantities, dates */
};

/* What came of one node, and of what: a tree in the order in which things were worked out.
 * Entries are numbers in the record; NODE_NONE is none. */
struct entry {
    const struct formula_node *node; /* OP_DOMAIN: the list itself, or one of its elements */
    uint32_t outer, first, last,
        next;            /* the entry around it, those within, the next beside it */
    uint32_t stands_for; /* of a call: its body; of a slot: its argument */
    uint32_t read;       /* of a leaf; among the reads */
    uint32_t owner;      /* and the record it belongs to */
    uint32_t walk;       /* the last walk that came by */
    uint8_t state;       /* enum env_state */
    bool is_element;
    union {
        uint32_t form;          /* quantities, dates; among the forms */
        struct outcome outcome; /* truths */
        struct view text;       /* texts */
        uint32_t record;        /* things, elements */
        struct env_value value; /* leaves of other types */
    } of;
};

/* A read on the way to a struct formula_read. */
struct noted {
    struct formula_read read;
    bool needed;   /* not there, and missed */
    uint32_t next; /* in its bucket: index + 1 */
};

enum {
    NOTED_BUCKETS = 256,
    ENTRIES_MAX = 1 << 15, /* what is beyond is worked out, and not noted */
};

/* How one formula was worked out, for saying it. */
struct record {
    uint32_t number; /* which recording it is, from 1 */
    uint32_t open;   /* entry that is being worked out */
    uint32_t walk;
    bool full;
    struct arena *arena;
    VECTOR(struct entry) entries; /* the whole is the first */
    VECTOR(struct form) forms;
    VECTOR(struct noted) reads;      /* in the order first asked, each once */
    uint32_t buckets[NOTED_BUCKETS]; /* index + 1 */
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

enum { PATTERN_SEARCHES = 10 }; /* of a file: so many may use up the budget of one */

/* A pattern of the program, compiled when it is first asked. */
struct compiled_pattern {
    uint32_t node;
    struct pattern *pattern;
    struct compiled_pattern *next;
};

struct evaluator {
    struct arena *arena;
    const struct program *program;
    const struct formula_node *nodes;
    struct environment_values values;
    struct slot *slots;
    struct leaf *leaves;      /* what is read, by place; the first for lists */
    struct kept *kept;        /* `ways` for each call */
    uint32_t ways, ways_room; /* ways: a power of two */
    uint32_t epoch;
    uint64_t steps, steps_max; /* steps_max: UINT64_MAX for no limit */
    uint64_t recorded_steps;
    bool exhausted, statistical;
    struct formula_range range; /* that is asked about */
    const bool *moved;          /* leaves that move with it; NULL: there is no range */
    struct record *record;      /* NULL: not recording now */
    struct record last;         /* what was recorded last */
    struct verdict verdict;     /* the last traced */
    struct deviation_list deviations;
    struct compiled_pattern *patterns;
    uint64_t pattern_steps; /* left for a file, or for what is asked after a change */
    void *scratch;          /* for `distinct` */
    size_t scratch_size;
};

static inline const struct formula_node *node_of(const struct evaluator *evaluator,
                                                 uint32_t node)
{
    return &evaluator->nodes[node];
}

/* Counts a step; false where there are none left. */
static inline bool step_on(struct evaluator *evaluator)
{
    if (++evaluator->steps <= evaluator->steps_max)
        return true;
    evaluator->exhausted = true;
    return false;
}

static inline uint8_t worse(uint8_t a, uint8_t b)
{
    return a > b ? a : b;
}

/* What a quantity comes to is a form, or one of these, by its state, where it is not known.  It
 * lies in the room that was given for it, or where it is kept: good until that room is used
 * again and, of a name, as long as that stands where it does. */
extern const struct form unknown_forms[4];

static inline const struct form *form_unknown(uint8_t state)
{
    return &unknown_forms[state];
}

static inline bool form_known(const struct form *form)
{
    return (uintptr_t)form - (uintptr_t)unknown_forms >= sizeof unknown_forms;
}

static inline uint8_t form_state(const struct form *form)
{
    return form_known(form)                  ? ENV_KNOWN
           : form == form_unknown(ENV_OPEN)  ? ENV_OPEN
           : form == form_unknown(ENV_WRONG) ? ENV_WRONG
                                             : ENV_ABSENT;
}

/* A copy of the terms that are set, not of the room for them. */
static inline void copy_form(struct form *out, const struct form *from)
{
    memcpy(out, from, offsetof(struct form, terms));
    for (uint32_t i = 0; i < from->count; i++)
        out->terms[i] = from->terms[i];
}

/* eval.c */
const struct form *run_quantity(struct evaluator *evaluator, uint32_t node, struct form *room);
void run_truth(struct evaluator *evaluator, uint32_t node, struct outcome *out);
/* Which record a node stands for. */
uint8_t run_record(struct evaluator *evaluator, uint32_t node, uint32_t *record);
uint8_t run_any(struct evaluator *evaluator, uint32_t node); /* only whether it is known */

/* leaves.c: `n` reads a leaf of `record`, whichever that is. */
void leaf_fill(struct evaluator *evaluator, const struct formula_node *n, uint32_t record,
               struct leaf *leaf);
/* A leaf of whatever type, or the list that an OP_DOMAIN goes through; good until it is read of
 * another record.  Rules are asked record by record, so it mostly lies there already. */
static inline const struct leaf *leaf_read(struct evaluator *evaluator,
                                           const struct formula_node *n, uint32_t record)
{
    struct leaf *leaf = &evaluator->leaves[n->op == OP_DOMAIN ? 0 : n->c];
    if (leaf->epoch != evaluator->epoch || leaf->record != record)
        leaf_fill(evaluator, n, record, leaf);
    return leaf;
}
/* An OP_NUMBER. */
const struct form *leaf_number(struct evaluator *evaluator, const struct formula_node *n,
                               struct form *room);
/* Does the value of a leaf pass the test of `n`? */
bool leaf_passes(const struct formula_node *n, const struct env_value *value);

/* arithmetic.c: an operation with what it is done to, `y` where it takes two; `room` may be
 * where either lies.  For OP_WIDEN `name` is that of the width. */
const struct form *arithmetic_one(const struct evaluator *evaluator,
                                  const struct formula_node *n, const struct form *x,
                                  struct form *room);
const struct form *arithmetic_two(const struct evaluator *evaluator,
                                  const struct formula_node *n, const struct form *x,
                                  const struct form *y, deviation_name name, struct form *room);
/* Is it not one number, since all values of a range are asked about at once? */
bool form_is_spread(const struct evaluator *evaluator, const struct form *form);

/* outcomes.c */
static inline void outcome_unknown(struct outcome *out, uint8_t state)
{
    *out = (struct outcome){.truth = TRUTH_UNKNOWN,
                            .state = state == ENV_KNOWN ? ENV_ABSENT : state,
                            .decided_by = NODE_NONE};
}
static inline void outcome_plain(struct outcome *out, uint32_t node, bool holds)
{
    *out = (struct outcome){.truth = holds ? TRUTH_TRUE : TRUTH_FALSE, .decided_by = node};
}
/* What comparison `node` comes to, where `high` should be the higher. */
void outcome_compared(const struct evaluator *evaluator, uint32_t node, bool strict,
                      const struct form *high, const struct form *low, struct outcome *out);
/* What OP_EQUAL and OP_INSIDE come to; all known. */
void outcome_equal(const struct evaluator *evaluator, uint32_t node, const struct form *x,
                   const struct form *y, struct outcome *out);
void outcome_inside(const struct evaluator *evaluator, uint32_t node, const struct form *x,
                    const struct form *low, const struct form *high, struct outcome *out);
/* Which of two known or unknown sides decides an `and` or `or`; 1 or 2, 0 where it is unknown.
 */
int outcome_side(bool both, const struct outcome *x, const struct outcome *y);
/* Does one count before another, both of one truth?  The least margin for all of them, the
 * greatest for one of them; the first where there are none. */
bool outcome_counts_before(bool all, const struct outcome *one, const struct outcome *other);
/* What OP_IS_TEXT and OP_MATCHES come to. */
void outcome_of_texts(struct evaluator *evaluator, uint32_t node, struct view a, struct view b,
                      struct outcome *out);

/* kept.c: what calls came to, by what their parameters stand for. */

/* The arguments of a call whose parameters are all records. */
struct arguments {
    uint32_t keys[KEY_COUNT], entries[KEY_COUNT];
};
static inline uint32_t kept_key(uint8_t state, uint32_t record)
{
    return state == ENV_KNOWN ? record : NODE_NONE - state;
}
/* Where what a call comes to is kept for these; whether it is `known`.  If not, it is not kept
 * before kept_fill(), which gives false where it is not to be. */
struct kept *kept_place(const struct evaluator *evaluator, uint32_t call,
                        const uint32_t keys[KEY_COUNT], bool is_truth, bool *known);
bool kept_fill(const struct evaluator *evaluator, struct kept *kept);
/* The same at a glance, without a record: of no argument or one; NULL where that does not tell. */
static inline const struct kept *kept_at_once(const struct evaluator *evaluator,
                                              const struct formula_node *call)
{
    const struct kept *kept = &evaluator->kept[call->a];
    if (kept->epoch != evaluator->epoch || evaluator->record || evaluator->ways != 1)
        return NULL;
    if (call->b == NODE_NONE)
        return kept;
    const struct formula_node *argument = node_of(evaluator, call->b);
    const struct formula_node *record = node_of(evaluator, argument->a);
    if (argument->b != NODE_NONE || record->op != OP_RECORD_SLOT)
        return NULL;
    const struct slot *slot = &evaluator->slots[record->a];
    return slot->state == ENV_KNOWN && slot->record == kept->keys[0] ? kept : NULL;
}
/* Lets the parameters of a call stand for its arguments. */
void kept_bind(struct evaluator *evaluator, const struct formula_node *call,
               const struct arguments *arguments);

/* lists.c: going through a list, by whoever works out its elements. */

/* The best outcome of each truth so far. */
struct best {
    struct outcome outcome[2];
    uint32_t element[2];
};

struct walk {
    struct evaluator *evaluator;
    const struct formula_node *n, *domain; /* the quantifier, and its OP_DOMAIN */
    uint32_t node;          /* the number of the quantifier */
    uint32_t count, record; /* elements; of a list of numbers whose it is */
    uint8_t state;          /* of the elements that are not known */
    uint32_t unknown;       /* the first of them, or NODE_NONE */
    struct decided decided;
    struct best best;  /* truths */
    struct form *form; /* quantities: where they go */
    double most;       /* the nominal value of what decided */
    uint32_t taken;    /* elements that count */
    struct item *items;
};

/* Over the list of quantifier `node`, a list of numbers as it stands in `leaf`; the state of
 * the list. */
uint8_t list_open(struct walk *walk, struct evaluator *evaluator, uint32_t node,
                  const struct leaf *leaf);
/* Lets the bound name stand for an element. */
void list_stand_at(const struct walk *walk, uint32_t index);
/* Takes what was worked out of an element; `where`: whether it is among those asked about, which
 * is known or not, but never denied. */
void list_take_truth(struct walk *walk, const struct outcome *where, const struct outcome *one,
                     uint32_t index);
void list_take_form(struct walk *walk, const struct outcome *where, const struct form *element,
                    uint32_t index);
/* The nominal value of a quantity; its state, ENV_OPEN where it is not the same in all of a
 * range. */
uint8_t list_number(const struct evaluator *evaluator, const struct form *form, double *number);
void list_take_item(struct walk *walk, const struct outcome *where, uint8_t state,
                    double number, struct view text, uint32_t index);
/* Does it depend on no other element any more? */
bool list_is_decided(const struct walk *walk);
/* What all of them come to. */
void list_truth(struct walk *walk, struct outcome *out);
uint8_t list_form(struct walk *walk);
/* Where to keep it, NULL where it cannot be; whether it is `known`. */
struct kept *list_recall(struct walk *walk, bool is_truth, bool *known);
bool list_retain(const struct walk *walk, struct kept *kept);

/* deviation.c */
/* The name of what a field's own tolerance leaves open; `element` of a list, or NODE_NONE. */
deviation_name deviation_own(struct evaluator *evaluator, const struct formula_node *leaf,
                             uint32_t record, uint32_t element);
/* That of a tolerance which a formula adds, by its OP_NAME and the record that the field of its
 * width belongs to, or NODE_NONE. */
deviation_name deviation_of(struct evaluator *evaluator, const struct formula_node *name,
                            uint32_t owner);
void deviations_forget(struct evaluator *evaluator);

/* record.c */
/* Records from here on, until `record` is taken away. */
void record_start(struct evaluator *evaluator);
/* Opens an entry within the one that is open, or gives NODE_NONE where there is no room. */
uint32_t record_open(struct record *record, const struct formula_node *node);
void record_close(struct record *record, uint32_t entry, uint8_t state);
/* The same with the value of a quantity. */
void record_quantity(struct evaluator *evaluator, uint32_t entry, const struct form *form);
/* The entry that is opened next while recording. */
static inline uint32_t next_entry(const struct evaluator *evaluator)
{
    return evaluator->record ? (uint32_t)evaluator->record->entries.count : NODE_NONE;
}
/* The open entry stands for another; for none where that was not opened. */
void record_stand(struct record *record, uint32_t entry);
/* The open entry has read a leaf. */
void record_read(struct evaluator *evaluator, const struct formula_node *leaf, uint32_t owner,
                 const struct env_value *value);

/* For reading a record: NULL where there is no such entry. */
const struct entry *entry_at(const struct record *record, uint32_t entry);
const struct entry *entry_part(const struct record *record, const struct entry *entry,
                               uint32_t index);
const struct form *entry_form(const struct record *record, const struct entry *entry);

#endif
