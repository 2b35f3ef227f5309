/* Where two things come nearest: for the dimension that shows a clearance.  How much it is,
 * motion has reckoned; here it is only looked where. */
#ifndef PROVEOUT_DRAW_NEAR_H
#define PROVEOUT_DRAW_NEAR_H

#include "motion/clearance.h"

/* The point of `hull` and that of `box` that lie nearest to each other; one point twice where
 * the two share room. */
void near_points(const struct plane_hull *hull, const struct plane_rectangle *box,
                 struct plane_point *on_hull, struct plane_point *on_box);

#endif
