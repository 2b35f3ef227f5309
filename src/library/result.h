/* What a check found, as other programs are given it. */
#ifndef PROVEOUT_LIBRARY_RESULT_H
#define PROVEOUT_LIBRARY_RESULT_H

#include "library/request.h"

struct proveout_result {
    struct answer answer;
    struct file_report report;
    struct proveout_finding *findings;
};

/* Makes the records of what `result->report` holds, in the request's arena. */
void result_fill(struct request *request, struct proveout_result *result);

#endif
