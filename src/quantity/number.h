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

/* Reads the number at the start of `text`: an optional sign, then `42`, `-155.2`, `1.5e-3`, `1/4`,
 * `6 1/8` or `6-1/8`.  On NUMBER_OK sets the value (correctly rounded for plain decimals) and how many
 * bytes it took; on any other status sets `*used` to the offset of the trouble and leaves
 * `*value` alone. */
enum number_status number_read(struct view text, double *value, size_t *used);

/* The shortest text that reads back to the same double ("0.042", "-1.5e-07"; a JSON number). */
const char *number_exact(struct arena *arena, double value);

/* Rounded to at most `decimals` places, trailing zeros dropped ("9.7", "-0.05", "14").
 * Never "-0". */
const char *number_rounded(struct arena *arena, double value, int decimals);

/* Rounded for people to about `digits` significant digits, never an exponent between 1e-4 and
 * 1e9: "14.3", "0.042", "12000". */
const char *number_plain(struct arena *arena, double value, int digits);

#endif
