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
#ifndef PROVEOUT_MOTION_PLANE_H
#define PROVEOUT_MOTION_PLANE_H

#include <stdint.h>

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

#endif
