/* Published numbers: units, tolerance stacks, interval and affine arithmetic, drives, run-down.
 *
 * Each table names where its numbers come from.  "From memory" means that the source was not at
 * hand when the number was written down; "recomputed" that the source gives the formula or the
 * inputs and the digits are worked out.
 */
#include <criterion/criterion.h>

#include <math.h>

#include "quantity/form.h"
#include "quantity/quantity.h"

static const struct dimension length = {1, 0, 0, 0, 0}, speed = {1, 0, -1, 0, 0},
                              turning = {0, 0, -1, 1, 0}, angle = {0, 0, 0, 1, 0},
                              inertia = {2, 1, 0, -2, 0}, torque = {2, 1, -2, -1, 0},
                              steps_turn = {0, 0, 0, -1, 1}, per_turn = {0, 0, 0, -1, 0},
                              lead = {1, 0, 0, -1, 0}, steps = {-1, 0, 0, 0, 1},
                              acceleration = {1, 0, -2, 0, 0}, seconds = {0, 0, 1, 0, 0};

static double read(const char *text, struct dimension d)
{
    struct quantity q;
    struct quantity_trouble trouble;
    enum quantity_status status = quantity_read(view_of(text), d, &q, &trouble);
    cr_assert(status == QUANTITY_OK, "%s: %d", text, status);
    return q.si;
}

static void near(double is, double wanted, double room, const char *what)
{
    cr_expect(fabs(is - wanted) <= room, "%s: %.12g, not %.12g", what, is, wanted);
}

/* Yard and inch: 1 in = 25.4 mm exactly, Addendum (January 1960) to NBS Circular 572.
 * The other rows: as printed by GNU units 2.22, 12 digits, with the inch and the pound of 1959.
 */
static const struct {
    const char *text;
    struct dimension dimension;
    double value;
    const char *unit;
} printed[] = {
    {"1 in", {1, 0, 0, 0, 0}, 25.4, "mm"},
    {"1/8 in", {1, 0, 0, 0, 0}, 3.175, "mm"},
    {"1/4 in", {1, 0, 0, 0, 0}, 6.35, "mm"},
    {"3/8 in", {1, 0, 0, 0, 0}, 9.525, "mm"},
    {"1/2 in", {1, 0, 0, 0, 0}, 12.7, "mm"},
    {"1 ft/min", {1, 0, -1, 0, 0}, 5.08, "mm/s"},
    {"1 ft/min", {1, 0, -1, 0, 0}, 304.8, "mm/min"},
    {"1 in/min", {1, 0, -1, 0, 0}, 0.423333333333, "mm/s"},
    {"100 in/min", {1, 0, -1, 0, 0}, 2540, "mm/min"},
    {"1 thou", {1, 0, 0, 0, 0}, 25.4, "um"},
    {"1 lbf*ft", {2, 1, -2, -1, 0}, 4.44822161526 * 0.3048, "N*m"},
    {"1 lb*ft^2", {2, 1, 0, -2, 0}, 0.0421401100938, "kg*m^2"},
    {"1 deg", {0, 0, 0, 1, 0}, 0.0174532925199, "rad"},
    {"250 rpm", {0, 0, -1, 1, 0}, 26.1799387799, "rad/s"},
    {"7000 rpm", {0, 0, -1, 1, 0}, 733.038285838, "rad/s"},
    {"10000 rpm", {0, 0, -1, 1, 0}, 1047.1975512, "rad/s"},
    {"12000 rpm", {0, 0, -1, 1, 0}, 1256.63706144, "rad/s"},
    {"18000 rpm", {0, 0, -1, 1, 0}, 1884.95559215, "rad/s"},
    {"24000 rpm", {0, 0, -1, 1, 0}, 2513.27412287, "rad/s"},
};

Test(published, units)
{
    for (size_t i = 0; i < sizeof printed / sizeof printed[0]; i++) {
        double si = read(printed[i].text, printed[i].dimension);
        unit_id unit = unit_read(view_of(printed[i].unit));
        double is = unit_from_si(unit, printed[i].dimension, si);
        near(is, printed[i].value, 1e-11 * printed[i].value, printed[i].text);
    }
}

/* Tolerance stacks. */

static struct form with(double x, deviation_name name, double width)
{
    struct form form;
    form_with(&form, x, name, width);
    return form;
}

/* first - second - third ..., each with a name of its own. */
static struct form stack(size_t count, const double (*parts)[2])
{
    struct form sum = with(parts[0][0], 1, parts[0][1]);
    for (size_t i = 1; i < count; i++) {
        struct form part = with(parts[i][0], 1 + i, parts[i][1]);
        form_subtract(&sum, &sum, &part);
    }
    return sum;
}

static void check_stack(struct form sum, double nominal, double worst, double rss, double room)
{
    near(sum.mid, nominal, 1e-12, "nominal");
    near(form_least(&sum, false), nominal - worst, 1e-12, "worst case, least");
    near(form_greatest(&sum, false), nominal + worst, 1e-12, "worst case, greatest");
    near(form_least(&sum, true), nominal - rss, room, "statistical, least");
    near(form_greatest(&sum, true), nominal + rss, room, "statistical, greatest");
}

Test(published, stacks)
{
    /* ficientdesign.com, "Tolerance stack-up analysis": a housing less three parts, gap 0.020
     * +-0.015; root sum square of the parts +-0.00616, with the housing +-0.00794 (recomputed
     * 0.00793725). */
    const double housing[][2] = {
        {4.020, 0.005}, {2.000, 0.005}, {1.500, 0.003}, {0.500, 0.002}};
    check_stack(stack(4, housing), 0.020, 0.015, 0.00793725, 5e-9);
    const double parts[][2] = {{0, 0}, {2.000, 0.005}, {1.500, 0.003}, {0.500, 0.002}};
    check_stack(stack(4, parts), -4, 0.010, 0.00616, 5e-6);
    /* metricmech.com, "Tolerance stackup worked example": inputs and nominal; sums recomputed.
     */
    const double four[][2] = {{40.00, 0.10}, {25.00, 0.05}, {2.00, 0.03}, {10.00, 0.05}};
    check_stack(stack(4, four), 3.00, 0.23, 0.1261, 5e-5);
    /* Ten parts of +-0.1, a page on root-sum-square analysis: +-1.0 and +-0.316. */
    double ten[10][2];
    for (int i = 0; i < 10; i++)
        ten[i][0] = 1, ten[i][1] = 0.1;
    check_stack(stack(10, (const double(*)[2])ten), -8, 1.0, 0.316228, 5e-7);
    /* JCGM 100:2008 (GUM) H.1: 25, 9.7, 2.9, 16.6 nm make 32 nm (31.67), as the reference
     * implementation GTC prints 50000838(32). */
    const double gauge[][2] = {{50000623, 25}, {-215, 9.7}, {0, 2.9}, {0, 16.6}};
    check_stack(stack(4, gauge), 50000838, 54.2, 31.67, 5e-3);
}

/* Intervals: printed answers of a course's lab sheet on continuous domains (Universidade Nova
 * de Lisboa, 2021, lab 2), recomputed.  Each operand is an unknown of its own unless it is the
 * same. */

static struct form within(double low, double high, deviation_name name)
{
    return with((low + high) / 2, name, (high - low) / 2);
}

static void is_range(const struct form *x, double low, double high, const char *what)
{
    near(x->low, low, 1e-14, what);
    near(x->high, high, 1e-14, what);
}

Test(published, interval_operations)
{
    struct form a = within(0, 1, 1), b = within(2, 3, 2), c = within(-2, -1, 3), x, y;
    form_add(&x, &a, &b);
    is_range(&x, 2, 4, "I1 + I2");
    form_subtract(&x, &b, &c);
    is_range(&x, 3, 5, "I2 - I3");
    form_multiply(&x, &a, &b);
    is_range(&x, 0, 3, "I1 * I2");
    cr_assert(form_divide(&x, &b, &c));
    is_range(&x, -3, -1, "I2 / I3");
    cr_assert(form_power(&x, &c, 3));
    is_range(&x, -8, -1, "I3 ^ 3");
    form_add(&x, &b, &c);
    form_multiply(&x, &a, &x);
    is_range(&x, 0, 2, "I1 * (I2 + I3)");
    /* The sheet has [-2, 3] for the sum of products: sub-distributivity.  Names do better, and
     * may not do worse. */
    form_multiply(&x, &a, &b);
    form_multiply(&y, &a, &c);
    form_add(&x, &x, &y);
    cr_expect(x.low >= -2 && x.high <= 3 && x.low <= 0 && x.high >= 2);
}

/* Three ways to write x - x^2 on [0.5, 2]: plain intervals give [-3.5, 1.75], [-2, 1], [-2,
 * 0.25]; the last is the truth.  A form never gives more than plain intervals do for the same
 * writing. */
Test(published, interval_writings)
{
    struct form x = within(0.5, 2, 1), one, half, quarter, square, out;
    form_exact(&one, 1);
    form_exact(&half, 0.5);
    form_exact(&quarter, 0.25);
    cr_assert(form_power(&square, &x, 2));
    is_range(&square, 0.25, 4, "x^2");
    form_subtract(&out, &x, &square);
    cr_expect(out.low >= -3.5 && out.high <= 1.75 && out.low <= -2 && out.high >= 0.25);
    form_subtract(&out, &one, &x);
    form_multiply(&out, &x, &out);
    cr_expect(out.low >= -2 && out.high <= 1 && out.low <= -2 && out.high >= 0.25);
    form_subtract(&out, &x, &half);
    cr_assert(form_power(&out, &out, 2));
    form_subtract(&out, &quarter, &out);
    is_range(&out, -2, 0.25, "0.25 - (x - 0.5)^2");
    /* Split at 1.25: the union is [-2.75, 1], [-2, 0.625], [-2, 0.25]. */
    struct form left = within(0.5, 1.25, 1), right = within(1.25, 2, 1), low, high;
    cr_assert(form_power(&square, &left, 2));
    form_subtract(&low, &left, &square);
    cr_assert(form_power(&square, &right, 2));
    form_subtract(&high, &right, &square);
    cr_expect(low.high <= 1 && high.low >= -2.75 && low.high >= 0.25 && high.low <= -2);
}

Test(published, affine_answers)
{
    /* x - x on [-1, 1]: intervals [-2, 2], affine 0 (the motivating case of the papers below).
     */
    struct form x = within(-1, 1, 1), ten, out;
    form_subtract(&out, &x, &x);
    cr_expect(out.low == 0 && out.high == 0);
    /* x (10 - x), x in [4, 6]: intervals [16, 36], truth [24, 25], affine [24, 26] or better.
     * Stolfi and de Figueiredo, An Introduction to Affine Arithmetic, TEMA 4(3), 2003; digits
     * from memory, recomputed. */
    x = within(4, 6, 1);
    form_exact(&ten, 10);
    form_subtract(&out, &ten, &x);
    form_multiply(&out, &x, &out);
    cr_expect(out.low >= 24 && out.low <= 24 && out.high >= 25 && out.high <= 26);
}

/* Drives: steps per length from motor steps, microsteps, reduction and travel per turn, in the
 * dimensions that the fields have. */
Test(published, drives)
{
    unit_id steps_mm = unit_read(view_of("steps/mm"));
    double motor = read("200", steps_turn);
    /* calculatorfriend.com, "Steps per mm calculator": belt of 2 mm, 20 and 16 teeth, 16
     * microsteps: 80 and 100; screws of lead 8 and 2 mm: 400 and 1600. */
    double belt = read("2 mm", length) * read("20", per_turn);
    near(unit_from_si(steps_mm, steps, motor * 16 / belt), 80, 1e-12, "belt, 20 teeth");
    belt = read("2 mm", length) * read("16", per_turn);
    near(unit_from_si(steps_mm, steps, motor * 16 / belt), 100, 1e-12, "belt, 16 teeth");
    near(unit_from_si(steps_mm, steps, motor * 16 / read("8 mm", lead)), 400, 1e-12, "lead 8");
    near(unit_from_si(steps_mm, steps, motor * 16 / read("2 mm", lead)), 1600, 1e-11, "lead 2");
    /* Rack: pi * module * teeth, formula from ask.okorder.com; recomputed: m 1, z 20, 200 x 8
     * x 10. */
    double rack = read("20 mm", length) * 3.14159265358979323846 / read("1 rev", angle);
    near(unit_from_si(steps_mm, steps, motor * 8 * 10 / rack), 254.648, 5e-4, "rack");
    /* A screw of 6 mm, 5:1, 48 step angles a turn: 250 mm are 10,000 pulses, 500 mm/min 333.333
     * Hz. Groover, Automation, Production Systems, and CIM; from memory, recomputed. */
    double screw = read("48", steps_turn) * 5 / read("6 mm", lead);
    near(screw * read("250 mm", length), 10000, 1e-8, "pulses");
    near(screw * read("500 mm/min", speed), 333.333, 5e-4, "pulse rate");
    near(unit_from_si(unit_read(view_of("rpm")), turning,
                      read("500 mm/min", speed) * 5 / read("6 mm", lead)),
         416.667, 5e-4, "motor");
}

Test(published, run_down)
{
    /* OpenStax College Physics 10.1, the bicycle wheel: 250 rpm is 26.2 rad/s, stopped at 87.3
     * rad/s^2 in 0.300 s. */
    near(read("250 rpm", turning), 26.2, 0.05, "250 rpm");
    near(read("250 rpm", turning) / 87.3, 0.300, 5e-4, "wheel");
    /* University Physics 1, Check Your Understanding 10.2: 7000 rpm; -73.3 rad/s^2 over 10 s.
     */
    near(read("7000 rpm", turning) / 10, 73.3, 0.05, "centrifuge");
    /* PDHonline E161, t = WK2 dN / (308 T), with 100 lb ft2, 1000 rpm, 50 lbf ft (inputs
     * ours): 6.4935 s by the handbook's rounded constant, 6.50958 s by exact units
     * (recomputed). */
    double t =
        read("100 lb*ft^2", inertia) * read("1000 rpm", turning) / read("50 lbf*ft", torque);
    near(t, 6.50958, 5e-6, "WK2, exact units");
    near(t, 6.4935, 0.0025 * t, "WK2, handbook constant");
    /* bartleby.com, a grindstone of 90.0 kg, radius 0.340 m, 90.0 rpm; 1.36 N m: 36.05 s. */
    near(5.202 * read("90 rpm", turning) / read("1.36 N*m", torque), 36.05, 5e-3, "grindstone");
}

/* Common practice, no source: a wait of 10,000 is 10 s only where its unit is the millisecond.
 */
Test(published, milliseconds_are_not_seconds)
{
    near(read("10000 ms", seconds), 10, 0, "ms");
    near(read("10000 us", seconds), 0.01, 0, "us");
    near(read("1 ft/s^2", acceleration), 0.3048, 0, "ft/s^2");
}
