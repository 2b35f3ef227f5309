/* The questions of the prompt: which fields, in what order, and on what they depend.
 *
 * One static table, questions.inc.  What a question is about is a field of the field table,
 * from which meaning, unit, choices and default come; or one of the few things of the prompt's
 * own, such as "another cutter?".  Rows that stand together and are about one kind of record
 * are asked record by record.
 */
#ifndef PROVEOUT_ASK_QUESTION_H
#define PROVEOUT_ASK_QUESTION_H

#include "ask/answers.h"

enum ask_topic {
    TOPIC_MACHINE,
    TOPIC_HOMING,
    TOPIC_SPINDLE,
    TOPIC_TABLE,
    TOPIC_MEASURING,
    TOPIC_CUTTERS,
    TOPIC_CHANGE,
    TOPIC_NUMBERS,
    TOPIC_ALLOWANCES,
    TOPIC_MORE,
    TOPIC_COUNT
};
extern const char *const topic_names[TOPIC_COUNT];
extern const char
    *const topic_notes[TOPIC_COUNT]; /* what to know before its questions, or NULL */

/* Topics of which more is offered: a word for each, and what it stands for. */
struct ask_more {
    const char *word, *says;
    uint8_t topic;
};
enum { ASK_MORE_COUNT = 8 };
extern const struct ask_more more_table[ASK_MORE_COUNT];

enum ask_condition {
    COND_ALWAYS,
    COND_NEED, /* where the field table has a need for it; the one for whatever is needed */
    COND_SETTER,
    COND_PLATE,
    COND_CONTROLLER,
    COND_CONTROLLER_WAIT, /* and no signal tells of the standstill */
    COND_SIGNAL,
    COND_INTERLOCKED,
    COND_POWER_CUT,   /* isolated or unplugged for the change */
    COND_MACHINE_CUT, /* and the whole machine with it */
    COND_HAND,
    COND_HOMES,
    COND_NOT_HOMING,
    COND_COMPUTED, /* with a setter, and a computed approach */
    COND_FIXED,
    COND_ASSUMED, /* with a setter, and one stick-out for all */
    COND_SPOTS_DIFFER,
    COND_PLATE_HOMES, /* with a plate, on a machine that homes */
    COND_SCREW,
    COND_BELT,
    COND_RACK,
    COND_DRIVE, /* of whatever kind */
    COND_HOLLOW,
    COND_TWICE, /* touched a second time */
    COND_COUNT
};

/* What else is to be known of a row; bits. */
enum {
    ASK_TYPED = 1,   /* a value is only suggested: Enter does not take it */
    ASK_SILENT = 2,  /* not asked while its usual value will do; the review shows it */
    ASK_COLLET = 4,  /* to answer it, hands go near the collet */
    ASK_MOVES = 8,   /* to answer it, the machine is moved */
    ASK_RUNS = 16,   /* to answer it, the spindle is run */
    ASK_WANTED = 32, /* wanted, though the format could do without */
    ASK_JOINED =
        64, /* asked in one question with the row above, which applies wherever it does */
    ASK_EACH = 128, /* of all its records in one question */
};

/* Where a value to offer comes from. */
enum ask_usual {
    USUAL_NONE,
    USUAL_TEXT,     /* the row's own */
    USUAL_NUMBER,   /* the next number of a cutter */
    USUAL_FILE,     /* the name of the file */
    USUAL_TRAVERSE, /* a little below the upper limit of Z */
    USUAL_PARK_X,   /* the middle of the travel */
    USUAL_PARK_Y,   /* near the front */
    USUAL_PARK_Z,   /* as high as the sideways moves */
    USUAL_STOP,     /* a quarter longer than the run-down */
    USUAL_LONGEST,  /* the longest stick-out */
    USUAL_ASKS,     /* the questions of a change, in their order */
};

struct question {
    uint16_t what; /* enum field_id or enum ask_own */
    uint8_t topic, condition;
    bool offered; /* asked only where more of its topic is wanted */
    uint8_t usual, flags;
    const char *text;   /* of USUAL_TEXT */
    const char *reason; /* why that value, in a sentence; of the prompt's own: the question */
};

extern const struct question question_table[];
extern const size_t question_count;

/* One row of one record.  Entries that are joined make one question with those before them. */
struct ask_entry {
    const struct question *row;
    uint32_t record;
    bool joined;
    uint8_t part; /* of a pair: 1 its low number alone, 2 the high one; 0: all of it */
};

enum { ASK_JOINED_MAX = 8 }; /* entries of one question */

struct ask_sequence {
    VECTOR(struct ask_entry) items;
    size_t first; /* how many of them come before the first that is only offered */
};

/* All questions that apply, in order.  What is not answered yet counts as it most often is. */
void question_sequence(struct arena *arena, const struct answers *answers,
                       struct ask_sequence *out);

/* These alone, in this order, each a question of its own. */
void question_places(struct arena *arena, const struct field_place *places, size_t count,
                     struct ask_sequence *out);

/* Where an entry stands; items.count where it does not apply. */
size_t question_index(const struct ask_sequence *sequence, uint16_t what, uint32_t record);

/* The first entry of the question that an entry belongs to, and the one after its last. */
size_t question_first(const struct ask_sequence *sequence, size_t at);
size_t question_end(const struct ask_sequence *sequence, size_t at);

/* Does a row depend on the answer to `what`? */
bool question_depends(const struct question *row, uint16_t what);

/* How many records of this kind there are by the answers. */
uint32_t question_records(const struct answers *answers, enum field_group group);

#endif
