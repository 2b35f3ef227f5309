/* What became of a sheet that hangs beside its machine: is it still that of the file? */
#ifndef PROVEOUT_REPORT_SHEETS_H
#define PROVEOUT_REPORT_SHEETS_H

#include "report/report.h"

/* What a sheet was made of.  Texts of a sheet may hold hostile bytes. */
struct sheet_state {
    const char *machine;     /* what its people call it */
    const char *fingerprint; /* of the bytes of its own file */
    const char *made_by;     /* version of the program */
    const char *day;         /* "2027-03-31"; "" where it was not known */
    const char *cutter;      /* number of the one that it is about; "": of all */
};

/* A value of the file, or what a rule came to; NULL where it is not there. */
struct sheet_difference {
    bool finding;
    const char
        *name; /* path of the field; the rule, and of what: "cutter-too-long, cutter 3" */
    const char *then, *now; /* on the sheet, and of the file */
    uint32_t line;          /* of the file; 0: nowhere in it */
};

struct sheet_comparison {
    const char *sheet; /* its path */
    struct sheet_state then, now;
    const struct sheet_difference *items;
    size_t count;
};

#endif
