/* Turns: where room is least while one number of the plan is moved.
 *
 * A way whose one end moves, a body that is moved itself, and a thing that stays come nearest at
 * one place: on either side of it there is more room, or as much, and never less again.  Where
 * enough is left at two turns that follow each other, it is left everywhere between them.
 *
 * That holds for every way, every thing and every body apart, and so for the least of them.
 * Why: what one end of a way may be for the way to meet a convex thing, the other end anywhere
 * in a convex area, is a convex area of its own, its shadow; a line cuts it in one piece.
 * Heights, lengths and radii have no turns: more of any is more room everywhere, or less.
 */
#ifndef PROVEOUT_MOTION_TURNS_H
#define PROVEOUT_MOTION_TURNS_H

#include "machine/machine.h"

/* Tells the turns of a field of one record, in no order and some of them more than once, m: of
 * a coordinate of the setter, the park position or an attachment.  Other fields have none.  The
 * field must have a number; what else is missing in the plan is left out. */
void turns_find(const struct machine *machine, enum field_id field, uint32_t record,
                void (*tell)(void *user, double at), void *user);

#endif
