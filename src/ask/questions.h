/* The questions of the prompt: which fields, in what order, and on what they depend.
 *
 * What a question is about is a field of the field table, from which meaning, unit, choices,
 * default, what to beware of and when it has a meaning come; or one of the few things of the
 * prompt's own, such as "another cutter?".  What the prompt adds is in questions.inc; a field
 * that has no row there is asked with the rest of its section.  Rows that stand together and
 * are about one kind of record are asked record by record.
 */
#ifndef PROVEOUT_ASK_QUESTIONS_H
#define PROVEOUT_ASK_QUESTIONS_H

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

/* What else is to be known of a row; bits. */
enum {
    ASK_TYPED = 1,   /* a value is only suggested: Enter does not take it */
    ASK_SILENT = 2,  /* not asked while its usual value will do; the review shows it */
    ASK_OFFERED = 4, /* asked only where more of its topic is wanted */
    ASK_WANTED = 8,  /* wanted, though the format could do without */
    ASK_JOINED =
        16, /* asked in one question with the row above, which applies wherever it does */
    ASK_EACH = 32, /* of all its records in one question */
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
    uint16_t what;       /* enum field_id or enum ask_own */
    uint8_t topic, when; /* enum field_when; WHEN_COUNT: as the field table says */
    uint8_t usual, flags;
    const char *text;   /* of USUAL_TEXT */
    const char *reason; /* why that value, in a sentence; of the prompt's own: the question */
};

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

/* What is asked about one record alone: what is asked of every one, and what the file gives of
 * any; then, where more is wanted, the rest. */
void question_about(struct arena *arena, const struct answers *answers, enum field_group group,
                    uint32_t record, struct ask_sequence *out);

/* Where an entry stands; items.count where it does not apply. */
size_t question_index(const struct ask_sequence *sequence, uint16_t what, uint32_t record);

/* The first entry of the question that an entry belongs to, and the one after its last. */
size_t question_first(const struct ask_sequence *sequence, size_t at);
size_t question_end(const struct ask_sequence *sequence, size_t at);

/* Does a question about `what` depend on the answer to another? */
bool question_depends(uint16_t what, uint16_t other);

/* All rows in their order, those of the rest of each section among them. */
struct question_list {
    VECTOR(const struct question *) rows;
};
void question_rows(struct arena *arena, struct question_list *out);

/* The first row about `what`; that of a field alone where it has none of its own. */
const struct question *question_row(uint16_t what);

/* What it asks, alone or together with what is joined to it; NULL where the meaning of its
 * field says it. */
const char *question_asks(uint16_t what, bool together);

/* How many records of this kind there are by the answers. */
uint32_t question_records(const struct answers *answers, enum field_group group);

#endif
