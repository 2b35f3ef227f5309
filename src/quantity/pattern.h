/* What a number with its unit may look like, as a regular expression, for those who look at a
 * file before it is read.
 *
 * It is made of the tables that units are read by, in words that Perl, Python and browsers
 * understand alike.  It takes everything that quantity_read() takes.  What it cannot see is
 * how large a number is: 6 9/8, a number too large for a double, 1.5e-1 where a whole one is
 * wanted.
 */
#ifndef PROVEOUT_QUANTITY_PATTERN_H
#define PROVEOUT_QUANTITY_PATTERN_H

#include "base/buffer.h"
#include "quantity/dimension.h"

struct quantity_shape {
    struct dimension dimension;
    bool negative;  /* may it lie below zero? */
    bool tolerance; /* may it have one other than nothing? */
    bool count;     /* a whole number from 1, without a unit */
};

/* Adds the pattern of a whole text. */
void quantity_add_pattern(struct buffer *out, const struct quantity_shape *shape);

#endif
