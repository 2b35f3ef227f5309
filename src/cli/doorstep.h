/* The door for whoever starts the program by itself, from a desktop: without a command, in a
 * window that closes with it.
 *
 * Lines in, text out: what reads the lines and runs what is wanted stands in doorstep_run.c.
 */
#ifndef PROVEOUT_CLI_DOORSTEP_H
#define PROVEOUT_CLI_DOORSTEP_H

#include "base/arena.h"
#include "base/view.h"

enum doorstep_wish {
    DOORSTEP_ASKS,  /* nothing yet: there is a remark, or another question */
    DOORSTEP_CHECK, /* the file of `path` */
    DOORSTEP_COMMISSION,
    DOORSTEP_LEAVE
};

struct doorstep {
    struct arena *arena;
    bool (*is_there)(const char *path); /* a file or folder */
    bool wants_name;                    /* of a machine to be asked about */
    bool went;                          /* something was run already */
    const char *path;                   /* of the last wish */
    const char *remark;                 /* on the last line; NULL: none */
};

/* What the program is, and the cautions: paragraphs, ended by NULL. */
extern const char *const doorstep_greeting[];

/* What is asked for now. */
const char *doorstep_question(const struct doorstep *door);

/* What a line means that answers it. */
enum doorstep_wish doorstep_answer(struct doorstep *door, struct view line);

#endif
