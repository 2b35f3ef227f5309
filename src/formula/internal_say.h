/* What the files share that put values and formulas into words. */
#ifndef PROVEOUT_FORMULA_INTERNAL_SAY_H
#define PROVEOUT_FORMULA_INTERNAL_SAY_H

#include "formula/internal_run.h"

/* How values are shown to people: to whom names and units are asked, and where the texts go. */
struct saying {
    struct evaluator *evaluator;
    const struct formula_namer *namer;
    struct arena *arena;
    bool values; /* numbers in place of names */
    const struct within *within;
};

/* say_value.c */
/* The unit in which to show a quantity: that of the first field of its dimension that it reads,
 * else `fallback` where that fits, else as the namer says. */
unit_id say_unit(const struct saying *saying, uint32_t node, unit_id fallback);
unit_id say_own_unit(const struct saying *saying, uint32_t node); /* UNIT_UNKNOWN: of none */
const char *say_number(const struct saying *saying, uint32_t node, const struct form *form,
                       double si);
const char *say_form(const struct saying *saying, uint32_t node, const struct form *form);
/* The value of a node of any type; "not known" where it is not. */
const char *say_value(const struct saying *saying, uint32_t node);
const char *say_date(struct arena *arena, double seconds);
const char *say_word(const struct saying *saying, uint16_t leaf, uint32_t word);
const char *say_leaf(const struct saying *saying, const struct formula_node *leaf);
struct view say_text_of(const struct evaluator *evaluator, const struct formula_node *node);

/* say_formula.c */
void say_node(const struct saying *saying, struct buffer *out, uint32_t node);

/* say_test.c */
/* "change.no_contact is stops: it is continues"; NULL where there is nothing to say. */
const char *say_test(const struct saying *saying, uint32_t node);

/* say_lines.c */
/* The arithmetic of the deciding comparison, in lines. */
void say_lines(struct evaluator *evaluator, const struct formula_namer *namer,
               const struct compared *compared, struct arena *arena, struct trace *trace);

#endif
