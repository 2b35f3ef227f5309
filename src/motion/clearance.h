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

#include <math.h>
#include <stdbool.h>
#include <stdint.h>

/* A value with its bounds: as typed, and the lowest and highest that the tolerances allow.
 *
 * Enough for what motion computes, where each tolerance enters once; what has to cancel stays
 * with the forms of `quantity`.
 */
struct spread {
    double nominal;   /* from the numbers as typed */
    double low, high; /* low <= nominal <= high */
};

static inline struct spread spread_with(double x, double tolerance)
{
    return (struct spread){x, x - tolerance, x + tolerance};
}

static inline struct spread spread_exact(double x)
{
    return (struct spread){x, x, x};
}

static inline struct spread spread_add(struct spread a, struct spread b)
{
    return (struct spread){a.nominal + b.nominal, a.low + b.low, a.high + b.high};
}

/* a - b, the tolerances of the two independent of each other. */
static inline struct spread spread_subtract(struct spread a, struct spread b)
{
    return (struct spread){a.nominal - b.nominal, a.low - b.high, a.high - b.low};
}

/* `factor` at least 0. */
static inline struct spread spread_scale(struct spread a, double factor)
{
    return (struct spread){a.nominal * factor, a.low * factor, a.high * factor};
}

/* Coordinates bring more rounding with them than the small number that is left of them: to a
 * picometre, so that what should be exactly nothing, or exactly an allowance, is.  Infinite stays
 * so. */
static inline double spread_settled(double metres)
{
    return isfinite(metres) ? round(metres * 1e12) / 1e12 + 0.0 : metres;
}

/* Plan geometry: what lies where when one looks down on the table.
 *
 * Points, rectangles along the axes, and the convex area that a rectangle covers while it is
 * moved in a straight line onto another one.  A place is a rectangle without extent, so that
 * one function serves a move between two places, and one that starts anywhere in the work area.
 *
 *        +------+                      The area between two rectangles: at most
 *        | from |. .                   eight corners, and every way from a place in
 *        |      |      ' .  +----+     one to a place in the other lies inside.
 *        +------+ .       ' | to |
 *                   ' . . . +----+
 *
 * Everything is in metres, x to the right, y away from the reader.  Distances are exact but for
 * rounding (a few units in the last place of the largest coordinate difference): nothing is
 * compared with a small number.  Knows no heights, no machine.
 */
struct plane_point {
    double x, y;
};

/* Low limits are at most the high ones. */
struct plane_rectangle {
    double x_low, x_high, y_low, y_high;
};

/* How many points an area is made from, and room for its corners: rounding may keep a point on
 * both sides of a sliver. */
enum { PLANE_POINTS = 8, PLANE_CORNERS = 2 * (PLANE_POINTS - 1) };

/* A convex area, counter-clockwise from its leftmost, lowest corner.  One corner:
 * a place.  Two: a line. */
struct plane_hull {
    uint32_t count;
    struct plane_point corners[PLANE_CORNERS];
    struct plane_point along[PLANE_CORNERS]; /* unit vector from each corner to the next */
    double length[PLANE_CORNERS];            /* and how far that is */
};

/* The rectangle without extent at (x, y). */
struct plane_rectangle plane_place(double x, double y);

/* The area that `from` covers on its way to `to`. */
void plane_sweep(struct plane_hull *out, const struct plane_rectangle *from,
                 const struct plane_rectangle *to);

/* The convex area around one to PLANE_POINTS points. */
void plane_hull_around(struct plane_hull *out, const struct plane_point *points,
                       uint32_t count);

/* Least distances; 0 where the two meet or one lies within the other. */
double plane_point_distance(struct plane_point a, struct plane_point b);
double plane_point_to_rectangle(struct plane_point p, const struct plane_rectangle *box);
double plane_point_to_hull(struct plane_point p, const struct plane_hull *hull);
double plane_hull_to_rectangle(const struct plane_hull *hull,
                               const struct plane_rectangle *box);
double plane_segment_to_rectangle(struct plane_point a, struct plane_point b,
                                  const struct plane_rectangle *box);

/* Room. */

enum clearance_body {
    BODY_CUTTER, /* from its tip up */
    BODY_SHANK,
    BODY_NUT,
    BODY_SHOE,
    BODY_ATTACHMENT,
    BODY_GANTRY, /* the beam, which does not rise with the spindle */
    BODY_SETTER, /* that the beam carries: nor does it */
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
    bool from_gantry;                 /* it is carried along Y: nothing passes it along Y */
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
