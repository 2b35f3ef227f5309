/* A compiled set of formulas: flat, without pointers to other than static text, so that the
 * built-in rulebooks are plain tables in the program and need no loading.
 *
 * Nodes are numbered; operands are numbers of nodes.  Definitions are compiled once for each
 * kind of arguments they are called with; no definition can call itself, so every parameter and
 * bound name has a slot of its own in one frame.
 */
#ifndef PROVEOUT_FORMULA_PROGRAM_H
#define PROVEOUT_FORMULA_PROGRAM_H

#include "formula/environment.h"

#define NODE_NONE UINT32_MAX

struct formula_node {
    uint8_t op;   /* enum formula_op, formula/internal.h */
    uint8_t type; /* enum value_type */
    uint8_t kind; /* of records */
    uint8_t part; /* of a pair */
    struct dimension dimension;
    uint16_t leaf;
    uint32_t a, b, c;         /* operands, or what the operation takes */
    uint32_t text, text_size; /* where it was written, in `text` of the program; for arithmetic
                                 and messages */
    double number;
};

/* One definition as compiled for one kind of arguments. */
struct formula_call {
    uint32_t body;       /* node */
    uint32_t first_slot; /* its parameters' slots, one after another */
    uint32_t parameters;
    bool keeps; /* all parameters are records: its value is kept until one of them changes */
    uint32_t name, name_size; /* in `text` */
};

struct program {
    const struct formula_node *nodes;
    uint32_t node_count;
    const struct formula_call *calls;
    uint32_t call_count;
    uint32_t slot_count; /* of the frame */
    uint32_t place_count; /* of what is read: leaves by part, with and without tolerance */
    const char *text;    /* all formulas' texts, one after another, terminated */
    uint32_t text_size;
};

/* Some leaves have other values: what can come out differently then. */
struct formula_change {
    const struct program *program;
    const bool *leaves; /* by number: has it another value? */
    uint32_t *places;   /* where what is read has another value, one after another */
    uint32_t place_count;
    bool *looked;       /* by call: is it known whether it can change? */
    bool *changes;      /* by call: it can */
    uint32_t *calls;    /* those that can, one after another */
    uint32_t count;
};

#endif
