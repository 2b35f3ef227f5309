"""No dry run shows less room than `check` has told of.

    rooms.py PROGRAM [COUNT [FIRST]]      about half of the COUNT, or all with SHARE=all

Random machines on which much is in the way: obstacles beside the moves, dust shoes that stay on,
attachments, shanks thicker than the edge, low park heights, setters within the work area, tables
with and without an outline.  For each of them, every change between two of its cutters is run dry,
from anywhere in the work area and from a place in it.  Where a move runs into something there is an
error of `check` about it whose margin is no better; where it comes nearer than the clearance asked
for, at least a warning.  What `check` says that it could not look at counts as told.
"""
import collections
import concurrent.futures
import itertools
import json
import os
import subprocess
import sys
import tempfile

import generate

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", ".."))
from share import share  # noqa: E402

DEFAULT_CLEARANCE = 0.005
CLOSE = 1e-8  # a picometre of the program's, and the rounding of tenths of inches

# By the kind of move and by what it comes near to: errors, then warnings.
SIDEWAYS = {
    "setter": ("traverse-hits-setter hanging-part-hits gantry-hits-setter",
               "traverse-low-over-setter hanging-part-low gantry-low-over-setter"),
    "work": ("traverse-hits-work hanging-part-hits gantry-hits-work carried-setter-hits-work",
             "traverse-low-over-work hanging-part-low gantry-low-over-work setter-inside-work "
             "carried-setter-beside-work"),
    "table": ("traverse-hits-table traverse-hits-work hanging-part-hits",
              "traverse-low-over-table traverse-low-over-work hanging-part-low"),
    "obstacle": ("move-meets-obstacle gantry-hits-obstacle carried-setter-hits-obstacle",
                 "move-near-obstacle gantry-low-over-obstacle carried-setter-near-obstacle"),
}
DOWN = {
    "setter": ("shoe-into-setter", "shoe-near-setter"),
    "work": ("shoe-into-setter descent-into-work", "shoe-near-setter"),
    "table": ("shoe-into-setter", "shoe-near-setter"),
    "obstacle": ("descent-meets-obstacle", "setter-crowded"),
}
PARK = {what: ("park-tip-hits park-meets", "park-near") for what in DOWN}
TABLES = {
    "sideways to setter": SIDEWAYS, "sideways to park": SIDEWAYS, "sideways back": SIDEWAYS,
    "approach": DOWN, "probe": DOWN, "second touch": DOWN,
    "to park height": PARK, "lift": PARK,
}


def crowd(m, ends):
    """Puts things in the way."""
    tree, chance, uniform = m.tree, m.chance, m.random.uniform
    place = {a: float(m.fields[f"setter.at.{a}"][0]) if f"setter.at.{a}" in m.fields
             else uniform(*ends[a]) for a in "xy"}
    park = {a: float(m.fields[f"change.park.{a}"][0]) if f"change.park.{a}" in m.fields
            else uniform(*ends[a]) for a in "xy"}

    def mm(value):
        return f"{value * 1000:.3f} mm"

    def size(value, tolerance=0.1):
        return mm(value) + (f" ± {uniform(0, tolerance):.3f} mm" if chance(0.3) else "")

    rows = []
    for number in range(m.random.randrange(4)):
        about = m.random.choice((place, park, {a: uniform(*ends[a]) for a in "xy"}))
        row = {"name": f"post{number}"} if chance(0.8) else {}
        for a in "xy":
            at = about[a] + uniform(-0.08, 0.08)
            row[a] = f"[{size(at)}, {size(at + uniform(0.005, 0.05))}]"
        row["top"] = size(uniform(0, 0.12), 1)
        if chance(0.3):
            row["passed_by_gantry"] = "no" if chance(0.5) else "yes"
        rows.append(row)
    tree.pop("obstacles", None)
    if rows:
        tree["obstacles"] = rows
    if chance(0.4):
        tree["attachments"] = [
            {"name": f"part{number}", "x": size(uniform(-0.1, 0.1)), "y": size(uniform(-0.1, 0.1)),
             "diameter": size(uniform(0.01, 0.1)), "above_nose": size(uniform(-0.1, 0.05), 0.5)}
            for number in range(m.random.randrange(1, 4))]
    spindle = tree.setdefault("spindle", {})
    spindle.setdefault("nut_diameter", mm(uniform(0.02, 0.06)))
    if chance(0.4):
        spindle["shoe"] = {"diameter": size(uniform(0.05, 0.15)),
                           "below_nose": size(uniform(0, 0.09)),
                           "removed": "no" if chance(0.7) else "yes"}
    del tree["cutters"][3:]
    for row in tree["cutters"]:
        row.setdefault("diameter", mm(uniform(0.003, 0.03)))
        row["shank"] = size(uniform(0.003, 0.03))
        row["flute_length"] = size(uniform(0.001, 0.03))
    if "park" in tree["change"] and chance(0.5):
        low = float(m.fields["axes.z.travel.low"][0])
        tree["change"]["park"]["z"] = mm(uniform(low, 0))
    if "setter" in tree and chance(0.3):
        middle = {a: sum(ends[a]) / 2 + uniform(-0.1, 0.1) for a in "xy"}
        tree["setter"]["at"] = {a: mm(middle[a]) for a in "xy"}
    if "setter" in tree and chance(0.8):
        tree["setter"].setdefault("body", mm(uniform(0.02, 0.06)))
    if chance(0.9):
        tree.setdefault("work", {}).setdefault("height", mm(uniform(0, 0.1)))
    if chance(0.8):
        tree["machine"].setdefault("gantry_underside", size(uniform(0.03, 0.15)))


def ride_along(m):
    """The setter on the gantry, lower than it trips; mostly without a Y."""
    setter = m.tree["setter"]
    setter["rides_on"] = "gantry"
    setter["underside"] = f"{m.random.uniform(1, 60):.3f} mm"
    if m.chance(0.8):
        setter["at"] = {"x": setter["at"]["x"]}


def make(seed):
    """The text of the machine `seed`, its clearance, and a place of its work area."""
    m = generate.Maker(f"rooms {seed}")
    kind = m.random.choice(("setter", "setter", "setter", "plate"))
    m.put("proveout", "1")
    m.word("machine.name", f"machine {seed}")
    m.maybe("machine.gantry_underside", 0.04, 0.15, tolerance=0.001)
    ends = generate.axes(m)
    names = generate.inputs(m)
    generate.homing(m, ends, names, True)
    generate.cutters(m)
    reach = ends["z"][0] - m.random.uniform(0.01, 0.035)
    height = m.random.uniform(-0.01 if m.odd else 0.02, 0.06)
    table = m.quantity("table.nose_contact", reach - height, tolerance=0.0003)
    if kind == "setter":
        generate.setter(m, ends, names, reach, height)
    else:
        generate.plate(m, names, table)
    if m.chance(0.5):
        for a in "xy":
            m.pair(f"table.{a}", ends[a][0] + m.random.uniform(-0.05, 0.2), ends[a][1])
    if m.chance(0.95):
        for a in "xy":
            low, high = ends[a]
            m.pair(f"work.{a}", low + m.random.uniform(0.02, 0.2),
                   high - m.random.uniform(0.02, 0.15))
    generate.spindle(m, names)
    generate.change(m, ends, kind, True, reach)
    if kind == "plate" and m.chance(0.7):
        m.tree["change"]["touches_old"] = "no"
        for a in "xyz":
            m.between(f"change.park.{a}", *ends[a])
    generate.allowances(m)
    crowd(m, ends)
    if kind == "setter" and m.chance(0.3):
        ride_along(m)
    clearance = m.fields.get("allowances.clearance", (DEFAULT_CLEARANCE, 0))[0]
    start = None
    if "work.x.low" in m.fields:
        spot = [m.random.uniform(*(m.fields[f"work.{a}.{end}"][0] for end in ("low", "high")))
                for a in "xy"] + [m.random.uniform(*ends["z"])]
        start = ",".join(f"{value * 1000:.6f} mm" for value in spot)
    return generate.dump(m), clearance, start


def call(program, *arguments):
    done = subprocess.run([program, *arguments], capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1):
        return None
    return json.loads(done.stdout)


class Told:
    """What `check` says, by rule."""

    def __init__(self, file):
        self.by_rule = collections.defaultdict(list)
        for one in file["evaluations"]:
            self.by_rule[one["rule"]].append(one)

    def least(self, rules, subjects):
        """The worst margin of those that fail for one of the subjects; and is one of them not
        checked?"""
        found, unchecked = [], False
        for rule in rules.split():
            for one in self.by_rule[rule]:
                if one["subject"] not in subjects:
                    continue
                if one["outcome"] == "failed":
                    found.append(one["margin"]["si"])
                unchecked = unchecked or one["outcome"] == "unchecked"
        return min(found, default=None), unchecked


def judge(told, clearance, move):
    """None, or what is wrong with what was told of a move."""
    room = move["clearance"]["si"]
    to = move["clearance"]["to"]
    table = TABLES[move["what"]]
    errors, warnings = table[to if to in table else "obstacle"]
    # A thing without a name is called by its place in the list, one with a name by its kind too.
    subjects = (None, f"cutter {move['cutter']:g}", to, f"obstacle {to}")
    margin, unchecked = told.least(errors, subjects)
    if room < -CLOSE and (margin is None or margin > room + CLOSE):
        return "unchecked" if unchecked else f"no error as bad ({margin})"
    if room < -CLOSE or room >= clearance - CLOSE:
        return None
    less, open_too = told.least(warnings, subjects)
    if margin is not None or (less is not None and less <= room - clearance + CLOSE):
        return None
    return "unchecked" if unchecked or open_too else f"no warning as bad ({less})"


def check_machine(program, folder, seed):
    """What was counted, and what is wrong."""
    text, clearance, start = make(seed)
    path = os.path.join(folder, f"machine-{seed}.yaml")
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)
    counts, wrong = collections.Counter(), []
    checked = call(program, "check", "--format", "json", "--show", "all", "--today", "2025-01-01",
                   path)
    if checked is None:
        return collections.Counter(["machines not read"]), []
    told = Told(checked["files"][0])
    numbers = sorted({one["subject"].split()[-1] for one in told.by_rule["cutter-stickout-missing"]
                      + told.by_rule["shank-not-held"] if one["subject"]})
    for pair in itertools.product(numbers, repeat=2):
        for at in ([], ["--at", start]) if start else ([],):
            run = call(program, "dryrun", "--format", "json", "--from", pair[0], "--to", pair[1],
                       *at, path)
            if run is None:
                counts["changes that cannot be planned"] += 1
                continue
            counts["changes"] += 1
            for move in run["moves"]:
                if move["clearance"] is None:
                    continue
                counts["moves"] += 1
                room = move["clearance"]["si"]
                counts["that meet something"] += room < 0
                counts["that come too near"] += 0 <= room < clearance
                what = judge(told, clearance, move)
                if what == "unchecked":
                    counts["told as not checked"] += 1
                elif what:
                    wrong.append(f"machine {seed}: {move['what']} {pair}: {room * 1000:.6f} mm "
                                 f"between {move['clearance']['body']} and "
                                 f"{move['clearance']['to']}: {what}")
    counts["machines"] += 1
    return counts, wrong


def main(program, count=50, first=0):
    total, wrong = collections.Counter(), []
    with tempfile.TemporaryDirectory() as folder, \
            concurrent.futures.ThreadPoolExecutor(2) as pool:
        seeds = share(range(int(first), int(first) + int(count)), 2)
        for counts, found in pool.map(lambda s: check_machine(program, folder, s), seeds):
            total += counts
            wrong += found
    for line in wrong[:40]:
        print(line)
    print(", ".join(f"{number} {what}" for what, number in total.items()) +
          f"; {len(wrong)} of which less was told")
    for what in ("that meet something", "that come too near"):
        if total[what] < total["machines"]:
            print(f"too few moves {what}: the machines are too tame")
            wrong.append(what)
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main(*sys.argv[1:])
