/* Values that are usual, or follow from other answers. */
#ifndef PROVEOUT_ASK_USUAL_H
#define PROVEOUT_ASK_USUAL_H

#include "ask/question.h"
#include "ask/understand.h"

/* The usual value of a row, in the units in use; NULL where there is none.  `*computed`: from
 * other answers. */
const char *usual_value(const struct understanding *with, const struct answers *answers,
                        const struct question *row, uint32_t record, bool *computed);

#endif
