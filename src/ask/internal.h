/* What the parts of a dialogue share. */
#ifndef PROVEOUT_ASK_INTERNAL_H
#define PROVEOUT_ASK_INTERNAL_H

#include "ask/judge.h"
#include "ask/prompt.h"
#include "ask/questions.h"
#include "ask/write.h"
#include "base/printf.h"

enum ask_phase { PHASE_QUESTION, PHASE_MEND, PHASE_REVIEW, PHASE_NAME, PHASE_OVER };

/* What Enter means at a question. */
struct ask_offer {
    const char *text; /* the value, NULL: none */
    bool keeps;       /* it is the answer that stands there already */
    bool typed;       /* only a suggestion: Enter does not take it */
    bool computed;
    const char *window;         /* or NULL */
    const struct window *range; /* that it tells of, or NULL */
    const char *reason;         /* or NULL */
};

/* A number that would be another. */
struct mending {
    uint16_t what;
    uint32_t record;
    const char *now, *text; /* `now`: "nothing", where none is given */
};

/* Numbers that together put right what fails at the review; all in the dialogue's arena. */
struct mend {
    struct mending *items;
    size_t count;                         /* 0: there is no such set */
    size_t left;                          /* errors and warnings that stay */
    const char *less;                     /* a rule about people that gets less room; or NULL */
    const char *measured_rule, *measured; /* a number to be measured again before; or NULL */
    const char *exclusion;                /* where there is no set: how sure it is; or NULL */
    const char **excluded;                /* and the rules that exclude each other then */
    size_t excluded_count;
};

struct ask {
    struct arena *arena;   /* as long as the dialogue */
    struct arena *scratch; /* from one line to the next */
    const struct ask_setup *setup;
    struct report_options layout;  /* of the setup; the width is asked for again */
    const struct machine *machine; /* of the file that is there, or NULL */
    struct answers answers;
    struct judge judge;
    struct answer_context with;
    struct ask_sequence sequence; /* in scratch */
    size_t at;                    /* in the sequence */
    enum ask_phase phase;
    uint8_t topic;                        /* the last that was headed, TOPIC_COUNT: none */
    bool resumed;                         /* from a draft, and nothing was answered since */
    bool refused;                         /* the last line */
    struct ask_entry put[ASK_JOINED_MAX]; /* those that the last answer gave another value */
    size_t put_count;
    bool is_told; /* what the cutter of this record is was said with the answer before */
    uint32_t told;
    struct ask_offer offer;
    struct ask_offer parts[ASK_JOINED_MAX]; /* of each of several entries asked together */
    struct mend mend;                       /* what is offered at the review */
    uint64_t left_sum; /* of the file whose numbers were to be left as they are */
    struct buffer out;
    struct buffer said; /* of the last line, in sentences: what was understood, or why not */
    struct finding_list news; /* what the rules say of it */
};

/* One of the words that answer a question. */
struct choice {
    const char *word, *says; /* as it is typed, and as it is shown */
};
enum { CHOICES_MAX = 40 };

/* beside.c: what files beside say to the question that stands; and what a line that says yes to
 * it takes, NULL: nothing. */
void found_lines(struct ask *ask);
bool found_is_there(const struct ask *ask, const struct ask_entry *entry);
const char *found_taken(struct ask *ask, struct view line);

/* entry.c: what stands. */
const struct ask_entry *ask_entry(const struct ask *ask);
const struct answer *entry_answer(const struct ask *ask, const struct ask_entry *entry);
/* The field that it is about; NULL for one of the prompt's own. */
static inline const struct field *entry_field(const struct ask_entry *entry)
{
    return entry->row->what < FIELD_COUNT ? &field_table[entry->row->what] : NULL;
}
/* What it is called, as answer_path and answer_spoken_path have it. */
const char *entry_path(const struct ask *ask, const struct ask_entry *entry);
const char *entry_spoken_path(const struct ask *ask, const struct ask_entry *entry);
bool entry_is_needed(const struct ask_entry *entry);
const char *entry_label(struct ask *ask, const struct ask_entry *entry); /* a short name */
size_t question_span(const struct ask *ask);   /* how many entries it has */
bool question_is_marks(const struct ask *ask); /* of yes and no each */

/* offer.c: what may be answered. */
const char *ask_bytes(struct ask *ask, bool explained, struct view *out);
bool file_is_unchanged(const struct ask *ask, struct view bytes);
/* Is it not asked, as long as what it would be answered with will do? */
bool entry_is_silent(const struct ask *ask, size_t at);
const char *question_record(struct ask *ask);  /* "cutter 3"; NULL: of none */
unsigned question_care(const struct ask *ask); /* bits CARE_... of all its fields */
/* Which question stands, from 1, of about how many by the answers so far. */
size_t question_number(struct ask *ask, size_t *of);
/* How many are still to be answered behind it, and how many of those are measured. */
size_t questions_left(struct ask *ask, size_t *measured);
size_t question_choices(struct ask *ask, const struct ask_entry *entry, struct choice *out);
/* How many of several were understood, parts[0].echo says of all; 0: parts[0].wrong. */
size_t question_read(struct ask *ask, struct view line, struct understood *parts);
/* What is to be typed, as an order: "Type a number, as 15 or 15 mm. ". */
const char *question_wants(struct ask *ask);
void offer_find(struct ask *ask);  /* for the question that stands */
void offer_entry(struct ask *ask); /* for its first entry alone */
/* What is offered or kept, as a person would type it; "it open" for nothing. */
const char *offer_said(struct ask *ask);
const char *offer_reason(const struct ask *ask, const struct ask_offer *offer);
/* Was this a value as it was offered, so that another may be offered now? */
bool offer_was_taken(const struct question *row, const struct answer *answer);

/* Is a part of a file asked for, with no review and no draft? */
static inline bool asks_part(const struct ask *ask)
{
    return ask->setup->place_count || ask->setup->record;
}

/* record.c: about one record alone. */
void record_begin(struct ask *ask);        /* makes room for a new one */
void record_end(struct ask *ask);          /* says what could not be looked at */
bool record_is_new(const struct ask *ask); /* and is one asked about? */
/* Whether more of it is wanted, as the list of topics that commission has. */
void record_more(struct ask *ask, struct view line, struct understood *out);
/* Why what was understood is no answer, though it is one of the field's; NULL: it is. */
const char *record_refuses(struct ask *ask, struct view text);

/* places.c: of `places` alone.  Takes over what the file has of halves of pairs. */
void places_begin(struct ask *ask);
/* What the file had where the question stands, before anything was answered. */
struct answer places_of_file(struct ask *ask);
void places_meet(struct ask *ask); /* reads what is typed as the value that stands there */
/* Hands on what was answered, or that nothing was; NULL, or why it cannot be put in. */
const char *places_put(struct ask *ask, const struct answer *answer);

/* mend.c: numbers that put right what fails at the review.  Finds them for the file `bytes`,
 * into ask->mend; false: nothing fails that chosen numbers mend. */
bool mend_find(struct ask *ask, struct view bytes);
void mend_take(struct ask *ask); /* makes answers of them */

/* better.c: what more readings of the value just answered would bring, where that pays. */
void show_better(struct ask *ask, const struct ask_entry *entry, const struct answer *answer);

/* say.c, show.c: what is shown as text.  All add to ask->out. */
void say(struct ask *ask, size_t indent, const char *format, ...) PRINTF(3, 4);
void say_answer(struct ask *ask, const char *format, ...)
    PRINTF(2, 3); /* of the line that was typed */
void say_line(struct ask *ask, const char *text); /* as it stands */
/* The same of a line that is refused. */
#define REFUSE(ask, ...) ((ask)->refused = true, say_answer(ask, __VA_ARGS__))
void show_intro(struct ask *ask);
void show_question(struct ask *ask);
void show_help(struct ask *ask);
void show_findings(struct ask *ask, const struct finding_list *news);
/* What is asked, as a sentence; NULL: each field has its own. */
const char *show_headline(struct ask *ask);
/* What is asked about one entry alone. */
const char *show_entry(struct ask *ask, const struct ask_entry *entry);
void show_marks(struct ask *ask, const struct understood *parts);
void show_proposal(struct ask *ask);
void show_mend(struct ask *ask);
void show_exclusion(struct ask *ask); /* where no numbers put right what fails, why */
bool show_review(struct ask *ask);    /* false: there is nothing to be written */
void show_review_end(struct ask *ask);
void show_review_help(struct ask *ask);
void show_report(struct ask *ask, struct view bytes);
void show_left_out(struct ask *ask, struct view bytes);
void show_next(struct ask *ask, struct view bytes);

#endif
