/* Dimensions: what kind of quantity a number is.
 *
 * Base dimensions are length, mass, time, angle and step.  Angle and step are
 * kept apart from bare numbers on purpose: steps per turn, a lead (length per
 * turn), a pulse rate (steps per second) and a rotation speed then do not mix up.
 * Inertia is kg m2/rad2 and torque N m/rad, so that inertia times rotation speed
 * over torque is a time.
 */
#ifndef PROVEOUT_QUANTITY_DIMENSION_H
#define PROVEOUT_QUANTITY_DIMENSION_H

#include "base/buffer.h"

#include <stdbool.h>
#include <stdint.h>
#include <string.h>

/* Exponents of metre, kilogram, second, radian, step. */
struct dimension {
    int8_t length, mass, time, angle, step;
};

_Static_assert(sizeof(struct dimension) == 5, "compared as bytes");

#define DIMENSION_NONE         ((struct dimension){0, 0, 0, 0, 0})
#define DIMENSION_LENGTH       ((struct dimension){1, 0, 0, 0, 0})
#define DIMENSION_TIME         ((struct dimension){0, 0, 1, 0, 0})
#define DIMENSION_SPEED        ((struct dimension){1, 0, -1, 0, 0})
#define DIMENSION_ACCELERATION ((struct dimension){1, 0, -2, 0, 0})
#define DIMENSION_ROTATION     ((struct dimension){0, 0, -1, 1, 0})
#define DIMENSION_RATE         ((struct dimension){0, 0, -1, 0, 1})
#define DIMENSION_STEPS_LENGTH ((struct dimension){-1, 0, 0, 0, 1})
#define DIMENSION_STEPS_TURN   ((struct dimension){0, 0, 0, -1, 1})
#define DIMENSION_LEAD         ((struct dimension){1, 0, 0, -1, 0})
#define DIMENSION_INERTIA      ((struct dimension){2, 1, 0, -2, 0})
#define DIMENSION_TORQUE       ((struct dimension){2, 1, -2, -1, 0})
#define DIMENSION_ANGLE        ((struct dimension){0, 0, 0, 1, 0})

static inline bool dimension_equal(struct dimension a, struct dimension b)
{
    return memcmp(&a, &b, sizeof a) == 0;
}

static inline bool dimension_is_none(struct dimension d)
{
    return dimension_equal(d, DIMENSION_NONE);
}

/* Sums of exponents; false (nothing written) where one leaves -100..100. */
bool dimension_multiply(struct dimension a, struct dimension b, struct dimension *out);
bool dimension_divide(struct dimension a, struct dimension b, struct dimension *out);
bool dimension_power(struct dimension a, int power, struct dimension *out);
/* Halves every exponent; false where one is odd. */
bool dimension_root(struct dimension a, struct dimension *out);

/* The trade's word, terminated: "length", "speed", "rotation speed", "number" ...; for one that
 * has no word, its units ("kg*m^2/s^3"), built in `arena`. */
const char *dimension_name(struct dimension d, struct arena *arena);

/* Always its SI units: "m", "kg*m^2/(s^2*rad)", "1/s"; "1" for a bare number.  In `arena`. */
const char *dimension_symbols(struct dimension d, struct arena *arena);

#endif
