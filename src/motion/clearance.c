#include "motion/clearance.h"

#include <string.h>

#include "base/bug.h"
#include "quantity/exact.h"

/* In the plan. */

static double greater(double a, double b)
{
    return a > b ? a : b;
}

struct plane_rectangle plane_place(double x, double y)
{
    return (struct plane_rectangle){x, x, y, y};
}

double plane_point_distance(struct plane_point a, struct plane_point b)
{
    return exact_hypot(b.x - a.x, b.y - a.y);
}

/* How far `p` lies to the left of the line through `a` along the unit vector `u`; negative to
 * the right.
 *
 * The differences and the unit vector are each right to a unit in their last place, so that the
 * sign can only be wrong where the offset is a few such units of the distance from a to p: as
 * good as on the line.
 */
static double left_of(struct plane_point a, struct plane_point u, struct plane_point p)
{
    return u.x * (p.y - a.y) - u.y * (p.x - a.x);
}

static struct plane_point direction(struct plane_point a, struct plane_point b, double length)
{
    return (struct plane_point){(b.x - a.x) / length, (b.y - a.y) / length};
}

/* Is b -> c -> p a turn to the left? */
static bool turns_left(struct plane_point b, struct plane_point c, struct plane_point p)
{
    return left_of(b, direction(b, c, plane_point_distance(b, c)), p) > 0;
}

static bool before(struct plane_point a, struct plane_point b)
{
    return a.x < b.x || (a.x == b.x && a.y < b.y);
}

static bool same(struct plane_point a, struct plane_point b)
{
    return a.x == b.x && a.y == b.y;
}

/* Puts the points in order, each once; returns how many there are. */
static uint32_t in_order(struct plane_point *out, const struct plane_point *points,
                         uint32_t count)
{
    uint32_t kept = 0;
    for (uint32_t i = 0; i < count; i++) {
        uint32_t at = kept;
        while (at > 0 && before(points[i], out[at - 1]))
            at--;
        if (at > 0 && same(points[i], out[at - 1]))
            continue;
        for (uint32_t k = kept; k > at; k--)
            out[k] = out[k - 1];
        out[at] = points[i];
        kept++;
    }
    return kept;
}

/* Half of the outline: appends the corners met on going along `sorted` by steps of `step` and
 * never turning to the right, without the last one, with which the other half begins. */
static uint32_t half_outline(struct plane_point *out, const struct plane_point *sorted,
                             uint32_t count, bool backwards)
{
    uint32_t kept = 0;
    for (uint32_t i = 0; i < count; i++) {
        struct plane_point p = sorted[backwards ? count - 1 - i : i];
        while (kept > 1 && !turns_left(out[kept - 2], out[kept - 1], p))
            kept--;
        out[kept++] = p;
    }
    return kept - 1;
}

void plane_hull_around(struct plane_hull *out, const struct plane_point *points, uint32_t count)
{
    BUG_UNLESS(count > 0 && count <= PLANE_POINTS);
    struct plane_point sorted[PLANE_POINTS], outline[2 * PLANE_POINTS];
    uint32_t distinct = in_order(sorted, points, count), corners = 1;
    outline[0] = sorted[0];
    if (distinct > 1) {
        corners = half_outline(outline, sorted, distinct, false);
        corners += half_outline(outline + corners, sorted, distinct, true);
    }
    out->count = corners;
    for (uint32_t i = 0; i < corners; i++)
        out->corners[i] = outline[i];
    for (uint32_t i = 0; i < corners; i++) {
        struct plane_point next = outline[(i + 1) % corners];
        out->length[i] = plane_point_distance(outline[i], next);
        out->along[i] = corners > 1 ? direction(outline[i], next, out->length[i])
                                    : (struct plane_point){0, 0};
    }
}

static void corners_of(struct plane_point *out, const struct plane_rectangle *box)
{
    out[0] = (struct plane_point){box->x_low, box->y_low};
    out[1] = (struct plane_point){box->x_high, box->y_low};
    out[2] = (struct plane_point){box->x_high, box->y_high};
    out[3] = (struct plane_point){box->x_low, box->y_high};
}

void plane_sweep(struct plane_hull *out, const struct plane_rectangle *from,
                 const struct plane_rectangle *to)
{
    struct plane_point corners[PLANE_POINTS];
    corners_of(corners, from);
    corners_of(corners + 4, to);
    plane_hull_around(out, corners, PLANE_POINTS);
}

/* How far the rectangle is from `p` along each axis. */
static struct plane_point offset(struct plane_point p, const struct plane_rectangle *box)
{
    return (struct plane_point){greater(0, greater(box->x_low - p.x, p.x - box->x_high)),
                                greater(0, greater(box->y_low - p.y, p.y - box->y_high))};
}

double plane_point_to_rectangle(struct plane_point p, const struct plane_rectangle *box)
{
    struct plane_point by = offset(p, box);
    return exact_hypot(by.x, by.y);
}

/* The less of `least` and the length of (x, y), whose root is taken only where it may count. */
static double nearer(double least, double x, double y)
{
    return exact_hypot_reaches(x, y, least) ? least : fmin(least, exact_hypot(x, y));
}

/* The less of `least` and the distance from `p` to side `i` of the hull. */
static double nearer_side(double least, struct plane_point p, const struct plane_hull *hull,
                          uint32_t i)
{
    struct plane_point a = hull->corners[i], u = hull->along[i];
    double along = u.x * (p.x - a.x) + u.y * (p.y - a.y);
    if (along > 0 && along < hull->length[i])
        return fmin(least, fabs(left_of(a, u, p)));
    if (along > 0)
        a = hull->corners[(i + 1) % hull->count];
    return nearer(least, p.x - a.x, p.y - a.y);
}

double plane_point_to_hull(struct plane_point p, const struct plane_hull *hull)
{
    struct plane_rectangle place = plane_place(p.x, p.y);
    return plane_hull_to_rectangle(hull, &place);
}

/* Do all of the hull's corners lie beyond one side of the rectangle? */
static bool beyond_a_side(const struct plane_hull *hull, const struct plane_rectangle *box)
{
    bool left = true, right = true, below = true, above = true;
    for (uint32_t i = 0; i < hull->count; i++) {
        left = left && hull->corners[i].x < box->x_low;
        right = right && hull->corners[i].x > box->x_high;
        below = below && hull->corners[i].y < box->y_low;
        above = above && hull->corners[i].y > box->y_high;
    }
    return left || right || below || above;
}

/* Do all corners of the rectangle lie outside one side of the hull, which is no place?  A line
 * has two sides, one along each of its directions. */
static bool outside_a_side(const struct plane_hull *hull, const struct plane_point corners[4])
{
    for (uint32_t i = 0; i < hull->count; i++) {
        bool all = true;
        for (int k = 0; all && k < 4; k++)
            all = left_of(hull->corners[i], hull->along[i], corners[k]) < 0;
        if (all)
            return true;
    }
    return false;
}

/* Two convex areas are apart exactly where a side of one of them separates them; the distance
 * is then one from a corner of either to a side of the other. */
double plane_hull_to_rectangle(const struct plane_hull *hull, const struct plane_rectangle *box)
{
    struct plane_point corners[4];
    if (hull->count == 1)
        return plane_point_to_rectangle(hull->corners[0], box);
    corners_of(corners, box);
    if (!beyond_a_side(hull, box) && !outside_a_side(hull, corners))
        return 0;
    double least = INFINITY;
    for (uint32_t i = 0; i < hull->count; i++) {
        struct plane_point by = offset(hull->corners[i], box);
        least = nearer(least, by.x, by.y);
        for (int k = 0; k < 4; k++)
            least = nearer_side(least, corners[k], hull, i);
    }
    return least;
}

double plane_segment_to_rectangle(struct plane_point a, struct plane_point b,
                                  const struct plane_rectangle *box)
{
    struct plane_point ends[2] = {a, b};
    struct plane_hull line;
    plane_hull_around(&line, ends, 2);
    return plane_hull_to_rectangle(&line, box);
}

/* In room. */

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
    case BODY_SETTER:
        return "setter on the gantry";
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
