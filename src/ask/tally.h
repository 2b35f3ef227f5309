/* Readings of one measured value as they are taken down, one after another: what they come to
 * so far, and which of them lies far off the rest.
 *
 * Nothing is left out by itself: a reading goes only by tally_take_out().
 */
#ifndef PROVEOUT_ASK_TALLY_H
#define PROVEOUT_ASK_TALLY_H

#include "ask/understand.h"
#include "base/vector.h"

enum {
    TALLY_LINE_MAX = 64, /* readings in one line */
    TALLY_MAX = 500      /* in all */
};

struct tally_reading {
    struct view text; /* "-92.01 mm" */
    bool is_kept;     /* though it lies far off the rest: somebody said so */
};

struct tally {
    struct arena *arena;
    enum field_id field;
    VECTOR(struct tally_reading) readings;
    VECTOR(struct view) taken_out;
    struct view with, by, on, instrument_error; /* what is noted beside them; may be empty */
    /* What they come to; set where there are enough of them: one, of a scatter two. */
    bool has_value;
    struct field_value value;
    struct readings from;
};

void tally_begin(struct tally *tally, struct arena *arena, enum field_id field);

/* How few readings make a value. */
size_t tally_least(const struct tally *tally);

/* Takes one line of readings.  NULL on success, else why none of it was taken, a sentence
 * without a full stop in the arena of `with`. */
MUST_USE const char *tally_add(struct tally *tally, const struct answer_context *with,
                               struct view typed);

/* The same of many lines, after the last of which tally_weigh() works out what they come to. */
MUST_USE const char *tally_put(struct tally *tally, const struct answer_context *with,
                               struct view typed);
const char *tally_weigh(struct tally *tally);

/* The reading that lies far off the rest and that nobody has said to keep, from 0; their count
 * where there is none. */
size_t tally_off(const struct tally *tally);

/* Takes a reading out; it is remembered as taken out. */
void tally_take_out(struct tally *tally, size_t index);

/* Takes back the last one, as if it had not been typed. */
void tally_take_back(struct tally *tally);

/* Notes how far the instrument may be off, `text` as a file has it; empty: not known.  NULL on
 * success, else what is wrong with it. */
MUST_USE const char *tally_set_error(struct tally *tally, struct view text);

/* All of it as a file has it: "{readings: [-92.01 mm, -92 mm], with: calliper}". */
const char *tally_text(const struct tally *tally);

/* "3 readings: -92.01 mm ± 0.15 mm; ten that scatter so would leave ± 0.051 mm". */
const char *tally_says(const struct tally *tally);

#endif
