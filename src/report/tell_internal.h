/* What the files that tell moves share. */
#ifndef PROVEOUT_REPORT_TELL_INTERNAL_H
#define PROVEOUT_REPORT_TELL_INTERNAL_H

#include <math.h>

#include "quantity/quantity.h"
#include "report/tell.h"
#include "text/escape.h"

/* A line of the step; nothing for an empty text. */
void tell_line(const struct teller *teller, const char *label, const char *text);

/* Does the file write this word? */
bool tell_says(const struct teller *teller, enum field_id id, const char *word);

/* A field as the file writes it; NULL where it is not there. */
const char *tell_words(const struct teller *teller, enum field_id id);

/* Does the file give it, or the format? */
bool tell_knows(const struct field_value *value);

/* Moved by the operator's keys, however far that is. */
bool tell_is_jogged(const struct move *move);

/* What endangers people there; what the operator does; what he is asked, or that nobody asks;
 * what he sees when it is right. */
void tell_danger(const struct teller *teller, const struct move *move);
void tell_operator(const struct teller *teller, const struct move *move);
void tell_question(const struct teller *teller, const struct move *move);
void tell_unasked(const struct teller *teller, const struct move *move);
void tell_sight(const struct teller *teller, const struct move *move);

#endif
