/* What a typed answer means: a text as a machine file would have it, or why it is none. */
#ifndef PROVEOUT_ASK_UNDERSTAND_H
#define PROVEOUT_ASK_UNDERSTAND_H

#include "ask/answers.h"

/* What an answer is read with. */
struct answer_context {
    struct arena *arena; /* for texts that come out */
    bool inches;         /* bare lengths are inches */
    const char *unit;    /* what a bare number is in, whatever it is of; NULL: as usual */
    uint8_t part;        /* only this half of a pair is answered, 1 or 2 ... */
    const char *other;   /* ... and this is the other */
    struct view today;   /* YYYY-MM-DD */
    struct view name;    /* of the file, without its ending; empty: none */
};

struct understood {
    struct view text;  /* as the file would have it */
    const char *echo;  /* one sentence: what was understood */
    const char *wrong; /* NULL, else why it is no answer; the rest is not set then */
    const char
        *plain; /* a number in millimetres, seconds, ..., where the text has other units */
    bool bare;  /* a number took the unit of the question */
};

void understand(const struct answer_context *with, enum field_id id, struct view typed,
                struct understood *out);

/* One line for several numbers of one kind, in their order, with commas between: `760, 40`; or
 * for several ranges: `0 to 800, 0 to 1200`.  `out` has room for `count`.  How many were
 * understood; 0: out[0].wrong says what is wrong. */
size_t understand_several(const struct answer_context *with, const enum field_id *ids,
                          size_t count, struct view typed, struct understood *out);

/* One reading of a field that takes them, or several with a comma and a blank between: each as
 * a file would have it, to the last digit that was typed.  How many there are, at most `room`;
 * 0:
 * `*wrong` says why they are none.  What they come to is left to readings_read_text(). */
size_t understand_readings(const struct answer_context *with, enum field_id id,
                           struct view typed, struct view *out, size_t room,
                           const char **wrong);

/* Asks about `760,40`: what the comma in it is meant to be. */
const char *understand_comma(const struct answer_context *with, struct view typed);

/* yes or no, of a question of the prompt's own.  NULL, or why it is neither. */
MUST_USE const char *understand_flag(const struct answer_context *with, struct view typed,
                                     struct understood *out);

/* Words of a list, as many as are wanted; `once`: none of them twice.  NULL, or what is wrong. */
MUST_USE const char *understand_words(const struct answer_context *with,
                                      const char *const *words, size_t count, bool once,
                                      struct view typed, struct understood *out);

/* One word of several, by number, name or beginning; -1 where it is none. */
int understand_choice(struct view typed, const char *const *words, size_t count);

/* The unit that a bare number of this field takes; "" where it takes none. */
const char *understand_unit(const struct answer_context *with, enum field_id id);

/* The same behind the word "in": `inches`, `mm`. */
const char *understand_unit_said(const struct answer_context *with, enum field_id id);

/* A range as people say it: `0 mm to 800 mm` for `[0 mm, 800 mm]`; all else as it is. */
const char *understand_said(struct arena *arena, struct view text);

/* A word of a list as people say it: blanks for underscores. */
const char *understand_spoken(struct arena *arena, struct view word);

/* A value of a field as a person would type it: without brackets, underscores and the keys of
 * readings.  The text of one that is offered or kept. */
const char *understand_value_said(struct arena *arena, enum field_id id, struct view text);

#endif
