/* Affine forms: a quantity with its tolerances by name.
 *
 * A form stands for   mid + w1 e1 + w2 e2 + ... + rest e'   with every e somewhere in
 * [-1, 1].  Each named deviation is one physical unknown: the same name is the same unknown
 * everywhere, so that `a - a` is exactly nothing and two uses of one setter height cancel.
 * `rest` is what nonlinear steps add, each of its own.
 *
 * `mid` is always the value computed from the numbers as typed.  [low, high] encloses the truth
 * as well: after every step it is the better of plain interval arithmetic and of the form, so a
 * form never says less than intervals would.
 *
 * Arithmetic is in doubles without directed rounding; comparing allows for that (form_settle).
 *
 * Sources: Stolfi and de Figueiredo, An Introduction to Affine Arithmetic, TEMA 4(3), 2003.
 */
#ifndef PROVEOUT_QUANTITY_FORM_H
#define PROVEOUT_QUANTITY_FORM_H

#include <stdbool.h>
#include <stdint.h>

enum { FORM_TERMS = 12 };

/* Whose unknown: given by whoever makes the form; 0 is no name. */
typedef uint64_t deviation_name;

/* Where in a range a number is, when the whole range is asked about at once.  That is no
 * tolerance: nominal values move with it, and it adds in full. */
#define DEVIATION_RANGE UINT64_MAX

struct form_term {
    deviation_name name;
    double width; /* signed: the direction in which the value moves with the unknown */
};

struct form {
    double mid;       /* nominal */
    double low, high; /* encloses the truth */
    double rest;      /* half-width of unnamed remainders, >= 0 */
    double scale;     /* largest magnitude that went into a sum, for form_settle */
    uint32_t count;
    struct form_term terms[FORM_TERMS]; /* by rising name; only `count` of them are set */
};

/* The number x without tolerance. */
void form_exact(struct form *out, double x);

/* x with a named tolerance of half-width `width` (>= 0; 0 adds no term). */
void form_with(struct form *out, double x, deviation_name name, double width);

/* x itself widened by a named tolerance: x ± width.  `width` may have tolerances of its own;
 * its upper bound counts, its nominal value names nothing.  A negative width counts as its
 * size. */
void form_widen(struct form *out, const struct form *x, deviation_name name,
                const struct form *width);

/* Any number from `least` up: what is between, and how far up it goes, is not known. */
void form_at_least(struct form *out, double least);

/* One of two, nobody knows which. */
void form_either(struct form *out, const struct form *x, const struct form *y);

/* The nominal value without any tolerance. */
void form_nominal(struct form *out, const struct form *x);

/* The nominal values of a range: what is left over by a line may be its. */
void form_nominal_range(struct form *out, const struct form *x);

/* Arithmetic.  `out` may be one of the operands.  Where terms run over FORM_TERMS, the smallest
 * go into `rest`. */
void form_negate(struct form *out, const struct form *x);
void form_add(struct form *out, const struct form *x, const struct form *y);
void form_subtract(struct form *out, const struct form *x, const struct form *y);
void form_scale(struct form *out, const struct form *x, double factor);
void form_multiply(struct form *out, const struct form *x, const struct form *y);
/* False, and nothing written, where y may be 0. */
bool form_divide(struct form *out, const struct form *x, const struct form *y);
/* False where a negative power meets what may be 0, and for powers beyond -1000..1000. */
bool form_power(struct form *out, const struct form *x, int power);
/* False where x may be negative beyond rounding. */
bool form_root(struct form *out, const struct form *x);
void form_absolute(struct form *out, const struct form *x);
void form_hypot(struct form *out, const struct form *x, const struct form *y);
void form_maximum(struct form *out, const struct form *x, const struct form *y);
void form_minimum(struct form *out, const struct form *x, const struct form *y);

/* What the difference `x` has to spare above nothing in the worst case (its lowest value).
 * `statistical`: named terms add as the root of the sum of their squares, remainders after
 * that; never wider than the worst case. */
double form_least(const struct form *x, bool statistical);
double form_greatest(const struct form *x, bool statistical);

/* The most that form_least can come to anywhere in the range: where that is less than nothing,
 * there is too little everywhere. */
double form_best(const struct form *x, bool statistical);

/* `margin`, or exactly 0 where it is within 8 units in the last place of the largest number
 * that went into `x`: 16.03 mm against 10 + 6 + 0.03 mm is nothing to spare, not 2e-18 m too
 * little. */
double form_settle(const struct form *x, double margin);

/* Is every bound a finite number? */
bool form_is_finite(const struct form *x);

#endif
