/* Clearances, worked out by hand from the picture at the head of motion/clearance.h. */
#include <criterion/criterion.h>

#include "motion/clearance.h"
#include "near.h"

static const struct {
    double beside, above, clearance;
} signs[] = {
    {3, 4, 5},       /* off an edge: the straight way */
    {3, 0, 3},       /* level with the top */
    {3, -2, 3},      /* below the top, beside it */
    {0, 4, 4},       /* straight above the rim */
    {-2, 4, 4},      /* above */
    {0, 0, 0},       /* touching the edge */
    {0, -2, 0},      /* touching the side */
    {-2, 0, 0},      /* touching the top */
    {-2, -5, -2},    /* sharing room: out sideways is nearer */
    {-5, -2, -2},    /* up is nearer */
    {-3, -3, -3},    /* */
    {1e-9, -1, 1e-9} /* continuous at the side */
};

Test(clearance, formula)
{
    for (size_t i = 0; i < sizeof signs / sizeof signs[0]; i++)
        cr_expect_eq(clearance_of(signs[i].beside, signs[i].above), signs[i].clearance,
                     "%g beside, %g above: %g", signs[i].beside, signs[i].above,
                     clearance_of(signs[i].beside, signs[i].above));
}

Test(clearance, rises_with_both)
{
    for (int b = -20; b <= 20; b++)
        for (int a = -20; a <= 20; a++) {
            double here = clearance_of(b / 7.0, a / 7.0);
            cr_assert_leq(here, clearance_of((b + 1) / 7.0, a / 7.0));
            cr_assert_leq(here, clearance_of(b / 7.0, (a + 1) / 7.0));
        }
}

static struct clearance_box box_of(struct plane_rectangle footprint, double top)
{
    return (struct clearance_box){
        .footprint = footprint, .widest = footprint, .top = spread_exact(top)};
}

static void hang(struct clearance_spindle *spindle, enum clearance_body body, double radius,
                 double underside)
{
    spindle->parts[spindle->count++] = (struct clearance_part){
        .body = body, .radius = spread_exact(radius), .underside = spread_exact(underside)};
}

static struct clearance least(const struct clearance_spindle *spindle,
                              struct plane_rectangle from, struct plane_rectangle to,
                              const struct clearance_box *box)
{
    struct plane_hull path;
    struct clearance clearance = clearance_none();
    plane_sweep(&path, &from, &to);
    bool found = clearance_nearer(spindle, BODIES_ALL, &path, box, clearance_beside(&path, box),
                                  &clearance);
    cr_assert_eq(found, isfinite(clearance.value.low));
    return clearance;
}

/* E7: a circle of radius r swept along a line keeps the distance of the line less r (MEM: the
 * identity of buffers). */
Test(clearance, swept_circle)
{
    const struct clearance_box box = box_of((struct plane_rectangle){6, 8, 1, 3}, 10);
    for (int r = 0; r < 5; r++) {
        struct clearance_spindle spindle = {0};
        hang(&spindle, BODY_CUTTER, r, 0);
        double wanted = 2.1213203435596424 - r; /* E6 */
        if (wanted < 0)
            wanted = -fmin(-wanted, 10);
        struct clearance found = least(&spindle, plane_place(0, 0), plane_place(10, 10), &box);
        cr_expect(near(found.value.low, wanted, 4), "r %d: %.17g", r, found.value.low);
    }
}

static const struct {
    const char *what;
    double x, y; /* of a place, beside the box [10, 20] x [10, 20], top 30 */
    double nose; /* cutter 2 wide, 40 long; nut 8 wide; shoe 20 wide, 5 below the nose */
    enum clearance_body body;
    double clearance;
} poses[] = {
    {"high above", 15, 15, 100, BODY_CUTTER, 30},
    {"beside, level with the top", 31, 15, 70, BODY_CUTTER, 10},
    {"tip at the top", 15, 15, 70, BODY_CUTTER, 0},
    {"tip below the top, over the box", 15, 15, 67, BODY_CUTTER, -1},
    {"tip a little below the top", 15, 15, 69.5, BODY_CUTTER, -0.5},
    {"beside, the shoe comes first", 32, 15, 30, BODY_SHOE, 2},
    {"far beside and low, the shoe still", 5, 15, 20, BODY_SHOE, -5},
    {"nut and shoe low, shoe wider", 24, 15, 28, BODY_SHOE, -6},
};

Test(clearance, least_of_the_bodies)
{
    struct clearance_box box = box_of((struct plane_rectangle){10, 20, 10, 20}, 30);
    for (size_t i = 0; i < sizeof poses / sizeof poses[0]; i++) {
        struct clearance_spindle spindle = {0};
        double nose = poses[i].nose;
        hang(&spindle, BODY_CUTTER, 1, nose - 40);
        hang(&spindle, BODY_NUT, 4, nose);
        hang(&spindle, BODY_SHOE, 10, nose - 5);
        struct plane_rectangle at = plane_place(poses[i].x, poses[i].y);
        struct clearance found = least(&spindle, at, at, &box);
        cr_expect(near(found.value.low, poses[i].clearance, 0), "%s: %.17g", poses[i].what,
                  found.value.low);
        cr_expect_eq(found.body, poses[i].body, "%s: %s", poses[i].what,
                     clearance_body_name(found.body));
    }
}

Test(clearance, nothing_there_is_infinitely_far)
{
    /* E1d: the libraries give no number for an empty figure; no obstacle is no obstruction. */
    const struct clearance_box box = box_of((struct plane_rectangle){0, 1, 0, 1}, 1);
    struct clearance_spindle nothing = {0};
    struct clearance found = least(&nothing, plane_place(0, 0), plane_place(1, 1), &box);
    cr_expect(isinf(found.value.low) && found.value.low > 0);
}

Test(clearance, tolerances_in_the_worst_case)
{
    struct clearance_box box = box_of((struct plane_rectangle){10, 20, 0, 10}, 30);
    box.widest = (struct plane_rectangle){9.5, 20.5, 0, 10};
    box.top = spread_with(30, 0.25);
    struct clearance_spindle spindle = {0};
    hang(&spindle, BODY_CUTTER, 0, 0);
    spindle.parts[0].radius = spread_with(2, 0.5);
    spindle.parts[0].underside = spread_with(34, 0.75);
    struct clearance beside = least(&spindle, plane_place(5, 5), plane_place(5, 5), &box);
    cr_expect_eq(beside.value.nominal, 5); /* 3 beside, 4 above */
    cr_expect(near(beside.value.low, hypot(2, 3), 0));
    cr_expect(near(beside.value.high, hypot(4, 5), 0));
    /* A round thing: what is left of the distance counts from its rim. */
    box = box_of(plane_place(10, 0), 40);
    box.round = 3;
    beside = least(&spindle, plane_place(0, 0), plane_place(0, 0), &box);
    cr_expect_eq(beside.value.nominal, 5);
    beside = least(&spindle, plane_place(9, 0), plane_place(9, 0), &box);
    cr_expect_eq(beside.value.nominal, -2);
}

/* What hangs 30 to the right of the axis and 40 behind it goes along there. */
Test(clearance, a_body_beside_the_axis)
{
    const struct clearance_box box = box_of((struct plane_rectangle){100, 110, 0, 10}, 30);
    struct clearance_spindle spindle = {0};
    hang(&spindle, BODY_CUTTER, 1, 100);
    hang(&spindle, BODY_ATTACHMENT, 5, 20);
    spindle.parts[1].beside = (struct plane_point){30, 40};
    /* its middle stands 5 to the left of the box: its edge touches it */
    struct clearance found = least(&spindle, plane_place(65, -35), plane_place(65, -35), &box);
    cr_expect_eq(found.body, BODY_ATTACHMENT);
    cr_expect_eq(found.part, 1);
    cr_expect_eq(found.value.low, 0);
    /* below the axis of the spindle itself it is not */
    found = least(&spindle, plane_place(105, 5), plane_place(105, 5), &box);
    cr_expect(near(found.value.low, hypot(25, 35) - 5, 0), "%.17g", found.value.low);
    /* along a way it is dragged through */
    found = least(&spindle, plane_place(0, -35), plane_place(200, -35), &box);
    cr_expect_eq(found.value.low, -5);
    /* unless it does not count */
    struct plane_hull path;
    struct plane_rectangle from = plane_place(0, -35), to = plane_place(200, -35);
    plane_sweep(&path, &from, &to);
    found = clearance_none();
    cr_expect(clearance_nearer(&spindle, BODY_BIT(BODY_CUTTER), &path, &box,
                               clearance_beside(&path, &box), &found));
    cr_expect_eq(found.body, BODY_CUTTER);
    cr_expect(near(found.value.low, hypot(34, 70), 0), "%.17g", found.value.low);
}

/* There is no way out sideways. */
Test(clearance, what_is_everywhere)
{
    struct clearance_box box = box_of(plane_place(0, 0), 30);
    struct clearance_spindle spindle = {0};
    box.everywhere = true;
    hang(&spindle, BODY_CUTTER, 1, 10);
    struct clearance found = least(&spindle, plane_place(500, 0), plane_place(700, 0), &box);
    cr_expect_eq(found.value.low, -20);
    spindle.parts[0].underside = spread_exact(33);
    found = least(&spindle, plane_place(500, 0), plane_place(700, 0), &box);
    cr_expect_eq(found.value.low, 3);
}

/* Fractions of a picometre are rounding, and no room. */
Test(clearance, nothing_is_nothing)
{
    cr_expect_eq(spread_settled(0.1 + 0.2 - 0.3), 0);
    cr_expect_not(signbit(spread_settled(-1e-17)));
    cr_expect_eq(spread_settled(0.04), 0.04);
    cr_expect_eq(spread_settled(-0.12345), -0.12345);
    cr_expect_eq(spread_settled(3e-12), 3e-12);
    cr_expect_eq(spread_settled(INFINITY), INFINITY);
}
