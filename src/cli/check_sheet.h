/* The part of `check` that looks at a sheet. */
#ifndef PROVEOUT_CLI_CHECK_SHEET_H
#define PROVEOUT_CLI_CHECK_SHEET_H

#include "cli/command.h"

/* Tells whether the sheet that --sheet names is still that of the file. */
enum exit_status check_sheet(struct run *run);

#endif
