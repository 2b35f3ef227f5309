/* `rules --coverage`: which rules ever fire. */
#ifndef PROVEOUT_CLI_RULES_COVERAGE_H
#define PROVEOUT_CLI_RULES_COVERAGE_H

#include "cli/command.h"

enum exit_status rules_coverage(struct run *run);

#endif
