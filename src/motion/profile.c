#include "motion/profile.h"

#include <math.h>
#include <stddef.h>

#include "quantity/exact.h"

/* Time of changing between rest and `peak`. */
static double ramp(double peak, double acceleration)
{
    return isinf(acceleration) ? 0 : peak / acceleration;
}

/* 2 * distance / (1 / up + 1 / down): the square of the peak of a move that only rises and
 * falls. */
static double peak_squared(double distance, const struct profile_limits *limits)
{
    double slowness =
        (isinf(limits->up) ? 0 : 1 / limits->up) + (isinf(limits->down) ? 0 : 1 / limits->down);
    return slowness > 0 ? 2 * distance / slowness : INFINITY;
}

void profile_move(struct profile *out, double distance, const struct profile_limits *limits)
{
    *out = (struct profile){.speed = limits->speed};
    if (distance <= 0)
        return;
    if (!(limits->speed > 0 && limits->up > 0 && limits->down > 0)) {
        out->seconds = INFINITY; /* it never gets there */
        return;
    }
    out->peak = fmin(limits->speed, sqrt(peak_squared(distance, limits)));
    out->rise = ramp(out->peak, limits->up);
    out->fall = ramp(out->peak, limits->down);
    if (isinf(out->peak))
        return;
    double ramps = out->peak * (out->rise + out->fall) / 2;
    if (out->peak == limits->speed)
        out->cruise = fmax(0, (distance - ramps) / out->peak);
    out->seconds = out->rise + out->cruise + out->fall;
}

void profile_line(struct profile *out, const double delta[3],
                  const struct profile_limits limits[3], double feed)
{
    double distance = exact_hypot(exact_hypot(delta[0], delta[1]), delta[2]);
    struct profile_limits along = {feed, INFINITY, INFINITY};
    for (size_t axis = 0; axis < 3; axis++) {
        double share =
            fabs(delta[axis]) / distance; /* NAN where nothing moves: no limit then */
        if (!(share > 0))
            continue;
        along.speed = fmin(along.speed, limits[axis].speed / share);
        along.up = fmin(along.up, limits[axis].up / share);
        along.down = fmin(along.down, limits[axis].down / share);
    }
    profile_move(out, distance, &along);
}
