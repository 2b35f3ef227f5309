"""Measured numbers that a machine file gives as readings, and what such readings come to.

The value is the mean, its tolerance k standard deviations and the error of the instrument; of what
is itself a scatter these are the value.  A mean is kept to a hundredth of the leading place of its
tolerance, and what that loses is added to the tolerance, which is rounded up likewise.
"""
import functools
import math
import os
import statistics
import sys
from fractions import Fraction as F

sys.path.append(os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "quantity"))
import scatter  # noqa: E402

SCATTERS = ("setter.repeatability", "plate.repeatability", "homing.x.repeatability",
            "homing.z.repeatability")
PLACES = ("setter.nose_contact", "table.nose_contact", "plate.nose_contact", "setter.at.x",
          "machine.gantry_underside", "work.height", "setter.overtravel")
# Unit, what it is in SI, decimal places of its readings.
UNITS = (("mm", F("0.001"), 2), ("mm", F("0.001"), 3), ("in", F("0.0254"), 4), ("cm", F("0.01"), 3))


@functools.lru_cache(None)
def factor(count):
    """Rounded up to four places."""
    return math.ceil(scatter.factor(count) * 1e4 - 1e-6) / 1e4


def half_width(texts, error):
    deviation = math.sqrt(statistics.variance(texts)) if len(set(texts)) > 1 else 0.0
    return (factor(len(texts)) * deviation if deviation else 0.0) + float(error)


def settled(mean, width):
    """Mean and half-width as they are kept."""
    step = F(10) ** (math.floor(math.log10(width)) - 2)
    kept = math.floor(mean / step + F(1, 2))
    lost = abs(mean / step - kept)
    return kept * step, math.ceil(width / float(step) + float(lost) - 1e-6) * step


def comes_to(path, numbers, error):
    """(value, half-width) of readings in their own unit."""
    width = half_width(numbers, error)
    if path in SCATTERS:
        return (settled(F(0), width)[1] if width else F(0)), F(0)
    if len(set(numbers)) == 1:
        return numbers[0], error
    return settled(statistics.mean(numbers), width)


def put(m, path):
    """Gives what stands at `path` as readings instead."""
    value = m.fields[path][0]
    unit, size, places = m.random.choice(UNITS)
    spread = m.random.choice((0.0, 0.000004, 0.00001, 0.00003))
    around = 0.0 if path in SCATTERS and m.chance(0.5) else value
    count = m.random.choice((2, 3, 4, 5, 7, 10, 13) if path in SCATTERS else (1, 3, 4, 5, 6, 10, 12))
    texts = [f"{m.random.gauss(around, spread) / float(size):.{places}f}" for _ in range(count)]
    numbers = [F(text) for text in texts]
    if path not in SCATTERS and value > 0 and min(numbers) < 0:
        return
    beside, error = [], F(0)
    if m.chance(0.4):
        error = F(m.random.choice(("0.01", "0.02", "0.0005")))
        beside.append(f"instrument_error: {error.numerator / error.denominator} {unit}")
    if m.chance(0.3):
        beside.append("with: calliper")
    if m.chance(0.3):
        beside.append("on: 2026-10-10")
    middle, width = comes_to(path, numbers, error)
    listed = ", ".join(f"{text} {unit}" for text in texts)
    m.fields[path] = (float(middle * size), float(width * size))
    m.put(path, "{" + ", ".join([f"readings: [{listed}]"] + beside) + "}")


def some(m):
    for path in SCATTERS + PLACES:
        if path in m.fields and m.chance(0.12):
            put(m, path)
