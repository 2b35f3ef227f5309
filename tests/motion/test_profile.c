/* Times of moves. */
#include <criterion/criterion.h>

#include <math.h>

#include "motion/profile.h"
#include "near.h"

static struct profile move(double distance, double speed, double up, double down)
{
    struct profile_limits limits = {speed, up, down};
    struct profile profile;
    profile_move(&profile, distance, &limits);
    return profile;
}

static const struct {
    const char *what;
    double distance, speed, up, down;
    double seconds, peak, tolerance;
} moves[] = {
    /* P5, textbook kinematics from memory, arithmetic checked: t = D/v + v/a; t = 2 sqrt(D/a).
     */
    {"P5 trapezoid", 500, 100, 500, 500, 5.2, 100, 0},
    {"P5 triangle", 100, 1000, 500, 500, 0.8944271909999159, 223.60679774997897, 0},
    /* P2, linearmotiontips.com/how-to-calculate-velocity: the peak of a triangle is twice the
       average. */
    {"P2 triangle", 50, 1e6, 200, 200, 1, 100, 0},
    /* P3, userz.net/post/fee1a26ae9ae00fbb99365517e2fb60b: 43.6 in in 2.15 s, 0.3 s up and 0.45
     * s down, whose printed speed 24.56 in/s is rounded. */
    {"P3 asymmetric", 43.6, 24.56, 24.56 / 0.3, 24.56 / 0.45, 2.15, 24.56, 5e-4},
    /* P4, motion sizing handbooks, from memory: thirds of the time give v = 1.5 D/t, a = 4.5
       D/t^2. */
    {"P4 thirds", 2, 1.5 * 2 / 3, 4.5 * 2 / 9, 4.5 * 2 / 9, 3, 1, 0},
    {"just long enough for its speed", 20, 100, 500, 500, 0.4, 100, 0},
    {"one unit shorter", 19, 100, 500, 500, 2 * 0.1949358868961793, 97.46794344808964, 0},
    /* v = sqrt(2 * 6 * 3 * 1 / 4) = 3: 1 s up, 3 s down */
    {"asymmetric triangle", 6, 100, 3, 1, 4, 3, 0},
    {"nothing to go", 0, 100, 500, 500, 0, 0, 0},
    {"no limit of acceleration", 10, 5, INFINITY, INFINITY, 2, 5, 0},
    {"stops at once", 10, 5, 5, INFINITY, 2.5, 5, 0},
};

Test(profile, from_rest_to_rest)
{
    for (size_t i = 0; i < sizeof moves / sizeof moves[0]; i++) {
        struct profile found =
            move(moves[i].distance, moves[i].speed, moves[i].up, moves[i].down);
        double allowed = fmax(moves[i].tolerance, 1e-15 * moves[i].seconds);
        cr_expect(fabs(found.seconds - moves[i].seconds) <= allowed, "%s: %.17g s",
                  moves[i].what, found.seconds);
        cr_expect(near(found.peak, moves[i].peak, 0), "%s: peak %.17g", moves[i].what,
                  found.peak);
        cr_expect(near(found.rise + found.cruise + found.fall, found.seconds, 0));
    }
    /* P1, firgelliauto.com trajectory planner: the parts.  And P3: cruises for 1.4 s. */
    struct profile parts = move(500, 100, 500, 250);
    cr_expect(near(parts.rise, 0.2, 0) && near(parts.fall, 0.4, 0) &&
              near(parts.cruise, 4.7, 0));
    cr_expect_float_eq(move(43.6, 24.5634, 24.5634 / 0.3, 24.5634 / 0.45).cruise, 1.4, 5e-5);
}

Test(profile, covers_its_distance)
{
    for (int i = 1; i < 60; i++)
        for (int k = 1; k < 8; k++) {
            double distance = 0.3 * i, up = 0.7 * k, down = 5.1 / k;
            struct profile p = move(distance, 2.5, up, down);
            double covered = p.peak * (p.rise + p.fall) / 2 + p.peak * p.cruise;
            cr_assert(near(covered, distance, 0), "%g", distance);
            cr_assert_leq(p.peak, 2.5);
        }
}

Test(profile, never_arrives_without_speed)
{
    cr_expect(isinf(move(1, 0, 1, 1).seconds));
    cr_expect(isinf(move(1, 1, 0, 1).seconds));
    cr_expect(isinf(move(1, 1, 1, 0).seconds));
    cr_expect_eq(move(0, 0, 0, 0).seconds, 0);
}

static const struct profile_limits axes[3] = {{100, 500, 500}, {80, 400, 400}, {50, 250, 250}};

static const struct {
    const char *what;
    double delta[3], feed;
    double seconds, speed;
} lines[] = {
    {"along x", {-500, 0, 0}, INFINITY, 5.2, 100},
    {"along y", {0, 80, 0}, INFINITY, 1.2, 80},
    {"along z at a feed", {0, 0, -50}, 20, 2.58, 20},
    /* 3-4-5: x allows 100 / 0.6, y 80 / 0.8 = 100; 500 / 0.6, 400 / 0.8 = 500 */
    {"aslant, y decides", {300, 400, 0}, INFINITY, 5.2, 100},
    /* 4-3-5: x 100 / 0.8 = 125, 500 / 0.8 = 625; y 80 / 0.6, 400 / 0.6 */
    {"aslant, x decides", {400, -300, 0}, INFINITY, 4.2, 125},
    {"aslant at a feed", {300, 400, 0}, 50, 10.1, 50},
    {"nowhere", {0, 0, 0}, INFINITY, 0, INFINITY},
};

Test(profile, straight_lines)
{
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        struct profile found;
        profile_line(&found, lines[i].delta, axes, lines[i].feed);
        cr_expect(near(found.seconds, lines[i].seconds, 0), "%s: %.17g s", lines[i].what,
                  found.seconds);
        cr_expect(near(found.speed, lines[i].speed, 0), "%s: %.17g", lines[i].what,
                  found.speed);
    }
}
