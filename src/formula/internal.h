/* What the compiler writes and the evaluator reads: the operations of formulas. */
#ifndef PROVEOUT_FORMULA_INTERNAL_H
#define PROVEOUT_FORMULA_INTERNAL_H

#include "formula/program.h"

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

#endif
