/* Numbers as text, the same in every locale: the decimal sign is a point. */
#ifndef PROVEOUT_QUANTITY_NUMBER_H
#define PROVEOUT_QUANTITY_NUMBER_H

#include "base/arena.h"
#include "base/view.h"

enum number_status {
    NUMBER_OK,
    NUMBER_NONE,     /* does not start like a number */
    NUMBER_COMMA,    /* a comma where the decimal sign or a thousands separator would stand */
    NUMBER_INFINITE, /* too large, or written as .inf, nan */
    NUMBER_ZERO_DIV, /* a fraction over nothing */
    NUMBER_FORM,     /* starts like a number, but is written in a form that means different
                        things to different readers: 1_000, 0x1F, 1:30, 007 */
};

/* Reads the number at the start of `text`: an optional sign, then `42`, `-155.2`, `.5`, `5.`,
 * `1.5e-3`, `1/4`, `6 1/8` or `6-1/8`; a sign is that of the whole.  On NUMBER_OK sets the
 * value (correctly rounded) and how many bytes it took; on any other status sets `*used` to the
 * offset of the trouble and leaves `*value` alone.  What comes right after the number can make
 * it one of the doubtful forms (`1 500`, `1.2.3`, `6-8`); so pass a whole value, not a formula.
 */
enum number_status number_read(struct view text, double *value, size_t *used);

/* The shortest text that reads back to the same double ("0.042", "-1.5e-07"; a JSON number).
 * What is infinite gives 1e999, which reads as infinite; never pass what is no number at all.
 */
const char *number_exact(struct arena *arena, double value);

/* Rounded to at most `decimals` places, trailing zeros dropped ("9.7", "-0.05", "14").
 * Never "-0". */
const char *number_rounded(struct arena *arena, double value, int decimals);

/* Rounded for people to about `digits` significant digits, never an exponent between 1e-4 and
 * 1e16: "14.3", "0.042", "12000". */
const char *number_plain(struct arena *arena, double value, int digits);

/* What a 1 in the first digit of `value` counts, and that times ten to the power `more`: 100 and 1
 * for 314 with 0 and -2.  `value` is finite and not 0. */
double number_decade(double value, int more);

#endif
