"""Published values against the rules themselves: tables of inputs and what must come out.

    rows.py PROGRAM

Each *.yaml here is a list of groups.  A group asks one rule of the base machine of the rulebooks,
changed by `given` and, row by row, by the columns that are paths of fields; `~` takes a field
away.  What the rule has reckoned is read off its margin:

    value: {from: 100 m}     100 m minus the margin: the lower side of  ... <= 100 m
    value: {over: 0 m}       the margin above that: the higher side of  ... >= 0 m
    value: {times: -4/3}     a multiple of the margin
    value: margin            the margin itself

A group with `move` instead of `rule` takes the seconds of that move of a dry run.  The columns
besides paths: `name`; `expect`, the value; `within`, by how much it may be off; `outcome`, held or
failed; `source`, a key of `sources` at the head of the file, where the group names none.
"""
import copy
import fractions
import functools
import json
import pathlib
import re
import subprocess
import sys
import tempfile

import yaml

HERE = pathlib.Path(__file__).resolve().parent
BASE = HERE.parents[2] / "rules/base-machine.yaml"
OWN = {"name", "expect", "within", "outcome", "source", "subject"}
UNITS = {"m": 1, "mm": 1e-3, "um": 1e-6, "nm": 1e-9, "in": 0.0254, "ft": 0.3048, "s": 1,
         "ms": 1e-3, "Hz": 1, "steps/mm": 1e3, "rpm": 0.10471975511965977, "rad/s": 1}


@functools.cache
def base():
    return yaml.load(BASE.read_text(encoding="utf-8"), yaml.BaseLoader)


def si(text):
    """A number with a unit, in SI."""
    number, _, unit = text.partition(" ")
    return float(fractions.Fraction(number)) * (UNITS[unit] if unit else 1)


def put(machine, path, text):
    steps = re.findall(r"[\w-]+|\[\d+\]", path)
    keys = [int(step[1:-1]) if step.startswith("[") else step for step in steps]
    for key in keys[:-1]:
        machine = machine[key]
    if text is None:
        machine.pop(keys[-1], None)
    else:
        machine[keys[-1]] = text


def plain(value):
    return None if value == "~" else value


class Row:
    def __init__(self, file, group, cells):
        self.group, self.file = group, file
        self.own = {key: group[key] for key in OWN if key in group}
        self.changes = dict(group.get("given", {}))
        if len(cells) != len(group["columns"]):
            raise SystemExit(f"{file}: {cells} has not one cell for each column")
        for column, cell in zip(group["columns"], cells):
            (self.own if column in OWN else self.changes)[column] = cell
        self.name = f"{file}: {self.own['name']}"

    def machine(self):
        machine = copy.deepcopy(base())
        for path, text in self.changes.items():
            put(machine, path, plain(text))
        return yaml.safe_dump(machine, allow_unicode=True, sort_keys=False)

    def value(self, margin):
        how = self.group.get("value", "margin")
        if how == "margin":
            return margin
        (kind, text), = how.items()
        if kind == "times":
            return margin * float(fractions.Fraction(text))
        return si(text) - margin if kind == "from" else si(text) + margin

    def complaints(self, outcome, value):
        if self.own.get("outcome", outcome) != outcome:
            yield f"{self.name}: {outcome}, not {self.own['outcome']}"
        if "expect" not in self.own:
            return
        wanted, within = si(self.own["expect"]), self.own.get("within", "0")
        room = (wanted * float(within[:-1]) / 100 if within.endswith("%") else si(within))
        room += 1e-12 * abs(wanted)
        if value is None or not abs(value - wanted) <= room:
            yield f"{self.name}: {value}, not {wanted} within {room} (SI)"


def load():
    rows = []
    for path in sorted(HERE.glob("*.yaml")):
        whole = yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader)
        for group in whole["groups"]:
            rows += [Row(path.name, group, cells) for cells in group["rows"]]
            for row in rows[-len(group["rows"]):]:
                if row.own.get("source") not in whole["sources"]:
                    raise SystemExit(f"{row.name}: no source of the file is named")
    return rows


def check(program, rows):
    """(outcome, margin) of each row's rule; the worst where no subject is named."""
    with tempfile.TemporaryDirectory() as folder:
        for i, row in enumerate(rows):
            pathlib.Path(folder, f"{i:04}.yaml").write_text(row.machine(), encoding="utf-8")
        done = subprocess.run([program, "check", "--format", "json", "--show", "all",
                               "--today", "2026-11-25", folder],
                              capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1):
        raise SystemExit(f"status {done.returncode}: {done.stderr}")
    files = sorted(json.loads(done.stdout)["files"], key=lambda one: one["path"])
    for row, file in zip(rows, files, strict=True):
        found = [one for one in file["evaluations"] if one["rule"] == row.group["rule"]
                 and row.own.get("subject", one["subject"]) == one["subject"]]
        states = {one["outcome"] for one in found} or {"not asked"}
        outcome = "failed" if "failed" in states else min(states)
        margins = [one["margin"]["si"] for one in found if one["margin"]]
        yield outcome, min(margins, default=None)


def time(program, row):
    done = subprocess.run([program, "dryrun", "--format", "json", "--from", "1", "--to", "2",
                           "--at", row.group["at"], "-"], input=row.machine(),
                          capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1):
        raise SystemExit(f"{row.name}: status {done.returncode}: {done.stderr}")
    moves = json.loads(done.stdout)["moves"]
    return next(one["seconds"] for one in moves if one["what"] == row.group["move"])


def main(program):
    rows = load()
    asked = [row for row in rows if "rule" in row.group]
    wrong = []
    for row, (outcome, margin) in zip(asked, check(program, asked)):
        wrong += row.complaints(outcome, None if margin is None else row.value(margin))
    for row in rows:
        if "move" in row.group:
            wrong += row.complaints("held", time(program, row))
    for line in wrong:
        print(line)
    print(f"{len(rows)} published values, {len(wrong)} differ")
    return int(bool(wrong) or not rows)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
