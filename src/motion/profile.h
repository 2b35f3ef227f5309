/* How long a move takes from rest to rest.
 *
 *    speed                                   Speeds up at `up`, runs at `speed`, slows down at
 *      |    ________________                 `down`:
 *      |   /                \
 *      |  /                   \                t = D / v + v / (2 up) + v / (2 down)
 *      | /                      \
 *      |/_________________________\ time     Where the distance is too short for that, it slows
 *       rise      cruise       fall          down from its peak at once:
 *
 *                                              v = sqrt(2 D up down / (up + down))
 *                                              t = v / up + v / down
 *
 * With up = down = a these are t = D / v + v / a, and t = 2 sqrt(D / a) at the peak sqrt(D a):
 * textbook kinematics.  Lengths in metres, times in seconds.
 */
#ifndef PROVEOUT_MOTION_PROFILE_H
#define PROVEOUT_MOTION_PROFILE_H

/* INFINITY: no limit. */
struct profile_limits {
    double speed, up, down;
};

struct profile {
    double seconds;
    double rise, cruise, fall; /* its parts; cruise is 0 where the distance is short */
    double peak;               /* greatest speed reached */
    double speed;              /* speed that it would run at if there were room */
};

/* A move of `distance` (>= 0) along one axis.  A distance of nothing takes no time, one at a
 * speed or acceleration of nothing takes for ever. */
void profile_move(struct profile *out, double distance, const struct profile_limits *limits);

/* A straight move of `delta` (x, y, z) under the limits of each axis, and `feed` along the way
 * (INFINITY: none):
 *
 *      y ^        . to       each axis has its share, the cosine of its angle, of the speed
 *        |     .             along the line; so the line runs at the least of limit / cosine
 *        |  .  )             over the axes that move, and no faster than the feed
 *      from -------> x
 */
void profile_line(struct profile *out, const double delta[3],
                  const struct profile_limits limits[3], double feed);

#endif
