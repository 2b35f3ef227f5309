/* Reading one line from a person, or from whatever stands in for one.
 *
 * Two readers: a plain one for everything, and one with editing, history and completion for
 * terminals that can do so.  Signals write their number as one byte into a pipe, and the
 * readers wait for that as well, so that no signal is lost between two looks.
 */
#ifndef PROVEOUT_CLI_LINE_H
#define PROVEOUT_CLI_LINE_H

#include "base/arena.h"
#include "base/bug.h"
#include "base/view.h"

enum { LINE_SIZE_MAX = 4096 };

enum line_result {
    LINE_READ,
    LINE_END,       /* of the input */
    LINE_TOO_LONG,  /* and nothing of it is kept */
    LINE_INTERRUPT, /* SIGINT */
    LINE_HANGUP,    /* another signal that ends things */
    LINE_UNSEEN,    /* what is shown reaches nobody any more */
    LINE_FAILED     /* the input cannot be read */
};

/* What is read from, and what is waited for besides. */
struct line_place {
    int in, out;
    int wake; /* a pipe of signal numbers; -1: none */
    /* Words that complete the one being typed, ended by NULL; in `arena`.  May be NULL. */
    const char *const *(*words)(void *user, struct arena *arena);
    void *user;
};

struct line_reader {
    struct line_place place;
    enum line_result (*read)(struct line_reader *reader, struct view *out);
    void (*close)(struct line_reader *reader);
};

/* Where nothing is echoed and nobody edits: pipes, files, plain terminals. */
struct line_reader *line_plain(struct arena *arena, const struct line_place *place);

/* With libedit.  NULL where it does not want this terminal; line_plain serves then. */
struct line_reader *line_edit(struct arena *arena, const struct line_place *place);

/* Catches SIGINT, SIGHUP and SIGTERM, and where lines are edited SIGTSTP and SIGWINCH.  Returns
 * the descriptor to wait for, -1 where there is none. */
int line_catch(bool edits);

enum { LINE_WOKEN_NONE = 0 };

/* Waits until there is something to read.  0, or the number of a signal that came first,
 * SIGPIPE where nobody can see the question; -1 where waiting fails. */
int line_wait(const struct line_place *place);

/* How a line ends that did not come because waiting gave `woken`. */
enum line_result line_woken(int woken);

/* Shows `> ` where somebody types, and reads a line without its end; it lives until the next.
 */
MUST_USE enum line_result line_read(struct line_reader *reader, struct view *out);

/* Leaves the terminal as it was found. */
void line_close(struct line_reader *reader);

#endif
