/* A round of measuring on paper: a blank form to be printed and taken along the machine, and
 * the same text with numbers typed into it, read back.
 *
 *     form: 1
 *     machine: belt router
 *     file: shed.yaml 8c736521f0e1a2b3
 *     by: ____
 *     date: ____
 *
 *     # At the table and the setter
 *     = setter.nose_contact, unit mm
 *       | what it is, and how it is measured
 *       [__________] [__________] [__________] [__________] [__________]
 *       with: ____
 *       off by at most: ____
 *
 *     end: 1
 *
 * What begins with | or # is for people and not read; every other line must be one of these, so
 * that nothing typed is passed over.
 */
#ifndef PROVEOUT_ASK_SHEET_H
#define PROVEOUT_ASK_SHEET_H

#include "ask/tally.h"
#include "machine/file.h"
#include "rules/round.h"

enum { SHEET_COLUMNS = 72 };

/* Adds the blank form of a round, in the order of walking along the machine; of what is not on
 * it since it stands in another file, or cannot be named on paper, the names are at its end. */
void sheet_write(struct buffer *out, const struct machine_file *file,
                 const struct round_plan *plan);

/* What one row says. */
struct sheet_row {
    struct field_place place;
    struct tally tally; /* of what is read several times */
    struct view text;   /* of what is not, as a file has it; empty: nothing was typed */
    uint32_t line;
};

/* What could not be read; line and column from 1. */
struct sheet_trouble {
    uint32_t line, column;
    const char *why; /* a sentence without a full stop */
};

enum { SHEET_TROUBLES = 20 };

struct sheet {
    VECTOR(struct sheet_row) rows; /* those that say something new, in the form's order */
    size_t empty;     /* rows with nothing typed, or with what the file says already */
    struct view date; /* empty: none was typed */
    bool is_older;    /* the file has changed since it was printed */
    struct sheet_trouble troubles[SHEET_TROUBLES]; /* the first of them */
    size_t trouble_count;                          /* all of them */
};

/* Reads a filled form for the machine of `file`; true where all of it could be read.  `out`
 * points into `arena` and `bytes`. */
MUST_USE bool sheet_read(struct arena *arena, const struct machine_file *file,
                         struct view bytes, struct sheet *out);

/* Of a form and the machine it is for. */
const char *sheet_machine(struct arena *arena, const struct machine_file *file);
const char *sheet_fingerprint(struct arena *arena, const struct machine_file *file);

/* The unit in which a row is to be filled in; "" where there is none. */
const char *sheet_unit(const struct machine_file *file, const struct field_place *place);

#endif
