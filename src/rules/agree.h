/* The file that the controller itself runs: whether it agrees with the machine file, numbers that
 * are carried from one to the other, and agreements made for numbers that stand in it.
 *
 * `agrees_with` names that file, a pattern of the user's own with one group called `value`, and
 * the field which must say the same.  Nothing is known of the file's format.  Reading it is the
 * caller's affair, who sees to it that nothing outside the machine file's folder is read.
 */
#ifndef PROVEOUT_RULES_AGREE_H
#define PROVEOUT_RULES_AGREE_H

#include "base/vector.h"
#include "finding/sink.h"
#include "machine/machine.h"
#include "text/reader.h"

enum {
    AGREEMENT_FILE_MAX = 4 * 1024 * 1024, /* bytes of such a file */
    AGREEMENTS_MAX = 200, /* of one machine file; the budget of patterns is for all */
};

enum agreement_state {
    AGREEMENT_UNTOLD, /* it cannot be told, for `trouble` */
    AGREEMENT_HELD,
    AGREEMENT_LOST,
    AGREEMENT_LACKING /* the controller's file says it, the machine file does not */
};

/* How one agreement came out.  Places and texts are in the controller's file. */
struct agreement_seen {
    uint32_t record; /* of agrees_with */
    enum agreement_state state;
    const char *trouble;      /* a sentence without a full stop, escaped; of AGREEMENT_UNTOLD */
    struct field_place place; /* where the machine file has the value, or would have it; not of
                                 AGREEMENT_UNTOLD */
    struct source *source;    /* what follows not of AGREEMENT_UNTOLD either */
    struct view found;        /* without blanks around it; not escaped */
    VECTOR(struct span) spans; /* of it, at every match */
    bool is_number;
    size_t number_size; /* bytes of `found` that are the number; a unit may follow */
    unit_id unit;       /* of the number: beside it, or the agreement's */
    double si;
    size_t finding; /* in the sink, of one that is lost */
};

struct agreement_list {
    VECTOR(struct agreement_seen) items;
};

/* Checks every agreement of a machine, each file read once and all patterns under one budget
 * (formula/pattern.h), and reports agreement-lost, -unmatched, -ambiguous,
 * -pattern-costly, and what is wrong with the agreement itself.  `reader` NULL: agreements are
 * not looked at, and each is reported as not checked by the count returned.  Paths are as the
 * machine file has them, from its own folder.  `*out` is how each came out that could be told. */
size_t agreements_check(struct arena *arena, const struct machine *machine,
                        struct finding_sink *sink, const struct file_reader *reader,
                        struct agreement_list *out);

/* Looks at every agreement as agreements_check does, fields included that the machine file does
 * not give, and tells how each came out, in order.  Nothing is reported anywhere. */
void agreements_look(struct arena *arena, const struct machine *machine,
                     const struct file_reader *reader, struct agreement_list *out);

/* The place value of the last digit of a number in decimals: "3.50" is given to 0.01.  Nothing
 * for a fraction or an exponent, which are meant exactly. */
double agreement_last_digit(struct view number);

/* One agreement, looked at by itself. */
struct agreement_told {
    enum field_id field; /* that must agree, in which record; of a pair which part */
    uint32_t record;
    int part;
    struct source *source; /* of the other file; NULL: it could not be looked at */
    struct span found;     /* in it, what the pattern finds first; empty: nothing */
    const char *trouble;   /* what is wrong with it, a sentence; NULL: the two agree */
};

/* False where the agreement is not whole, or names no field that the file gives. */
MUST_USE bool agreement_look(struct arena *arena, const struct machine *machine,
                             const struct file_reader *reader, uint32_t record,
                             struct agreement_told *out);

/* Numbers carried from the controller's own file into a machine file, and back.
 *
 * Nobody types them, so that nobody mistypes them.  Where a text cannot say exactly what the
 * other side says, that is told and nothing is carried.
 */

/* What the machine file would say at the place of `seen` (lost or lacking): the number in the
 * unit and with at least the decimals that stand there, where that says it exactly, else as the
 * controller's file spells it; the tolerance as it is typed.  In `arena`.  NULL: `*why` says
 * why not, a sentence without a full stop. */
MUST_USE const char *carry_to_machine(struct arena *arena, const struct machine *machine,
                                      const struct agreement_seen *seen, const char **why);

/* What the controller's file would have to say in the place of the number, or the word, that was
 * found: exactly the machine's, in the unit of the agreement, with no fewer decimals than stand
 * there.  NULL: as above. */
MUST_USE const char *carry_to_controller(struct arena *arena, const struct machine *machine,
                                         const struct agreement_seen *seen, const char **why);

/* The bytes of a controller's file that `carry_to_controller` writes over at one match. */
struct span carry_span(const struct agreement_seen *seen, size_t match);

/* One change of a file. */
struct carry_edit {
    struct span span;
    const char *text;
    size_t who; /* the caller's own */
};

struct carry_edits {
    VECTOR(struct carry_edit) items;
};

/* Writes all of them into `bytes`, which is left as it is, with every byte between them; the
 * edits are put in order.  False where two of them want different things of the same bytes:
 * `clash` names those. */
MUST_USE bool carry_write(struct arena *arena, struct view bytes, struct carry_edits *edits,
                          struct view *out, size_t clash[2]);

/* Making an agreement for a number that stands somewhere in the controller's own file.
 *
 * Nothing is known of that file's form.  A pattern is made of what stands beside the number on
 * its line: of the words before it, by which it is called there, and of as much more as it takes
 * to find that number and no other in the whole file.
 */

enum { LINE_NUMBERS_MAX = 32 };

/* The numbers on a line, from left to right, at most `room`; returns how many there are. */
size_t line_numbers(struct view bytes, struct span line, struct span *out, size_t room);

/* A pattern that finds `number`, one of these, as the group `value`, and nothing else in
 * `bytes`; what another number would be in its place it finds as well.  In `arena`, UTF-8.
 * NULL: `*why` says why there is none, a sentence without a full stop. */
MUST_USE const char *place_pattern(struct arena *arena, struct view bytes, struct span line,
                                   struct span number, const char **why);

/* The units of `dimension` in which a number as it is written says `si`, to its digits, usual
 * ones first; at most `room`. */
size_t place_units(struct view number, struct dimension dimension, double si, unit_id *out,
                   size_t room);

#endif
