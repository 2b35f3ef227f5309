/* What formulas can name, and how its values are got: given by the caller.
 *
 * The language knows no machine.  At load time it walks names through `step`, from the root; at
 * run time it reads leaves through `read`.  A record is one of several things of a kind (a
 * cutter, an axis, an input); kind 0 is the root, of which there is one.
 */
#ifndef PROVEOUT_FORMULA_ENVIRONMENT_H
#define PROVEOUT_FORMULA_ENVIRONMENT_H

#include "base/view.h"
#include "quantity/dimension.h"
#include "quantity/form.h"
#include "quantity/unit.h"

enum value_type {
    TYPE_QUANTITY, /* a number with a dimension, bare ones too */
    TYPE_DATE,     /* seconds from 1970-01-01; a difference of dates is a time */
    TYPE_FLAG,
    TYPE_CHOICE, /* one word of a field's own */
    TYPE_WORDS,  /* a list of words of a field's own, with ranks; or `none` */
    TYPE_TEXT,
    TYPE_NUMBERS,   /* a list of quantities (spindle.collet_sizes): `largest n for n in LIST` */
    TYPE_RECORD,    /* one of a kind */
    TYPE_LIST,      /* all of a kind: a domain of `each`, `largest`, `every` ... */
    TYPE_PAIR,      /* [low, high]; only `known` and `.low`, `.high` take it */
    TYPE_PLACE,     /* has .x and .y */
    TYPE_RECTANGLE, /* has .x and .y that are pairs */
    TYPE_SECTION    /* a part of the file with names below it and no value of its own */
};

/* Something a path has reached. */
struct env_place {
    enum value_type type;
    struct dimension dimension; /* of quantities, pairs' parts, numbers */
    uint16_t leaf;              /* for leaves: what `read` is asked for; else the environment's
                                   own mark */
    uint8_t kind;               /* TYPE_RECORD, TYPE_LIST: the kind of record.  Of a leaf or
                                   section: the kind of record it belongs to, 0 for the root */
    bool indexed;               /* TYPE_SECTION that takes a record variable for a name (axes.a,
                                   homing.a): stepping on with it gives a record of kind `kind` */
    uint8_t index_kind;         /* and the kind of record the variable must be of */
    bool fixed; /* TYPE_RECORD reached by a literal name (axes.z): `record` is its
                   index */
    uint32_t record;
};

enum env_state {
    ENV_KNOWN,
    ENV_ABSENT,
    ENV_WRONG,
    ENV_OPEN /* of a range of values asked about at once: not the same for all of them */
};

/* A value read at run time.  Which member counts follows from the leaf's type. */
struct env_value {
    enum env_state state;
    unit_id unit;                 /* as written */
    bool defaulted;               /* not written in the file */
    double number;                /* TYPE_QUANTITY, TYPE_DATE; TYPE_FLAG 0 or 1; TYPE_CHOICE the
                                     word's index; TYPE_RECORD the record's index */
    double tolerance;             /* TYPE_QUANTITY: the file's own plus-minus, half-width */
    struct view text;             /* TYPE_TEXT */
    uint32_t count;               /* TYPE_WORDS, TYPE_NUMBERS */
    const uint8_t *words, *ranks; /* TYPE_WORDS */
    bool none;                    /* TYPE_WORDS: written as `none` */
    double most;                  /* TYPE_QUANTITY, of a range; see `throughout` */
};

struct environment {
    const void *user;

    /* Types, used at load.  From `from` by `name`; false where there is no such name. */
    bool (*step)(const void *user, const struct env_place *from, struct view name,
                 struct env_place *to);
    void (*root)(const void *user, struct env_place *out);

    /* The index of a word among those of leaf `leaf` (TYPE_CHOICE, TYPE_WORDS), -1 where it is
     * none. */
    int (*word)(const void *user, uint16_t leaf, struct view word);

    /* Its words in order, for messages: the index-th, false past the end.  May be NULL. */
    bool (*choice)(const void *user, uint16_t leaf, size_t index, struct view *out);

    /* The names that may follow `from`, for messages: the index-th, false past the end. */
    bool (*name)(const void *user, const struct env_place *from, size_t index,
                 struct view *out);

    /* "setter.at.x", "stickout" (of its record): how a leaf is called, terminated, static. */
    const char *(*leaf_path)(const void *user, uint16_t leaf);
};

struct environment_values {
    const void *user;

    /* The value of a leaf in a record (0 for the root).  Must fill `state`; for ENV_KNOWN all
     * that the type wants. `part` 1 or 2: the low or high of a pair; 0 else.  What was read is
     * kept until the evaluator is reset or told of a change. */
    void (*read)(const void *user, uint16_t leaf, uint8_t part, uint32_t record,
                 struct env_value *out);
    /* The number `index` of a TYPE_NUMBERS leaf. */
    void (*number)(const void *user, uint16_t leaf, uint32_t record, uint32_t index,
                   struct env_value *out);

    /* Of a leaf that is worked out of the field whose range is asked about: what it is in all
     * of it, ENV_OPEN where that is not known.  Of a quantity at its worst, down: `number` is
     * the least, `most` the greatest, INFINITY where that is not known.  May be NULL where no
     * ranges are asked about. */
    void (*throughout)(const void *user, uint16_t leaf, uint32_t record, struct env_value *out);

    /* The word of a TYPE_CHOICE or TYPE_WORDS leaf by its index, for showing it. */
    struct view (*word)(const void *user, uint16_t leaf, uint32_t index);

    /* How many records of a kind there are; `*wrong` is set where the list itself carries an
     * error. */
    uint32_t (*count)(const void *user, uint8_t kind, bool *wrong);
};

#endif
