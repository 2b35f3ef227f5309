/* Clearance: how much room a moving spindle leaves to a box that stays on the table.
 *
 *    side view                      What moves, each an upright cylinder:
 *        |      |
 *      __|      |__                 the nut, from the nose up
 *     |  |      |  |  dust shoe     the shoe, from its underside up, where it stays on
 *     |__|      |__|                the cutter from its tip up, its shank where that is thicker
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
 * comes nearest to the lower edge of a body or to nothing of it.  One that hangs beside the axis
 * goes along the same way by its offset beside it.  Of the bodies the least counts, by its lower
 * bound.
 *
 * Knows no machine: lengths in metres, heights above any one level.
 */
#ifndef PROVEOUT_MOTION_CLEARANCE_H
#define PROVEOUT_MOTION_CLEARANCE_H

#include <stdbool.h>

#include "motion/plane.h"
#include "motion/spread.h"

enum clearance_body {
    BODY_CUTTER, /* from its tip up */
    BODY_SHANK,
    BODY_NUT,
    BODY_SHOE,
    BODY_ATTACHMENT,
    BODY_GANTRY, /* the beam, which does not rise with the spindle */
    BODY_COUNT
};

/* Sets of bodies. */
#define BODY_BIT(body) (1u << (body))
enum { BODIES_OF_CUTTER = BODY_BIT(BODY_CUTTER) | BODY_BIT(BODY_SHANK), BODIES_ALL = 0xFF };

/* "cutter", "shank", "collet nut", "dust shoe" ...: for messages and tables. */
const char *clearance_body_name(enum clearance_body body);

/* One body.  What stands below the offset is the caller's own: whose it is. */
struct clearance_part {
    enum clearance_body body;
    struct spread radius;
    struct spread underside;
    struct plane_point beside; /* of its middle, from the spindle's axis */
    uint32_t length_of;        /* record of the cutter that decides its height */
    uint32_t width_of;         /* record that decides its radius */
    uint16_t width_field;      /* the field that does */
};

enum { CLEARANCE_PARTS = 48 };

/* What moves. */
struct clearance_spindle {
    uint32_t count;
    bool whole; /* no body was left out for want of a field */
    struct clearance_part parts[CLEARANCE_PARTS];
};

/* What stands still: a rectangle, or a round thing: a place and a radius. */
struct clearance_box {
    struct plane_rectangle footprint; /* as typed */
    struct plane_rectangle widest;    /* as far as its tolerances let it reach */
    double round;                     /* radius about the footprint, 0 for a rectangle */
    bool everywhere;                  /* it has no end that anybody knows */
    struct spread top;
};

struct clearance {
    struct spread value;      /* infinite where there is nothing to look at */
    enum clearance_body body; /* the one that comes nearest */
    uint32_t part;            /* of the spindle */
};

/* The formula above, of `beside` = d - R and `above` = b - t.  Rises with both. */
double clearance_of(double beside, double above);

/* Plan distance between the swept line or area and the footprint of the box, of a round thing
 * the place that it is about; -INFINITY to what is everywhere. */
struct spread clearance_beside(const struct plane_hull *path, const struct clearance_box *box);

/* There is nothing to look at yet. */
static inline struct clearance clearance_none(void)
{
    return (struct clearance){.value = spread_exact(INFINITY), .body = BODY_CUTTER};
}

/* Puts into `*least` what comes nearer than it, by the lower bound, of those of the parts that
 * are among `bodies`, moved along `path` at their heights; `from_axis` is what
 * clearance_beside() says.  False where nothing does. */
bool clearance_nearer(const struct clearance_spindle *spindle, unsigned bodies,
                      const struct plane_hull *path, const struct clearance_box *box,
                      struct spread from_axis, struct clearance *least);

#endif
