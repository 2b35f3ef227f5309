/* What the compiler writes and the evaluator reads: the operations of formulas; and what the
 * files of the evaluator share.
 *
 * Every value has a state: known, absent or wrong (enum env_state; the greater wins).  Results
 * are written through the last parameter, and count only where the state is known.
 */
#ifndef PROVEOUT_FORMULA_INTERNAL_H
#define PROVEOUT_FORMULA_INTERNAL_H

#include "base/bug.h"
#include "base/vector.h"
#include "formula/evaluate.h"
#include "formula/pattern.h"

/* Operands in brackets are numbers of nodes unless said otherwise. */
enum formula_op {
    /* quantities; dates too where marked * */
    OP_NUMBER,   /* `number`; `kind`: the unit it is written in; b: it was worked out; c: its
                    place among what is read */
    OP_LEAF,     /* * leaf, part, [a] the record it belongs to or NODE_NONE; any type.  c, of
                    OP_FLAG and OP_RECORD_LEAF too: its place among what is read */
    OP_SLOT,     /* a: slot that holds a quantity */
    OP_NEGATE,   /* [a] */
    OP_ADD,      /* [a] [b] */
    OP_SUBTRACT, /* * */
    OP_MULTIPLY,
    OP_DIVIDE,
    OP_SCALE, /* [a] times `number`; [b] the number as written */
    OP_POWER, /* [a], b: exponent as int32_t */
    OP_ROOT,
    OP_ABSOLUTE,
    OP_HYPOT,
    OP_MAXIMUM,
    OP_MINIMUM,
    OP_WIDEN,    /* [a] ± [b], [c] OP_NAME */
    OP_NOMINAL,  /* [a], which was compiled without tolerances */
    OP_DISTANCE, /* [a] the arithmetic, [b] [c] OP_PLACE or records: what it was asked between
                  */
    OP_COUNT,    /* quantifiers: [a] body, [b] `where` or NODE_NONE, [c] OP_DOMAIN */
    OP_LARGEST,
    OP_SMALLEST,
    /* any type */
    OP_CALL,      /* a: call, [b] first OP_ARGUMENT or NODE_NONE */
    OP_IF,        /* [a] [b] [c] */
    OP_OTHERWISE, /* [a] [b] */
    /* truths; `kind` 1: has a margin, of `dimension`.  FLAG_NEGATE in `part` where it makes a
     * difference */
    OP_TRUTH,        /* `number` 0 or 1 */
    OP_FLAG,         /* leaf, [a] */
    OP_COMPARE,      /* [a] at least [b] */
    OP_COMPARE_EACH, /* [a] against every element of the quantifier [b] */
    OP_EQUAL,        /* [a] [b] */
    OP_INSIDE,       /* [a] between [b] and [c] */
    OP_AND,
    OP_OR,
    OP_KNOWN,     /* [a] of any type */
    OP_IS_WORD,   /* [a] OP_LEAF, b: word */
    OP_IS_NONE,   /* [a] OP_LEAF */
    OP_IS_TEXT,   /* [a] [b] */
    OP_IS_SAME,   /* [a] [b] two leaves of one choice */
    OP_IS_RECORD, /* [a] [b] */
    OP_HAS,       /* [a] OP_LEAF, b: word */
    OP_BEFORE,    /* [a] OP_LEAF, b, c: words */
    OP_MATCHES,   /* [a] text, [b] OP_TEXT the pattern */
    OP_EVERY,     /* as OP_COUNT */
    OP_ANY,
    OP_DISTINCT,
    /* texts */
    OP_TEXT, /* its own range, without quotes */
    /* records */
    OP_RECORD_SLOT,  /* a: slot */
    OP_RECORD_FIXED, /* a: index */
    OP_RECORD_LEAF,  /* leaf, [a] the record it belongs to or NODE_NONE */
    /* parts of others */
    OP_DOMAIN,   /* kind; or leaf, [a] of a list of quantities; b: slot, c: its call for keeping
                    or   NODE_NONE */
    OP_ARGUMENT, /* [a], [b] the next or NODE_NONE */
    OP_NAME,     /* of a deviation: leaf, part, [a] its record or NODE_NONE, b, c: slots or
                    NODE_NONE.  With `number` > 0 it stands for a width without a field, and this
                    is its number */
    OP_PLACE,    /* only its text */
    /* messages */
    OP_SHORTFALL,
    OP_MARGIN,
    OP_OP_COUNT
};

/* Bits of `part`. */
enum {
    PART_MASK = 3,           /* of a pair */
    FLAG_NOMINAL = 4,        /* read without tolerance */
    FLAG_SAID_NOMINAL = 8,   /* and written so */
    FLAG_NEGATE = 16,        /* the opposite */
    FLAG_ONE = 32,           /* what is read at this place is always the same, or a number */
    FLAG_STRICT = 32,        /* OP_COMPARE*: more than, not at least */
    FLAG_SWAPPED = 64,       /* OP_COMPARE*: written the other way round, with < */
    FLAG_EACH_IS_HIGH = 128, /* OP_COMPARE_EACH: the elements must be the higher ones */
};

/* Does it read a leaf?  An OP_DOMAIN does so too where it goes through a list of numbers. */
static inline bool op_reads_leaf(uint8_t op)
{
    return op == OP_LEAF || op == OP_FLAG || op == OP_RECORD_LEAF;
}

enum { DEVIATION_LEAF_MAX = 4095 }; /* a leaf's or width's number in the name of a deviation */

/* Nodes below a node, for walks over the tree: at most 3 in `below`, in the order of the text
 * where it matters.  Bodies of calls are not below. */
unsigned formula_node_below(const struct formula_node *node, uint32_t below[3]);

static inline bool op_is_quantifier(uint8_t op)
{
    return op == OP_EVERY || op == OP_ANY || op == OP_DISTINCT || op == OP_COUNT ||
           op == OP_LARGEST || op == OP_SMALLEST;
}

/* What a name of the frame stands for now. */
struct slot {
    uint8_t state; /* enum env_state */
    uint8_t kind;
    uint32_t record;
    uint32_t entry;   /* while recording: of the argument that it was given */
    struct form form; /* of quantities */
};

/* A leaf that is always of the same record, as it was read; another as it was read last; or a
 * number. */
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
uint8_t run_text(struct evaluator *evaluator, uint32_t node, struct view *out);
void run_truth(struct evaluator *evaluator, uint32_t node, struct outcome *out);
/* Which record a node stands for. */
uint8_t run_record(struct evaluator *evaluator, uint32_t node, uint32_t *record);
/* The same: mostly it is what a name is bound to, or one that is always the same. */
static inline uint8_t quick_record(struct evaluator *evaluator, uint32_t node, uint32_t *record)
{
    const struct formula_node *n = node_of(evaluator, node);
    if (evaluator->record || (n->op != OP_RECORD_SLOT && n->op != OP_RECORD_FIXED))
        return run_record(evaluator, node, record);
    bool fixed = n->op == OP_RECORD_FIXED;
    *record = fixed ? n->a : evaluator->slots[n->a].record;
    return fixed ? ENV_KNOWN : evaluator->slots[n->a].state;
}
/* A leaf of whatever type, or the list that an OP_DOMAIN goes through; good until the next is
 * read. */
uint8_t run_leaf(struct evaluator *evaluator, uint32_t node, const struct leaf **leaf);
uint8_t run_any(struct evaluator *evaluator, uint32_t node); /* only whether it is known */
void outcome_unknown(struct outcome *out, uint8_t state);
void outcome_plain(struct outcome *out, uint32_t node, bool holds);
/* What comparison `node` comes to, where `high` should be the higher. */
void outcome_compared(const struct evaluator *evaluator, uint32_t node, bool strict,
                      const struct form *high, const struct form *low, struct outcome *out);
/* Which of two known or unknown sides decides an `and` or `or`; 1 or 2, 0 where it is unknown.
 */
int outcome_side(bool both, const struct outcome *x, const struct outcome *y);
/* calls.c */
/* What a definition comes to, here and now. */
const struct form *call_quantity(struct evaluator *evaluator, const struct formula_node *n,
                                 struct form *room);
uint8_t call_text(struct evaluator *evaluator, const struct formula_node *n, struct view *out);
void call_truth(struct evaluator *evaluator, const struct formula_node *n, struct outcome *out);
/* Where what call number `call` comes to is kept for what its parameters stand for now, NULL
 * where it cannot be; whether it is `known`.  If not, it is not kept before kept_fill(), which
 * gives false where it is not to be. */
struct kept *kept_place(const struct evaluator *evaluator, uint32_t call, bool is_truth,
                        bool *known);
bool kept_fill(const struct evaluator *evaluator, struct kept *kept);

/* lists.c */
const struct form *run_list_quantity(struct evaluator *evaluator, const struct formula_node *n,
                                     struct form *room);
void run_list_truth(struct evaluator *evaluator, const struct formula_node *n,
                    struct outcome *out);
void run_each_compared(struct evaluator *evaluator, uint32_t node, struct outcome *out);

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

/* The comparison or test that decided, and the sides that were compared, NULL where no
 * quantities were. */
struct compared {
    const struct entry *entry, *high, *low;
};

/* say_values.c: adds what was recorded as a value of a message. */
void say_shown(struct evaluator *evaluator, const struct formula_namer *namer, unit_id unit,
               struct buffer *out);
/* say_lines.c: the arithmetic of the deciding comparison, in lines. */
void say_lines(struct evaluator *evaluator, const struct formula_namer *namer,
               const struct compared *compared, struct arena *arena, struct trace *trace);

#endif
