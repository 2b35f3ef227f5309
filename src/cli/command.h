/* The commands, one file each, and what all of them work with. */
#ifndef PROVEOUT_CLI_COMMAND_H
#define PROVEOUT_CLI_COMMAND_H

#include "cli/options.h"
#include "cli/output.h"
#include "report/report.h"

/* Several things may go wrong in one run: the highest counts. */
enum exit_status {
    EXIT_CLEAN = 0,    /* nothing at or above the threshold */
    EXIT_FINDINGS = 1, /* something is */
    EXIT_TROUBLE = 2   /* something could not be looked at, or not be written */
};

/* One run of the program. */
struct run {
    struct arena *arena; /* lives as long as the run */
    struct options options;
    struct output *out; /* open */
};

enum command_id {
    COMMAND_CHECK,
    COMMAND_COMMISSION,
    COMMAND_REVISE,
    COMMAND_WINDOW,
    COMMAND_DRYRUN,
    COMMAND_EXPLAIN,
    COMMAND_RULES,
    COMMAND_COUNT
};

struct command {
    const char *name;
    const char *arguments;     /* as help shows them */
    const char *summary;       /* one line */
    const char *help;          /* a paragraph */
    enum report_source writes; /* in the form that --format names; or REPORT_NOTHING */
    enum exit_status (*run)(struct run *run);
};

extern const struct command command_table[COMMAND_COUNT];

enum exit_status command_check(struct run *run);
enum exit_status command_commission(struct run *run);
enum exit_status command_dryrun(struct run *run);
enum exit_status command_explain(struct run *run);
enum exit_status command_revise(struct run *run);
enum exit_status command_window(struct run *run);
enum exit_status command_rules(struct run *run);

/* Says why the command does nothing; what it has written goes nowhere.  Returns EXIT_TROUBLE.
 */
enum exit_status run_refuse(struct run *run, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* The output that --format names, else the usual one of the command. */
const struct report_output *run_output(const struct run *run);

/* Writes a report of one file as that output. */
void run_report(struct run *run, const struct report *report);

/* How the program ends after a file with these findings: as --stop-at says. */
enum exit_status run_status(const struct run *run, const struct file_report *report);

/* The command called so; NULL where there is none. */
const struct command *command_find(struct view name);

/* Adds what --help prints; `command` NULL: for the program as a whole. */
void help_add(struct buffer *out, const struct command *command);

#endif
