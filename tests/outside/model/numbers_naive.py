"""Numbers with tolerances, the naive way.

A formula is a Python function of a Reader.  The same function is asked again and again: once to
learn which deviations it touches, then at every corner of their box, and once with plain intervals.
The least value over the corners is the truth for whatever is straight or bends one way; the plain
interval is the bound below which no honest answer lies.
"""
import itertools
import math


class Missing(Exception):
    """A field that is not there was needed."""


class Interval:
    def __init__(self, low, high):
        self.low, self.high = low, high

    @staticmethod
    def of(value):
        return value if isinstance(value, Interval) else Interval(value, value)

    def __neg__(self):
        return Interval(-self.high, -self.low)

    def __add__(self, other):
        other = Interval.of(other)
        return Interval(self.low + other.low, self.high + other.high)

    def __sub__(self, other):
        return self + -Interval.of(other)

    def __mul__(self, other):
        other = Interval.of(other)
        ends = [a * b for a in (self.low, self.high) for b in (other.low, other.high)]
        return Interval(min(ends), max(ends))

    def __truediv__(self, other):
        other = Interval.of(other)
        return self * Interval(1 / other.high, 1 / other.low)

    def __radd__(self, other):
        return self + other

    def __rsub__(self, other):
        return Interval.of(other) - self

    def __rmul__(self, other):
        return self * other

    def __rtruediv__(self, other):
        return Interval.of(other) / self


def apply(function, *values):
    """A function that rises in each argument."""
    if any(isinstance(value, Interval) for value in values):
        values = [Interval.of(value) for value in values]
        return Interval(function(*(v.low for v in values)), function(*(v.high for v in values)))
    return function(*values)


def least(*values):
    return apply(lambda *each: min(each), *values)


def greatest(*values):
    return apply(lambda *each: max(each), *values)


def size(value):
    """The absolute value."""
    if isinstance(value, Interval):
        ends = abs(value.low), abs(value.high)
        return Interval(0.0 if value.low <= 0 <= value.high else min(ends), max(ends))
    return abs(value)


def slant(a, b):
    """hypot."""
    return apply(math.hypot, size(a), size(b))


class Reader:
    """What a formula reads from: fields with their tolerances, and deviations of its own."""

    def __init__(self, machine, deviate):
        self.machine, self.deviate = machine, deviate

    def nominal(self, path):
        value = self.machine.get(path)
        if value is None:
            raise Missing(path)
        return value[0] if isinstance(value, tuple) else value

    def __call__(self, path):
        value = self.machine.get(path)
        if value is None:
            raise Missing(path)
        if not isinstance(value, tuple):
            return value
        return value[0] + self.deviate(path, value[1])

    def about(self, name, width):
        """Nothing, give or take `width`; the same name is the same unknown."""
        return self.deviate(name, width)

    def has(self, path):
        return self.machine.get(path) is not None


class Margin:
    """The worst of a formula: `true` over the corners, `bound` by plain intervals."""

    def __init__(self, true, bound, straight, scale):
        self.true, self.bound, self.straight, self.scale = true, bound, straight, scale


def at_rest(machine, formula):
    """The value without deviations, and the widths of those that it touches."""
    names = {}

    def note(name, width):
        if width:
            names[name] = width
        return 0.0

    return formula(Reader(machine, note)), names


def enclosed(machine, formula):
    """What it is never below, by plain intervals."""
    return Interval.of(formula(Reader(
        machine, lambda name, width: Interval(-width, width) if width else 0.0))).low


def worst_likely(machine, formula):
    """The same of a straight formula, its deviations added as the root of their squares."""
    middle, names = at_rest(machine, formula)
    steps = [formula(Reader(machine, lambda name, width, one=one: width * (name == one))) - middle
             for one in names]
    true = middle - math.sqrt(sum(step * step for step in steps))
    return Margin(true, true, True, max(abs(middle), middle - true))


CORNERS_MAX = 12


def worst_one_way(machine, formula):
    """The same of a formula that every deviation moves one way only: the worst corner is found by
    turning one deviation after the other for the worse, until none can be."""
    middle, names = at_rest(machine, formula)

    def at(signs):
        return formula(Reader(machine, lambda name, width: signs.get(name, 0) * width))

    slopes = {name: (at({name: -1}) - middle, at({name: 1}) - middle) for name in names}
    signs = {name: -1 if below < above else 1 for name, (below, above) in slopes.items()}
    true, turned = at(signs), True
    while turned:
        turned = False
        for name in names:
            other = at({**signs, name: -signs[name]})
            if other < true:
                true, signs[name], turned = other, -signs[name], True
    reach = middle + sum(slopes[name][sign > 0] for name, sign in signs.items())
    straight = abs(reach - true) <= 1e-9 * (middle - true) and all(
        abs(below + above) <= 1e-9 * (middle - true) for below, above in slopes.values())
    return Margin(true, enclosed(machine, formula), straight, max(abs(middle), middle - true))


def worst(machine, formula):
    middle, names = at_rest(machine, formula)
    order = sorted(names)
    if len(order) > CORNERS_MAX:
        raise AssertionError(f"{len(order)} deviations: {order}")

    def at(signs):
        where = dict(zip(order, signs))
        return formula(Reader(machine, lambda name, width: where.get(name, 0) * width))

    corners = {signs: at(signs) for signs in itertools.product((-1, 1), repeat=len(order))}
    true = min(corners.values())
    spread = max(corners.values()) - true
    slopes = [(at([s if i == j else 0 for j in range(len(order))]) - middle) * s
              for i in range(len(order)) for s in (-1, 1)]
    straight = all(abs(middle + sum(slopes[2 * i + (s > 0)] * s for i, s in enumerate(signs))
                       - value) <= 1e-9 * spread for signs, value in corners.items())
    straight = straight and all(abs(slopes[2 * i] - slopes[2 * i + 1]) <= 1e-9 * spread
                                for i in range(len(order)))
    return Margin(true, enclosed(machine, formula), straight, max(abs(middle), spread))
