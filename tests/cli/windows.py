"""Windows from the program's own mouth: what `window --format json` says of machines that differ at
random is written into their files and checked.

    windows.py PROGRAM MACHINE
"""
import json
import os
import random
import re
import subprocess
import sys
import tempfile

import jsonschema

import run

sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
from share import share  # noqa: E402

MACHINES = share(range(6), 2)
STEPS = {"mm": 0.1, "s": 0.1, "mm/min": 1, "in": 1 / 64}
PLAIN = {"LC_ALL": "C.UTF-8", "TERM": "dumb", "HOME": "/nonexistent", "TZ": "UTC",
         **{name: os.environ[name] for name in run.KEPT if name in os.environ}}
counts = {"ends": 0, "inside": 0, "empty": 0, "free": 0}


def call(program, folder, *arguments):
    done = subprocess.run([program, *arguments], cwd=folder, env=PLAIN, capture_output=True,
                          timeout=60, check=False, stdin=subprocess.DEVNULL)
    if done.returncode not in (0, 1):
        sys.exit(f"{arguments}: {done.stderr.decode()}")
    return done.stdout.decode()


def changed(text, rng):
    """Some numbers of the machine become others."""
    lines = text.splitlines()
    for _ in range(rng.randint(10, 120)):
        at = rng.randrange(lines.index("axes:"), len(lines))
        numbers = list(re.finditer(r"(?<=[:\[,] )(-?\d[\d.]*)(?= ?(mm|s|rpm)\b)", lines[at]))
        if numbers:
            found = rng.choice(numbers)
            value = float(found[0]) * rng.choice([0.2, 0.5, 0.8, 0.95, 1.1, 1.4, 2.5])
            lines[at] = lines[at][:found.start()] + f"{value:.5g}" + lines[at][found.end():]
    return "\n".join(lines) + "\n"


def number(text):
    """The number of a quantity, and its unit."""
    match = re.fullmatch(r"(-?)(?:(\d+) )?(\d+)/(\d+) (.*)", text)
    if match:
        size = int(match[2] or 0) + int(match[3]) / int(match[4])
        return -size if match[1] else size, match[5]
    value, _, unit = text.partition(" ")
    return float(value), unit


def outcomes(program, folder, field, text):
    """How every rule comes out with this text in the field: the worst of each rule and subject."""
    with open(os.path.join(folder, "machine.yaml"), "rb") as file:
        kept = file.read()
    call(program, folder, "revise", "--write", "machine.yaml", f"{field}={text}")
    report = json.loads(call(program, folder, "check", "--format", "json", "--show", "all",
                             "machine.yaml"))
    with open(os.path.join(folder, "machine.yaml"), "wb") as file:
        file.write(kept)
    found = {}
    for one in report["files"][0]["evaluations"]:
        key = one["rule"], one["subject"]
        if found.get(key) != "failed":
            found[key] = one["outcome"]
    return found


def check_end(program, folder, window, side):
    end = window[side]
    key = end["rule"], end["subject"]
    value, unit = number(end["text"])
    at = outcomes(program, folder, window["field"], end["text"])
    beyond = value + (2 if side == "high" else -2) * STEPS.get(unit, 1)
    off = outcomes(program, folder, window["field"], f"{beyond:.9g} {unit}")
    where = f'{window["field"]} {side} {end["text"]} by {key}'
    if at.get(key) == "failed":
        sys.exit(f"{where}: fails at its end")
    if off.get(key) != "failed":
        sys.exit(f"{where}: {off.get(key)} at {beyond} {unit}")
    counts["ends"] += 1


def check_window(program, folder, window, rng):
    if "between" in window:
        counts["empty"] += 1
        return
    ends = [side for side in ("low", "high") if window[side]]
    for side in ends:
        check_end(program, folder, window, side)
    if len(ends) < 2:
        counts["free"] += 1
        return
    (low, unit), (high, _) = (number(window[side]["text"]) for side in ends)
    inside = outcomes(program, folder, window["field"],
                      f"{low + (high - low) * rng.random():.9g} {unit}")
    for side in ends:
        key = window[side]["rule"], window[side]["subject"]
        if inside.get(key) == "failed":
            sys.exit(f'{window["field"]}: {key} fails within its window')
    counts["inside"] += 1
    if window["holds"] and not window["low"]["si"] <= window["value"]["si"] <= window["high"]["si"]:
        sys.exit(f'{window["field"]}: its value is not in its window')


def main(program, machine):
    with open(os.path.join(run.HERE, "windows.schema.json"), encoding="utf-8") as file:
        schema = jsonschema.Draft202012Validator(json.load(file))
    with open(machine, encoding="utf-8") as file:
        plain = file.read()
    with tempfile.TemporaryDirectory() as folder:
        for number in MACHINES:
            rng = random.Random(number)
            with open(os.path.join(folder, "machine.yaml"), "w", encoding="utf-8") as file:
                file.write(changed(plain, rng))
            answer = json.loads(call(program, folder, "window", "--format", "json",
                                     "machine.yaml"))
            schema.validate(answer)
            text = call(program, folder, "window", "machine.yaml")
            for window in answer["windows"]:
                if window["field"] not in text:
                    sys.exit(f'{window["field"]} is not in the text')
                check_window(program, folder, window, rng)
    print(counts)
    if counts["ends"] < 15 * len(MACHINES) or counts["empty"] < 1:
        sys.exit("too few windows were looked at")


if __name__ == "__main__":
    main(os.path.abspath(sys.argv[1]), sys.argv[2])
