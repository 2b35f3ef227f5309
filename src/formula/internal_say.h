/* What the files share that put a recorded evaluation into words.
 *
 * Texts live in the arena of the speaker.  Nothing here is evaluated again: all is read from
 * the record of the last evaluation.
 */
#ifndef PROVEOUT_FORMULA_INTERNAL_SAY_H
#define PROVEOUT_FORMULA_INTERNAL_SAY_H

#include "formula/internal_eval.h"

/* The comparison or test that decided, and the sides that were compared, NULL where no
 * quantities were. */
struct compared {
    const struct entry *entry, *high, *low;
};

/* How values are shown to people: to whom names and units are asked, and where the texts go. */
struct speaker {
    struct evaluator *evaluator;
    const struct formula_namer *namer;
    struct arena *arena;
    bool values; /* numbers in place of names */
    bool labels; /* with `values`: each number behind what it is, in words */
    bool inside; /* of parentheses, where differences are said with a sign */
    bool apart;  /* with `labels`: what tolerances come from is told elsewhere */
};

enum { TEXT_CELLS = 60 };

/* say_values.c */

/* A part of an entry by its number, the last one, and the value of a quantity. */
const struct entry *say_part(const struct speaker *speaker, const struct entry *entry,
                             uint32_t index);
const struct entry *say_last(const struct speaker *speaker, const struct entry *entry);
const struct form *say_form(const struct speaker *speaker, const struct entry *entry);

/* The unit of a quantity as the file writes it; UNIT_UNKNOWN where it has none of that
 * dimension. */
unit_id say_own_unit(const struct speaker *speaker, const struct entry *entry);

/* The unit in which to show a quantity: its own, else `fallback` where that fits, else as the
 * namer says. */
unit_id say_unit(const struct speaker *speaker, const struct entry *entry, unit_id fallback);

/* A number of an entry's form; what is nothing but for rounding is nothing. */
const char *say_number_text(const struct speaker *speaker, const struct entry *entry,
                            double si);

/* "2026-10-10" of seconds since 1970. */
const char *say_date(struct arena *arena, double seconds);

/* A word of a leaf by its index; the name of the leaf that an entry has read; a node as its
 * formula writes it. */
const char *say_word(const struct speaker *speaker, uint16_t leaf, uint32_t word);
const char *say_leaf(const struct speaker *speaker, const struct entry *entry);
struct view say_own(const struct speaker *speaker, const struct formula_node *node);

/* The value of an entry of any type; "not known" where it is not. */
const char *say_value(const struct speaker *speaker, const struct entry *entry);

/* say.c */

/* How tightly things hold together; a part that holds looser than its place wants gets
 * parentheses. */
enum level {
    LEVEL_ANY,
    LEVEL_WIDEN,
    LEVEL_SUM,
    LEVEL_PRODUCT,
    LEVEL_UNARY,
    LEVEL_POWER,
    LEVEL_WHOLE
};

/* Adds an entry in names, in numbers, or in numbers behind their labels. */
void say_at(const struct speaker *speaker, struct buffer *out, const struct entry *entry,
            enum level wanted);

/* The same as a text of its own. */
const char *say_text(const struct speaker *speaker, const struct entry *entry);

/* Adds what has a value of its own, by its name. */
void say_named(const struct speaker *speaker, struct buffer *out, const struct entry *entry);

/* Adds the part of the formula's own text, on one line. */
void say_quote(const struct speaker *speaker, struct buffer *out, const struct formula_node *n);

/* Adds a text, in parentheses where wanted. */
void say_enclosed(struct buffer *out, const char *text, bool enclosed);

/* A thing by its name; one that is not there by the field that would name it. */
const char *say_record(const struct speaker *speaker, const struct entry *entry);

/* The side of an `if` or `otherwise` that counts; NULL where that is not known. */
const struct entry *say_taken(const struct speaker *speaker, const struct entry *entry);

/* What a definition came to where that is one field as it stands: it is said in its place,
 * since a name in between tells nothing more.  NULL where it is anything else. */
const struct entry *say_mere_field(const struct speaker *speaker, const struct entry *entry);

/* Is it a name that stands for a number: a field, a definition, a distance? */
bool say_has_value(const struct formula_node *n);

/* What a value is, without parentheses: a field, or a definition and what it is asked of. */
const char *say_label(const struct speaker *speaker, const struct entry *entry);

/* The field in whose name a number is told, where all between the two only takes it as typed or
 * adds a tolerance that is told elsewhere; else `entry` itself. */
const struct entry *say_named_by(const struct speaker *speaker, const struct entry *entry);

/* " (line 12)" behind the first number in the name of a field, else "". */
const char *say_place(const struct speaker *speaker, const struct entry *entry);

/* Adds "contact of cutter 1 -120 mm ± 6.35 mm". */
void say_labelled(const struct speaker *speaker, struct buffer *out, const struct entry *entry,
                  enum level wanted);

/* say_tests.c */

/* "change.no_contact wants stops; it is continues"; NULL where there is nothing to say. */
const char *say_test(const struct speaker *speaker, const struct entry *entry);

/* say_lines.c: what is told of a comparison and of the definitions below it, for the writers.
 */

/* A comparison as its rule writes it. */
struct comparison {
    const struct formula_node *node;
    const struct entry *sides[3]; /* left, right; of `inside` what is, and its limits */
    const char *values[3];        /* at their worst where that is what decides */
    bool worst;                   /* they are */
    const char *after;            /* why the sides alone do not give what is to spare, or "" */
    const char *spare;            /* "short by 5.35 mm" */
};

/* How the lines are put. */
struct line_writer {
    const char *(*comparison)(const struct speaker *speaker, const struct comparison *compared);
    /* `call` came to `body`, a known number; NULL where that is worth no line. */
    const char *(*definition)(const struct speaker *speaker, const struct entry *call,
                              const struct entry *body);
};

extern const struct line_writer say_derivation; /* say_derivation.c */
extern const struct line_writer say_steps;      /* say_steps.c */

/* say_values.c: adds what was recorded as a value of a message. */
void say_shown(struct evaluator *evaluator, const struct formula_namer *namer, unit_id unit,
               struct buffer *out);

/* say_lines.c: the arithmetic of the deciding comparison, in lines. */
void say_lines(struct evaluator *evaluator, const struct formula_namer *namer,
               const struct compared *compared, struct arena *arena, struct trace *trace);

#endif
