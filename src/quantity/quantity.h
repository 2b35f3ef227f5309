/* Quantities as people write them: `NUMBER UNIT`, with one optional tolerance.
 *
 *     42 mm   -155.2mm   6 1/8 in   1/4"   42 mm ± 0.5 mm   42 ± 0.5 mm   42 mm +/- 0.5 mm
 *
 * Pure: no findings.  A reading gives a value, or where and why it is none.
 */
#ifndef PROVEOUT_QUANTITY_QUANTITY_H
#define PROVEOUT_QUANTITY_QUANTITY_H

#include "quantity/number.h"
#include "quantity/unit.h"

struct quantity {
    double si;        /* in SI of the wanted dimension */
    double tolerance; /* half-width, SI, 0 where none is written; never negative */
    unit_id unit;     /* as written */
};

enum quantity_status {
    QUANTITY_OK,
    QUANTITY_NOT_A_NUMBER,    /* see `number` in the trouble */
    QUANTITY_UNIT_MISSING,    /* a bare number where a dimension is wanted */
    QUANTITY_UNIT_UNKNOWN,    /* what follows the number is no unit */
    QUANTITY_WRONG_DIMENSION, /* a unit of something else; also a unit on a bare count */
    QUANTITY_TOLERANCE, /* the part after the plus-minus is wrong, negative, or twice there */
};

/* Where and why a text is no quantity.  Offsets count from the start of the text. */
struct quantity_trouble {
    enum number_status number; /* for QUANTITY_NOT_A_NUMBER */
    size_t start, end;         /* the part that is wrong */
    unit_id unit;              /* for QUANTITY_WRONG_DIMENSION */
};

/* Reads the whole `text` (blanks around it allowed) as a quantity of dimension `wanted`.  A
 * part without a unit has that of the other: `42 ± 0.5 mm`. Writes `*out` only on QUANTITY_OK,
 * `*trouble` only otherwise. */
enum quantity_status quantity_read(struct view text, struct dimension wanted,
                                   struct quantity *out, struct quantity_trouble *trouble);

/* The same for a number that is usually written in `usual`.  It matters to ratios alone, with a
 * tolerance in per cent: `120 % ± 10 %` is 110 % to 130 %, but of `0.2 mm/m ± 10 %` the
 * tolerance is a tenth of 0.2 mm/m.  `120 ± 10 %` is the one where per cent are usual, the
 * other elsewhere; quantity_read takes them to be. */
enum quantity_status quantity_read_usual(struct view text, struct dimension wanted,
                                         unit_id usual, struct quantity *out,
                                         struct quantity_trouble *trouble);

/* For people: "14.3 mm", `6.125 in`, "12 %"; `si` in `unit`, or in the unit_default of its
 * dimension where `unit` does not fit it.  Up to 6 significant digits as they are; of more,
 * what matters in that unit (0.001 mm, 0.0001 in, 1 ms), but at least two digits, so that a
 * little is not shown as nothing.  `signed`: with a plus where it is not negative. */
const char *quantity_text(struct arena *arena, double si, struct dimension dimension,
                          unit_id unit);
const char *quantity_text_signed(struct arena *arena, double si, struct dimension dimension,
                                 unit_id unit);

/* "42 mm ± 0.5 mm", all that was typed (up to 12 digits); the tolerance left out where it is 0.
 */
const char *quantity_text_with(struct arena *arena, double si, double tolerance,
                               struct dimension dimension, unit_id unit);

#endif
