/* What people say in words of their own, where an answer has a form. */
#ifndef PROVEOUT_ASK_SPOKEN_H
#define PROVEOUT_ASK_SPOKEN_H

#include "base/arena.h"
#include "base/bug.h"
#include "base/view.h"

/* What a line means wherever it is typed. */
enum said {
    SAID_NOTHING_KNOWN, /* no such word: it is an answer */
    SAID_HELP,          /* `?`, or a question asked back */
    SAID_SKIP,          /* `skip`, `I don't know`, `no idea` */
    SAID_STOP,          /* `later`, `exit`, `quit` */
    SAID_NONE,          /* `none`: an answer where the question has it, else left open */
    SAID_BACK,
    SAID_ON,
    SAID_ANEW,
    SAID_YES
};

/* Capitals, marks at the end and the kind of apostrophe do not count.  `*rest` is what stands
 * behind `back`. */
enum said spoken_word(struct arena *arena, struct view line, struct view *rest);

/* `Z first, then X and Y together` as `[z, xy]`; NULL where it is told otherwise.  `*doubt` is
 * set where X and Y may be meant together or one after the other. */
const char *spoken_order(struct arena *arena, struct view line, bool *doubt);

/* `stick-out` or `setter at x` for a path: the end of it, blanks and dashes as they come. */
bool spoken_calls(const char *path, struct view words);

/* `homing` for homing.order: the section that a path begins with. */
bool spoken_section(const char *path, struct view words);

#endif
