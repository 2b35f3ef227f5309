/* A name for a finding that stays the same from check to check.
 *
 * The FNV-1a hash, 64 bits, of rule, subject and field with a line feed after each, in 16 small
 * hexadecimal digits.  No line, number or wording is in it; a cutter stands in the field by its
 * number (`cutters[number=3].stickout`), not by its place in the list.  Of several findings
 * that are alike in all three, the second has "1" behind the last line feed, the third "2", and
 * so on.
 */
#ifndef PROVEOUT_TEXT_FINGERPRINT_H
#define PROVEOUT_TEXT_FINGERPRINT_H

#include "base/arena.h"

/* NULL counts as empty. */
const char *fingerprint(struct arena *arena, const char *rule, const char *subject,
                        const char *field, size_t again);

#endif
