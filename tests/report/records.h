/* Finding records made by hand, for the tests of outputs. */
#ifndef PROVEOUT_TESTS_REPORT_RECORDS_H
#define PROVEOUT_TESTS_REPORT_RECORDS_H

#include "finding/sink.h"
#include "report/report.h"

/* A machine file and room for what is said about it. */
struct records {
    struct arena arena;
    struct source source;
    struct finding findings[16];
    struct file_report report;
};

/* Starts with the file of records.c, in which nothing is found yet. */
void records_init(struct records *records);
void records_free(struct records *records);

/* The place of a piece of text in the file, the first time it stands there. */
struct finding_spot records_spot(struct records *records, const char *text, const char *field);

/* Adds a record and returns it. */
struct finding *records_add(struct records *records, const struct finding *finding);

/* The three records that most tests look at: a failure with all that one can have, another of
 * the same rule at the same place, and a third that follows from the first. */
void records_add_stroke(struct records *records);

/* What an output makes of the file, and of a whole run of it alone. */
const char *records_file(struct records *records, const struct report_output *output,
                         const struct report_options *options);
const char *records_run(struct records *records, const struct report_output *output,
                        const struct report_options *options);

/* Fails with both texts where they differ. */
void records_expect(const char *given, const char *wanted);

#endif
