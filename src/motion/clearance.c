#include "motion/clearance.h"

#include <string.h>

#include "base/bug.h"
#include "quantity/exact.h"

const char *clearance_body_name(enum clearance_body body)
{
    switch (body) {
    case BODY_CUTTER:
        return "cutter";
    case BODY_SHANK:
        return "shank";
    case BODY_NUT:
        return "collet nut";
    case BODY_SHOE:
        return "dust shoe";
    case BODY_ATTACHMENT:
        return "attachment";
    case BODY_GANTRY:
        return "gantry";
    case BODY_COUNT:
        break;
    }
    BUG("no body %d", (int)body);
}

double clearance_of(double beside, double above)
{
    if (beside > 0)
        return above > 0 ? exact_hypot(beside, above) : beside;
    if (above > 0)
        return above;
    return beside > above ? beside : above; /* -min(-beside, -above) */
}

/* How far the box can draw back from where it is typed is not known side by side; it is as much
 * as it can come nearer, since a tolerance is the same both ways. */
struct spread clearance_beside(const struct plane_hull *path, const struct clearance_box *box)
{
    if (box->everywhere)
        return spread_exact(-INFINITY);
    double nominal = plane_hull_to_rectangle(path, &box->footprint);
    double low = nominal;
    if (memcmp(&box->widest, &box->footprint, sizeof box->widest) != 0)
        low = plane_hull_to_rectangle(path, &box->widest);
    return (struct spread){nominal, low, nominal + (nominal - low)};
}

/* From the edge of a round thing. */
static struct spread off_edge(struct spread distance, const struct clearance_box *box)
{
    if (box->everywhere)
        return distance;
    return (struct spread){fmax(0, distance.nominal - box->round),
                           fmax(0, distance.low - box->round),
                           fmax(0, distance.high - box->round)};
}

static void shift(struct plane_rectangle *area, struct plane_point by)
{
    area->x_low -= by.x, area->x_high -= by.x;
    area->y_low -= by.y, area->y_high -= by.y;
}

/* A body beside the axis comes as near as one on it does to a box moved the other way. */
static struct spread beside_part(const struct clearance_part *part,
                                 const struct plane_hull *path, const struct clearance_box *box,
                                 struct spread from_axis)
{
    if (part->beside.x == 0 && part->beside.y == 0)
        return spread_subtract(from_axis, part->radius);
    struct clearance_box moved = *box;
    shift(&moved.footprint, part->beside);
    shift(&moved.widest, part->beside);
    return spread_subtract(off_edge(clearance_beside(path, &moved), box), part->radius);
}

bool clearance_nearer(const struct clearance_spindle *spindle, unsigned bodies,
                      const struct plane_hull *path, const struct clearance_box *box,
                      struct spread from_axis, struct clearance *least)
{
    struct spread beside = {0, 0, 0}, above = {0, 0, 0}; /* of the nearest */
    double low = least->value.low;
    const struct clearance_part *nearest = NULL;
    from_axis = off_edge(from_axis, box);
    for (uint32_t i = 0; i < spindle->count; i++) {
        const struct clearance_part *part = &spindle->parts[i];
        if (!(bodies & BODY_BIT(part->body)))
            continue;
        struct spread off = beside_part(part, path, box, from_axis);
        struct spread over = spread_subtract(part->underside, box->top);
        if (off.low > 0 && over.low > 0 && exact_hypot_reaches(off.low, over.low, low))
            continue;
        double here = clearance_of(off.low, over.low);
        if (here >= low)
            continue;
        low = here;
        beside = off;
        above = over;
        nearest = part;
    }
    if (!nearest)
        return false;
    *least = (struct clearance){{clearance_of(beside.nominal, above.nominal), low,
                                 clearance_of(beside.high, above.high)},
                                nearest->body,
                                (uint32_t)(nearest - spindle->parts)};
    return true;
}
