/* What a revision moved, for people: mended, newly found, margins that grew and shrank. */
#ifndef PROVEOUT_REPORT_MOVES_H
#define PROVEOUT_REPORT_MOVES_H

#include "report/report.h"
#include "rules/moved.h"

void moves_text(struct buffer *out, const struct report_options *options, const char *path,
                const struct moved *moved);

#endif
