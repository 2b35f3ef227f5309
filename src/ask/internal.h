/* What the parts of a dialogue share. */
#ifndef PROVEOUT_ASK_INTERNAL_H
#define PROVEOUT_ASK_INTERNAL_H

#include "ask/compose.h"
#include "ask/dialogue.h"
#include "ask/draft.h"
#include "ask/judge.h"
#include "ask/usual.h"

enum ask_phase { PHASE_QUESTION, PHASE_REVIEW, PHASE_NAME, PHASE_OVER };

/* What Enter means at a question. */
struct ask_offer {
    const char *text; /* the value, NULL: none */
    bool keeps;       /* it is the answer that stands there already */
    bool typed;       /* only a suggestion: Enter does not take it */
    bool computed;
    const char *window; /* or NULL */
    const char *reason; /* or NULL */
};

struct ask {
    struct arena *arena;  /* as long as the dialogue */
    struct arena scratch; /* from one line to the next */
    const struct ask_setup *setup;
    const struct machine *machine; /* of the file that is there, or NULL */
    struct answers answers;
    struct judge judge;
    struct understanding with;
    struct ask_sequence sequence; /* in scratch */
    size_t at;                    /* in the sequence */
    enum ask_phase phase;
    uint8_t topic; /* the last that was headed, TOPIC_COUNT: none */
    bool resumed;  /* from a draft, and nothing was answered since */
    bool refused;  /* the last line */
    struct ask_offer offer;
    struct ask_offer parts[ASK_JOINED_MAX]; /* of each of several entries asked together */
    struct buffer out;
    struct buffer said; /* of the last line, in sentences: what was understood, or why not */
    struct finding_list news; /* what the rules say of it */
};

/* One of the words that answer a question. */
struct choice {
    const char *word, *says; /* as it is typed, and as it is shown */
};
enum { CHOICES_MAX = 40 };

/* present.c: what is shown.  All add to ask->out. */
void say_answer(struct ask *ask, const char *format, ...)
    __attribute__((format(printf, 2, 3))); /* of the line that was typed */
size_t question_choices(struct ask *ask, const struct ask_entry *entry, struct choice *out);
/* How many questions there are by the answers so far, and which of them stands, from 1. */
size_t question_number(struct ask *ask, size_t *of);
unsigned question_care(const struct ask *ask); /* bits CARE_... of all its fields */
const char *question_record(struct ask *ask);  /* "cutter 3"; NULL: of none */
const char *offer_reason(const struct ask *ask, const struct ask_offer *offer);
void say(struct ask *ask, size_t indent, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
void say_line(struct ask *ask, const char *text); /* as it is, not wrapped */
void present_intro(struct ask *ask);
void present_question(struct ask *ask);
void present_help(struct ask *ask);
void present_findings(struct ask *ask, const struct finding_list *news);
void present_marks(struct ask *ask, const struct understood *parts);
void present_proposal(struct ask *ask);
void present_next(struct ask *ask);

/* offer.c */
void offer_find(struct ask *ask);  /* for the question that stands */
void offer_entry(struct ask *ask); /* for its first entry alone */
/* Was this a value as it was offered, so that another may be offered now? */
bool offer_was_taken(const struct question *row, const struct answer *answer);
bool entry_is_needed(const struct ask_entry *entry);

/* together.c: questions about several fields. */
size_t ask_span(const struct ask *ask); /* how many entries the question that stands has */
bool together_is_marks(const struct ask *ask); /* of yes and no each */
const char *together_label(struct ask *ask, const struct ask_entry *entry); /* a short name */
void together_offer(struct ask *ask);                                       /* from the parts */
/* How many were understood, parts[0].echo says of all; 0: parts[0].wrong. */
size_t together_read(struct ask *ask, struct view line, struct understood *parts);

/* take.c: what a line does to the answers. */
void take_typed(struct ask *ask, struct view line);
void take_offer(struct ask *ask); /* Enter */
void take_nothing(struct ask *ask);
bool take_judge(struct ask *ask); /* false: something is to be looked at before going on */

/* walk.c: from question to question. */
void ask_go(struct ask *ask, size_t at); /* to a question, or to the review at the end */
void walk_on(struct ask *ask);           /* forward to what is still open or doubtful */
void walk_back(struct ask *ask, struct view target);
/* Is it not asked, as long as what it would be answered with will do? */
bool walk_is_silent(const struct ask *ask, size_t at);

/* review.c */
void review_show(struct ask *ask);
void review_help(struct ask *ask);
enum ask_state review_line(struct ask *ask, struct view line);

/* dialogue.c */
const struct ask_entry *ask_entry(const struct ask *ask);
const struct answer *entry_answer(const struct ask *ask, const struct ask_entry *entry);
const char *ask_bytes(struct ask *ask, bool explained, struct view *out);
void ask_rebuild(struct ask *ask); /* the sequence, after answers have changed */

/* drawing.c: a small drawing for a field, or NULL. */
const char *drawing_of(enum field_id id);

#endif
