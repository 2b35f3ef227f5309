/* What keeps persons, and what was not asked, holds wishes back.
 *
 * A proposal mends what fails; a wish takes away what there is to spare.  So no wish moves a
 * number where nobody can tell what that takes from whom, and waits that stand between a hand
 * and a turning cutter have a floor of their own, whatever rules say and whoever waives them.
 */
#ifndef PROVEOUT_PROPOSE_GUARD_H
#define PROVEOUT_PROPOSE_GUARD_H

#include "propose/internal.h"

/* Sets the floors, and keeps what rests on a rule that cannot be asked from moving: each number
 * where the rule is about persons, else those that nobody named.  Remarks count for neither.
 */
void guard_numbers(struct finder *finder);

/* Keeps what rests on a rule about persons from moving that fails whatever the numbers are. */
void guard_stays(struct finder *finder);

#endif
