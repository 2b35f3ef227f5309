"""Factors of tolerance intervals and critical values of Grubbs' test, worked out anew and held
against what others published.

    scatter.py ROWS

ROWS is src/quantity/scatter.inc.  The factor k of the two-sided tolerance interval of a normal
distribution, for a share p of it with confidence c from n readings, solves

    2 * integral over z > 0 of phi(z) * P(chi-square with n - 1 degrees > (n - 1) r(z)^2 / k^2) = c

where the interval of half-width r(z) around z / sqrt(n) holds the share p.  Probabilities of
chi-square and of Student's t are finite sums where the degrees of freedom are whole.
"""
import math
import re
import sys

# Two-sided, 95 % of the distribution, 95 % confidence, to two places: Statistics for Environmental
# Engineers, table 21.1.
PUBLISHED = {4: 6.34, 5: 5.08, 6: 4.42, 7: 4.02, 8: 3.75, 9: 3.55, 10: 3.39, 12: 3.17, 15: 2.96,
             20: 2.76, 25: 2.64, 30: 2.55, 40: 2.45, 60: 2.34}
# The same book: for 90 % and for 99 % of the distribution.
PUBLISHED_90 = {4: 5.37, 5: 4.29, 6: 3.73, 7: 3.39, 8: 3.16, 9: 2.99, 10: 2.86, 15: 2.49}
PUBLISHED_99 = {4: 8.22, 5: 6.60, 6: 5.76, 7: 5.24, 8: 4.89, 9: 4.63, 10: 4.44, 15: 3.89}
# NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3: 43 readings, 90 %, confidence 99 %.  By
# the approximation of Howe, which the handbook gives.
HANDBOOK_HOWE = 2.2173
# Critical values of Grubbs' test, 5 %, either side: LibreTexts Chemistry, Analytical References,
# appendix 7.  Its value for 7 (2.202) is a slip for 2.020, which stands in the table of Grubbs, 2.02.
GRUBBS = {3: 1.155, 4: 1.481, 5: 1.715, 6: 1.887, 8: 2.126, 9: 2.215, 10: 2.290, 11: 2.355,
          12: 2.412, 13: 2.462, 14: 2.507, 15: 2.549}
# Grubbs' table for 2.5 % on one side, which is 5 % on either, to two places; not its 2.36 for 11,
# where the other table, with a place more, has 2.355.
GRUBBS_ONE_SIDE = {3: 1.15, 4: 1.48, 5: 1.71, 6: 1.89, 7: 2.02, 8: 2.13, 9: 2.21, 10: 2.29,
                   12: 2.41, 15: 2.55, 20: 2.71, 21: 2.73, 22: 2.76}


def normal_below(x):
    return math.erfc(-x / math.sqrt(2)) / 2


def chi_square_above(x, degrees):
    half = x / 2
    if half <= 0:
        return 1.0
    first, start = (math.erfc(math.sqrt(half)), 0.5) if degrees % 2 else (0.0, 0.0)
    terms = degrees // 2
    return min(1.0, first + sum(
        math.exp(-half + (i + start) * math.log(half) - math.lgamma(i + start + 1))
        for i in range(terms)))


def student_above(t, degrees):
    angle = math.atan(t / math.sqrt(degrees))
    square = math.cos(angle) ** 2
    if degrees % 2:
        total = term = math.cos(angle) if degrees > 1 else 0.0
        for i in range(1, (degrees - 1) // 2):
            term *= square * 2 * i / (2 * i + 1)
            total += term
        within = (angle + math.sin(angle) * total) * 2 / math.pi
    else:
        total = term = 1.0
        for i in range(1, degrees // 2):
            term *= square * (2 * i - 1) / (2 * i)
            total += term
        within = math.sin(angle) * total
    return (1 - within) / 2


def solve(function, low, high):
    """Where a function changes its sign."""
    sign = function(low) > 0
    while True:
        middle = (low + high) / 2
        if middle in (low, high):
            return middle
        if (function(middle) > 0) == sign:
            low = middle
        else:
            high = middle


def factor(count, share=0.95, confidence=0.95, steps=150, top=9.0):
    step, degrees = top / steps, count - 1
    parts = []
    for i in range(steps + 1):
        z = i * step
        x = z / math.sqrt(count)
        r = solve(lambda r, x=x: normal_below(x + r) - normal_below(x - r) - share, 0.0, x + 12)
        density = math.exp(-z * z / 2) / math.sqrt(2 * math.pi)
        parts.append(((1 if i in (0, steps) else 2) * step * density, r))
    return solve(lambda k: sum(w * chi_square_above(degrees * (r / k) ** 2, degrees)
                               for w, r in parts) - confidence, 1.0, 500.0)


def howe(count, share, confidence):
    """Howe's approximation, as the handbook gives it."""
    degrees = count - 1
    z = solve(lambda z: normal_below(z) - (1 + share) / 2, 0.0, 10.0)
    low = solve(lambda x: chi_square_above(x, degrees) - confidence, 1e-9, 10.0 * count)
    return z * math.sqrt(degrees * (1 + 1 / count) / low)


def critical(count, risk=0.05):
    degrees = count - 2
    t = solve(lambda t: student_above(t, degrees) - risk / (2 * count), 0.0, 1e4)
    return (count - 1) / math.sqrt(count) * math.sqrt(t * t / (degrees + t * t))


def rows(path):
    with open(path, encoding="utf-8") as file:
        found = re.findall(r"^ROW\((\d+), ([\d.]+), ([\d.]+)\)$", file.read(), re.M)
    return [(int(count), float(k), float(g)) for count, k, g in found]


def main(path):
    wrong = []

    def check(what, found, wanted, within):
        if not abs(found - wanted) <= within:
            wrong.append(f"{what}: {found} instead of {wanted}")

    table = rows(path)
    if [count for count, _, _ in table][:49] != list(range(2, 51)) or table[-1][0] < 1000:
        wrong.append("the table has gaps")
    for count, k, g in table:
        exact = factor(count)
        check(f"factor of {count}", k, exact + 0.00005, 0.00005 + 1e-9)  # rounded up
        check(f"critical value of {count}", g, critical(count) if count > 2 else 0, 0.00005 + 1e-9)
    for share, published in ((0.95, PUBLISHED), (0.90, PUBLISHED_90), (0.99, PUBLISHED_99)):
        for count, k in published.items():
            check(f"published factor of {count} for {share}", factor(count, share), k, 0.0051)
    for count, g in GRUBBS.items():
        check(f"published critical value of {count}", critical(count), g, 0.0011)
    for count, g in GRUBBS_ONE_SIDE.items():
        check(f"published one-sided critical value of {count}", critical(count), g, 0.0051)
    check("worked example of the handbook", howe(43, 0.90, 0.99), HANDBOOK_HOWE, 0.00005)
    check("the approximation beside the integral", howe(43, 0.90, 0.99), factor(43, 0.90, 0.99),
          0.006)
    print("\n".join(wrong))
    return len(wrong) > 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
