#include "motion/clearance.h"

#include <string.h>

#include "base/bug.h"

const char *clearance_body_name(enum clearance_body body)
{
    switch (body) {
    case BODY_CUTTER:
        return "cutter";
    case BODY_NUT:
        return "collet nut";
    case BODY_SHOE:
        return "dust shoe";
    case BODY_COUNT:
        break;
    }
    BUG("no body %d", (int)body);
}

double clearance_of(double beside, double above)
{
    if (beside > 0)
        return above > 0 ? hypot(beside, above) : beside;
    if (above > 0)
        return above;
    return beside > above ? beside : above; /* -min(-beside, -above) */
}

static struct spread clearance_spread(struct spread beside, struct spread above)
{
    return (struct spread){clearance_of(beside.nominal, above.nominal),
                           clearance_of(beside.low, above.low),
                           clearance_of(beside.high, above.high)};
}

/* How far the box can draw back from where it is typed is not known side by side; it is as much
 * as it can come nearer, since a tolerance is the same both ways. */
struct spread clearance_beside(const struct plane_hull *path, const struct clearance_box *box)
{
    double nominal = plane_hull_to_rectangle(path, &box->footprint);
    double low = nominal;
    if (memcmp(&box->widest, &box->footprint, sizeof box->widest) != 0)
        low = plane_hull_to_rectangle(path, &box->widest);
    struct spread distance = {nominal, low, nominal + (nominal - low)};
    distance.nominal = fmax(0, distance.nominal - box->round);
    distance.low = fmax(0, distance.low - box->round);
    distance.high = fmax(0, distance.high - box->round);
    return distance;
}

void clearance_least(const struct clearance_spindle *spindle, const struct plane_hull *path,
                     const struct clearance_box *box, struct clearance *out)
{
    struct spread distance = clearance_beside(path, box);
    out->value = spread_exact(INFINITY);
    out->body = BODY_CUTTER;
    for (int body = 0; body < BODY_COUNT; body++) {
        if (!spindle->bodies[body].there)
            continue;
        struct spread beside = spread_subtract(distance, spindle->bodies[body].radius);
        struct spread above = spread_subtract(spindle->bodies[body].underside, box->top);
        struct spread value = clearance_spread(beside, above);
        if (value.low < out->value.low) {
            out->value = value;
            out->body = (enum clearance_body)body;
        }
    }
}
