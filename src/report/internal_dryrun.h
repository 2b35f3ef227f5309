/* The words of the dry run that are the operator's part, and what its files share. */
#ifndef PROVEOUT_REPORT_INTERNAL_DRYRUN_H
#define PROVEOUT_REPORT_INTERNAL_DRYRUN_H

#include "report/dryrun.h"
#include "report/internal.h"

/* What is being written. */
struct table {
    const struct dryrun *dryrun;
    struct layout layout;
    struct arena *arena;
    unit_id length, speed; /* as the file writes them */
    bool plate, homes;
};

enum { DRYRUN_INDENT = 4 };

const struct field_value *table_field(const struct table *table, enum field_id id);

bool table_is_known(const struct field_value *value);

/* A field as the file writes it; NULL where it is not there. */
const char *table_words(const struct table *table, enum field_id id);

/* Does the file write this word? */
bool table_field_is(const struct table *table, enum field_id id, const char *word);

/* "cutter 3" */
const char *table_cutter(const struct table *table, uint32_t record);

/* A line below a step; nothing for an empty text. */
void table_line(const struct table *table, const char *label, const char *text);

/* How the spindle is kept from starting, as a clause; NULL where nothing does. */
const char *table_hold(const struct table *table);

/* "spindle stands, kept from starting" */
const char *table_spindle(const struct move *move);

/* What the operator does, what he is asked, and what he sees when it is right. */
void table_operator(const struct table *table, const struct move *move);

#endif
