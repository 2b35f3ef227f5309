/* Clearance: how much room a moving spindle leaves to a box that stays on the table.
 *
 *    side view                      What moves, each a cylinder about the spindle's axis:
 *        |      |
 *      __|      |__                 the nut, from the nose up
 *     |  |      |  |  dust shoe     the shoe, from its underside up, where it stays on
 *     |__|      |__|                the cutter, from its tip up to the nose
 *        |_    _| . . . nose
 *          |  |
 *          |  |                     b  height of a body's underside
 *          |__| . . . . tip         t  height of the box's top, above the same level as b
 *           ^                       R  radius of the body
 *           |           +-----+ ^   d  plan distance from the line or area that the axis
 *           b           | box | t      sweeps to the footprint of the box
 *     ======v===========+-----+=v== table, or any other level
 *            <----d---->
 *
 *    Outside, the straight way between the nearest edges:
 *
 *        hypot(max(0, d - R), max(0, b - t))
 *
 *    Where both are nothing, the two share room; the clearance is then minus the least that
 *    would part them, sideways or upwards:
 *
 *        -min(R - d, t - b)
 *
 * A body is looked at from its underside up without an end: since a box stands on the table, it
 * comes nearest to the lower edge of a body or to nothing of it.  Of the bodies the least
 * counts, by its lower bound.
 *
 * Knows no machine: lengths in metres, heights above any one level.
 */
#ifndef PROVEOUT_MOTION_CLEARANCE_H
#define PROVEOUT_MOTION_CLEARANCE_H

#include <stdbool.h>

#include "motion/plane.h"
#include "motion/spread.h"

enum clearance_body { BODY_CUTTER, BODY_NUT, BODY_SHOE, BODY_COUNT };

/* "cutter", "collet nut", "dust shoe": for messages and tables. */
const char *clearance_body_name(enum clearance_body body);

/* What moves.  A body that is not `there` is not looked at. */
struct clearance_spindle {
    struct {
        bool there;
        struct spread radius;
        struct spread underside;
    } bodies[BODY_COUNT];
};

/* What stands still: a rectangle, or a round thing: a place and a radius. */
struct clearance_box {
    struct plane_rectangle footprint; /* as typed */
    struct plane_rectangle widest;    /* as far as its tolerances let it reach */
    double round;                     /* radius about the footprint, 0 for a rectangle */
    struct spread top;
};

struct clearance {
    struct spread value;      /* infinite where there is nothing to look at */
    enum clearance_body body; /* the one that comes nearest */
};

/* The formula above, of `beside` = d - R and `above` = b - t.  Rises with both. */
double clearance_of(double beside, double above);

/* Plan distance between the swept line or area and the box. */
struct spread clearance_beside(const struct plane_hull *path, const struct clearance_box *box);

/* The least over the bodies, moved along `path` at their heights. */
void clearance_least(const struct clearance_spindle *spindle, const struct plane_hull *path,
                     const struct clearance_box *box, struct clearance *out);

#endif
