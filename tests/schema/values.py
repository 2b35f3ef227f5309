"""Values of fields: what the schema of a machine file takes and refuses, held against the reader.

    values.py PROGRAM READER

Every example and every default is a value of its field.  Of numbers, thousands of spellings of
units, signs, fractions, tolerances and blanks are made at random (SHARE draws others): what the
reader takes the schema takes, and what the reader refuses the schema refuses, but for how large a
number is, which no pattern sees.
"""
import json
import os
import random
import re
import subprocess
import sys
import zlib

import jsonschema
import yaml

sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
from share import DRAWN  # noqa: E402

LENGTHS = ["um", "mm", "cm", "m", "in", "thou", "ft"]
TIMES = ["us", "ms", "s", "min"]
OTHERS = ["rpm", "rev/s", "rad/s", "deg/s", "Hz", "kHz", "MHz", "steps/s", "kg*m^2", "kg*cm^2",
          "g*cm^2", "lb*ft^2", "lb*in^2", "N*m", "N*cm", "lbf*ft", "lbf*in", "ozf*in", "deg", "rad",
          "rev", "%", "mm/m", "steps", "kg", "days"]
UNITS = (LENGTHS + TIMES + [f"{a}/{b}" for a in LENGTHS for b in TIMES] +
         [f"{a}/{b}^2" for a in LENGTHS for b in TIMES] + [f"steps/{a}" for a in LENGTHS] + OTHERS)
BLANKS = [" ", " ", " ", "", "  ", "\t", "\u00a0", "\u202f", "\u2009"]
OTHER_SIGNS = [("in", ['"', "\u201d", "\u2033", "'", "IN"]), ("u", ["\u00b5", "\u03bc", "U"]),
               ("^2", ["2", "\u00b2", "^ 2", "**2", "3"]), ("*", ["\u00b7", "\u22c5", ".", ""]),
               ("steps", ["step", "Steps", "STEP"]), ("rpm", ["rev/min", "RPM", "U/min", "r/min"]),
               ("rev", ["turn", "Turn", "REV"]), ("days", ["day", "DAY", "d"])]
NUMBERS = ["42", "0", "5.", ".5", "1.50", "1e3", "1.5E-3", "6 1/8", "6-1/8", "1/4", "0/5", "0 0/5",
           "-0", "12000", "1/0", "6 9/8", "007", "0x1F", "1_000", "1,5", "1.2.3", "inf", ".nan", "",
           "1 000", "5e", "00", "1/04", "1234567890/3", "x", "1e999", "5/ 8", "3.0", "9007199254740993"]
# What only the size of a number tells.
SIZE = re.compile(r"too large|can be read in two ways|no whole number|is below 1|is infinite|is negative"
                  r"|divides by zero|cannot be used")
MIXED = re.compile(r"[0-9][ \t\u00a0\u2009\u202f-]+[0-9]+/[0-9]+")


def spelt(chance, unit):
    """The unit in another spelling, which may be none."""
    for plain, others in OTHER_SIGNS:
        if plain in unit and chance.random() < 0.3:
            unit = unit.replace(plain, chance.choice(others), 1 if chance.random() < 0.7 else 9)
    if chance.random() < 0.2 and unit.endswith("^2") and "/" in unit:
        above, below = unit[:-2].split("/", 1)
        unit = f"{above}/{below}/{below}"
    if chance.random() < 0.2:
        unit = re.sub(r"[/*]", lambda sign: chance.choice(BLANKS) + sign[0] + chance.choice(BLANKS), unit)
    if chance.random() < 0.25:
        at = chance.choice([str.upper, str.capitalize, str.swapcase, str.lower])
        unit = at(unit)
    if chance.random() < 0.05:
        unit = unit[:-1] + chance.choice(" 2sm^/*")
    return unit


def number(chance):
    if chance.random() < 0.5:
        return chance.choice(["", "", "-", "+", "\u2212"]) + chance.choice(["42", "0", "0.5", "3"])
    return chance.choice(["", "", "", "-", "+", "\u2212", "--"]) + chance.choice(NUMBERS)


def quantity(chance, units):
    unit = spelt(chance, chance.choice(units if chance.random() < 0.8 else UNITS))
    text = number(chance) + chance.choice(BLANKS) + (unit if chance.random() < 0.85 else "")
    if chance.random() < 0.3:
        unit = spelt(chance, chance.choice(units))
        text += (chance.choice(BLANKS) + chance.choice(["\u00b1", "\u00b1", "+/-", "+-"]) +
                 chance.choice(BLANKS) + number(chance))
        text += chance.choice(BLANKS) + (unit if chance.random() < 0.6 else "")
    if chance.random() < 0.1:
        text = chance.choice(BLANKS) + text + chance.choice(BLANKS)
    return text


def read(reader, lines):
    """What the reader says of each (path, text)."""
    given = "".join(f"{path}\t{text}\n" for path, text in lines)
    done = subprocess.run([reader], input=given, capture_output=True, encoding="utf-8", check=True)
    said = done.stdout.split("\n")[:-1]
    assert len(said) == len(lines), f"{len(said)} answers of {len(lines)}"
    return said


def written(value):
    """A value of a schema as it is typed."""
    if isinstance(value, list):
        return "[" + ", ".join(map(written, value)) + "]"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)


def path_of(document, name):
    """A path of the field that a definition is of."""
    group = name.split(".", 1)[0]
    section = document["else"]["properties"].get(group, {})
    shapes = [section] + section.get("anyOf", [])
    if any(shape.get("items") for shape in shapes):
        return name.replace(group, group + "[0]", 1)
    if "additionalProperties" in section and section["additionalProperties"]:
        return name.replace(group, group + ".any", 1)
    key = name.split(".")[1] if "." in name else ""
    return name.replace(group, group + ".x", 1) if group in ("axes", "homing") and key != "order" else name


def is_field(one):
    return "description" in one


def told_wrong(document, reader):
    """Examples and defaults that are none, and fields without any."""
    fields = {name: one for name, one in document["$defs"].items() if is_field(one)}
    asked = []
    for name, one in fields.items():
        values = one.get("examples", []) + ([one["default"]] if "default" in one else [])
        if not one.get("examples"):
            yield f"{name} has no example"
        asked += [(name, value) for value in values]
    said = read(reader, [(path_of(document, name), written(value)) for name, value in asked])
    schema = jsonschema.Draft202012Validator(document)
    for (name, value), answer in zip(asked, said):
        if answer != "taken":
            yield f"{name}: {value!r}: {answer}"
        if not schema.evolve(schema=fields[name]).is_valid(value):
            yield f"{name}: {value!r} is none by its schema"


def may_differ(text, answer):
    """Does only the size of a number make the difference?"""
    if MIXED.search(text) or "e" in text.lower() or "no whole" in answer or "below 1" in answer:
        return bool(SIZE.search(answer))
    return "infinite" in answer or "too large" in answer


def units_of(reader, path):
    """The units of a field, asked one by one."""
    return [unit for unit, answer in zip(UNITS, read(reader, [(path, f"1 {unit}") for unit in UNITS]))
            if answer == "taken"]


def numbers(document, reader, many):
    """Spellings of numbers by which reader and schema differ; and how many were taken, refused."""
    schema = jsonschema.Draft202012Validator(document)
    counts = [0, 0]
    complaints, done = [], set()
    for name, one in document["$defs"].items():
        to = one.get("$ref") or one.get("anyOf", [{}])[0].get("$ref") or \
            ("count" if "integer" in one.get("type", []) else None)
        if not is_field(one) or not to or to in done:
            continue
        done.add(to)
        path = path_of(document, name)
        units = units_of(reader, path) or ["", ""]
        chance = random.Random(zlib.crc32(f"{DRAWN} {to}".encode()))
        texts = sorted({quantity(chance, units) for _ in range(many)})
        pattern = schema.evolve(schema=one)
        for text, answer in zip(texts, read(reader, [(path, text) for text in texts])):
            taken, valid = answer == "taken", pattern.is_valid(text)
            counts[not taken] += 1
            if taken != valid and not (valid and may_differ(text, answer)):
                complaints.append(f"{path}: {text!r}: {'taken' if valid else 'refused'} by the "
                                  f"schema, and by the reader: {answer}")
            typed = typed_of(text)
            if taken and typed is not None and not pattern.is_valid(typed):
                complaints.append(f"{path}: {typed!r} is refused")
    return complaints, counts, len(done)


def typed_of(text):
    """The number that a reader of YAML makes of a text; None where it stays a text."""
    try:
        value = yaml.safe_load(text)
    except yaml.YAMLError:
        return None
    return value if isinstance(value, (int, float)) and not isinstance(value, bool) else None


def main(program, reader):
    done = subprocess.run([program, "schema"], capture_output=True, check=True)
    document = json.loads(done.stdout)
    jsonschema.Draft202012Validator.check_schema(document)
    wrong = list(told_wrong(document, reader))
    complaints, counts, kinds = numbers(document, reader, 20000 if DRAWN == "all" else 1500)
    print("\n".join(wrong + complaints[:40]))
    print(f"{kinds} kinds of numbers, {counts[0]} spellings taken, {counts[1]} refused, "
          f"{len(complaints)} differ")
    return 1 if wrong or complaints or min(counts) < 1000 else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
