/* Dimensions: exponents of five bases, and what the trade calls them.
 *
 * Knows no units: a dimension without a word of its own is told in SI symbols.
 */
#include "quantity/dimension.h"

enum { EXPONENT_MAX = 100, BASES = 5 };

static const struct {
    struct dimension dimension;
    const char *name;
} names[] = {
    {{0, 0, 0, 0, 0}, "number"},
    {{1, 0, 0, 0, 0}, "length"},
    {{2, 0, 0, 0, 0}, "area"},
    {{3, 0, 0, 0, 0}, "volume"},
    {{0, 1, 0, 0, 0}, "mass"},
    {{0, 0, 1, 0, 0}, "time"},
    {{0, 0, 0, 1, 0}, "angle"},
    {{0, 0, 0, 0, 1}, "steps"},
    {{1, 0, -1, 0, 0}, "speed"},
    {{1, 0, -2, 0, 0}, "acceleration"},
    {{0, 0, -1, 1, 0}, "rotation speed"},
    {{0, 0, -2, 1, 0}, "angular acceleration"},
    {{0, 0, -1, 0, 1}, "step rate"},
    {{0, 0, -1, 0, 0}, "frequency"},
    {{-1, 0, 0, 0, 1}, "steps per length"},
    {{0, 0, 0, -1, 1}, "steps per turn"},
    {{1, 0, 0, -1, 0}, "length per turn"},
    {{0, 0, 0, -1, 0}, "number per turn"},
    {{2, 1, 0, -2, 0}, "inertia"},
    {{2, 1, -2, -1, 0}, "torque"},
};

static bool put(int8_t *out, int exponent)
{
    if (exponent < -EXPONENT_MAX || exponent > EXPONENT_MAX)
        return false;
    *out = (int8_t)exponent;
    return true;
}

/* a + factor * b, exponent by exponent. */
static bool combine(struct dimension a, int factor, struct dimension b, struct dimension *out)
{
    struct dimension sum;
    if (factor < -EXPONENT_MAX || factor > EXPONENT_MAX ||
        !put(&sum.length, a.length + factor * b.length) ||
        !put(&sum.mass, a.mass + factor * b.mass) ||
        !put(&sum.time, a.time + factor * b.time) ||
        !put(&sum.angle, a.angle + factor * b.angle) ||
        !put(&sum.step, a.step + factor * b.step))
        return false;
    *out = sum;
    return true;
}

bool dimension_multiply(struct dimension a, struct dimension b, struct dimension *out)
{
    return combine(a, 1, b, out);
}

bool dimension_divide(struct dimension a, struct dimension b, struct dimension *out)
{
    return combine(a, -1, b, out);
}

bool dimension_power(struct dimension a, int power, struct dimension *out)
{
    if (dimension_is_none(a)) {
        *out = a;
        return true;
    }
    return combine(DIMENSION_NONE, power, a, out);
}

bool dimension_root(struct dimension a, struct dimension *out)
{
    if (a.length % 2 || a.mass % 2 || a.time % 2 || a.angle % 2 || a.step % 2)
        return false;
    *out =
        (struct dimension){(int8_t)(a.length / 2), (int8_t)(a.mass / 2), (int8_t)(a.time / 2),
                           (int8_t)(a.angle / 2), (int8_t)(a.step / 2)};
    return true;
}

/* The bases in the order in which products are written, and their exponents in `d`. */
static const char *const symbols[BASES] = {"kg", "m", "rad", "step", "s"};

static int exponent(struct dimension d, int base)
{
    const int8_t exponents[BASES] = {d.mass, d.length, d.angle, d.step, d.time};
    return exponents[base];
}

/* The bases with exponents of the sign `sign`, "kg*m^2"; returns how many there are. */
static int add_product(struct buffer *out, struct dimension d, int sign)
{
    int count = 0;
    for (int i = 0; i < BASES; i++) {
        int size = sign * exponent(d, i);
        if (size <= 0)
            continue;
        if (count++)
            buffer_byte(out, '*');
        buffer_text(out, symbols[i]);
        if (size > 1)
            buffer_format(out, "^%d", size);
    }
    return count;
}

const char *dimension_symbols(struct dimension d, struct arena *arena)
{
    int below = 0;
    for (int i = 0; i < BASES; i++)
        below += exponent(d, i) < 0;
    struct buffer out;
    buffer_init(&out, arena);
    if (!add_product(&out, d, 1))
        buffer_byte(&out, '1');
    if (below)
        buffer_text(&out, below > 1 ? "/(" : "/");
    add_product(&out, d, -1);
    if (below > 1)
        buffer_byte(&out, ')');
    return buffer_string(&out);
}

const char *dimension_name(struct dimension d, struct arena *arena)
{
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (dimension_equal(names[i].dimension, d))
            return names[i].name;
    return dimension_symbols(d, arena);
}
