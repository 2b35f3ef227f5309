/* Error-free transformations: numbers as sums of doubles that do not overlap.  Where a sum of
 * them is rounded on the way, it is rounded to odd, so that the last rounding is the only one
 * that counts.
 */
#include "quantity/exact.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <string.h>

/* x + y is what is returned and *low, exactly. */
static double sum(double x, double y, double *low)
{
    double high = x + y, part = high - x;
    *low = (x - (high - part)) + (y - part);
    return high;
}

/* x = what is returned and *low, each of half the digits. */
static double halves(double x, double *low)
{
    double wide = x * 134217729; /* 2^27 + 1 */
    double high = wide - (wide - x);
    *low = x - high;
    return high;
}

/* x * y is what is returned and *low, exactly where neither is huge or tiny. */
static double product(double x, double y, double *low)
{
    double x_low, y_low, high = x * y;
    double x_high = halves(x, &x_low), y_high = halves(y, &y_low);
    *low = ((x_high * y_high - high) + x_high * y_low + x_low * y_high) + x_low * y_low;
    return high;
}

/* x + y, where it is no double the one of its two neighbours that ends in a 1. */
static double sum_to_odd(double x, double y)
{
    double low, high = sum(x, y, &low);
    uint64_t bits;
    memcpy(&bits, &high, sizeof bits);
    return low == 0 || bits & 1 ? high : nextafter(high, low > 0 ? INFINITY : -INFINITY);
}

double exact_fma(double x, double y, double z)
{
    if (!isfinite(x) || !isfinite(y) || x == 0 || y == 0)
        return x * y + z;
    if (!isfinite(z) || z == 0)
        return z == 0 ? x * y : z;
    int x_exponent, y_exponent, z_exponent;
    x = frexp(x, &x_exponent);
    y = frexp(y, &y_exponent);
    z = frexp(z, &z_exponent);
    int exponent = x_exponent + y_exponent, shift = z_exponent - exponent;
    if (shift > 120) /* the product is far below z's last digit */
        return ldexp(z, z_exponent);
    double product_low, z_low, low;
    double high = product(x, y, &product_low);
    z = sum(ldexp(z, shift < -200 ? -200 : shift), product_low, &z_low);
    high = sum(high, z, &low);
    return ldexp(high + sum_to_odd(z_low, low), exponent);
}

/* Of the exact sum of up to 8 doubles: negative, 0 or positive. */
static double sign_of_sum(const double *terms, int count)
{
    double parts[8];
    for (int i = 0; i < count; i++) {
        double high = terms[i];
        for (int j = 0; j < i; j++)
            high = sum(high, parts[j], &parts[j]);
        parts[i] = high;
    }
    int top = count - 1;
    while (top > 0 && parts[top] == 0)
        top--;
    return parts[top];
}

/* sqrt(a^2 + b^2), where neither is huge or tiny. */
static double length(double a, double b)
{
    double a_low, b_low, s_low, h_low;
    double a_high = product(a, a, &a_low), b_high = product(b, b, &b_low);
    double s = sum(a_high, b_high, &s_low);
    double h = sqrt(s), h_high = product(h, h, &h_low);
    double better = ((s - h_high) - h_low + (s_low + a_low + b_low)) / (2 * h);
    double unsure = h * 0x1p-95;
    double lower = h + (better - unsure), upper = h + (better + unsure);
    if (lower == upper)
        return lower;
    /* Next to the middle between two doubles: (lower + step / 2)^2, is it less or more? */
    double step = upper - lower, low, high = product(lower, lower, &low);
    double terms[] = {a_high, a_low, b_high,        b_low,
                      -high,  -low,  -lower * step, -step * step / 4};
    double sign = sign_of_sum(terms, 8);
    uint64_t bits;
    memcpy(&bits, &lower, sizeof bits);
    bool up = sign > 0 || (sign == 0 && bits & 1);
    return up ? upper : lower;
}

double exact_hypot(double x, double y)
{
    if (isinf(x) || isinf(y))
        return INFINITY;
    x = fabs(x), y = fabs(y);
    double a = x < y ? y : x, b = x < y ? x : y;
    if (isnan(x) || isnan(y))
        return x + y;
    if (b <= a * 0x1p-28) /* adds less than half of a's last digit */
        return a;
    if (a < 0x1p300 && b > 0x1p-300)
        return length(a, b);
    int exponent;
    a = frexp(a, &exponent);
    return ldexp(length(a, ldexp(b, -exponent)), exponent);
}

double exact_root(double x, double power)
{
    double result = 1;
    for (int digit = 0; digit < 60; digit++) {
        x = sqrt(x);
        power *= 2;
        if (power >= 1) {
            result *= x;
            power -= 1;
        }
    }
    return result;
}
