/* Random formulas through the program: a world of random values, definitions, and many formulas
 * compiled as one program. */
#ifndef PROVEOUT_TESTS_FORMULA_RANDOM_RUN_H
#define PROVEOUT_TESTS_FORMULA_RANDOM_RUN_H

#include "formula/evaluate.h"
#include "random_tree.h"

enum { RUN_DEPTH = 5, RUN_CUTTER = 1 };

/* One formula and what the program makes of it, asked of cutter RUN_CUTTER. */
struct asked_formula {
    const char *text;
    const struct tree *tree;
    const struct tree *const *definitions;
    bool known;
    struct form form; /* where known */
};

/* Fields are multiples of 1/16 mm, their tolerances of 1/64 mm.  `look` is called for each of
 * `count` formulas. */
void random_run(int count, void (*look)(void *user, const struct asked_formula *asked),
                void *user);

#endif
