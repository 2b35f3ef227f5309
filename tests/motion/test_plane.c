/* Plan geometry.  The examples E1 to E6 are named in tests/outside/motion as well, where an
 * independent library answers them. */
#include <criterion/criterion.h>

#include <stdio.h>

#include "motion/clearance.h"
#include "near.h"

static void check(double found, double wanted, const char *what)
{
    cr_expect(near(found, wanted, 0), "%s: %.17g, not %.17g", what, found, wanted);
}

struct segment_case {
    const char *what;
    struct plane_point a, b;
    struct plane_rectangle box;
    double distance;
};

static const struct segment_case segments[] = {
    /* https://shapely.readthedocs.io/en/stable/reference/shapely.distance.html */
    {"E1a place to place", {10, 0}, {10, 0}, {0, 0, 0, 0}, 10},
    {"E1b line to place", {1, 1}, {1, -1}, {0, 0, 0, 0}, 1},
    {"E1c place to box", {0, 0}, {0, 0}, {3, 5, 0, 5}, 3},
    /* same site, dwithin: the boundary counts as within */
    {"E5 place to place", {0.5, 0.5}, {0.5, 0.5}, {2, 2, 0.5, 0.5}, 1.5},
    /* by hand: corner (6, 3) to the line y = x */
    {"E6 line past a corner", {0, 0}, {10, 10}, {6, 8, 1, 3}, 2.1213203435596424},
    {"E6 backwards", {10, 10}, {0, 0}, {6, 8, 1, 3}, 2.1213203435596424},
    {"through the box", {0, 2}, {10, 2}, {6, 8, 1, 3}, 0},
    {"across a corner, no end inside", {5, 2}, {7, 4}, {6, 8, 1, 3}, 0},
    {"inside the box", {6.5, 2}, {7, 2.5}, {6, 8, 1, 3}, 0},
    {"touching a side", {8, 0}, {8, 5}, {6, 8, 1, 3}, 0},
    {"along a side, apart", {9, 0}, {9, 5}, {6, 8, 1, 3}, 1},
    {"end on, apart", {10, 2}, {20, 2}, {6, 8, 1, 3}, 2},
    {"end towards a corner", {11, 7}, {20, 20}, {6, 8, 1, 3}, 5},
    {"a line without length", {11, 7}, {11, 7}, {6, 8, 1, 3}, 5},
    {"box without width", {0, 0}, {4, 0}, {2, 2, 1, 3}, 1},
    {"box without extent on the line", {0, 0}, {4, 4}, {2, 2, 2, 2}, 0},
    {"box without extent beyond the line", {0, 0}, {4, 4}, {7, 7, 8, 8}, 5},
};

Test(plane, distances_of_lines)
{
    for (size_t i = 0; i < sizeof segments / sizeof segments[0]; i++)
        check(plane_segment_to_rectangle(segments[i].a, segments[i].b, &segments[i].box),
              segments[i].distance, segments[i].what);
}

Test(plane, distances_of_places)
{
    const struct plane_rectangle box = {3, 5, 0, 5};
    check(plane_point_to_rectangle((struct plane_point){0, 0}, &box), 3, "E1c");
    check(plane_point_to_rectangle((struct plane_point){4, 1}, &box), 0, "E4 inside");
    check(plane_point_to_rectangle((struct plane_point){8, 9}, &box), 5, "off a corner");
    check(plane_point_to_rectangle((struct plane_point){5, 5}, &box), 0, "on a corner");
    check(plane_point_distance((struct plane_point){10, 0}, (struct plane_point){0, 0}), 10,
          "E1a");
}

/* https://docs.rs/geo/0.7.0/geo/algorithm/distance/trait.Distance.html */
static const struct plane_point octagon[8] = {{5, 1}, {4, 2}, {4, 3}, {5, 4},
                                              {6, 4}, {7, 3}, {7, 2}, {6, 1}};

Test(plane, distances_of_an_octagon)
{
    struct plane_hull hull;
    plane_hull_around(&hull, octagon, 8);
    cr_assert_eq(hull.count, 8);
    check(plane_point_to_hull((struct plane_point){2.5, 0.5}, &hull), 2.1213203435596424, "E2");
    check(plane_point_to_hull((struct plane_point){5.5, 2.1}, &hull), 0, "E4 inside");
    /* E3: to its outline, which is to the nearest of its sides */
    const struct plane_rectangle place = {5.5, 5.5, 2.1, 2.1};
    double least = INFINITY;
    for (int i = 0; i < 7; i++)
        least = fmin(least, plane_segment_to_rectangle(octagon[i], octagon[i + 1], &place));
    check(least, 1.1313708498984762, "E3");
}

struct sweep_case {
    const char *what;
    struct plane_rectangle from, to;
    uint32_t corners;
};

static const struct sweep_case sweeps[] = {
    {"a place onto itself", {1, 1, 2, 2}, {1, 1, 2, 2}, 1},
    {"a place to a place", {1, 1, 2, 2}, {4, 4, 6, 6}, 2},
    {"a rectangle onto itself", {0, 2, 0, 1}, {0, 2, 0, 1}, 4},
    {"a place inside", {0, 2, 0, 1}, {1, 1, 0.5, 0.5}, 4},
    {"a place straight beside", {0, 2, 0, 1}, {5, 5, 0.5, 0.5}, 5},
    {"a place off a corner", {0, 2, 0, 1}, {5, 5, 4, 4}, 4},
    {"a place in line with a side", {0, 2, 0, 1}, {5, 5, 0, 0}, 4},
    {"a rectangle off a corner", {0, 2, 0, 1}, {5, 6, 4, 6}, 6},
    {"a rectangle beside, smaller", {0, 2, 0, 3}, {5, 6, 1, 2}, 6},
    {"a rectangle across", {0, 6, 2, 3}, {2, 3, 0, 6}, 8},
    {"places on one line", {0, 2, 0, 0}, {5, 5, 0, 0}, 2},
};

Test(plane, areas_are_convex_and_hold_what_moves)
{
    for (size_t i = 0; i < sizeof sweeps / sizeof sweeps[0]; i++) {
        const struct plane_rectangle *ends[2] = {&sweeps[i].from, &sweeps[i].to};
        struct plane_hull hull;
        plane_sweep(&hull, ends[0], ends[1]);
        cr_expect_eq(hull.count, sweeps[i].corners, "%s: %u corners", sweeps[i].what,
                     hull.count);
        for (int end = 0; end < 2; end++) {
            check(plane_hull_to_rectangle(&hull, ends[end]), 0, sweeps[i].what);
            for (int corner = 0; corner < 4; corner++)
                check(
                    plane_point_to_hull(
                        (struct plane_point){corner & 1 ? ends[end]->x_low : ends[end]->x_high,
                                             corner & 2 ? ends[end]->y_low : ends[end]->y_high},
                        &hull),
                    0, sweeps[i].what);
        }
        for (uint32_t k = 0; hull.count > 2 && k < hull.count; k++) {
            struct plane_point u = hull.along[k], v = hull.along[(k + 1) % hull.count];
            cr_expect_gt(u.x * v.y - u.y * v.x, 0, "%s: no turn to the left", sweeps[i].what);
        }
    }
}

Test(plane, areas_against_boxes)
{
    const struct plane_rectangle work = {100, 500, 100, 400}, setter = {770, 770, 30, 30};
    struct plane_hull hull;
    plane_sweep(&hull, &work, &setter);
    static const struct {
        const char *what;
        struct plane_rectangle box;
        double distance;
    } rows[] = {
        {"in the work area", {200, 210, 200, 210}, 0},
        {"around everything", {0, 1000, 0, 1000}, 0},
        {"between the two, inside the area", {690, 695, 60, 65}, 0},
        {"beside the setter", {780, 790, 20, 40}, 10},
        {"behind the work area", {200, 300, 420, 430}, 20},
        /* the lower side runs from (100, 100) to (770, 30): 70 x + 670 y = 74000 */
        {"in front of the lower side",
         {300, 310, 40, 50},
         (74000 - 21700 - 33500) / 673.6467917239716},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        check(plane_hull_to_rectangle(&hull, &rows[i].box), rows[i].distance, rows[i].what);
}

Test(plane, slivers_and_large_numbers_stay_sane)
{
    /* Eight places within rounding of one line. */
    struct plane_point points[8];
    for (int i = 0; i < 8; i++)
        points[i] = (struct plane_point){0.1 * i, nextafter(0.3 * i, i & 1 ? 9 : -9)};
    struct plane_hull hull;
    plane_hull_around(&hull, points, 8);
    for (int i = 0; i < 8; i++)
        cr_expect_lt(plane_point_to_hull(points[i], &hull), 1e-15);
    const struct plane_rectangle far_off = {1e300, 2e300, 1e300, 2e300};
    cr_expect(isfinite(plane_segment_to_rectangle((struct plane_point){-1e300, 0},
                                                  (struct plane_point){0, -1e300}, &far_off)));
}
