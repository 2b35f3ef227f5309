/* The tables of commands and options: what there is, and what goes with what.
 *
 * A command is a row of commands.inc, an option one of options.inc.  Reading a command line, help,
 * the manual pages and what shells complete are all made from these.
 */
#ifndef PROVEOUT_CLI_TABLES_H
#define PROVEOUT_CLI_TABLES_H

#include "library/schema.h"
#include "report/report.h"

/* What the program is for, in one sentence. */
extern const char program_summary[];

enum command_id {
#define COMMAND(id, name, writes, arguments, summary, help) COMMAND_##id,
#include "cli/commands.inc"
    COMMANDS
};

/* A row of commands.inc. */
struct command {
    const char *name, *arguments, *summary, *help;
    enum report_source writes;
};

extern const struct command command_table[COMMANDS];

enum option_id {
#define OPTION(id, name, letter, kind, argument, choices, commands, help) OPTION_##id,
#include "cli/options.inc"
    OPTIONS
};

enum option_kind {
    OPTION_IS_FLAG,   /* takes nothing */
    OPTION_IS_TEXT,   /* */
    OPTION_IS_PATH,   /* of a file or a folder */
    OPTION_IS_LIST,   /* a text each time it is given */
    OPTION_IS_PATHS,  /* a path each time it is given */
    OPTION_IS_CHOICE, /* one word of `choices` */
    OPTION_IS_OUTPUT, /* one of the outputs of the command, where it has several; of one that
                         writes no report, one word of `choices` */
    OPTION_IS_CUTTER, /* a number; `cutter` may stand before it, as a word of its own too */
    OPTION_IS_COUNT,  /* a whole number, 1 to COUNT_MAX */
    OPTION_IS_DATE    /* YYYY-MM-DD */
};

/* A row of options.inc. */
struct option_row {
    const char *name; /* without the dashes */
    char letter;      /* 0: none */
    enum option_kind kind;
    const char *argument; /* as help shows it; NULL: takes none */
    const char *choices;  /* words separated by blanks, the default first; or NULL */
    unsigned commands;    /* bits 1 << enum command_id */
    const char *help;
};

extern const struct option_row option_table[OPTIONS];

/* Does this command take it?  `command` NULL: the program without one? */
bool option_belongs(const struct option_row *row, const struct command *command);

/* Word `index` of what a command may choose from; empty past the end. */
struct view option_choice(const struct option_row *row, const struct command *command,
                          size_t index);

/* What help says of an option, its choices included, in `arena`. */
const char *option_text(struct arena *arena, const struct option_row *row,
                        const struct command *command);

#endif
