/* The dialogue: lines in, text out, nothing else.
 *
 * It reads no terminal, opens no file and knows no clock: whoever runs it passes each line and
 * prints what comes back, so that tests drive it as people do.  What is to be kept goes through
 * the host.
 */
#ifndef PROVEOUT_ASK_PROMPT_H
#define PROVEOUT_ASK_PROMPT_H

#include "report/report.h"
#include "rules/check.h"

/* Where drafts and the file go. */
struct ask_host {
    void *user;
    void (*keep)(void *user, struct view draft); /* in place of the draft before */
    void (*aside)(void *user); /* the draft cannot be used, and is not to be lost */
    void (*drop)(void *user);  /* the draft is not needed any more */
    /* NULL on success, else why not, in one sentence without a full stop. */
    const char *(*save)(void *user, struct arena *arena, const char *path, struct view bytes);
    /* The same for one of the `places` below, as soon as it is answered; an empty text: it is
     * to be again as it was at the start. */
    const char *(*take)(void *user, const struct field_place *place, struct view text);
    /* The bytes of the file with all that was taken. */
    struct view (*taken)(void *user);
};

struct ask_record {
    enum field_group group; /* of cutters */
    uint32_t index;
};

/* A number that a file beside the machine file says. */
struct ask_found {
    const char *field; /* its path, lists by what they are called: cutters[number=3].stickout */
    const char *text;  /* as a machine file would have it: "12.0 mm" */
    const char *where; /* "controller/change.txt:88", harmless */
    const char *line;  /* that line, harmless */
};

struct ask_setup {
    const struct check_options *rules;
    struct report_options layout;
    const char *path; /* of the machine file; NULL: asked for at the end */
    bool exists;      /* it is there, and these are its bytes */
    struct view base;
    struct view draft; /* as it was kept; size 0: none */
    bool unkept;       /* the host could not keep the last draft, and says itself why not */
    struct view today; /* YYYY-MM-DD */
    /* What alone is asked for, one after another, each explained at once; 0: everything.  The
     * answers go to the host's `take`; there is no review and no draft. */
    const struct field_place *places;
    size_t place_count;
    /* The only record asked about, of a list of the file, or one past its end.  There is no
     * review and no draft; what the answers give is ask_file(). */
    const struct ask_record *record;
    const struct ask_found *found; /* shown at their questions, and taken by a yes alone */
    size_t found_count;
    struct ask_host host;
};

enum ask_state {
    ASK_GOES_ON,
    ASK_SAVED,
    ASK_ASKED,     /* all `places`, or all about the `record` */
    ASK_UNCHANGED, /* nothing was to be written */
    ASK_STOPPED,   /* by `later`; the draft is kept, where there is one */
};

struct ask;

/* Starts a dialogue in `arena`; `setup` and what it points to must outlive it.  `*says`, here
 * and below, lives until the next call. */
struct ask *ask_begin(struct arena *arena, const struct ask_setup *setup, struct view *says);

/* One line, without its line end. */
enum ask_state ask_line(struct ask *ask, struct view line, struct view *says);

/* What stands now, as JSON of format proveout-question, of which include/proveout/questions.h
 * tells; added to `out`. */
void ask_json(struct ask *ask, struct buffer *out);

/* The file that the answers so far give, in `*out`, which lives until the next line.  NULL, or
 * why there is none. */
MUST_USE const char *ask_file(struct ask *ask, struct view *out);

/* The name of the question that stands, such as `cutters[0].stickout`; empty at the review. */
const char *ask_at(const struct ask *ask, struct arena *arena);

/* Was this one of `found` taken, by a yes, and is it the answer that stands? */
bool ask_took(const struct ask *ask, struct arena *arena, size_t index);

/* Was the last line refused, so that the same question stands? */
bool ask_refused(const struct ask *ask);

/* The window has this many columns now; 0: it does not matter. */
void ask_resize(struct ask *ask, size_t width);

/* The line was too long to be taken. */
void ask_too_long(struct ask *ask, struct view *says);

/* What to say when the dialogue ends without a word of its own: how to go on. */
void ask_farewell(struct ask *ask, struct view *says);

/* Words that complete what is typed here. */
struct ask_words {
    VECTOR(const char *) items;
};
void ask_words(struct ask *ask, struct arena *arena, struct ask_words *out);

#endif
