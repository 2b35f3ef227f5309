/* Linear programmes of a few variables and many rows, solved by lp_solve. */
#ifndef PROVEOUT_PROPOSE_LINEAR_H
#define PROVEOUT_PROPOSE_LINEAR_H

#include "base/vector.h"

/* sum of coefficients[j] * x[j] >= least */
struct linear_row {
    double *coefficients; /* one for each variable */
    double least;
};

/* Greatest sum of objective[j] * x[j], with low[j] <= x[j] <= high[j]; -HUGE_VAL and HUGE_VAL:
 * no bound.  A number that is scaled to lie about 1 keeps the most digits. */
struct linear {
    size_t variables;
    double *objective, *low, *high;
    VECTOR(struct linear_row) rows;
};

/* A programme with nothing in it: no rows, objective and bounds all 0. */
void linear_begin(struct linear *out, struct arena *arena, size_t variables);

/* Adds a row, its coefficients all 0, and gives them to be set. */
double *linear_add(struct linear *problem, struct arena *arena, double least);

enum linear_result {
    LINEAR_FOUND,
    LINEAR_NONE,   /* the rows and bounds exclude each other */
    LINEAR_NOT_SO, /* it has no greatest value, or the solver gave up */
};

/* Solves it into x[0..variables - 1], which is written where the result is LINEAR_FOUND.  Lack
 * of memory goes to the host of `arena`, where it is met here: lp_solve itself does not look
 * for it everywhere. */
enum linear_result linear_solve(struct arena *arena, const struct linear *problem, double *x);

#endif
