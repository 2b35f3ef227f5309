/* Where two convex things come nearest. */
#include "draw/near.h"

#include "quantity/exact.h"

static struct plane_point onto_box(struct plane_point p, const struct plane_rectangle *box)
{
    return (struct plane_point){fmin(fmax(p.x, box->x_low), box->x_high),
                                fmin(fmax(p.y, box->y_low), box->y_high)};
}

static struct plane_point onto_side(struct plane_point p, const struct plane_hull *hull,
                                    uint32_t side)
{
    struct plane_point from = hull->corners[side], along = hull->along[side];
    double way = (p.x - from.x) * along.x + (p.y - from.y) * along.y;
    way = fmin(fmax(way, 0), hull->length[side]);
    return (struct plane_point){from.x + way * along.x, from.y + way * along.y};
}

static bool lies_within(struct plane_point p, const struct plane_hull *hull)
{
    if (hull->count < 3)
        return false;
    for (uint32_t i = 0; i < hull->count; i++) {
        struct plane_point from = hull->corners[i], along = hull->along[i];
        if (along.x * (p.y - from.y) - along.y * (p.x - from.x) < 0)
            return false;
    }
    return true;
}

static struct plane_point onto_hull(struct plane_point p, const struct plane_hull *hull)
{
    if (hull->count == 1)
        return hull->corners[0];
    if (lies_within(p, hull))
        return p;
    struct plane_point nearest = hull->corners[0];
    double least = INFINITY;
    for (uint32_t i = 0; i < hull->count; i++) {
        struct plane_point here = onto_side(p, hull, i);
        double distance = exact_hypot(here.x - p.x, here.y - p.y);
        if (distance < least) {
            least = distance;
            nearest = here;
        }
    }
    return nearest;
}

static void keep_nearer(struct plane_point a, struct plane_point b, double *least,
                        struct plane_point *on_hull, struct plane_point *on_box)
{
    double distance = exact_hypot(a.x - b.x, a.y - b.y);
    if (distance >= *least)
        return;
    *least = distance;
    *on_hull = a;
    *on_box = b;
}

/* Takes from the part of a way that is left, 0 to 1 of it, what lies beyond `low` and `high`.
 */
static void clip(double from, double by, double low, double high, double part[2])
{
    if (by == 0) {
        if (from < low || from > high)
            part[1] = -1;
        return;
    }
    double enters = (low - from) / by, leaves = (high - from) / by;
    part[0] = fmax(part[0], fmin(enters, leaves));
    part[1] = fmin(part[1], fmax(enters, leaves));
}

/* The middle of what lies within the box of the first side that has any of it there. */
static struct plane_point where_they_cross(const struct plane_hull *hull,
                                           const struct plane_rectangle *box)
{
    for (uint32_t i = 0; i < hull->count; i++) {
        struct plane_point from = hull->corners[i], to = hull->corners[(i + 1) % hull->count];
        double part[2] = {0, 1};
        clip(from.x, to.x - from.x, box->x_low, box->x_high, part);
        clip(from.y, to.y - from.y, box->y_low, box->y_high, part);
        double middle = (part[0] + part[1]) / 2;
        if (part[0] <= part[1])
            return (struct plane_point){from.x + middle * (to.x - from.x),
                                        from.y + middle * (to.y - from.y)};
    }
    return onto_box(hull->corners[0], box); /* they touch, but for rounding */
}

/* Apart, one of the two points is a corner, so all corners are tried.  Where they share room
 * without a corner in it, their sides cross. */
void near_points(const struct plane_hull *hull, const struct plane_rectangle *box,
                 struct plane_point *on_hull, struct plane_point *on_box)
{
    const double xs[] = {box->x_low, box->x_high}, ys[] = {box->y_low, box->y_high};
    double least = INFINITY;
    for (uint32_t i = 0; i < hull->count; i++)
        keep_nearer(hull->corners[i], onto_box(hull->corners[i], box), &least, on_hull, on_box);
    for (int i = 0; i < 4; i++) {
        struct plane_point corner = {xs[i % 2], ys[i / 2]};
        keep_nearer(onto_hull(corner, hull), corner, &least, on_hull, on_box);
    }
    if (least == 0 || plane_hull_to_rectangle(hull, box) > 0)
        return;
    *on_hull = *on_box = where_they_cross(hull, box);
}
