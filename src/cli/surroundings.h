/* What a run takes from outside: terminal, environment, clock, processors. */
#ifndef PROVEOUT_CLI_SURROUNDINGS_H
#define PROVEOUT_CLI_SURROUNDINGS_H

#include "cli/command.h"
#include "report/report.h"

/* How output is laid out: by the options where they say so, else by what it goes to. */
struct report_options surroundings_layout(const struct run *run);

/* Today by the local calendar, or the day of --today; seconds from 1970-01-01. */
double surroundings_today(const struct run *run);

/* The same as a file has it. */
struct view surroundings_day(const struct run *run);

/* How many files to check at the same time. */
size_t surroundings_jobs(const struct run *run);

#endif
