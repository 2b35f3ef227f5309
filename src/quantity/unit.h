/* Units: the one table of them, and how a text is read as one.
 *
 * A unit is a dimension and a factor to SI, kept as an exact fraction so that
 * 42 mm is 42/1000 rounded once, the same double as 0.042.  Composite speeds and
 * accelerations ("in/min", "mm/s^2", "mm/s2") are any length over any time.
 */
#ifndef PROVEOUT_QUANTITY_UNIT_H
#define PROVEOUT_QUANTITY_UNIT_H

#include "quantity/dimension.h"

/* An index into the table of all units, simple and composite; 0 is the bare number (factor 1,
 * no dimension).  Small enough to keep beside every number. */
typedef uint8_t unit_id;

enum { UNIT_BARE = 0, UNIT_UNKNOWN = 255 };

/* Reads a whole text as a unit ("mm", "\"", "in/min", "mm/s^2", "steps/mm", "kg*m^2",
 * "µm", "m/s²", "mm/s/s").  UNIT_UNKNOWN where it is none.  Case counts, since MHz is not mHz,
 * but RPM and other harmless capitals of words of three and more letters are accepted.  The
 * sign of an inch, typed, curled or proper, is the unit `in`. */
unit_id unit_read(struct view text);

/* The dimension a unit has of itself, as it is meant on this machine: Hz counts steps per
 * second, N*m is torque per radian, kg*m^2 inertia per radian squared. */
struct dimension unit_dimension(unit_id unit);

/* May a field of dimension `wanted` be written in `unit`?  As the dimension is equal, or as the
 * trade leaves a turn unsaid: a length for a lead; a bare number for steps per turn and for
 * what counts per turn (teeth). */
bool unit_fits(unit_id unit, struct dimension wanted);

/* As people write it: "mm", "in/min", "%".  Empty for the bare number. */
const char *unit_text(unit_id unit);

/* The step to which people set a number in this unit, in that unit: 0.1 mm, 1/64 in, 0.1 s.  0
 * where they set anything to three digits. */
double unit_step(unit_id unit);

/* A value in `unit` to SI and back.  rpm is 2 pi / 60 rad/s; motor steps per turn are written
 * bare and are per 2 pi rad: the field says so by its dimension, which `wanted` passes.  Back
 * gives what was typed, where the value was typed: 42, not 42.00000000000001. */
double unit_to_si(unit_id unit, struct dimension wanted, double value);
double unit_from_si(unit_id unit, struct dimension wanted, double si);

/* `days`, in which spans between dates are shown, and which a rulebook may write.  No size of a
 * machine is given in them, so that they are among no choices. */
unit_id unit_days(void);

/* The units that `wanted` may be written in, at most `room` of them in `units`, usual ones
 * first; returns how many there are.  The bare number is not among them.  For messages ("mm,
 * cm, m, in") and prompts. */
size_t unit_choices(struct dimension wanted, unit_id *units, size_t room);

/* A unit in which to show a quantity for which no file gave one: mm, s, mm/s, rpm ...; the bare
 * number where there is none. */
unit_id unit_default(struct dimension d);

#endif
