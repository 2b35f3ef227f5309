/* Formulas as trees made at random: written out, and evaluated in ways that share nothing with
 * the program. */
#ifndef PROVEOUT_TESTS_FORMULA_RANDOM_TREE_H
#define PROVEOUT_TESTS_FORMULA_RANDOM_TREE_H

#include "base/buffer.h"

#include <stdint.h>

enum { CUTTERS = 3, ROOT_FIELDS = 5, CUTTER_FIELDS = 3, DEFINITIONS = 6 };

enum op {
    NUMBER,
    ROOT_FIELD,
    CUTTER_FIELD,
    ABSENT_FIELD, /* no operands */
    ADD,
    SUBTRACT,
    TIMES,
    OVER,
    NEGATE,
    SQUARE,
    ABSOLUTE,
    SQUARE_ROOT,
    HYPOT,
    GREATER,
    LESSER,
    WIDEN,
    NOMINAL,
    CHOOSE,
    OTHERWISE,
    CALL,
    LARGEST,
    SMALLEST,
};

/* A length (`length` 1) or a number (0). */
struct tree {
    enum op op;
    int length;
    int field; /* which of its kind; of WIDEN its width; of CALL which definition */
    double number;
    struct tree *a, *b, *c, *d;
};

extern const char *const root_fields[ROOT_FIELDS], *const cutter_fields[CUTTER_FIELDS];

/* The fields' values: nominal, and half-width. */
extern double root_values[ROOT_FIELDS][2], cutter_values[CUTTERS][CUTTER_FIELDS][2];

/* One of 0 .. count - 1; always the same row of them. */
int random_pick(int count);

/* In which text a tree stands: what may be in it. */
struct place {
    struct arena *arena;
    bool cutter; /* a cutter has a name here */
    bool calls;  /* definitions exist */
    bool lists;  /* may go through the list of cutters */
};

struct tree *tree_make(const struct place *place, int length, int depth);

/* As a formula, with as few parentheses as precedence allows; `cutter` is what the cutter is
 * called where it stands. */
void tree_write(struct buffer *out, const struct tree *t, const char *cutter);

enum mode { AS_TYPED, AS_INTERVAL, AS_SAMPLED };

struct range {
    double low, high;
};

/* How a tree is being evaluated. */
struct way {
    enum mode mode;
    uint64_t sample;
    const struct tree *const *definitions;
    bool nominal;
    int records[2], count; /* cutters with a name here, innermost first */
    bool *undefined;       /* a division by what may be nothing, or the like */
};

struct range tree_value(const struct way *way, const struct tree *t);

#endif
