/* What the files of this folder share. */
#ifndef PROVEOUT_QUANTITY_INTERNAL_H
#define PROVEOUT_QUANTITY_INTERNAL_H

#include "quantity/number.h"
#include "quantity/unit.h"

#include <math.h>

enum { DECIMAL_DIGITS = 17 };

/* number_read, but as a quotient that has not been rounded yet: 155.2 is 1552 / 10. */
enum number_status number_read_ratio(struct view text, double *above, double *below,
                                     size_t *used);

/* The same for what nearly all numbers are: `42`, `-0.5`, a few digits that are exact.  False
 * for all others; what follows is not looked at. */
bool number_read_plain(struct view text, double *above, double *below, size_t *used);

/* The unit of exactly this name in the table; UNIT_UNKNOWN for its other spellings. */
unit_id unit_find(struct view text);

/* `%`, which a tolerance can be a part of its number in. */
unit_id unit_percent(void);

/* Other words for a unit, and other characters in it; pattern.c turns these tables round. */
struct unit_spelling {
    const char *as, *unit;
};
struct unit_character {
    const char *bytes, *plain;
};
extern const struct unit_spelling unit_spellings[];
extern const size_t unit_spelling_count;
extern const struct unit_character unit_characters[];
extern const size_t unit_character_count;

/* unit_to_si of above / below, rounded once: 155.2 mm is the same double as 0.1552 m. */
double unit_ratio_to_si(unit_id unit, struct dimension wanted, double above, double below);

/* A number in decimal: 0.d1 d2 d3 ... times 10 to the power `point`, without zeros at either
 * end. Nothing at all is count 0. */
struct decimal {
    bool negative;
    int count, point;
    char digits[DECIMAL_DIGITS];
};

/* The fewest digits that read back to `value`, which must be finite. */
struct decimal decimal_shortest(double value);

/* Rounded to `count` digits, halves away from zero. */
void decimal_round(struct decimal *decimal, int count);

/* Written without an exponent, or with one where the point is far from the digits. */
const char *decimal_text(struct arena *arena, const struct decimal *decimal);

/* The double nearest to `value` among those of at most 15 digits: what a person would have
 * typed. */
double number_tidy(double value);

/* Bytes of the blank at the start of `text`: a space, a tab, or one of the spaces that word
 * processors put before a unit (no-break, narrow no-break, thin).  0 where there is none. */
size_t blank_size(struct view text);

/* The most decimals worth showing in a unit. */
int unit_decimals(unit_id unit);

#endif
