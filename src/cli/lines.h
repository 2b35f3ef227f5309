/* Answers, a line each: from a person, a pipe or a file alike.
 *
 * Questions are only ever appended, and no cursor is moved: what a screen reader, a serial line
 * or a log can take.  Where nobody's typing shows by itself, each answer is repeated behind its
 * question with the number of its line, so that the log can be read.
 */
#ifndef PROVEOUT_CLI_LINES_H
#define PROVEOUT_CLI_LINES_H

#include "ask/prompt.h"
#include "base/printf.h"
#include "cli/command.h"
#include "report/report.h"

struct lines {
    struct run *run;
    struct report_options layout;
    const char *from;        /* what to call the input where nobody types; NULL: a terminal */
    size_t number;           /* of the last line */
    enum line_result result; /* of the last line */
    struct ask *ask;         /* what a line answers; NULL: a question from here */
    struct line_reader *reader; /* NULL: not opened yet */
};

void lines_init(struct lines *lines, struct run *run);

/* Opens what answers come from, if it is not open: `path`, or NULL for standard input.  Catches
 * signals from here on.  False: said why not. */
MUST_USE bool lines_open(struct lines *lines, const char *path);

/* Reads a line, answers `ask` with it and shows what that says.  `*state` is set by a line that
 * was read or too long. */
MUST_USE enum line_result lines_answer(struct lines *lines, enum ask_state *state);

/* Writes a question and reads the line that answers it, without blanks around it.  False at the
 * end of the answers. */
MUST_USE bool lines_ask(struct lines *lines, const char *question, struct view *out);

/* The same until it is answered with yes or no, for much may hang on it: a slip is no answer.
 * False for no, and at the end of the answers. */
MUST_USE bool lines_agree(struct lines *lines, const char *question);

/* Leaves the terminal as it was found. */
void lines_close(struct lines *lines);

/* Writes a text as it is, in ASCII where the terminal wants that. */
void lines_show(struct lines *lines, struct view text);

/* Writes a paragraph, or with `indent` a remark below a question. */
void lines_say(struct lines *lines, size_t indent, const char *format, ...) PRINTF(3, 4);

/* An empty line. */
void lines_gap(struct lines *lines);

#endif
