"""The same machine told in other frames: whatever its origin and signs, each rule says the same.

    frames.py PROGRAM [COUNT [FIRST]]

A frame is a choice of whoever set the machine up: Z may be nothing at the table or at the top, X may
be negative all the way, and a machine may home to any corner.  ISO 841 fixes directions, not origins.
So a random machine is moved along each axis, and mirrored along X, and every margin has to stay.
"""
import copy
import re
import sys

import compare
import generate
from catalogue import RULES
from compare import share

# What stands along an axis: from an origin, or from the spindle, which only a mirror turns over.
ALONG = {
    "x": ("setter.at.x", "change.park.x", "table.x", "work.x", "axes.x.travel", "axes.x.soft_limits",
          "homing.x.rest", "homing.x.trip", "homing.x.second.rest", "homing.x.second.trip",
          "obstacles[].x", "setters[].at.x"),
    "y": ("setter.at.y", "change.park.y", "table.y", "work.y", "axes.y.travel", "axes.y.soft_limits",
          "homing.y.rest", "homing.y.trip", "homing.y.second.rest", "homing.y.second.trip",
          "obstacles[].y", "setters[].at.y"),
    "z": ("setter.nose_contact", "setters[].nose_contact", "table.nose_contact",
          "plate.nose_contact", "change.traverse_z",
          "change.approach_z", "change.park.z", "axes.z.travel", "axes.z.soft_limits",
          "homing.z.rest", "homing.z.trip", "homing.z.second.rest", "homing.z.second.trip"),
}
FROM_SPINDLE = ("attachments[].x", "cutters[].offset.x", "plate.corner.x")
MOVES = {"x": (-1.4375, 0.8125), "y": (2.0625, -0.65625), "z": (0.1875, -0.0625)}


def general(path):
    return re.sub(r"\[\d+\]", "[]", path.removesuffix(".low").removesuffix(".high"))


def leaf(tree, path):
    """The map in which a path ends, and its key there."""
    *way, key = [int(part) if part.isdigit() else part
                 for part in re.sub(r"\[(\d+)\]", r".\1", path).split(".")]
    for part in way:
        tree = tree[part]
    return tree, key


def told(value):
    middle, width = (float(f"{number * 1000:.12g}") for number in value)
    return f"{middle!r} mm" + (f" ± {width!r} mm" if width else "")


def write(m, path):
    where, key = leaf(m.tree, path)
    where[key] = (f"[{told(m.fields[path + '.low'])}, {told(m.fields[path + '.high'])}]"
                  if path + ".low" in m.fields else told(m.fields[path]))


def move(m, axis, by):
    for path, value in list(m.fields.items()):
        if general(path) in ALONG[axis]:
            m.fields[path] = (value[0] + by, value[1])


def mirror(m):
    """Left and right exchanged: the lower end of a pair becomes the upper one."""
    turned = {path: value for path, value in m.fields.items()
              if general(path) in ALONG["x"] + FROM_SPINDLE}
    other = {"low": "high", "high": "low"}
    for path, (middle, width) in turned.items():
        head, _, end = path.rpartition(".")
        m.fields[f"{head}.{other[end]}" if end in other else path] = (-middle, width)
    if "homing.x.end" in m.fields:
        m.fields["homing.x.end"] = other[m.fields["homing.x.end"]]
        m.tree["homing"]["x"]["end"] = m.fields["homing.x.end"]


def frames(seed):
    """A machine as it was drawn, moved one way and the other, and mirrored."""
    drawn = []

    def keep(m):
        drawn.append((copy.deepcopy(m), m.random.getstate()))
        return ""
    plain, generate.dump = generate.dump, keep
    try:
        generate.make(seed)
    finally:
        generate.dump = plain
    for change in ("drawn", "moved", "moved-back", "mirrored"):
        m = copy.deepcopy(drawn[0][0])
        m.random.setstate(drawn[0][1])
        if change == "mirrored":
            mirror(m)
        elif change != "drawn":
            for axis, by in MOVES.items():
                move(m, axis, by[change == "moved-back"])
        for path in {path.removesuffix(".low").removesuffix(".high") for path in m.fields}:
            if any(general(path) in paths for paths in (*ALONG.values(), FROM_SPINDLE)):
                write(m, path)
        yield change, generate.dump(m)


def verdicts(file):
    """(outcome, margins) of each rule and subject, in no order."""
    found = {}
    for one in file["evaluations"]:
        if one["rule"] in RULES:
            margin = one["margin"]
            found.setdefault((one["rule"], one["subject"]), []).append(
                (one["outcome"], margin["si"] if margin else None))
    return {key: sorted(some, key=str) for key, some in found.items()}


def same(a, b):
    return len(a) == len(b) and all(
        x[0] == y[0] and ((x[1] is None) == (y[1] is None))
        and (x[1] is None or abs(x[1] - y[1]) <= 1e-9 * max(1, abs(x[1]))) for x, y in zip(a, b))


def main(program, count=100, first=1):
    seeds = share(range(first, first + count), 1)
    texts = {f"{seed:04d}-{change}.yaml": text for seed in seeds
             for change, text in frames(seed)}
    files = {name: verdicts(file) for name, file in compare.run(program, texts).items()}
    compared = differences = 0
    for name, file in sorted(files.items()):
        drawn = files[f"{name[:4]}-drawn.yaml"]
        for key in sorted(drawn.keys() | file.keys(), key=str):
            compared += 1
            if not same(drawn.get(key, []), file.get(key, [])):
                differences += 1
                print(f"{name}: {key[0]} ({key[1]}): {file.get(key)}, as drawn {drawn.get(key)}")
    print(f"{len(seeds)} machines in {len(texts) // len(seeds)} frames, {compared} verdicts, "
          f"{differences} differences")
    return int(differences > 0 or compared < 100 * len(seeds))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], *map(int, sys.argv[2:])))
