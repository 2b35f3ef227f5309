/* What the reader finds and what it makes fail: told once. */
#ifndef PROVEOUT_RULES_CAUSE_H
#define PROVEOUT_RULES_CAUSE_H

#include "base/arena.h"
#include "finding/finding.h"

/* Where rules fail over a number that the reader finds implausible, one slip would be told
 * several times.  An error that reads the number says more than the remark on it, which becomes
 * its follow-on; where the error points elsewhere, the words of the remark come first among its
 * related places, made in `arena`.  Warnings and notes become follow-ons of the remark.  An
 * error is never told as a follow-on of a remark: nobody may wave it away with it.  Where a key
 * is missing because another value is, warnings and notes about that value are follow-ons of
 * the missing key; an error that wants that value explains the missing key itself.  What is
 * waived explains nothing. */
void causes_join(struct arena *arena, struct finding *findings, size_t count);

#endif
