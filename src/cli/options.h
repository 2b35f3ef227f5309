/* The one table of options, and what a command line says in its terms.
 *
 * Parsing and help are made from the table in options.inc: an option is one row there.  What the
 * values mean is the affair of the commands.
 */
#ifndef PROVEOUT_CLI_OPTIONS_H
#define PROVEOUT_CLI_OPTIONS_H

#include "base/bug.h"
#include "base/vector.h"
#include "base/view.h"

struct command; /* cli/command.h */

enum option_id {
#define OPTION(id, name, letter, kind, argument, choices, commands, help) OPTION_##id,
#include "cli/options.inc"
#undef OPTION
    OPTION_COUNT
};

enum option_kind {
    OPTION_IS_FLAG,   /* takes nothing */
    OPTION_IS_TEXT,   /* */
    OPTION_IS_LIST,   /* a text each time it is given */
    OPTION_IS_CHOICE, /* one word of `choices` */
    OPTION_IS_OUTPUT, /* one of the outputs of the command, where it has several */
    OPTION_IS_COUNT,  /* a whole number, 1 to OPTION_COUNT_MAX */
    OPTION_IS_DATE    /* YYYY-MM-DD */
};

enum { OPTION_COUNT_MAX = 1000 };

struct option_row {
    const char *name; /* without the dashes */
    char letter;      /* 0: none */
    enum option_kind kind;
    const char *argument; /* as help shows it; NULL: takes none */
    const char *choices;  /* words separated by blanks, the default first; or NULL */
    unsigned commands;    /* bits 1 << enum command_id */
    const char *help;
};

extern const struct option_row option_table[OPTION_COUNT];

/* What the command line gave for one option; the last time counts, except for lists. */
struct option_value {
    bool given;
    const char *text; /* TEXT, OUTPUT */
    size_t choice;    /* CHOICE, OUTPUT: index of the word, 0 where not given */
    size_t count;     /* COUNT */
    double date;      /* DATE: seconds from 1970-01-01 */
    VECTOR(const char *) list;
};

struct options {
    const struct command *command; /* NULL: none is named */
    struct option_value values[OPTION_COUNT];
    VECTOR(const char *) arguments; /* all that is no option, in order */
};

/* Reads a command line; everything it keeps is in `arena` or in `argv`.  NULL on success, else
 * what is wrong in one sentence, of which `out` is what was understood so far. */
MUST_USE const char *options_read(struct arena *arena, int argc, char *const *argv,
                                  struct options *out);

/* Does this command take it?  `command` NULL: do all? */
bool option_belongs(const struct option_row *row, const struct command *command);

/* Word `index` of what a command may choose from; empty past the end. */
struct view option_choice(const struct option_row *row, const struct command *command,
                          size_t index);

/* Seconds from 1970-01-01 of a date written YYYY-MM-DD; false where it is none. */
MUST_USE bool option_date(struct arena *arena, const char *text, double *seconds);

#endif
