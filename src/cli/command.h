/* The commands, and what all of them work with: the command line in terms of the tables of
 * commands and options, and the run.
 *
 * A command is a row of commands.inc and a file here, an option a row of options.inc: parsing
 * and help are made from those.  What the values mean is the affair of the commands.
 */
#ifndef PROVEOUT_CLI_COMMAND_H
#define PROVEOUT_CLI_COMMAND_H

#include "base/bug.h"
#include "base/printf.h"
#include "base/vector.h"
#include "base/view.h"
#include "cli/output.h"
#include "cli/tables.h"
#include "library/machine_file.h"

/* Several things may go wrong in one run: the highest counts. */
enum exit_status {
    EXIT_CLEAN = 0,    /* nothing at or above the threshold */
    EXIT_FINDINGS = 1, /* something is */
    EXIT_TROUBLE = 2   /* something could not be looked at, or not be written */
};

struct run;

#define COMMAND(id, name, writes, arguments, summary, help)                                    \
    enum exit_status command_##name(struct run *run);
#include "cli/commands.inc"

/* What the command line gave for one option; the last time counts, except for lists. */
struct option_value {
    bool given;
    const char *text; /* TEXT, OUTPUT, CUTTER */
    size_t choice;    /* CHOICE, OUTPUT: index of the word, 0 where not given */
    size_t count;     /* COUNT */
    double date;      /* DATE: seconds from 1970-01-01 */
    VECTOR(const char *) list;
};

struct options {
    const struct command *command; /* NULL: none is named */
    struct option_value values[OPTIONS];
    VECTOR(const char *) arguments; /* all that is no option, in order */
};

/* Reads a command line; everything it keeps is in `arena` or in `argv`.  NULL on success, else
 * what is wrong in one sentence, of which `out` is what was understood so far. */
MUST_USE const char *options_read(struct arena *arena, int argc, char *const *argv,
                                  struct options *out);

/* One run of the program. */
struct run {
    struct arena *arena; /* lives as long as the run */
    struct options options;
    struct output *out; /* open */
};

/* How output is laid out: by the options where they say so, else by what it goes to. */
struct report_options run_layout(const struct run *run);

/* Seconds from 1970-01-01 of a date written YYYY-MM-DD; false where it is none. */
MUST_USE bool run_date(struct arena *arena, const char *text, double *seconds);

/* Today by the local calendar, or the day of --today; seconds from 1970-01-01. */
double run_today(const struct run *run);

/* The same as a file has it. */
struct view run_day(const struct run *run);

/* How many files to check at the same time. */
size_t run_jobs(const struct run *run);

/* Reads the machine file named, or standard input for `-`, as far as it can be read.  False: why
 * not has been said. */
MUST_USE bool run_open_machine(struct run *run, const char *path, struct machine_file *out);

/* Was it read to its end?  False: what keeps it from that has been said. */
MUST_USE bool run_want_whole(struct run *run, const struct machine_file *file);

/* Both. */
MUST_USE bool run_read_machine(struct run *run, const char *path, struct machine_file *out);

/* Says why the command does nothing; what it has written goes nowhere.  Returns EXIT_TROUBLE.
 */
enum exit_status run_refuse(struct run *run, const char *format, ...) PRINTF(2, 3);

/* The output that --format names, else the usual one of the command. */
const struct report_output *run_output(const struct run *run);

/* Writes a report of one file as that output. */
void run_report(struct run *run, const struct report *report);

/* After that: says so where the reader found mistakes in the file, which is true then. */
MUST_USE bool run_told_mistakes(struct run *run, const struct machine_file *file);

/* From which level on findings count: as --stop-at says, else `policy`, where there is one. */
struct policy;
enum finding_level run_stop_at(const struct run *run, const struct policy *policy);

/* How the program ends after a file with these findings. */
enum exit_status run_status(const struct run *run, const struct policy *policy,
                            const struct file_report *report);
enum exit_status run_status_from(enum finding_level stop_at, const struct file_report *report);

/* Adds what --help prints; `command` NULL: for the program as a whole. */
void help_add(struct buffer *out, const struct command *command);

#endif
