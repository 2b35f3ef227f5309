/* Plan distances against GEOS, a geometry library that shares nothing with ours.
 *
 * Source: GEOS 3.11 (Debian package libgeos-dev), through its C interface: GEOSConvexHull_r for
 * the area that a move sweeps, GEOSDistance_r for the distance, 0 where two figures meet.
 *
 * First the named examples, each with where its numbers come from; then random moves: between
 * places, from anywhere in a rectangle, off and on a coarse grid, where sides meet, touch and
 * fall on one line.
 */
#include <geos_c.h>
#include <math.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>

#include "draw/near.h"
#include "motion/clearance.h"

enum { SCENES = 20000 };

static GEOSContextHandle_t geos;
static unsigned failures;

static void fail(const char *what, double ours, double theirs)
{
    if (failures++ < 20)
        fprintf(stderr, "%s: %.17g, GEOS says %.17g\n", what, ours, theirs);
}

/* Both are doubles: they may differ by rounding, a few units in the last place of the scene's
 * size. */
static void compare(const char *what, double ours, double theirs, double size)
{
    if (!(fabs(ours - theirs) <= 16 * 0x1p-53 * fmax(size, 1)))
        fail(what, ours, theirs);
}

static GEOSGeometry *points_of(const struct plane_rectangle *box, GEOSGeometry *into[4])
{
    into[0] = GEOSGeom_createPointFromXY_r(geos, box->x_low, box->y_low);
    into[1] = GEOSGeom_createPointFromXY_r(geos, box->x_high, box->y_low);
    into[2] = GEOSGeom_createPointFromXY_r(geos, box->x_high, box->y_high);
    into[3] = GEOSGeom_createPointFromXY_r(geos, box->x_low, box->y_high);
    return into[0];
}

/* The area around the corners of one or two rectangles: a point, a line or a polygon. */
static GEOSGeometry *area(const struct plane_rectangle *from, const struct plane_rectangle *to)
{
    GEOSGeometry *points[8];
    points_of(from, points);
    points_of(to, points + 4);
    GEOSGeometry *all = GEOSGeom_createCollection_r(geos, GEOS_MULTIPOINT, points, 8);
    GEOSGeometry *hull = GEOSConvexHull_r(geos, all);
    GEOSGeom_destroy_r(geos, all);
    return hull;
}

static double their_distance(const GEOSGeometry *a, const GEOSGeometry *b)
{
    double distance = NAN;
    GEOSDistance_r(geos, a, b, &distance);
    return distance;
}

static double of_text(const char *a, const char *b)
{
    GEOSGeometry *one = GEOSGeomFromWKT_r(geos, a), *other = GEOSGeomFromWKT_r(geos, b);
    double distance = their_distance(one, other);
    GEOSGeom_destroy_r(geos, one);
    GEOSGeom_destroy_r(geos, other);
    return distance;
}

#define OCTAGON "5 1, 4 2, 4 3, 5 4, 6 4, 7 3, 7 2, 6 1"
#define BOX     "POLYGON ((6 1, 8 1, 8 3, 6 3, 6 1))"

static const struct plane_point octagon[8] = {{5, 1}, {4, 2}, {4, 3}, {5, 4},
                                              {6, 4}, {7, 3}, {7, 2}, {6, 1}};

static double to_outline(struct plane_point p)
{
    struct plane_rectangle place = plane_place(p.x, p.y);
    double least = INFINITY;
    for (int i = 0; i < 7; i++)
        least = fmin(least, plane_segment_to_rectangle(octagon[i], octagon[i + 1], &place));
    return least;
}

/* Ours, theirs, and what the source prints. */
static void named(const char *what, double ours, double theirs, double printed)
{
    compare(what, ours, theirs, 10);
    compare(what, ours, printed, 10);
}

static void check_named(void)
{
    const struct plane_rectangle origin = {0, 0, 0, 0}, box = {3, 5, 0, 5}, low = {6, 8, 1, 3};
    struct plane_hull hull;
    plane_hull_around(&hull, octagon, 8);

    /* https://shapely.readthedocs.io/en/stable/reference/shapely.distance.html */
    named("E1a point to point",
          plane_point_distance((struct plane_point){10, 0}, (struct plane_point){0, 0}),
          of_text("POINT (10 0)", "POINT (0 0)"), 10);
    named("E1b segment to point",
          plane_segment_to_rectangle((struct plane_point){1, 1}, (struct plane_point){1, -1},
                                     &origin),
          of_text("LINESTRING (1 1, 1 -1)", "POINT (0 0)"), 1);
    named("E1c box to point", plane_point_to_rectangle((struct plane_point){0, 0}, &box),
          of_text("POLYGON ((3 0, 5 0, 5 5, 3 5, 3 0))", "POINT (0 0)"), 3);
    /* E1d: for an empty figure that page gives nan.  With us nothing there is infinitely far: a
     * choice of ours, checked in tests/motion. */

    /* https://docs.rs/geo/0.7.0/geo/algorithm/distance/trait.Distance.html */
    named("E2 octagon", plane_point_to_hull((struct plane_point){2.5, 0.5}, &hull),
          of_text("POLYGON ((" OCTAGON ", 5 1))", "POINT (2.5 0.5)"), 2.1213203435596424);
    named("E3 line string", to_outline((struct plane_point){5.5, 2.1}),
          of_text("LINESTRING (" OCTAGON ")", "POINT (5.5 2.1)"), 1.1313708498984762);
    named("E4 inside", plane_point_to_hull((struct plane_point){5.5, 2.1}, &hull),
          of_text("POLYGON ((" OCTAGON ", 5 1))", "POINT (5.5 2.1)"), 0);

    /* By hand: 3 / sqrt 2, from the corner (6, 3). */
    double past = plane_segment_to_rectangle((struct plane_point){0, 0},
                                             (struct plane_point){10, 10}, &low);
    named("E6 segment to box", past, of_text("LINESTRING (0 0, 10 10)", BOX),
          2.1213203435596424);

    /* E7, the identity of buffers, from memory: a circle of radius r swept along the line is r
     * nearer. */
    for (double r = 0; r <= 2; r += 0.25)
        compare("E7 swept circle", clearance_of(past - r, -10),
                of_text("LINESTRING (0 0, 10 10)", BOX) - r, 10);
}

/* https://shapely.readthedocs.io/en/stable/reference/shapely.dwithin.html: the boundary counts
 * as within. */
static void check_boundary(void)
{
    GEOSGeometry *a = GEOSGeomFromWKT_r(geos, "POINT (0.5 0.5)");
    GEOSGeometry *b = GEOSGeomFromWKT_r(geos, "POINT (2 0.5)");
    const struct plane_rectangle other = {2, 2, 0.5, 0.5};
    double distance = plane_point_to_rectangle((struct plane_point){0.5, 0.5}, &other);
    for (int i = 0; i < 2; i++) {
        double limit = i ? 1.5 : 1;
        int theirs = GEOSDistanceWithin_r(geos, a, b, limit);
        if ((distance <= limit) != (theirs == 1) || theirs != i)
            fail("E5 within", distance, limit);
    }
    GEOSGeom_destroy_r(geos, a);
    GEOSGeom_destroy_r(geos, b);
}

static uint64_t state = 0x9E3779B97F4A7C15u;

static double draw(double low, double high)
{
    state ^= state << 13, state ^= state >> 7, state ^= state << 17;
    return low + (high - low) * (double)(state >> 11) * 0x1p-53;
}

/* Half of the scenes lie on a grid of 1/8, on which all of this is exact and much of it
 * touches. */
static double coordinate(int scene)
{
    double at = draw(-1, 1);
    return scene & 1 ? floor(at * 8) / 8 : at;
}

static struct plane_rectangle rectangle(int scene, int place)
{
    double a = coordinate(scene), b = coordinate(scene), c = coordinate(scene),
           d = coordinate(scene);
    if (place)
        return plane_place(a, c);
    return (struct plane_rectangle){fmin(a, b), fmax(a, b), fmin(c, d), fmax(c, d)};
}

/* A round body beside the axis, against the same area moved in GEOS. */
static void check_beside(const struct plane_hull *hull, const struct plane_rectangle *from,
                         const struct plane_rectangle *to, const struct plane_rectangle *box)
{
    const double radius = draw(0, 0.2), x = draw(-0.5, 0.5), y = draw(-0.5, 0.5);
    struct clearance_box thing = {.footprint = *box, .widest = *box, .top = spread_exact(1)};
    struct clearance_spindle spindle = {.count = 1};
    spindle.parts[0] = (struct clearance_part){.body = BODY_ATTACHMENT,
                                               .radius = spread_exact(radius),
                                               .underside = spread_exact(-10),
                                               .beside = {x, y}};
    struct plane_rectangle moved_from = {from->x_low + x, from->x_high + x, from->y_low + y,
                                         from->y_high + y};
    struct plane_rectangle moved_to = {to->x_low + x, to->x_high + x, to->y_low + y,
                                       to->y_high + y};
    struct clearance clearance = clearance_none();
    if (!clearance_nearer(&spindle, BODIES_ALL, hull, &thing, clearance_beside(hull, &thing),
                          &clearance))
        clearance.value.low = NAN; /* unlike anything */
    GEOSGeometry *path = area(&moved_from, &moved_to), *obstacle = area(box, box);
    compare("a body beside the axis", clearance.value.low,
            their_distance(path, obstacle) - radius, 3);
    GEOSGeom_destroy_r(geos, path);
    GEOSGeom_destroy_r(geos, obstacle);
}

static GEOSGeometry *point_of(struct plane_point p)
{
    return GEOSGeom_createPointFromXY_r(geos, p.x, p.y);
}

/* The two points where a drawing shows how near it comes: each on its own thing, and as far from
 * each other as the things are. */
static void check_near(const struct plane_hull *hull, const struct plane_rectangle *box,
                       const GEOSGeometry *path, const GEOSGeometry *obstacle)
{
    struct plane_point on_hull, on_box;
    near_points(hull, box, &on_hull, &on_box);
    GEOSGeometry *a = point_of(on_hull), *b = point_of(on_box);
    compare("nearest point of the way", their_distance(path, a), 0, 4);
    compare("nearest point of the box", their_distance(obstacle, b), 0, 4);
    compare("nearest points", their_distance(a, b), their_distance(path, obstacle), 4);
    GEOSGeom_destroy_r(geos, a);
    GEOSGeom_destroy_r(geos, b);
}

static void check_scene(int scene)
{
    struct plane_rectangle from = rectangle(scene, scene & 2), to = rectangle(scene, scene & 4);
    struct plane_rectangle box = rectangle(scene, (scene & 24) == 24);
    struct plane_hull hull;
    plane_sweep(&hull, &from, &to);
    GEOSGeometry *path = area(&from, &to), *obstacle = area(&box, &box);
    double theirs = their_distance(path, obstacle);
    compare("swept area to box", plane_hull_to_rectangle(&hull, &box), theirs, 2);
    check_near(&hull, &box, path, obstacle);
    if (scene % 16 == 0)
        check_beside(&hull, &from, &to, &box);
    if (scene % 64 == 0) {
        double x = draw(-2, 2), y = draw(-2, 2);
        GEOSGeometry *point = GEOSGeom_createPointFromXY_r(geos, x, y);
        compare("point to swept area", plane_point_to_hull((struct plane_point){x, y}, &hull),
                their_distance(path, point), 2);
        compare("point to box", plane_point_to_rectangle((struct plane_point){x, y}, &box),
                their_distance(obstacle, point), 2);
        GEOSGeom_destroy_r(geos, point);
    }
    GEOSGeom_destroy_r(geos, path);
    GEOSGeom_destroy_r(geos, obstacle);
}

int main(void)
{
    geos = GEOS_init_r();
    check_named();
    check_boundary();
    for (int scene = 0; scene < SCENES; scene++)
        check_scene(scene);
    GEOS_finish_r(geos);
    printf("%d scenes, %u differences from GEOS %s\n", SCENES, failures, GEOSversion());
    return failures != 0;
}
