/* Answers from standard input, a line each: from a person, a pipe or a file alike.
 *
 * Questions are only ever appended, and no cursor is moved: what a screen reader, a serial line
 * or a log can take.  Where nobody's typing shows by itself, each answer is repeated behind its
 * question, so that the log can be read.
 */
#ifndef PROVEOUT_CLI_LINES_H
#define PROVEOUT_CLI_LINES_H

#include "cli/command.h"

enum { LINE_MAX_SIZE = 4096 };

struct lines {
    struct run *run;
    bool from_terminal; /* what is typed shows by itself */
    bool ended;
    size_t used, size; /* of `room` */
    char room[LINE_MAX_SIZE];
};

void lines_init(struct lines *lines, struct run *run);

/* Writes a question and reads the line that answers it, without its end and blanks around it.
 * False at the end of the answers.  The view is good for as long as the run. */
MUST_USE bool lines_ask(struct lines *lines, const char *question, struct view *out);

/* Writes a paragraph, or with `indent` a remark below a question. */
void lines_say(struct lines *lines, size_t indent, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* An empty line. */
void lines_gap(struct lines *lines);

#endif
